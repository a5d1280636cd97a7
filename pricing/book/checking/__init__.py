"""Rows of the price book held against each other."""
