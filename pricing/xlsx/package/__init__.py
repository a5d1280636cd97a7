"""The zip archive of a workbook and the parts around its cells, read with care: the one way for reading and for editing."""
