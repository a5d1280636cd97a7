"""Price an enquiry that comes as a table from elsewhere: the columns are headed as on the sheet Enquiries.

Run it with: python examples/enquiry_from_a_table.py "workbooks/demo price book.xlsx"
"""

from __future__ import annotations

import datetime
import sys
from pathlib import Path

import pandas as pd

import pricing

DEMO = Path(__file__).parents[1] / "workbooks" / "demo price book.xlsx"


def main(path: str) -> None:
    """Price three lines, one of them of another length, and print each piece's price at 1, 5 and 20 of it."""
    enquiry = pd.DataFrame({
        "Quote": "Q-1", "Date": datetime.date(2026, 11, 2), "Customer": "Ottilie Marrable",
        "Product": ["Shelf 600", "Shelf 900", "Shelf 900"], "Quantity": [6, 4, 2],
        "Length": [None, None, pricing.quantity(0.84, "m")],
    })
    book = pricing.read(path, enquiries=enquiry)
    print(pricing.cost(book).lines_table()[["product", "quantity", "mass_kg", "unit_price", "line_net"]].round(2).to_string(index=False))
    catalogue = pricing.catalogue(book, quantities=(1, 5, 20), figures=["unit_price"]).variants_table()
    print(catalogue.pivot(index="product", columns="quantity", values="unit_price").loc[["Shelf 600", "Shelf 900"]].to_string())


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else str(DEMO))
