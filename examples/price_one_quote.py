"""Price one quote of a price book and print what each line is made of.

Run it with: python examples/price_one_quote.py "workbooks/demo price book.xlsx" Q-1041
"""

from __future__ import annotations

import sys
from pathlib import Path

import pricing

DEMO = Path(__file__).parents[1] / "workbooks" / "demo price book.xlsx"


def main(path: str, quote: str) -> None:
    """Price the quote, print its lines, and why the first costs what it does."""
    costing = pricing.cost(path, [quote])
    table = costing.lines_table().set_index("product")
    print(f"Quote {quote}, {costing.currency}, {costing.quantity('mass').max().to('lb/piece'):.1f} the heaviest piece")
    print(table[["quantity", "concrete", "mould", "labour", "overhead", "unit_cost", "unit_price", "line_margin"]].round(2).to_string())
    print(*pricing.explanation(pricing.explain(costing, quote, 1, "unit_cost"), depth=1), sep="\n")


if __name__ == "__main__":
    arguments = sys.argv[1:]
    main(*(arguments if len(arguments) == 2 else (str(DEMO), "Q-1041")))
