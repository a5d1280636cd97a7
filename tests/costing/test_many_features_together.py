"""What a reckoning of books that use many features at once found: each claim once failed."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import DAY, set_cell, small_book, write_book

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.costing.time.lead_time import lead_time_days
from pricing.reports.margin.workbook import write_margin

Sheets = dict[str, list[list[Any]]]

HEADINGS = ["Quote", "Date", "Customer", "Product", "Quantity", "Unit price", "Margin", "Discount"]
LEVELS = [["Level", "Product", "Discount", "Price"], ["Trade", None, "15 %", None], ["Trade", "Block", None, 70]]


def asked(*lines: tuple[Any, ...], customer: str = "Ada Field", **more: list[list[Any]]) -> Sheets:
    """The small workshop asked for some lines, each by the headings from Product on."""
    sheets = small_book() | more
    set_cell(sheets, "Delivery", "Near", "Up to", 1e6)
    sheets["Enquiries"] = [HEADINGS, *(["Q-1", DAY, customer, *line, *[None] * (5 - len(line))] for line in lines)]
    return sheets


def costed(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


def test_what_a_line_says_leaves_the_rest_of_its_level_in_force(tmp_path: Path) -> None:
    """A discount typed beside a price of the level comes off that price, and makes no line dearer; the level's discount comes off the price
    that a margin leads to, as a customer's would."""
    sheets = asked(
        ("Block", 10), ("Block", 10, None, None, "5 %"), ("Slab 1000", 1, None, "50 %"), ("Block", 10, None, "50 %"), Levels=LEVELS)
    sheets["Customers"] = [[*row, level] for row, level in zip(sheets["Customers"], ("Level", "Trade", None), strict=True)]
    costing = costed(tmp_path, sheets)
    assert costing.line("line_net")[:2].tolist() == [700.0, 665.0]
    assert costing.line("discount_rate").tolist() == [0.0, 0.05, 0.15, 0.0]
    assert costing.line("unit_price")[3] == pytest.approx(costing.line("unit_cost")[3] / 0.5, abs=1.0)
    lines = costing.model.tables["lines"]
    assert [lines.place("given_price", 1), lines.place("own_discount", 1), lines.place("own_discount", 2)] == [
        "Levels!D3", "Enquiries!H3", "Levels!C2"]


@pytest.mark.parametrize("holds", ["at any quantity", "at the usual run", "from the usual run"])
def test_a_service_costs_its_price_at_any_number(tmp_path: Path, holds: str) -> None:
    """It has no usual run: however list prices hold, two templates are twice 95, and never nothing; a zone charges nothing for them."""
    sheets = asked(("Template", 2), Services=[["Service", "Price"], ["Template", 95]])
    sheets["Workshop"].append(["List price holds", holds, None])
    costing = costed(tmp_path, sheets)
    assert costing.line("line_net").tolist() == [190.0]
    assert costing.quote("carriage").tolist() == [0.0]
    assert costing.quote("net").tolist() == [190.0]


def test_loads_are_told_by_the_names_of_mixes(tmp_path: Path) -> None:
    """A mix that only layers are of, in quotes of two days with prices of their own, is told by its name and not by the model's key."""
    sheets = asked(("Slab 1000", 1), Layers=[["Product", "Mix", "Thickness (mm)", "On"], ["Slab 1000", "Dark", 8, "underside"]])
    sheets["Enquiries"].append(["Q-2", DAY + datetime.timedelta(60), *sheets["Enquiries"][1][2:]])
    sheets["Materials"].append([*sheets["Materials"][1][:4], 12, *sheets["Materials"][1][5:13], DAY + datetime.timedelta(30)])
    costing = costed(tmp_path, sheets)
    assert [set(costing.loads_of(quote)) for quote in ("Q-1", "Q-2")] == [{"Grey", "Dark"}] * 2


