"""Payments and the papers to an order, as a maker uses them."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from click.testing import CliRunner, Result

from pricing.cli import main

PAPERS = ["Q-1 order confirmation.xlsx", "Q-1 payment request.xlsx", "Q-1 delivery note.xlsx", "Q-1 statement.xlsx"]


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


def texts(path: Path) -> list[Any]:
    """Everything that stands on a paper."""
    sheet = openpyxl.load_workbook(path, data_only=True).worksheets[0]
    return [cell for row in sheet.iter_rows(values_only=True) for cell in row if cell is not None]


@pytest.fixture(scope="module")
def ordered(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book whose first quote is ordered, of which the product was deleted since; half of the deposit is paid."""
    folder = tmp_path_factory.mktemp("papers")
    book = write_book(folder / "book.xlsx", small_book())
    assert run("quote", book, "--out", folder / "out").exit_code == 0
    assert run("register", book, "--mark", "Q-1=ordered", "--date", "2026-03-05").exit_code == 0
    sheets = small_book()
    sheets["Products"] = [row for row in sheets["Products"] if row[0] != "Slab 1000"]
    set_cell(sheets, "Materials", "Cement", "Pack price", 99)
    write_book(book, sheets)
    paid = run("register", book, "--paid", "q-1=200.20", "--date", "2026-03-06")
    assert paid.stdout == f"Q-1: paid 200.20, open {payable(book) - 200.2:,.2f} EUR\n"
    return book


def payable(book: Path) -> float:
    found = json.loads(run("register", book, "--json").stdout)["quotes"]
    return float(next(quote["payable"] for quote in found if quote["number"] == "Q-1"))


def test_the_papers_of_an_order(ordered: Path, tmp_path: Path) -> None:
    """Four letters from the record, without a cost, whatever became of the price book; each says its amounts."""
    result = run("papers", ordered, "--quote", "q-1", "--date", "2026-03-07", "--out", tmp_path)
    assert result.exit_code == 0, result.output
    assert [line.rpartition("/")[2] for line in result.stdout.splitlines()] == PAPERS
    amount = payable(ordered)
    deposit = round(amount / 2, 2)
    confirmation, request, delivery, statement = (texts(tmp_path / name) for name in PAPERS)
    assert {amount, deposit} <= set(confirmation)
    assert {200.2, round(deposit - 200.2, 2)} <= {round(each, 2) for each in request if isinstance(each, float)}
    assert "This has been due since 5 March 2026: please pay it now, and name quote Q-1." in "\n".join(map(str, request))
    assert round(amount - 200.2, 2) in [round(each, 2) for each in statement if isinstance(each, float)]
    assert "no tax invoice" in "\n".join(map(str, statement))
    assert amount not in delivery
    weights = [each for each in delivery if isinstance(each, int | float)]
    assert max(weights) == pytest.approx(4 * 45.3 + 3 * 12.7, abs=0.2)
    early = run("papers", ordered, "--quote", "Q-1", "--paper", "request", "--date", "2026-03-04", "--out", tmp_path)
    assert "the papers are of 2026-03-04, before quote Q-1 was ordered on 2026-03-05; look at the day" in early.stderr
    assert "Please pay by 5 March 2026, and name quote Q-1." in "\n".join(map(str, texts(tmp_path / PAPERS[1])))


