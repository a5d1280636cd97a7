"""The languages in which customers are written to."""
