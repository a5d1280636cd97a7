"""The repricing workbook: live, closed in itself, and opening on the sentence that matters."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from referee import differences, formulas_of, recalculated, stored

from pricing.book.reading.read import load_price_book
from pricing.costing.lines.order_lines import list_lines
from pricing.costing.run import cost_lines, cost_quotes
from pricing.register.kept.quote_snapshot import snapshot_of
from pricing.register.register import Register
from pricing.reports.lists.register import write_register
from pricing.reports.repricing.workbook import write_repricing
from pricing.repricing.changes import Repricing
from pricing.repricing.history import price_history
from pricing.repricing.reprice import reprice

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"


def repriced(folder: Path, source: Path, changes: list[str], *, accept: bool = True) -> Repricing:
    """The quotes of a book issued on their days, one of them ordered, and compared with a supposed rise."""
    book = load_price_book(source)
    costing = cost_quotes(book)
    with Register.open(folder / "book.xlsx") as register:
        for quote in costing.quotes:
            issued = register.issue(snapshot_of(costing, quote), folder / f"{quote}.xlsx", lambda path: path.write_bytes(b"x") and None)
        if accept:
            register.mark(issued.quote.number, "ordered", late=True)
        return reprice(book, max(costing.lines.day.tolist()), changes=changes, register=register)


@pytest.mark.usefixtures("requires_office")
def test_every_figure_is_what_a_spreadsheet_makes_of_its_formula(tmp_path: Path) -> None:
    """Recalculated from blank stored results, every cell has the figure that was written with it, and every check is zero."""
    path = tmp_path / "repricing.xlsx"
    write_repricing(repriced(tmp_path, DEMO, ["White cement=+12%", "Grey cement=+9%", "Maker=+4%"]), path)
    assert len(formulas_of(path)) > 250
    computed = recalculated(path)
    assert differences(stored(path), computed, 1e-9) == []
    checks = computed["Checks"]
    greatest = [checks.cell(row, 4).value for row in range(7, checks.max_row + 1)]
    assert len(greatest) == 5
    assert greatest == [0] * 5


def test_it_opens_on_the_sentence(tmp_path: Path) -> None:
    """The first sheet says how many products and quotes fall short, what was compared, and that a supposition is one."""
    path = tmp_path / "repricing.xlsx"
    write_repricing(repriced(tmp_path, write_book(tmp_path / "small.xlsx", small_book()), ["Cement=+80%"]), path)
    book = stored(path)
    assert book.active is not None
    assert book.active.title == "Repricing"
    front = book["Repricing"]
    assert front["A2"].value == "0 of 3 list products and 0 of 1 open quotes earn less than the lowest margin of 25.0% now."
    assert front["A3"].value.startswith("Prices of 2 March 2026 compared with those without the change;")
    assert front["A4"].value == "What if: Cement +80%. Nothing in the price book was changed."
    assert book.sheetnames == ["Repricing", "List", "Quotes", "Ordered", "Why the cost", "Why the price", "Checks"]


def test_the_history_is_what_each_day_costs(tmp_path: Path) -> None:
    """What materials cost, and what products would have cost, on each day on which a price changed, is what a costing of that day says."""
    sheets = small_book()
    cement = next(row for row in sheets["Materials"] if row[0] == "Cement")
    priced, size = sheets["Materials"][0].index("Priced on"), sheets["Materials"][0].index("Pack price")
    later = list(cement)
    later[priced], later[size] = datetime.date(2026, 2, 1), cement[size] * 1.25
    sheets["Materials"].append(later)
    book = load_price_book(write_book(tmp_path / "small.xlsx", sheets))
    day = datetime.date(2026, 3, 2)
    history = price_history(book, day)
    assert history is not None
    assert history.days == (datetime.date(2026, 1, 1), datetime.date(2026, 2, 1), day)
    assert history.materials == ("Cement",)
    for place, each in enumerate(history.days):
        assert history.costs[:, place].tolist() == cost_lines(book, list_lines(book, each)).line("unit_cost").tolist()
    write_repricing(reprice(book, day), tmp_path / "repricing.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "repricing.xlsx")["History"]
    assert len(sheet._charts) == 3  # type: ignore[attr-defined]
    shown = stored(tmp_path / "repricing.xlsx")["History"]
    rows = {str(row[0]): row[1:4] for row in shown.iter_rows(values_only=True) if row[0]}
    assert rows["Slab 1000"][0] is not None
    assert str(shown["A2"].value).startswith("Since 1 January 2026 one piece of each list product together costs +")


def test_nothing_moved(tmp_path: Path) -> None:
    """Where nothing changed the workbook says so, without a picture of nothing."""
    path = tmp_path / "repricing.xlsx"
    write_repricing(repriced(tmp_path, write_book(tmp_path / "small.xlsx", small_book()), [], accept=False), path)
    texts = [cell.value for sheet in stored(path).worksheets for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]
    assert "Nothing that a cost rests on has changed." in texts
    assert openpyxl.load_workbook(path)["Repricing"]._charts == []  # type: ignore[attr-defined]


def test_a_price_that_was_not_there_before_has_no_change_in_per_cent(tmp_path: Path) -> None:
    """A list price typed for the first time is no change by 0 %, there was none before, and no row is spent on its being there."""
    older, sheets = small_book(), small_book()
    set_cell(older, "Products", "Slab 1000", "List price", None)
    set_cell(sheets, "Products", "Slab 1000", "List price", 90)
    old, new = (load_price_book(write_book(tmp_path / f"{name}.xlsx", each)) for name, each in (("old", older), ("new", sheets)))
    write_repricing(reprice(new, datetime.date(2026, 3, 2), against=old), tmp_path / "repricing.xlsx")
    rows = list(stored(tmp_path / "repricing.xlsx")["Repricing"].iter_rows(values_only=True))
    heads = next(number for number, row in enumerate(rows) if row[0] == "Cause" and row[1] == "Changed")
    changed = [row[:6] for row in rows[heads + 1:] if row[0]]
    assert [row[1:3] + row[3:4] for row in changed] == [("Given price, EUR", 0, 90)]
    assert changed[0][4] in (None, "")
    before = stored(tmp_path / "repricing.xlsx")["Repricing"].cell(heads + 2, 3)
    assert (before.value, before.number_format) == (0, '#,##0.00;-#,##0.00;"none"')


def test_names_that_look_like_formulas(tmp_path: Path) -> None:
    """Names that begin like a formula stay text."""
    sheets: dict[str, list[list[Any]]] = small_book()
    for row in sheets["Products"][1:]:
        row[0] = f"+{row[0]}"
    for row in sheets["Enquiries"][1:]:
        row[3] = f"+{row[3]}"
    sheets["Extras"][1][0] = "+Shelf 800"
    path = tmp_path / "repricing.xlsx"
    write_repricing(repriced(tmp_path, write_book(tmp_path / "small.xlsx", sheets), ["Cement=+8%"]), path)
    assert openpyxl.load_workbook(path)["List"]["A6"].data_type == "s"
    assert not any("Slab" in formula for formula in formulas_of(path).values())


def test_the_same_answer_gives_the_same_bytes(tmp_path: Path) -> None:
    """Written twice, the workbook is the same to the byte."""
    found = repriced(tmp_path, write_book(tmp_path / "small.xlsx", small_book()), ["Cement=+8%"])
    write_repricing(found, tmp_path / "one.xlsx")
    write_repricing(found, tmp_path / "two.xlsx")
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


@pytest.mark.usefixtures("requires_office")
def test_the_register_as_a_workbook(tmp_path: Path) -> None:
    """The exported register adds up in a spreadsheet, and its first line counts what waits for an answer."""
    costing = cost_quotes(load_price_book(DEMO))
    day = min(costing.lines.day.tolist())
    with Register.open(tmp_path / "book.xlsx") as register:
        for quote in costing.quotes:
            register.issue(snapshot_of(costing, quote), tmp_path / f"{quote}.xlsx", lambda path: path.write_bytes(b"x") and None)
        register.mark(costing.quotes[0], "ordered", day)
        entries = register.quotes(day=day)
    path = tmp_path / "register.xlsx"
    write_register(entries, path, business="A workshop", day=day)
    computed = recalculated(path)
    assert differences(stored(path), computed, 1e-9) == []
    sheet = computed["Register"]
    assert sheet["A2"].value == f"{len(entries) - 1} of {len(entries)} quotes wait for an answer on {day}."
    total = sheet.cell(6 + len(entries), 8).value
    assert total == pytest.approx(sum(entry.totals["net"] for entry in entries), abs=1e-9)


def test_an_empty_register_as_a_workbook(tmp_path: Path) -> None:
    """A register without quotes is a workbook all the same."""
    write_register([], tmp_path / "register.xlsx", day=datetime.date(2026, 3, 2))
    assert stored(tmp_path / "register.xlsx")["Register"]["A2"].value == "No quote is on record."
