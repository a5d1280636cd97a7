"""From a workbook to a price book, all problems in one pass."""
