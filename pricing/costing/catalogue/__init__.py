"""Variants without end, priced part by part."""
