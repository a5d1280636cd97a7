"""From a price book to tables of costs, prices and their explanations."""
