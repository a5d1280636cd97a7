"""``pricing register``, as a bookkeeper uses it."""

from __future__ import annotations

import json
from pathlib import Path

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from click.testing import CliRunner, Result

from pricing.api import price_quotes
from pricing.cli import main
from pricing.cli.register_command import EARLIER, STATES
from pricing.register import states


def run(*arguments: str | Path) -> Result:
    """The command line, as typed."""
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The small workshop's book, its two quotes issued."""
    path = write_book(tmp_path / "book.xlsx", small_book())
    result = run("quote", path, "--out", tmp_path / "out")
    assert "recorded: 2 quotes in" in result.stdout
    return path


def amounts(book: Path) -> tuple[float, float]:
    """What the first quote comes to by the engine, without its tax and with it."""
    costing = price_quotes(book).costing
    assert costing is not None
    return float(costing.quote("net")[0]), float(costing.quote("payable")[0])


def test_the_states_are_the_registers() -> None:
    """The command knows the states that the register knows."""
    assert (states.STATES, states.EARLIER) == (STATES, EARLIER)


def test_a_list(book: Path) -> None:
    """Every quote on a line: number, customer, state, dates, amounts."""
    result = run("register", book, "--date", "2026-03-10")
    assert result.exit_code == 0
    first = result.stdout.splitlines()[1]
    net, payable = amounts(book)
    for words in ("Q-1", "Ada Field", "issued", "2026-03-02", "2026-04-01", "EUR", f"{net:,.2f}", f"{payable:,.2f}"):
        assert words in first


def test_nothing_is_made_by_looking(tmp_path: Path) -> None:
    """Listing a register that is not there makes none."""
    path = write_book(tmp_path / "book.xlsx", small_book())
    result = run("register", path)
    assert "no quote is on record" in result.stdout
    assert [each.name for each in tmp_path.iterdir()] == ["book.xlsx"]


def test_marks_and_filters(book: Path) -> None:
    """What is marked is found by its state, from its day on."""
    marked = run("register", book, "--mark", "q-1=ordered", "--mark", "Q-2=Refused", "--date", "2026-03-05")
    assert marked.stdout.splitlines() == ["Q-1: ordered since 2026-03-05", "Q-2: refused since 2026-03-05"]
    found = json.loads(run("register", book, "--state", "ordered", "--json").stdout)["quotes"]
    assert [(quote["number"], quote["state"], quote["history"][-1]) for quote in found] == [
        ("Q-1", "ordered", {"state": "ordered", "date": "2026-03-05"})]
    assert "Ada" not in run("register", book, "--customer", "brook").stdout


def test_revisions(book: Path) -> None:
    """After a change the quote is revised: the list shows what stands, --all shows both."""
    sheets = small_book()
    set_cell(sheets, "Enquiries", "Q-1", "Quantity", 5)
    write_book(book, sheets)
    result = run("quote", book, "--out", book.parent / "out")
    assert "1 of them revised: Q-1 revision 2" in result.stdout
    assert len(run("register", book).stdout.splitlines()) == 3
    assert len(run("register", book, "--all").stdout.splitlines()) == 4
    write_book(book, small_book())
    again = run("quote", book, "--out", book.parent / "out")
    assert "revision 1 again; revision 2 was issued since" in again.stderr
    assert len(run("register", book, "--all").stdout.splitlines()) == 4


def test_an_ordered_quote_is_left_as_it_is(book: Path) -> None:
    """Pricing again after the book changed writes the other quotes, and says why the ordered one is left and at what."""
    run("register", book, "--mark", "Q-1=ordered")
    _, promised = amounts(book)
    before = (book.parent / "out" / "Q-1 quote.xlsx").read_bytes()
    sheets = small_book()
    set_cell(sheets, "Materials", "Cement", "Pack price", 14)
    set_cell(sheets, "Enquiries", "Q-1", "Quantity", 9)
    write_book(book, sheets)
    result = run("quote", book, "--out", book.parent / "out")
    assert result.exit_code == 0
    payable = json.loads(run("quote", book, "--quote", "Q-1", "--json").stdout)["quotes"][0]["payable"]
    assert f"quote Q-1 is ordered and stands as it was issued, at {promised:,.2f} EUR, though" in result.stderr
    assert f"come to {payable:,.2f} EUR, as it is shown here" in result.stderr
    assert payable > promised
    assert "Q-1 quote.xlsx" not in result.stdout
    assert (book.parent / "out" / "Q-1 quote.xlsx").read_bytes() == before


