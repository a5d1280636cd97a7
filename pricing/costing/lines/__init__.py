"""Order lines as columns."""
