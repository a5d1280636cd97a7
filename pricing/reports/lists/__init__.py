"""Price list, catalogue and register as workbooks."""
