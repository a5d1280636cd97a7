"""The sheet that says why: each value refers to the model, follows it, and stands beside its cell of the price book."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import small_book, write_book
from referee import formulas_of, recalculated_all, stored

from pricing import cost_quotes, load_price_book
from pricing.costing.method.costing import Costing
from pricing.reports.margin import why as margin_why
from pricing.reports.margin.workbook import write_margin

#: What stands open of each line.
PARTS = {"Unit price", "Unit cost", "Concrete", "Mould", "Labour", "Machines", "Finish", "Extras", "Overhead"}

_REFERENCE = re.compile(r"=(?:'[^']+'|[A-Za-z]+)!\$?[A-Z]+\$?\d+")


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    return cost_quotes(load_price_book(write_book(tmp_path_factory.mktemp("why") / "small.xlsx", small_book())))


def written(costing: Costing, folder: Path) -> Path:
    """The margin workbook of a costing."""
    write_margin(costing, folder / "margin.xlsx")
    return folder / "margin.xlsx"


def rows_of(path: Path) -> list[tuple[Any, ...]]:
    return [row[:5] for row in stored(path)["Why"].iter_rows(min_row=6, values_only=True)]


def test_every_value_is_a_reference_to_the_model(costing: Costing, tmp_path: Path) -> None:
    """No arithmetic and no typed number on this sheet: one plain reference for each value, its result stored with it."""
    path = written(costing, tmp_path)
    formulas = [text for (sheet, _), text in formulas_of(path).items() if sheet == "Why"]
    assert len(formulas) > 150
    assert all(_REFERENCE.fullmatch(text) for text in formulas)
    results = stored(path)
    for (sheet, cell), text in formulas_of(path).items():
        if sheet == "Why":
            name, _, target = text.removeprefix("=").replace("'", "").replace("$", "").partition("!")
            assert results["Why"][cell].value == results[name][target].value, cell


@pytest.mark.usefixtures("requires_office")
def test_the_values_follow_a_changed_input(costing: Costing, tmp_path: Path) -> None:
    """Recalculated as written the sheet shows the engine's figures; with another target margin it shows the new price."""
    path = written(costing, tmp_path)
    changed = openpyxl.load_workbook(path)
    (cell,) = [row[2] for row in changed["Settings"].iter_rows(min_row=5) if row[0].value == "Target margin"]
    cell.value = 0.5
    changed.save(tmp_path / "changed.xlsx")
    same, other = recalculated_all([path, tmp_path / "changed.xlsx"])
    before = [row[1].value for row in stored(path)["Why"].iter_rows(min_row=6)]
    assert [row[1].value for row in same["Why"].iter_rows(min_row=6)] == [
        value if value is None else pytest.approx(value, rel=1e-12) for value in before]
    first = {row[0].value: row[1].value for row in reversed(list(other["Why"].iter_rows(min_row=6, max_row=18)))}
    assert first["Wanted margin"] == 0.5
    assert first["Unit cost"] == pytest.approx(69.399326766, rel=1e-9)  # four pieces, each from a mixer load of its own
    assert first["Unit price"] == 139  # twice that, up to a whole euro
    assert first["Target price"] == pytest.approx(2 * first["Unit cost"], rel=1e-12)


def test_each_line_goes_from_price_to_parts_and_their_drivers(costing: Costing, tmp_path: Path) -> None:
    """A heading for each line, then price, cost, seven parts and what each is made of; the largest line goes to its cells."""
    rows = rows_of(written(costing, tmp_path))
    starts = [number for number, row in enumerate(rows) if row[0] and ", line " in str(row[0])]
    assert [rows[start][0] for start in starts] == [
        "Q-1, line 1: Slab 1000", "Q-1, line 2: Shelf 800", "Q-2, line 1: Block", "Q-2, line 2: Slab 1000"]
    for start, end in zip(starts, [*starts[1:], len(rows)], strict=True):
        names = [str(row[0]) for row in rows[start:end]]
        assert {"Unit price", "Unit cost", "Concrete", "Mould", "Labour", "Machines", "Finish", "Extras", "Overhead"} <= set(names)
    shown = [{row[3] for row in rows[start:end] if row[3]} for start, end in zip(starts, [*starts[1:], len(rows)], strict=True)]
    assert {"Materials!E2", "Mixes!C11", "Labour!D6", "Products!H4", "Trades!B2"} <= shown[2]  # 1,140 of net: the largest line
    assert "Materials!E2" not in shown[0]
    assert "Enquiries!H5" in shown[3]


def test_rows_fold_by_level(costing: Costing, tmp_path: Path) -> None:
    """Indentation and outline level go together; what lies below the parts is folded away, its row above carries the sign."""
    sheet = openpyxl.load_workbook(written(costing, tmp_path))["Why"]
    assert sheet.sheet_properties.outlinePr.summaryBelow is False
    levels = 0
    for number in range(7, sheet.max_row + 1):
        size = sheet.row_dimensions[number]
        if sheet.cell(number, 2).value is not None:
            depth = int(sheet.cell(number, 1).alignment.indent)
            assert size.outlineLevel == min(depth + 1, 7)
            assert size.hidden or depth + 1 <= margin_why.OPEN
            if sheet.cell(number, 1).value in PARTS:
                assert not size.hidden
            levels = max(levels, size.outlineLevel)
            if size.hidden and not sheet.row_dimensions[number - 1].hidden:
                assert sheet.row_dimensions[number - 1].collapsed
    assert levels > 4


def test_more_lines_than_have_room_are_told(costing: Costing, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there are too many lines, those with the largest net are shown, in the order of the quotes, and the sheet says so."""
    monkeypatch.setattr(margin_why, "MOST_ROWS", 222)  # the largest takes 184, the next 35
    path = written(costing, tmp_path)
    titles = [row[0] for row in rows_of(path) if row[0] and ", line " in str(row[0])]
    assert titles == ["Q-1, line 1: Slab 1000", "Q-2, line 1: Block"]
    assert "2 of 4 lines" in str(stored(path)["Why"]["A2"].value)


def test_shares_are_shown_as_shares(costing: Costing, tmp_path: Path) -> None:
    """A percentage has its sign in the number format and no unit beside it; money has its currency beside it."""
    sheet = openpyxl.load_workbook(written(costing, tmp_path))["Why"]
    found = {sheet.cell(row, 1).value: (sheet.cell(row, 2).number_format, sheet.cell(row, 3).value) for row in range(6, 40)}
    assert found["Wanted margin"] == ("0.0%", None)
    assert found["Unit price"] == ("#,##0.00", "EUR")
    assert found["Whole steps"][1] == "steps"
