"""The workbook that goes to the bench: cut list, batch sheets, steps, calendar, shopping list."""
