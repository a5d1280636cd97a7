"""Price one quote of a price book and print what each line is made of.

Run it with: python examples/price_one_quote.py "workbooks/demo price book.xlsx"
"""

from __future__ import annotations

import sys
from pathlib import Path

import pricing

DEMO = Path(__file__).parents[1] / "workbooks" / "demo price book.xlsx"


def main(path: str) -> None:
    """Read, price the first quote, print its lines."""
    book = pricing.load_price_book(path)
    first = str(book.tables["Enquiries"].columns["quote"][0])
    costing = pricing.cost_quotes(book, [first])
    table = costing.lines_table().set_index("product")
    print(f"Quote {first} for {costing.lines.customer[0]}, {costing.currency}")
    print(table[["quantity", "concrete", "mould", "labour", "overhead", "unit_cost", "unit_price", "line_margin"]].round(2).to_string())


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else str(DEMO))
