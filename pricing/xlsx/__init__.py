"""The .xlsx file format, which knows nothing of prices."""
