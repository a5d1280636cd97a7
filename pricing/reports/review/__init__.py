"""The workbook that looks back at finished jobs and ahead at the work of the week."""