def test_drafts(book: Path) -> None:
    """--draft records a draft; quoting afterwards sends it."""
    sheets = small_book()
    sheets["Enquiries"] = [sheets["Enquiries"][0], ["Q-9", *sheets["Enquiries"][1][1:]]]
    write_book(book, sheets)
    run("quote", book, "--draft", "--out", book.parent / "out")
    assert json.loads(run("register", book, "--state", "draft", "--date", "2026-03-02", "--json").stdout)["quotes"][0]["number"] == "Q-9"
    run("quote", book, "--out", book.parent / "out")
    assert [each["number"] for each in json.loads(run("register", book, "--date", "2026-03-02", "--json").stdout)["quotes"]] == [
        "Q-1", "Q-2", "Q-9"]
    assert "draft" not in run("register", book, "--date", "2026-03-02").stdout


def test_a_draft_in_the_place_of_what_was_sent_is_told(book: Path) -> None:
    """A changed quote written as a draft over the one that was sent is pointed at; in a folder of its own it is not."""
    sheets = small_book()
    set_cell(sheets, "Enquiries", "Q-1", "Quantity", 5)
    write_book(book, sheets)
    sentence = "of Q-1 revision 2 now is a draft, and no longer what was sent before"
    assert "draft" not in run("quote", book, "--draft", "--out", book.parent / "aside").stderr
    set_cell(sheets, "Enquiries", "Q-1", "Quantity", 6)
    write_book(book, sheets)
    assert sentence in run("quote", book, "--draft", "--out", book.parent / "out").stderr


def test_an_export(book: Path) -> None:
    """The list as a workbook, amounts as numbers, dates as dates."""
    result = run("register", book, "--export", book.parent / "list.xlsx", "--date", "2026-03-10")
    assert "written:" in result.stdout
    sheet = openpyxl.load_workbook(book.parent / "list.xlsx")["Register"]
    assert [cell.value for cell in sheet[6]][:3] == ["Q-1", 1, "Ada Field"]
    assert sheet["D6"].is_date
    assert sheet["G6"].is_date
    assert sheet["H6"].value == amounts(book)[0]


def test_the_next_number(book: Path) -> None:
    """The next number follows those that were issued and those that stand in the Enquiries sheet."""
    sheets = small_book()
    sheets["Enquiries"].append(["Q-7", *sheets["Enquiries"][1][1:]])
    write_book(book, sheets)
    assert run("register", book, "--next").stdout == "Q-8\n"
    assert run("register", book, "--next", "2026-").stdout == "2026-1\n"


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["--mark", "Q-1"], 2, "such as Q-1041=ordered"),
        (["--mark", "Q-1=paid"], 2, "what became of it, issued, ordered, refused, lapsed, made, delivered or settled"),
        (["--mark", "Q-5=ordered"], 1, "it holds"), (["--mark", "Q-1=ordered", "--revision", "3"], 1, "no revision 3"),
        (["--export", "list.csv"], 2, "does not end in .xlsx"), (["--state", "paid"], 2, "paid"),
    ],
)
def test_what_cannot_be_done_is_said(arguments: list[str], code: int, words: str, book: Path) -> None:
    """One sentence, the right exit code, no traceback."""
    result = run("register", book, *arguments)
    assert result.exit_code == code
    assert words in result.stderr


def test_a_book_that_is_not_there(tmp_path: Path) -> None:
    """A misspelt name makes no register."""
    result = run("register", tmp_path / "none.xlsx", "--mark", "Q-1=ordered")
    assert result.exit_code == 1
    assert "no such price book" in result.stderr
    assert list(tmp_path.iterdir()) == []
