"""A new price is three cells: name, price and day; what it leaves blank is as in the row before it."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest
from books import DAY, set_cell, small_book, write_book

from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.run import cost_quotes

NEW = datetime.date(2026, 2, 1)


def with_rows(*rows: dict[str, Any], at: int | None = None) -> dict[str, list[list[Any]]]:
    """The small workshop with carriage and wastage on its sand, and some rows more on Materials."""
    sheets = small_book()
    set_cell(sheets, "Materials", "Sand", "Carriage", 1.2)
    set_cell(sheets, "Materials", "Sand", "Wastage", "8 %")
    headings = [str(heading).partition(" (")[0] for heading in sheets["Materials"][0]]
    made = [[row.get(name) for name in headings] for row in rows]
    place = len(sheets["Materials"]) if at is None else at
    sheets["Materials"][place:place] = made
    return sheets


@pytest.mark.parametrize("at", [None, 1], ids=["below", "above"])
def test_a_dearer_sand_is_never_a_cheaper_piece(tmp_path: Path, at: int | None) -> None:
    """Three cells, wherever the row stands, make what a whole row makes: carriage, wastage, pack and density are taken over."""
    three = {"Material": "sand", "Pack price": 3.0, "Priced on": NEW}
    whole = three | {
        "Material": "Sand", "Kind": "aggregate", "Pack size": 25, "Pack unit": "kg", "Carriage": 1.2, "Wastage": "8 %", "Density": 2650,
        "Bulk density": 1600, "Supplier": "Hill Merchants"}
    before = cost_quotes(load_price_book(write_book(tmp_path / "before.xlsx", with_rows())))
    short = cost_quotes(load_price_book(write_book(tmp_path / "short.xlsx", with_rows(three, at=at))))
    long = cost_quotes(load_price_book(write_book(tmp_path / "long.xlsx", with_rows(whole))))
    assert short.line("unit_cost").tolist() == long.line("unit_cost").tolist()
    assert (short.line("unit_cost")[:2] > before.line("unit_cost")[:2]).all()
    prices = short.model.tables["mix prices"]
    sand = prices.text["material"].tolist().index("Sand" if at is None else "sand")
    row = 3 if at is None else 4
    assert prices.place("carriage_in", sand) == f"Materials!F{row}"
    assert prices.place("pack_price", sand) == f"Materials!E{14 if at is None else 2}"


def test_what_is_typed_stands_and_the_next_row_takes_it_over(tmp_path: Path) -> None:
    """A nought is typed and not blank; a chain of rows passes on what was typed last before each day."""
    sheets = with_rows(
        {"Material": "Sand", "Pack price": 3, "Carriage": 0, "Priced on": NEW},
        {"Material": "Sand", "Pack price": 3.5, "Priced on": datetime.date(2026, 3, 1)})
    book = load_price_book(write_book(tmp_path / "book.xlsx", sheets))
    table = book.tables["Materials"]
    sand = table["material"] == "Sand"
    assert table["carriage"][sand].tolist() == [1.2, 0.0, 0.0]
    assert table["wastage"][sand].tolist() == [0.08, 0.08, 0.08]
    assert datetime.date(2026, 3, 2) == DAY


def test_the_first_price_of_a_material_is_a_whole_row(tmp_path: Path) -> None:
    """What nobody said before is missing, at its cell; of a later row only name, price and day are."""
    sheets = with_rows(
        {"Material": "Lime", "Pack price": 3, "Priced on": NEW}, {"Material": "Lime", "Pack price": 4, "Priced on": DAY},
        {"Material": "Sand", "Priced on": NEW})
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    assert [(each.code, each.cell) for each in problems.errors if each.code == "missing-value"] == [
        ("missing-value", "E16"), ("missing-value", "B14"), ("missing-value", "D14"), ("missing-value", "C14")]
