"""A rule read as symbols: its formula, its words, and what is left of it at known figures."""
