"""What figures hang on: sensitivity, uncertainty, break-even, goals."""
