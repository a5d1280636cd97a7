"""The maker's margin workbook."""
