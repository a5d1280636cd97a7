"""The work of a quote prepared: cut list, batch sheets, steps, shopping list."""
