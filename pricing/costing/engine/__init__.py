"""Tables of typed columns, evaluated over arrays."""
