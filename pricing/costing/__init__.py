"""From a price book to costs and prices."""
