"""Every workbook that leaves the program."""
