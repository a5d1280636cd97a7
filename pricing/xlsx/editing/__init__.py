"""Cells changed inside a workbook, all else left as it is."""
