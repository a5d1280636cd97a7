"""An order is made as it was promised: its mixes, moulds, labour and finishes are on record, and what has changed is named."""

from __future__ import annotations

import datetime
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from books import set_cell, small_book, write_book

import pricing
from pricing.problems import PricingError

TODAY = datetime.date.today()
Sheets = dict[str, list[list[Any]]]


def sheets_of() -> Sheets:
    sheets = small_book()
    for row in sheets["Enquiries"][1:]:
        row[1] = TODAY
    return sheets


@pytest.fixture(scope="module")
def ordered(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a book of which both quotes are ordered."""
    book = write_book(tmp_path_factory.mktemp("ordered") / "book.xlsx", sheets_of())
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("pricing.reports.quote.many.write_margin_part", lambda costing, part, path: (path.write_bytes(b"") and []) or [])
        assert pricing.quote(book, out=book.parent / "out", record="issued").problems.errors == []
    for number in ("Q-1", "Q-2"):
        pricing.mark(book, number, "ordered")
    return book


@pytest.fixture
def book(ordered: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    shutil.copytree(ordered.parent, tmp_path, dirs_exist_ok=True)
    return tmp_path / ordered.name


def work_of(book: Path, **more: Any) -> list[Any]:
    """What the workshop is told: what every quote takes, what is weighed out, and every step with its time."""
    return planned(pricing.workshop(book, **more))


def planned(done: pricing.WorkPlans) -> list[Any]:
    assert done.problems.errors == []
    loads = [load for work in done.works for sheet in work.batches for load in sheet.loads]
    steps = [(step.step, step.trade, step.total) for work in done.works for step in work.steps]
    rows = () if done.shopping is None else done.shopping.rows
    return [done.efforts, loads, steps, [(row.material, row.need, row.purchase) for row in rows]]


def without(sheets: Sheets, sheet: str, name: str, column: str) -> None:
    """A mix, plan or finish, and the products that have it, leave the book."""
    place = [str(each).partition(" (")[0] for each in sheets["Products"][0]].index(column)
    sheets[sheet][1:] = [row for row in sheets[sheet][1:] if row[0] != name]
    sheets["Products"][1:] = [row for row in sheets["Products"][1:] if row[place] != name]
    kept = {row[0] for row in sheets["Products"][1:]}
    sheets["Extras"][1:] = [row for row in sheets["Extras"][1:] if row[0] in kept]
    if column == "Labour plan":
        sheets["Labour"].append(["Other", "Cast", "Maker", 12, "cast", None, 48, "no"])
        sheets["Products"].append(["Step", "A step", "slab", 900, 400, 40, *[None] * 3, "Grey", None, "Other", *[None] * 5])


@pytest.fixture(scope="module")
def promised(ordered: Path) -> list[Any]:
    """What the workshop is told while nothing has changed."""
    return work_of(ordered)


CHANGES = [
    ("Mixes", "Dark", "Mix", "mix", ("Amount", 505)), ("Labour", "Plain", "Labour plan", "labour plan", ("Minutes", 90)),
    ("Moulds", "Melamine", "Mould plan", "mould plan", ("Lasts", 2)), ("Finishes", "Sealed", "Finish", "finish", ("Coats", 3)),
]


@pytest.mark.parametrize(("sheet", "name", "column", "called", "change"), CHANGES, ids=[each[0] for each in CHANGES])
def test_what_becomes_of_the_way_of_working_changes_no_order(
    book: Path, promised: list[Any], sheet: str, name: str, column: str, called: str, change: tuple[str, Any]
) -> None:
    """Changed or gone, the order is made as it was promised, and that is said; with --today as the book says, where it still says it."""
    for gone in (False, True):
        sheets = sheets_of()
        sheets["Enquiries"][1:] = [] if gone else sheets["Enquiries"][1:]
        if gone:
            without(sheets, sheet, name, column)
        else:
            set_cell(sheets, sheet, name, *change)
        write_book(book, sheets)
        done = pricing.workshop(book)
        assert planned(done) == promised
        told = [each.message for each in done.problems if each.code == "worked-otherwise"]
        assert told[0] == (f'quote Q-1: changed since it was issued: {called} "{name}"; it is made as it was promised; '
                           "to make it as the price book says today, add --today")
        if gone:
            assert pricing.papers(book, "Q-2", out=book.parent / "papers", kinds=["delivery"]).problems.errors == []
            assert pricing.review(book).problems.errors == []
            refused = pricing.workshop(book, as_today=True).problems
            assert f'{called} "{name}", which is no longer on the sheet {sheet}; write it there again' in str(list(refused)[-1])
        else:
            assert work_of(book, as_today=True) != promised


def test_a_trade_and_a_material_that_are_gone_are_on_record_too(book: Path, promised: list[Any]) -> None:
    """What the kept mix and the kept labour name is found, also where it left its sheet."""
    sheets = sheets_of()
    sheets["Enquiries"][1:] = []
    for sheet, name, column in (("Mixes", "Dark", "Mix"), ("Labour", "Plain", "Labour plan")):
        without(sheets, sheet, name, column)
    sheets["Materials"][1:] = [row for row in sheets["Materials"][1:] if row[0] not in ("Black", "Flow", "Brackets")]
    sheets["Trades"][1:] = [row for row in sheets["Trades"][1:] if row[0] != "Helper"]
    write_book(book, sheets)
    assert work_of(book) == promised


def test_a_register_that_did_not_keep_it_falls_back_to_the_book_with_a_word(book: Path, promised: list[Any]) -> None:
    """As an earlier version left it: made as the book says today, which is said; what is gone is asked for in a sentence."""
    with sqlite3.connect(book.with_name("book.register.sqlite")) as connection:
        connection.execute(
            "DELETE FROM book_rows WHERE sheet IN ('Mixes', 'Labour', 'Moulds', 'Finishes', 'Trades', 'Machines', 'Materials')")
    connection.close()
    done = pricing.workshop(book)
    assert planned(done) == promised
    told = {each.message for each in done.problems if each.code == "way-not-kept"}
    version = "a version that did not keep its mixes, labour and moulds"
    assert f"quote Q-1 was recorded by {version}: it is made as the price book says today" in told
    sheets = sheets_of()
    sheets["Enquiries"][1:] = []
    without(sheets, "Mixes", "Dark", "Mix")
    write_book(book, sheets)
    sentence = 'quote Q-2 is ordered with the mix "Dark", which is no longer on the sheet Mixes; write it there again'
    assert [each for each in pricing.workshop(book).problems if sentence in each.message and each.warning]
    assert any(sentence in str(each) for each in pricing.papers(book, "Q-2", out=book.parent / "papers").problems.errors)
    with pytest.raises(PricingError, match=r'mix "Dark", which is no longer on the sheet Mixes'):
        pricing.costing_of_quote(book, "Q-2")


def test_what_a_line_and_a_quote_have_of_their_own_is_made_once(tmp_path: Path) -> None:
    """Cut-outs of a line and things bought for a quote are those that were promised: never beside what the book says of them by now."""
    sheets = sheets_of()
    sheets["Cut-outs"] = [["Quote", "Line", "Form", "Diameter (mm)"], ["Q-1", 1, "round", 150]]
    sheets["Extras"][0].append("Quote")
    sheets["Extras"].append([None, "Brackets", 7, "quote", "Q-1"])
    book = write_book(tmp_path / "book.xlsx", sheets)
    as_enquired = work_of(book, quotes=["Q-1"])
    assert pricing.quote(book, quotes=["Q-1"], out=tmp_path / "out", record="issued").problems.errors == []
    pricing.mark(book, "Q-1", "ordered")
    assert work_of(book, quotes=["Q-1"]) == as_enquired
    for rows in ([], [["Q-1", 1, "round", 90], ["Q-1", 2, "round", 60]]):
        sheets["Cut-outs"][1:], sheets["Extras"][2:] = rows, [[None, "Brackets", each, "quote", "Q-1"] for each in range(1, len(rows))]
        write_book(book, sheets)
        assert work_of(book, quotes=["Q-1"]) == as_enquired
