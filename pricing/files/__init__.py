"""Files and folders that come into being whole or not at all."""
