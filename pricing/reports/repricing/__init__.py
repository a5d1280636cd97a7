"""The workbook that says which prices and quotes move, and why."""
