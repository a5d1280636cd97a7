"""Finished jobs against what was allowed, better standards, capacity."""
