"""Cut-outs, outlines, layers, steel and edges at a wall are live: changed in the margin workbook, they do what they do in the book."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import DAY, write_book
from pieces_book import pieces_book
from referee import without_results
from test_live_model import (
    a_change,
    disagreements,
    figures,
    live_workbook,
    recalculate,
)

from pricing.book.declared.pieces import LAYERS_ON
from pricing.book.reading.read import load_price_book
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.vocabulary import DRIVERS
from pricing.costing.run import cost_lines
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.workbook import write_sheets
from pricing.rules.shapes import SHAPES

#: Inputs of other sheets that are changed besides those of pieces.
OTHERS = 20
SEED = 20260303


def plain(path: Path, sheets: dict[str, list[list[Any]]]) -> Path:
    """A workshop on disk, its shares as numbers in a percentage format, so that a cell can be multiplied."""
    shares = {
        (name, row, column): float(cell.removesuffix(" %")) / 100
        for name, rows in sheets.items() for row, cells in enumerate(rows) for column, cell in enumerate(cells)
        if isinstance(cell, str) and re.fullmatch(r"[\d.]+ %", cell)
    }
    for (name, row, column), share in shares.items():
        sheets[name][row][column] = share
    write_book(path, sheets)
    book = openpyxl.load_workbook(path)
    for name, row, column in shares:
        book[name].cell(row + 1, column + 1).number_format = "0.00%"
    book.save(path)
    return path


@pytest.mark.usefixtures("requires_office")
@pytest.mark.parametrize("one_of", [8, pytest.param(1, marks=pytest.mark.slow)])
def test_every_input_of_a_piece_may_be_changed_in_the_workbook_itself(one_of: int, tmp_path: Path) -> None:
    """Each of them in the longer run, one of eight in the short one, and some others:
    the recalculated workbook gives what the engine gives for a changed book."""
    live = live_workbook(plain(tmp_path / "book.xlsx", pieces_book()), tmp_path)
    inputs, generator = live.inputs, np.random.default_rng(SEED)
    own = [place for place in inputs if place.partition("!")[0] in ("Cut-outs", "Outlines", "Layers") or place.startswith("Materials!O")]
    assert len(own) > 40
    counts = {place for place in own if place.startswith("Cut-outs!K")}
    others = generator.choice([place for place in inputs if place not in own], OTHERS // one_of, replace=False).tolist()
    chosen = [*generator.permutation(own).tolist()[::one_of], *others]
    changes = [a_change(place, *inputs[place], generator) for place in chosen]
    changes = [replace(change, factor=2.0) if change.place in counts else change for change in changes]
    # a changed piece that cannot be is refused
    outcome = live.outcome_of(changes, may_be_refused=True, beside=[live.blank])
    assert outcome.wrong == {}
    assert outcome.refused < 0.2 * len(changes)
    assert outcome.moved > 0.6 * len(changes)


#: A piece of every shape that the workshop's own book lacks, by the headings of its columns.
OTHER_SHAPES: list[dict[str, Any]] = [
    {"Product": "Bench", "Shape": "bench", "Length": 1600, "Width": 420, "Thickness": 60, "Height": 450, "Leg inset": 200},
    {"Product": "Tread", "Shape": "step", "Length": 1000, "Width": 300, "Thickness": 45, "Drop": 130, "Nosing": 25},
    {"Product": "Trough", "Shape": "trough", "Length": 900, "Width": 300, "Height": 350, "Wall": 40},
    {"Product": "Tub", "Shape": "round planter", "Diameter": 450, "Height": 400, "Wall": 40},
    {"Product": "Ring", "Shape": "ring", "Diameter": 1000, "Inner diameter": 450, "Thickness": 60},
    {"Product": "Cap", "Shape": "coping", "Length": 600, "Width": 280, "Thickness": 60, "Fall": 15},
    {"Product": "Washstand", "Shape": "slab with openings", "Length": 1000, "Width": 500, "Thickness": 40, "Openings": 1,
     "Opening length": 400, "Opening width": 300, "Seen long edges": 1},
    {"Product": "Stool", "Shape": "solid", "Volume": 19.5, "Face area": 0.62, "Underside area": 0.09, "Length": 300, "Width": 300,
     "Height": 450},
]
OTHER_LAYERS = [["Trough", "Bucket", 10, "face and inside"], ["Tub", "Dark", 8, "face"], ["Tub", "Bucket", 6, "underside"],
                ["Bench", "Dark", 12, "face"], ["Tread", "Dark", 10, "face"], ["Stool", "Dark", 6, "face"]]


def every_shape() -> dict[str, list[list[Any]]]:
    """The workshop with a piece of every shape, layers on whatever they can lie on, and steel by every driver."""
    sheets = pieces_book()
    products = sheets["Products"]
    headings = {str(heading).partition(" (")[0]: number for number, heading in enumerate(products[0])}
    for heading in dict.fromkeys(name for piece in OTHER_SHAPES for name in piece):
        if heading not in headings:
            headings[heading] = len(headings)
            unit = {"Volume": " (L)", "Face area": " (m2)", "Underside area": " (m2)", "Openings": ""}.get(heading, " (mm)")
            for number, row in enumerate(products):
                row.append(None if number else f"{heading}{unit}")
    made = {"Mix": "Grey", "Mould plan": "Melamine", "Labour plan": "Plain", "Finish": "Sealed", "Rejects": "4 %", "Made for": "order"}
    for piece in OTHER_SHAPES:
        row = [None] * len(headings)
        for heading, value in {**made, "Usual run": 2, **piece}.items():
            row[headings[heading]] = value
        products.append(row)
        sheets["Enquiries"].append(["Q-9", DAY, "Brook House", piece["Product"], 2, *[None] * 5])
    sheets["Layers"] += OTHER_LAYERS
    sheets["Cut-outs"].append(["Washstand", None, None, "round", None, None, None, 35, 900, 420, 1])
    sheets["Extras"] += [["Bench" if driver.startswith("m ") else "Tread", "Bar 8", 0.1, driver] for driver, _ in DRIVERS]
    return sheets


@pytest.mark.usefixtures("requires_office")
def test_recalculated_from_nothing_the_workbook_gives_what_the_engine_gives(tmp_path: Path) -> None:
    """Every figure of lines and quotes, and no check that fails: every shape, layers on whatever they lie on, every driver."""
    book = load_price_book(write_book(tmp_path / "book.xlsx", every_shape()))
    assert set(book.tables["Products"].columns["shape"]) == set(SHAPES)
    assert set(book.tables["Layers"].columns["on"]) == set(LAYERS_ON)
    costing = cost_lines(book, enquired(book))
    margin = MarginBook(costing, tmp_path / "margin.xlsx", bare=True)
    write_sheets(margin)
    without_results(tmp_path / "margin.xlsx", tmp_path / "blank.xlsx")
    assert disagreements(figures(recalculate([tmp_path / "blank.xlsx"], tmp_path)[0], margin), costing) == []
