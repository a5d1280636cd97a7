"""Cut-outs, outlines, layers, steel and edges at a wall are live: changed in the margin workbook, they do what they do in the book."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import write_book
from pieces_book import pieces_book
from referee import without_results
from test_live_model import a_change, changed_in_price_book, disagreements, figures, numbers_in, parts_of, recalculate, replaced

from pricing.book.reading.read import load_price_book
from pricing.costing.lines.order_lines import enquired
from pricing.costing.run import cost_lines
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.workbook import write_sheets

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
def test_every_input_of_a_piece_may_be_changed_in_the_workbook_itself(tmp_path: Path) -> None:
    """Each of them, and some others: the recalculated workbook gives what the engine gives for a changed book."""
    source = plain(tmp_path / "book.xlsx", pieces_book())
    book = load_price_book(source)
    costing = cost_lines(book, enquired(book))
    path, blank = tmp_path / "margin.xlsx", tmp_path / "blank.xlsx"
    margin = MarginBook(costing, path, bare=True)
    write_sheets(margin)
    without_results(path, blank)
    inputs = numbers_in(source, margin)
    generator = np.random.default_rng(SEED)
    own = [place for place in inputs if place.partition("!")[0] in ("Cut-outs", "Outlines", "Layers") or place.startswith("Materials!O")]
    assert len(own) > 40
    counts = {place for place in own if place.startswith("Cut-outs!K")}
    others = generator.choice([place for place in inputs if place not in own], OTHERS, replace=False).tolist()
    changes = [a_change(place, *inputs[place], generator) for place in [*own, *others]]
    changes = [replace(change, factor=2.0) if change.place in counts else change for change in changes]
    in_book, in_margin = parts_of(source), parts_of(path)
    copies = [tmp_path / f"{number}.xlsx" for number in range(len(changes))]
    for change, copy in zip(changes, copies, strict=True):
        replaced(blank, copy, in_margin[change.sheet], change.cell, change.figure * change.factor)
    wrong: dict[str, list[str]] = {}
    at_once = costing.model.tables["lines"].given["moulds_at_once"]
    moved = refused = 0
    for change, result in zip(changes, recalculate([*copies, blank], tmp_path)[:-1], strict=True):
        try:
            expected = changed_in_price_book(source, in_book, change, tmp_path / "changed.xlsx", at_once)
        except AssertionError:  # the changed piece cannot be, and the book is refused
            expected = None
        if expected is None:
            refused += 1
            continue
        moved += bool((expected.line("unit_cost") != costing.line("unit_cost")).any())
        found = disagreements(figures(result, margin), expected)
        if found:
            wrong[f"{change.place} ({change.sheet}!{change.cell}) x {change.factor:.4f}"] = found[:3]
    assert wrong == {}
    assert refused < 0.2 * len(changes)
    assert moved > 0.6 * len(changes)


@pytest.mark.usefixtures("requires_office")
def test_recalculated_from_nothing_the_workbook_gives_what_the_engine_gives(tmp_path: Path) -> None:
    """Every figure of lines and quotes, and no check that fails."""
    book = load_price_book(write_book(tmp_path / "book.xlsx", pieces_book()))
    costing = cost_lines(book, enquired(book))
    margin = MarginBook(costing, tmp_path / "margin.xlsx", bare=True)
    write_sheets(margin)
    without_results(tmp_path / "margin.xlsx", tmp_path / "blank.xlsx")
    assert disagreements(figures(recalculate([tmp_path / "blank.xlsx"], tmp_path)[0], margin), costing) == []
