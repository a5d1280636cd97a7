"""How many moulds, cut from which board."""
