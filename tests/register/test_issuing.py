"""Issuing a quote: what is written, what stands, what is said, and in which register."""

from __future__ import annotations

import datetime
import sqlite3
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from click.testing import CliRunner, Result

import pricing
from pricing.cli import main
from pricing.problems import PricingError
from pricing.register.database import register_path
from pricing.register.homes import register_for

TODAY = datetime.date.today()
Sheets = dict[str, list[list[Any]]]


@pytest.fixture(autouse=True)
def without_margins(monkeypatch: pytest.MonkeyPatch) -> None:
    """The margin workbook, which takes the most time, is a blank file here."""
    monkeypatch.setattr("pricing.reports.quote.many.write_margin_part", lambda costing, part, path: (path.write_bytes(b"") and []) or [])


def sheets_of(day: datetime.date = TODAY) -> Sheets:
    """The small workshop with its enquiries of a day."""
    sheets = small_book()
    for row in sheets["Enquiries"][1:]:
        row[1] = day
    return sheets


def issued(folder: Path, sheets: Sheets, name: str = "book.xlsx", **more: Any) -> pricing.Priced:
    """The quotes of a book issued."""
    return pricing.quote(write_book(folder / name, sheets), out=folder / "out", record="issued", **more)


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


def said(done: pricing.Priced, code: str) -> list[str]:
    return [problem.message for problem in done.problems if problem.code == code]


def test_a_changed_quote_is_a_draft_until_it_is_promised_anew(tmp_path: Path) -> None:
    """What was promised, what it would be, why, and how to promise it, in one sentence; the draft says so; a revision says which it is."""
    first = issued(tmp_path, sheets_of())
    before = (tmp_path / "out" / "Q-1 quote.xlsx").read_bytes()
    sheets = sheets_of()
    set_cell(sheets, "Workshop", "Target margin", "Value", "45 %")
    second = issued(tmp_path, sheets)
    (sentence,) = [each for each in said(second, "promised-otherwise") if each.startswith("quote Q-1 ")]
    was, now = (float(done.costed.quote("payable")[0]) for done in (first, second))
    assert f"was promised at {was:,.2f} EUR and would now come to {now:,.2f} EUR, because of Target margin (+" in sentence
    assert " net); what was promised stands, and " in sentence
    assert sentence.endswith('"Q-1 draft.xlsx" shows what is new; to promise that, add --revise Q-1')
    assert (tmp_path / "out" / "Q-1 quote.xlsx").read_bytes() == before
    texts = [str(cell.value) for row in openpyxl.load_workbook(tmp_path / "out" / "Q-1 draft.xlsx").worksheets[0] for cell in row]
    assert "Draft, not yet an offer" in texts
    assert not any("please sign this quote" in text for text in texts)
    third = pricing.quote(tmp_path / "book.xlsx", out=tmp_path / "out", record="issued", revise=["q-1"])
    assert [path.name for path in third.written] == ["Q-1 revision 2 quote.xlsx", "Q-1 margin.xlsx"]
    texts = [cell.value for row in openpyxl.load_workbook(tmp_path / "out" / "Q-1 revision 2 quote.xlsx").worksheets[0] for cell in row]
    assert "Q-1 revision 2" in texts
    assert sorted(path.name for path in (tmp_path / "out").glob("*draft*")) == []
    assert (tmp_path / "out" / "Q-1 quote.xlsx").read_bytes() == before


def test_a_file_changed_by_hand_is_left_and_one_that_is_gone_comes_back(tmp_path: Path) -> None:
    """What was changed by hand is not written over and is told; what was deleted is written once more, to the last byte."""
    issued(tmp_path, sheets_of())
    one, two = (tmp_path / "out" / f"{number} quote.xlsx" for number in ("Q-1", "Q-2"))
    one.write_bytes(b"mine")
    before = two.read_bytes()
    two.unlink()
    again = pricing.quote(tmp_path / "book.xlsx", out=tmp_path / "out", record="issued")
    assert said(again, "changed-by-hand") == ["Q-1 quote.xlsx of quote Q-1 was changed since it was issued; it is left as it is"]
    assert (one.read_bytes(), two.read_bytes()) == (b"mine", before)


