"""Dimensioned drawings of pieces."""
