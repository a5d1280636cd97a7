"""New workbooks: the writing library, safe text, the width of a text."""
