"""Panels on sheets of board: geometry, no prices."""
