"""Costing and pricing of cast concrete pieces from one spreadsheet price book."""
