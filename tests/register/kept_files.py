"""The workbooks of a quote as the register has them."""

from __future__ import annotations

from pricing.register.recorded_quote import RecordedQuote
from pricing.register.register import Register


def fingerprints(register: Register, quote: RecordedQuote) -> dict[str, list[str]]:
    """Every workbook of a quote that was written: its place from the folder of the price book, and its fingerprints."""
    found: dict[str, list[str]] = {}
    for row in register._connection.execute("SELECT file, fingerprint FROM workbooks WHERE quote = ? ORDER BY sequence", (quote.key,)):
        found.setdefault(row["file"], []).append(row["fingerprint"])
    return found
