"""What would every piece of the list cost if cement became dearer? The price book stays as it is.

Run it with: python examples/dearer_cement.py "workbooks/demo price book.xlsx" "White cement" +12%
"""

from __future__ import annotations

import sys
from pathlib import Path

import pricing

DEMO = Path(__file__).parents[1] / "workbooks" / "demo price book.xlsx"


def main(path: str, material: str, change: str) -> None:
    """Print the list as it is and as it would be, with what the change adds to each piece."""
    found = pricing.what_if(path, {material: change})
    table = found.products_table()[["product", "cost_before", "cost_now"]]
    table["change %"] = (table["cost_now"] / table["cost_before"] - 1) * 100
    print(f"{material} {change}, amounts in {found.currency}")
    print(table.sort_values("change %", ascending=False).round(2).to_string(index=False))


if __name__ == "__main__":
    arguments = sys.argv[1:]
    main(*(arguments if len(arguments) == 3 else (str(DEMO), "White cement", "+12%")))
