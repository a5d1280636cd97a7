"""Starter and demo price books, and the page that says what a price book may hold."""
