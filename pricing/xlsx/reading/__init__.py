"""A workbook read with care: what its cells hold, and every reason to refuse it."""
