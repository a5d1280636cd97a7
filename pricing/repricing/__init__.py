"""List and quotes at other prices."""
