"""What would every catalogue piece cost if cement became dearer? One vectorised evaluation, no copy of the book.

Run it with: python examples/dearer_cement.py "workbooks/demo price book.xlsx" Cement 12
"""

from __future__ import annotations

import datetime
import sys
from pathlib import Path

import numpy as np
import pandas as pd

import pricing
from pricing.costing.engine.evaluation import evaluate

DEMO = Path(__file__).parents[1] / "workbooks" / "demo price book.xlsx"


def main(path: str, word: str, per_cent: float) -> None:
    """Cost the catalogue as it is and with every material whose name holds *word* dearer, and print both."""
    book = pricing.load_price_book(path)
    costing = pricing.cost_catalogue(book, datetime.date.today())
    rows = costing.model.tables["mix prices"]
    chosen = np.array([word.casefold() in name.casefold() for name in rows.text["material"]])
    dearer = rows.given["pack_price"] * np.where(chosen, 1 + per_cent / 100, 1.0)
    then = evaluate(costing.model, {("mix prices", "pack_price"): dearer}).value("lines", "unit_cost")
    now = costing.line("unit_cost")
    table = pd.DataFrame({"product": costing.products(), "now": now, "then": then, "change %": (then / now - 1) * 100})
    print(f"{int(chosen.sum())} materials named like {word!r}, {per_cent:+g} %")
    print(table.sort_values("change %", ascending=False).round(2).to_string(index=False))


if __name__ == "__main__":
    arguments = sys.argv[1:]
    main(arguments[0] if arguments else str(DEMO), arguments[1] if len(arguments) > 1 else "cement",
         float(arguments[2]) if len(arguments) > 2 else 12.0)