def test_a_file_that_nobody_knows_is_in_the_way(tmp_path: Path) -> None:
    """A file of that name that the register does not know is not written over, and its quote is not recorded."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "Q-1 quote.xlsx").write_bytes(b"of another book")
    done = issued(tmp_path, sheets_of())
    assert [problem.code for problem in done.problems.errors] == ["file-in-the-way"]
    assert [each.quote.number for each in done.issued] == ["Q-2"]
    assert (tmp_path / "out" / "Q-1 quote.xlsx").read_bytes() == b"of another book"


@pytest.mark.parametrize(("days", "codes"), [
    (0, []), (-31, ["lapsed-when-issued"]), (400, ["far-date"]), (-400, ["far-date", "lapsed-when-issued"]),
])
def test_days_that_are_odd_are_told(days: int, codes: list[str], tmp_path: Path) -> None:
    """A quote that has lapsed on the day of issue, and one dated more than a year from today, are told of."""
    sheets = sheets_of(TODAY + datetime.timedelta(days=days))
    for row in sheets["Materials"][1:]:
        row[-1] = TODAY - datetime.timedelta(days=2000)
    done = issued(tmp_path, sheets)
    assert sorted({problem.code for problem in done.problems if problem.code in ("far-date", "lapsed-when-issued")}) == codes


def test_amounts_keep_their_currency(tmp_path: Path) -> None:
    """After a change of currency what was promised in euros is shown in euros, and is not compared with pounds."""
    issued(tmp_path, sheets_of())
    sheets = sheets_of()
    set_cell(sheets, "Workshop", "Currency", "Value", "GBP")
    changed = issued(tmp_path, sheets)
    assert " EUR and would now come to " in said(changed, "promised-otherwise")[0]
    assert "GBP" in said(changed, "promised-otherwise")[0]
    assert {quote.currency for quote in pricing.recorded(tmp_path / "book.xlsx").quotes} == {"EUR"}
    repriced = pricing.reprice(tmp_path / "book.xlsx")
    assert repriced.compared.quotes == []
    assert [problem.message for problem in repriced.to_be_told] == [
        "promised in another currency than GBP, and therefore not compared: Q-1 (EUR) and Q-2 (EUR)"]


def test_a_fault_elsewhere_stops_no_quote(tmp_path: Path) -> None:
    """A fault in another quote, or in a product that a quote does not have, is told once and stops nothing; in its own it does."""
    sheets = sheets_of()
    set_cell(sheets, "Enquiries", "Q-2", "Quantity", "some")
    set_cell(sheets, "Products", "Block", "Rejects", "most")
    done = issued(tmp_path, sheets, quotes=["Q-1"])
    assert [path.name for path in done.written] == ["Q-1 quote.xlsx", "Q-1 margin.xlsx"]
    aside = [problem.place for problem in done.problems if "not needed here, and left out" in problem.message]
    assert aside == ["Products!N4", "Enquiries!E4"]
    other = issued(tmp_path, sheets, quotes=["Q-2"])
    assert other.costing is None
    assert {problem.place for problem in other.problems.errors} >= {"Enquiries!E4"}


def test_a_product_that_was_deleted_blocks_no_other_quote(tmp_path: Path) -> None:
    """The order stands on what was recorded: other quotes are issued, the order is explained, reviewed, and its rows may go."""
    sheets = sheets_of()
    issued(tmp_path, sheets)
    book = tmp_path / "book.xlsx"
    cost = pricing.explain(book, "Q-2", 1, "unit_cost").value
    pricing.mark(book, "Q-2", "ordered")
    sheets["Products"] = [row for row in sheets["Products"] if row[0] != "Block"]
    sheets["Enquiries"].append(["Q-3", TODAY, "Ada Field", "Slab 1000", 2, None, None, None, None])
    done = issued(tmp_path, sheets)
    assert [each.quote.number for each in done.issued] == ["Q-3"]
    assert ["not needed here, and left out" in problem.message for problem in done.problems if problem.place == "Enquiries!D4"] == [True]
    assert pricing.explain(book, "q-2", 1, "unit_cost").value == cost
    assert pricing.review(book).capacity is not None
    assert pricing.no_longer_needed(book) == [f"Enquiries row {row}: Q-2, ordered since {TODAY}" for row in (4, 5)]
    assert not pricing.check(book).problems.errors


def test_check_says_what_quote_would_refuse(tmp_path: Path) -> None:
    """A weight that no band holds, a day before the first price, a mix that does not fill and a note that gives away another customer
    or what the piece costs are told by check, and end it with 1."""
    cost = float(pricing.cost(write_book(tmp_path / "book.xlsx", sheets_of())).line("unit_cost")[1])
    for fault in ("band", "day", "mix", "customer", "cost"):
        sheets = sheets_of()
        if fault == "band":
            sheets["Delivery"] = sheets["Delivery"][:2]
        elif fault == "day":
            sheets["Enquiries"][1][1] = sheets["Enquiries"][2][1] = datetime.date(2020, 1, 1)
        elif fault == "mix":
            sheets["Mixes"].append(["Grey", "Sand", 5000, "kg/m3"])
        else:
            sheets["Enquiries"][2][8] = "as for Brook House" if fault == "customer" else f"costs us {cost:.2f}"
        book = write_book(tmp_path / "book.xlsx", sheets)
        refused = pricing.quote(book, out=tmp_path / "out").problems.errors
        assert refused
        assert pricing.check(book).problems.errors == refused
        assert run("check", book).exit_code == 1


def test_what_was_paid_counts_for_the_revision_that_is_ordered(tmp_path: Path) -> None:
    """A deposit on the first revision stands when the second is ordered instead; where it is more than that comes to, it is told."""
    sheets = sheets_of()
    issued(tmp_path, sheets)
    book = tmp_path / "book.xlsx"
    pricing.mark(book, "Q-2", "ordered")
    pricing.paid(book, "Q-2", 500.0)
    set_cell(sheets, "Enquiries", "Q-2", "Quantity", 3)
    issued(tmp_path, sheets, revise=["Q-2"])
    pricing.mark(book, "Q-2", "issued", revision=1)
    told = pricing.Problems()
    second = pricing.mark(book, "Q-2", "ordered", revision=2, told=told)
    account = pricing.recorded(book).accounts[second.key]
    assert (account.total_paid, round(account.open, 2)) == (500.0, round(second.totals["payable"] - 500.0, 2))
    assert [each.code for each in told] == ["paid-too-much"]


@pytest.mark.parametrize(("settings", "code", "sentence"), [
    ({"Price step": 5000, "Price rounding": "nearest"}, "given-away", "it costs 277.60 EUR and brings nothing; type a price"),
    ({"Cash step": 5000}, "nothing-to-pay", "of which nothing is to pay in steps of cash of 5,000.00; make the Cash step"),
])
def test_steps_that_leave_nothing_are_asked_about(tmp_path: Path, settings: dict[str, Any], code: str, sentence: str) -> None:
    """A price that its step rounds to nothing, and a quote of which the step of cash leaves nothing, are told by check and by quote."""
    sheets = sheets_of()
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] not in settings]
    sheets["Workshop"] += [[name, value, None] for name, value in settings.items()]
    book = write_book(tmp_path / "book.xlsx", sheets)
    for problems in (pricing.check(book).problems, pricing.quote(book).problems):
        assert any(each.code == code and sentence in each.message for each in problems), list(map(str, problems))


def test_of_very_many_quotes_a_check_searches_those_with_the_longest_texts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And says so; the others are searched before they are written."""
    monkeypatch.setattr("pricing.api.searched.MOST_SEARCHED", 20)
    sheets = sheets_of()
    sheets["Enquiries"][3][8] = "as for Ada Field, in the same grey"
    found = pricing.check(write_book(tmp_path / "book.xlsx", sheets)).problems
    assert [each.code for each in found.errors] == ["leak"]
    assert any(each.message.startswith("1 of 2 quotes were searched") for each in found.warnings)


