"""Every given figure has bounds of sense, which no honest workshop meets; what lies beyond is asked about with its cell."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from books import set_cell, small_book, write_book

from pricing import units
from pricing.book.declared.column import Column
from pricing.book.declared.sheets import SETTINGS, SHEETS
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.engine.columns import Input
from pricing.costing.run import cost_quotes
from pricing.glossary import GLOSSARY

WORKBOOKS = Path(__file__).parents[2] / "workbooks"

#: Every column and setting that holds a figure, by sheet.
FIGURES = [
    *(("Workshop", setting) for setting in SETTINGS if setting.kind in ("number", "percent")),
    *((sheet.name, column) for sheet in SHEETS for column in sheet.columns if column.kind in ("number", "percent")),
]


def by_name(given: Any) -> str:
    return given.name if isinstance(given, Column) else str(given)


@pytest.mark.parametrize(("sheet", "column"), FIGURES, ids=by_name)
def test_every_figure_of_the_price_book_has_bounds(sheet: str, column: Column) -> None:
    """A lower and an upper bound, the upper one not endless; those of the glossary where the figure stands in it."""
    assert -math.inf < column.lower < column.upper < math.inf, f"{sheet}: {column.heading}"
    if column.quantity:
        known = GLOSSARY[column.quantity]
        assert (column.lower, column.upper) == (known.lower, known.upper)


@pytest.mark.parametrize(("sheet", "column"), [pair for pair in FIGURES if pair[1].quantity and pair[1].unit], ids=by_name)
def test_bounds_hold_in_the_unit_of_the_column(sheet: str, column: Column) -> None:
    """What is a metre in the glossary is a metre in the column: the bounds are those of the same unit."""
    known = GLOSSARY[column.quantity].unit
    if known.startswith("currency"):
        assert column.is_money
        return
    registry = units.registry()
    names = {"m": "metre", "L": "litre", "h": "hour", "min": "minute", "kg": "kilogram", "kW": "kilowatt", "kg/m3": "kilogram/metre**3",
             "m2/L": "metre**2/litre"}
    one = registry.Quantity(1.0, names[column.unit])
    counted = known.replace("/count", "").replace("/piece", "").replace("/batch", "").replace("/year", "")
    assert one.to(counted).magnitude == 1.0


@pytest.mark.parametrize("name", ["demo price book.xlsx", "demo price book imperial.xlsx"])
def test_every_given_quantity_of_the_model_has_bounds(name: str) -> None:
    """Each input that comes from a cell of the price book has a finite upper bound in the glossary."""
    costing = cost_quotes(load_price_book(WORKBOOKS / name))
    given = {
        column.name for rows in costing.model.tables.values() for column in rows.spec.columns
        if isinstance(column, Input) and any(rows.places.get(column.name, ()))
    }
    assert len(given) > 50
    flags = {each for each in given if GLOSSARY[each].shown == "flag"}
    assert sorted(each for each in given - flags if GLOSSARY[each].upper == math.inf) == []


#: Figures that no workshop has: sheet, key of the row, column, what is typed, words of the sentence.
ABSURD: list[tuple[str, str, str, Any, str]] = [
    ("Materials", "Melamine", "Sheet width", 1e-12, "between 10 mm and 20000 mm"),
    ("Materials", "Melamine", "Sheet length", "40 m", "between 10 mm and 20000 mm"),
    ("Materials", "Melamine", "Sheet thickness", 0.01, "between 0.5 mm and 200 mm"),
    ("Materials", "Melamine", "Pack price", 1e20, "at most 10000000000000"),
    ("Materials", "Cement", "Pack size", 1e-9, "0.001 or more"),
    ("Materials", "Cement", "Pack size", 1e12, "at most 10000000"),
    ("Materials", "Cement", "Pack price", -1, "0 or more"),
    ("Materials", "Cement", "Density (kg/m3)", 3.15, "between 10 kg/m3 and 25000 kg/m3"),
    ("Mixes", "Dark", "Amount", 1e-9, "between 0.00001 and 1000000"),
    ("Trades", "Maker", "Hourly cost", 1e15, "at most 10000000000000"),
    ("Machines", "Mixer", "Life", 1e-6, "between 1 h and 1000000 h"),
    ("Machines", "Mixer", "Power", 1e6, "between 0 kW and 10000 kW"),
    ("Labour", "Plain", "Minutes", 1e9, "between 0 min and 100000 min"),
    ("Moulds", "Melamine", "Fixing spacing", 1e-6, "between 5 mm and 5000 mm"),
    ("Moulds", "Melamine", "Sealant radius", 1e-9, "between 0.5 mm and 50 mm"),
    ("Moulds", "Melamine", "Refit every", 1e-7, "between 0.1 and 100000"),
    ("Finishes", "Sealed", "Covers", 1e-8, "between 0.001 and 1000000"),
    ("Finishes", "Sealed", "Coats", 1e-5, "between 0.01 and 100"),
    ("Products", "Slab 1000", "Rejects", "99.9 %", "between 0 % and 99 %"),
    ("Extras", "Shelf 800", "Amount", 1e-9, "0.00001 or more"),
    ("Delivery", "Near", "Up to", 1e-4, "between 0.1 kg and 1000000 kg"),
    ("Workshop", "Mixer load", "Value", 1e-9, "between 0.1 L and 20000 L"),
    ("Workshop", "Release covers", "Value", 1e-9, "between 0.1 m2/L and 1000 m2/L"),
    ("Workshop", "Hours per day", "Value", 0.001, "between 0.25 h and 24 h"),
    ("Workshop", "Target margin", "Value", "99.99 %", "between 0 % and 99 %"),
    ("Workshop", "Price step", "Value", 1e14, "at most 10000000000000"),
]


@pytest.mark.parametrize(("sheet", "key", "column", "typed", "words"), ABSURD, ids=[f"{row[2]} {row[3]}" for row in ABSURD])
def test_a_figure_beyond_sense_is_asked_about(sheet: str, key: str, column: str, typed: Any, words: str, tmp_path: Path) -> None:
    """The book is not priced; the one sentence names the cell, the figure and what it should be."""
    sheets = small_book()
    set_cell(sheets, sheet, key, column.partition(" (")[0], typed)
    row = next(number for number, cells in enumerate(sheets[sheet], 1) if cells[0] == key)
    headings = [str(heading).partition(" (")[0] for heading in sheets[sheet][0]]
    letter = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[headings.index(column.partition(" (")[0])]
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    (problem,) = problems.errors
    assert (problem.code, problem.sheet, problem.cell) == ("out-of-range", sheet, f"{letter}{row}")
    assert words in problem.message


def test_bounds_themselves_are_taken(tmp_path: Path) -> None:
    """A figure at its bound makes sense."""
    sheets = small_book()
    for sheet, key, column, typed in (
        ("Materials", "Melamine", "Sheet width", 20_000), ("Machines", "Mixer", "Life", 1), ("Finishes", "Sealed", "Coats", 100),
    ):
        set_cell(sheets, sheet, key, column, typed)
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    assert not problems.errors
