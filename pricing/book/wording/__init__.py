"""The sentence of every problem."""
