"""Every sheet, column, setting and word of the price book, once."""