def test_what_is_bought_for_a_quote_leaves_what_its_products_need_alone(tmp_path: Path) -> None:
    """Four brackets bought for the quote and ten that its shelves need once are fourteen, however many lines there are."""
    sheets = asked(("Slab 1000", 4), ("Shelf 800", 3), ("Shelf 800", 2), Extras=[
        ["Product", "Quote", "Material", "Amount", "Per"], ["Shelf 800", None, "Brackets", 10, "quote"],
        [None, "Q-1", "Brackets", 4, "quote"]])
    costing = costed(tmp_path, sheets)
    spent = costing.line("extras_cost") * costing.line("quantity")
    assert spent.tolist() == pytest.approx([3.5 * 4 / 3, 3.5 * (4 / 3 + 5), 3.5 * (4 / 3 + 5)], rel=1e-12)


@pytest.mark.parametrize(("lasts", "days"), [(1, 17), (3, 16)])
def test_no_more_moulds_stand_filled_than_have_a_place(tmp_path: Path, lasts: int, days: int) -> None:
    """Twelve slabs in moulds of one cast or of three, and three places: four days of casting two days apart, however many moulds are built;
    with room for all they would be ready in 11 days, or in 14."""
    sheets = asked(("Slab 1000", 12))
    sheets["Workshop"].append(["Mould places", 3, None])
    set_cell(sheets, "Moulds", "Melamine", "Lasts", lasts)
    set_cell(sheets, "Products", "Slab 1000", "Rejects", "0 %")
    costing = costed(tmp_path, sheets)
    assert [costing.line(name)[0] for name in ("moulds_at_once", "moulds_built", "rounds")] == [3, 12 / lasts, 4]
    assert costing.model.tables["lines"].text["moulds_because"].tolist() == ["as many as have a place"]
    assert lead_time_days(costing, "Q-1") == days


def test_the_checks_hold_where_a_machine_runs_alone(tmp_path: Path) -> None:
    """Its hours are nobody's labour hours: no check of the margin workbook is apart, and each says so by its own difference."""
    sheets = asked(("Slab 1000", 2))
    sheets["Labour"].append(["Plain", "Tumble", None, 90, "piece", "Mixer", None, "no"])
    write_margin(costed(tmp_path, sheets), tmp_path / "margin.xlsx")
    rows = [[cell.value for cell in row] for row in openpyxl.load_workbook(tmp_path / "margin.xlsx", data_only=True)["Checks"]]
    assert [row[0] for row in rows[6:] if abs(row[1] - row[2]) > 1e-9] == []
    assert {row[3] for row in (rows[3], *rows[6:])} == {0}


def test_board_by_the_square_metre_pays_for_the_cores_of_cut_outs(tmp_path: Path) -> None:
    """By the share or by whole sheets, board that is sold by the square metre costs what is cut of it, cores among it."""
    found = []
    for bought in ("share", "sheets"):
        sheets = asked(("Slab 1000", 2))
        sheets["Cut-outs"] = [["Product", "Form", "Length (mm)", "Width (mm)"], ["Slab 1000", "rectangle", 300, 200]]
        set_cell(sheets, "Materials", "Melamine", "Pack unit", "m2")
        sheets["Workshop"].append(["Board bought by", bought, None])
        found.append(float(costed(tmp_path, sheets).line("board_charged")[0]))
    assert found == pytest.approx([0.678176 + 2 * (0.3 + 0.2 - 0.036) * 0.04] * 2, rel=1e-12)


def test_a_saw_that_takes_nothing_takes_nothing(tmp_path: Path) -> None:
    """A kerf of 0 is not the usual one: base, sides and ends of 500 + 58 + 58 + 58 come out of a sheet that is just so wide."""
    sheets = asked(("Slab 1000", 1))
    sheets["Workshop"] += [["Board bought by", "sheets", None], ["Saw kerf (mm)", 0, None]]
    set_cell(sheets, "Products", "Slab 1000", "Rejects", "0 %")
    set_cell(sheets, "Materials", "Melamine", "Sheet length", 1036)
    set_cell(sheets, "Materials", "Melamine", "Sheet width", 674)
    assert costed(tmp_path, sheets).line("board_charged")[0] == pytest.approx(1.036 * 0.674, rel=1e-12)
