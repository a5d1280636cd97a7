"""The price book: sheets declared once, careful reading, the starter book, and careful write-back."""
