"""The gate: a finished file searched for what it must not hold."""
