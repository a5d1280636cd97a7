"""The costing model declared, and filled from a price book."""