def test_a_paper_that_gives_something_away_is_not_delivered(ordered: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each paper is searched before it takes its place."""
    monkeypatch.setattr("pricing.reports.quote.papers.leaks_of", lambda file, secrets: ["a part names a supplier"])
    refused = run("papers", ordered, "--quote", "Q-1", "--paper", "delivery", "--out", tmp_path)
    assert (refused.exit_code, "not delivered" in refused.stderr) == (1, True)
    assert list(tmp_path.iterdir()) == []


def test_papers_of_what_is_not_ordered(ordered: Path, tmp_path: Path) -> None:
    """A quote that is not ordered has none, and the remedy is said; one that is not there is told with those that are."""
    refused = run("papers", ordered, "--quote", "Q-2", "--out", tmp_path)
    assert (refused.exit_code, "has no papers yet; note the order with: pricing register --mark Q-2=ordered" in refused.stderr) == (1, True)
    assert "it holds Q-1, Q-2" in run("papers", ordered, "--quote", "Q-9", "--out", tmp_path).stderr
    assert "near it is Q-1" in run("papers", ordered, "--quote", "Q-11", "--out", tmp_path).stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("typed", "code", "said"), [
    ("Q-1=200.20", 1, "200.20 EUR on Q-1 on 2026-03-06 are noted already"), ("Q-2=5", 1, "nothing is paid on it yet; note the order first"),
    ("Q-1=-300", 1, "200.20 EUR were paid on Q-1 so far"), ("Q-1=much", 2, "such as Q-1041=723.30"),
])
def test_payments_that_are_refused(typed: str, code: int, said: str, ordered: Path) -> None:
    """A payment noted twice, on a quote that is not ordered, or paid back beyond what was paid, is refused in a sentence."""
    result = run("register", ordered, "--paid", typed, "--date", "2026-03-06")
    assert (result.exit_code, said in result.stderr) == (code, True)


def test_a_payment_that_was_a_slip_leaves_no_trace(ordered: Path, tmp_path: Path) -> None:
    """Taken back on its own day, it may be noted again, and the statement knows nothing of it; what is paid back later is told."""
    for amount, day in ((90, 10), (-90, 10), (90, 10), (-90, 11), (33, 12), (-33, 12)):
        assert run("register", ordered, "--paid", f"Q-1={amount}", "--date", f"2026-03-{day}").exit_code == 0
    assert run("papers", ordered, "--quote", "Q-1", "--paper", "statement", "--out", tmp_path).exit_code == 0
    told = texts(tmp_path / PAPERS[3])
    noted = [(str(each), told[place + 1]) for place, each in enumerate(told) if str(each).startswith("Paid")]
    assert noted == [("Paid on 6 March 2026", 200.2), ("Paid on 10 March 2026", 90), ("Paid back on 11 March 2026", -90)]


def test_a_list_of_none_says_why(ordered: Path) -> None:
    """Where no quote is in a state or of a customer, the register is not called empty; a single day is one day."""
    assert run("register", ordered, "--customer", "zzz").stdout == "none of the quotes on record is of that customer\n"
    assert run("register", ordered, "--state", "draft").stdout == "none of the quotes on record is in that state\n"
    assert "within 1 day" in run("register", ordered, "--due", "1").stdout.splitlines()[-1]
    assert "write a whole number from 0 to 3660" in run("register", ordered, "--due", "soon").stderr
    assert "within 1 days" not in run("register", ordered, "--due", "1").stdout


def test_what_falls_due(ordered: Path) -> None:
    """The rest of the deposit is due from the order on; the other quote lapses within the month."""
    result = run("register", ordered, "--due", "7", "--date", "2026-03-27")
    assert "Deposit  2026-03-05  EUR" in result.stdout
    assert "lapsing within 7 days: Q-2 (2026-04-01)" in result.stdout


def test_what_waits_for_the_delivery_is_told(ordered: Path) -> None:
    """The balance has no day before the pieces are delivered: it is listed apart, with what has to be marked."""
    waiting = run("register", ordered, "--due", "7", "--date", "2026-03-27").stdout.partition("marked made or delivered:")[2]
    assert "Balance" in waiting.splitlines()[2]
    assert "EUR" in waiting


def test_more_than_is_payable_is_told(ordered: Path, tmp_path: Path) -> None:
    """A payment that exceeds what is payable is noted with a word, and can be taken back; settling says what is open."""
    more = run("register", ordered, "--paid", "Q-1=5000", "--date", "2026-03-09")
    assert "EUR more are paid than is payable; look at the amount" in more.stderr
    assert run("register", ordered, "--paid", "Q-1=-5000", "--date", "2026-03-09").exit_code == 0
    settled = run("register", ordered, "--mark", "Q-1=settled", "--date", "2026-03-30")
    assert "Q-1 is settled with" in settled.stderr
    back = run("register", ordered, "--mark", "Q-1=ordered")
    assert "Q-1 is ordered again since 2026-03-05; this takes back settled on 2026-03-30" in back.stderr
    assert datetime.date.today().isoformat() not in back.stdout
