"""What a typed text means: figures, dates, yes or no."""
