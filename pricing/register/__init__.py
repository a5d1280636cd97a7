"""Quotes on record."""