def test_a_register_that_another_run_begins_meanwhile_is_gone_on_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of several runs at once one begins the register; to those that looked for it just before, it is the register of the book."""
    book, own = write_book(tmp_path / "book.xlsx", sheets_of()), register_path(tmp_path / "book.xlsx")
    exists, looked = Path.exists, []

    def begun_after_the_first_look(path: Path) -> bool:
        found = exists(path)
        if path == own and not looked:
            looked.append(found)
            path.touch()
        return found

    monkeypatch.setattr(Path, "exists", begun_after_the_first_look)
    assert register_for(book) == own
    assert looked == [False]


def test_a_renamed_book_finds_its_register(tmp_path: Path) -> None:
    """Nothing is begun anew in silence: the registers beside it are named; the one that is named is found from then on."""
    issued(tmp_path, sheets_of())
    book = (tmp_path / "book.xlsx").rename(tmp_path / "new book.xlsx")
    for command in (["register", book], ["quote", book, "--out", tmp_path / "out"]):
        refused = run(*command)
        assert refused.exit_code == 1
        assert "there is no register of quotes for new book.xlsx yet" in refused.stderr
        assert 'to go on in it, add --register "book.register.sqlite"; to begin a new one, add --register "new book' in refused.stderr
    assert "Ada Field" in run("register", book, "--register", tmp_path / "book.register.sqlite").stdout
    assert "Ada Field" in run("register", book).stdout
    assert [each.number for each in pricing.quote(book, out=tmp_path / "out", record="issued").stands] == ["Q-1", "Q-2"]


def test_two_books_in_one_folder(tmp_path: Path) -> None:
    """Another business has a register of its own; neither writes over the other's quotes or its margin summary."""
    issued(tmp_path, sheets_of())
    other = sheets_of()
    set_cell(other, "Workshop", "Business name", "Value", "Other Castings")
    set_cell(other, "Enquiries", "Q-1", "Quantity", 7)
    done = issued(tmp_path, other, "other.xlsx")
    assert {problem.code for problem in done.problems.errors} == {"file-in-the-way"}
    assert done.issued == []
    assert sorted(path.name for path in tmp_path.glob("*.sqlite")) == ["book.register.sqlite", "other.register.sqlite"]
    with pytest.raises(PricingError, match=r"goes on in other.register.sqlite"):
        pricing.use_register(tmp_path / "other.xlsx", tmp_path / "book.register.sqlite")


