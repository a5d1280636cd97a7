"""Two models compared: what changed, and what each change does."""
