"""The price book in memory."""