def test_whose_book_it_is_takes_one_sheet_to_say(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A book beside the register of another business begins its own, and is not read whole for that."""
    (tmp_path / "book.register.sqlite").touch()
    book = write_book(tmp_path / "other.xlsx", sheets_of())
    with sqlite3.connect(tmp_path / "book.register.sqlite") as connection:
        connection.execute("CREATE TABLE price_books (file, business)")
        connection.execute("INSERT INTO price_books VALUES ('book.xlsx', 'Other Castings')")
    connection.close()
    monkeypatch.setattr("pricing.book.reading.read.read_price_book", None)
    assert register_for(book) == register_path(book)


def test_a_makers_workbook_of_another_book_is_not_written_over(tmp_path: Path) -> None:
    """The workbook says from which book it was written; while that book lies beside, another is told to choose another folder."""
    for name in ("book.xlsx", "other.xlsx"):
        write_book(tmp_path / name, sheets_of())
    assert pricing.reprice(tmp_path / "book.xlsx", out=tmp_path / "out").written
    refused = pricing.reprice(tmp_path / "other.xlsx", out=tmp_path / "out")
    assert [problem.code for problem in refused.problems.errors] == ["file-of-another-book"]
    assert 'was written from "book.xlsx" and is not written over' in refused.problems.errors[0].message
