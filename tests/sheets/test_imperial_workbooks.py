"""A workshop that measures in inches reads no metre, kilogram or litre on any page, and its live formulas are those of the engine.

The changed figures are typed in the maker's own units into the workbook, and into the price book: both come to the same.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from metric_words import METRIC_WORDS, metric_words
from referee import differences, need_office, recalculated_all

from pricing.book.reading.read import load_price_book
from pricing.costing.engine.columns import SETTINGS, Text
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.explain.explain import explain
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.workbook import write_sheets
from pricing.reports.workshop.workbook import prepared, write_work_of

IMPERIAL = Path(__file__).parents[2] / "workbooks" / "demo price book imperial.xlsx"

#: What is typed instead: by the cell of the price book, what stands there then, and what stands in the workbook.
CHANGED: dict[str, tuple[object, float]] = {
    "Products!F5": (1.25, 1.25), "Products!D5": ("3 ft 2 in", 38.0), "Materials!H9": (158, 158.0), "Materials!C9": ("60 lb", 60.0),
    "Mixes!C14": ("1400 lb/yd3", 1400.0), "Mixes!C10": ("0.15 US fl oz/lb", 0.15), "Finishes!C10": ("300 ft2/US gal", 300.0),
    "Labour!D6": (2.8, 2.8), "Workshop!B32": (20, 20.0), "Workshop!B40": (400, 400.0),
}


@dataclass(frozen=True)
class Written:
    """The margin workbook and the work for a quote of the demo in inches and pounds, and its margin workbook with some inputs changed.

    Parameters
    ----------
    costing, changed : the price book as it stands, and as it is changed
    paths : of both workbooks that were written
    margin, live : the margin workbook while it was written; the changed one with no stored results
    """

    costing: Costing
    changed: Costing
    paths: list[Path]
    margin: MarginBook
    live: Path


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """The margin workbook of the demo, its work for one quote, and what is typed into both."""
    folder = tmp_path_factory.mktemp("inches")
    source = Path(shutil.copy(IMPERIAL, folder / "book.xlsx"))
    costing = cost_quotes(load_price_book(source))
    write_work_of(prepared(costing, "T-202"), folder / "work.xlsx")
    margin = MarginBook(costing, folder / "margin.xlsx")
    write_sheets(margin)
    live, book = openpyxl.load_workbook(folder / "margin.xlsx"), openpyxl.load_workbook(source)
    for place, (typed, shown) in CHANGED.items():
        sheet, cell, _ = margin.blocks.origins[place]
        assert live[sheet][cell.replace("$", "")].protection.locked is False, f"{place} is not tinted"
        live[sheet][cell.replace("$", "")].value = shown
        name, _, at = place.partition("!")
        book[name][at].value = typed
    live.save(folder / "live.xlsx")
    book.save(folder / "changed.xlsx")
    changed = cost_quotes(load_price_book(folder / "changed.xlsx"))
    model = changed.model.with_given("lines", {"moulds_at_once": costing.model.tables["lines"].given["moulds_at_once"]})
    paths = [folder / "margin.xlsx", folder / "work.xlsx"]
    return Written(costing, replace(changed, model=model, values=evaluate(model)), paths, margin, folder / "live.xlsx")


def test_a_metric_word_would_be_found() -> None:
    """In a note, in a number format, and behind a figure; a date and a size in inches are none."""
    book = openpyxl.Workbook()
    assert book.active is not None
    for row, text in enumerate(("Board\nm²", "12.5 L in all", "per kg", "36 in × 10 in", "Mixed\nm³", "Volume\nL"), 1):
        book.active.cell(row, 1, text)
    book.active["B1"].number_format = '#,##0" mL"'
    book.active["B1"].value = 4.0
    book.active["B2"].number_format = "yyyy-mm-dd"
    assert len(metric_words(book)) == 6


def test_recalculated_pages_agree_with_the_engine_and_follow_what_is_typed_in_inches_pounds_and_gallons(written: Written) -> None:
    """A spreadsheet program gives what is stored; and with other sizes, mixes and packs typed, what the engine gives."""
    need_office()
    *recalculated, live = recalculated_all([*written.paths, written.live])
    for path, computed in zip(written.paths, recalculated, strict=True):
        if path.stem == "work":  # a cut list is of lengths to twelve digits
            computed.remove(computed["Cut list"])
        book = openpyxl.load_workbook(path, data_only=True)
        for name in set(book.sheetnames) - set(computed.sheetnames):
            book.remove(book[name])
        assert differences(book, computed) == [], path.name
    margin, wrong, count = written.margin, [], 0
    for table, block in margin.layout.blocks.items():
        rows = margin.model.tables[table]
        for column in rows.spec.columns:
            if isinstance(column, Text) or table == SETTINGS or column.name not in block.letters:
                continue
            shown = margin.measures.figures(rows, column, written.changed.values.value(table, column.name))
            for row, figure in enumerate(np.broadcast_to(shown, rows.count).tolist()):
                count += 1
                found = live[block.sheet][block.cell(column.name, row)].value
                if found != pytest.approx(figure, rel=1e-12, abs=1e-13):
                    wrong.append(f"{table} {column.name} {row}: {found}, not {figure}")
    assert count > 3000
    assert wrong == []
    before, after = (each.line("unit_cost") for each in (written.costing, written.changed))
    assert np.all(before != after)


def test_an_explanation_is_in_inches_too(written: Written) -> None:
    """From the price of a shelf down to the cement: the sizes as they are typed, and no metric unit on the way."""
    trace = explain(written.costing, "T-201", 1, "concrete")
    every = list(trace.all())
    assert {(each.shown, each.unit) for each in every if each.name == "length"} == {("36.000", "in")}
    told = [f"{each.label} {each.amount} {each.words} {each.numbers} {each.meaning} {each.rule}" for each in every]
    assert [text for text in told if METRIC_WORDS.search(text)] == []
