"""The register of quotes: what was promised to whom, until when, and on which prices it rested."""
