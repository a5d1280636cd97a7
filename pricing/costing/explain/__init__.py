"""Why a figure is what it is."""
