"""Working days, lead time, schedule."""
