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
from pricing.register import recorded_quote


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
    assert (recorded_quote.STATES, recorded_quote.EARLIER) == (STATES, EARLIER)


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


def changed(book: Path, quantity: int = 5) -> Path:
    """The book with another quantity in the first line of Q-1."""
    sheets = small_book()
    set_cell(sheets, "Enquiries", "Q-1", "Quantity", quantity)
    return write_book(book, sheets)


def test_revisions(book: Path) -> None:
    """A changed quote is promised anew where that is asked for: the list shows what stands, --all shows both."""
    result = run("quote", changed(book), "--revise", "q-1", "--out", book.parent / "out")
    assert f"written: {book.parent / 'out' / 'Q-1 revision 2 quote.xlsx'}" in result.stdout
    assert "recorded: 1 quote in" in result.stdout
    assert len(run("register", book).stdout.splitlines()) == 3
    assert len(run("register", book, "--all").stdout.splitlines()) == 4


def test_an_ordered_quote_is_left_as_it_is(book: Path) -> None:
    """Pricing again after the book changed leaves what is ordered, and says so; its file is the one that was issued."""
    run("register", book, "--mark", "Q-1=ordered", "--date", "2026-03-05")
    before = {path.name: path.read_bytes() for path in (book.parent / "out").glob("*quote.xlsx")}
    result = run("quote", changed(book, 9), "--out", book.parent / "out")
    assert result.exit_code == 0
    assert "left as they are: Q-1 (ordered), Q-2 (lapsed)" in result.stdout
    assert {path.name: path.read_bytes() for path in (book.parent / "out").glob("*quote.xlsx")} == before
    assert not list((book.parent / "out").glob("*draft.xlsx"))


def test_drafts(book: Path) -> None:
    """--draft records a draft and says so on its page; quoting afterwards issues it, and the draft goes."""
    sheets = small_book()
    sheets["Enquiries"] = [sheets["Enquiries"][0], ["Q-9", *sheets["Enquiries"][1][1:]]]
    write_book(book, sheets)
    run("quote", book, "--draft", "--out", book.parent / "out")
    assert json.loads(run("register", book, "--state", "draft", "--date", "2026-03-02", "--json").stdout)["quotes"][0]["number"] == "Q-9"
    told = run("register", book, "--mark", "Q-9=ordered")
    assert (told.exit_code, "Q-9 is a draft, by which nothing is promised" in told.stderr) == (1, True)
    assert (book.parent / "out" / "Q-9 draft.xlsx").exists()
    run("quote", book, "--out", book.parent / "out")
    assert not (book.parent / "out" / "Q-9 draft.xlsx").exists()
    assert [each["number"] for each in json.loads(run("register", book, "--date", "2026-03-02", "--json").stdout)["quotes"]] == [
        "Q-1", "Q-2", "Q-9"]
    assert "draft" not in run("register", book, "--date", "2026-03-02").stdout


def test_what_a_mark_takes_back_is_said(book: Path) -> None:
    """A mistaken mark is taken back, a wrong day corrected, and both are told; the history keeps all of it."""
    run("register", book, "--mark", "Q-1=ordered", "--date", "2026-03-05")
    corrected = run("register", book, "--mark", "Q-1=ordered", "--date", "2026-03-06")
    assert "Q-1 is ordered since 2026-03-06, and no longer since 2026-03-05" in corrected.stderr
    back = run("register", book, "--mark", "Q-1=issued")
    assert "this takes back ordered on 2026-03-05 and ordered on 2026-03-06" in back.stderr
    history = json.loads(run("register", book, "--json").stdout)["quotes"][0]["history"]
    assert [each["state"] for each in history] == ["issued", "ordered", "ordered", "issued"]


def test_a_day_before_the_last_one_is_asked_about(book: Path) -> None:
    """What is delivered on a day before it was made, by a clock that is wrong or a slip, is noted and pointed at."""
    for mark, day in (("ordered", "2026-03-06"), ("made", "2026-03-10")):
        assert "look at the day" not in run("register", book, "--mark", f"Q-1={mark}", "--date", day).stderr
    told = run("register", book, "--mark", "Q-1=delivered", "--date", "2026-03-09").stderr
    assert "Q-1 is delivered since 2026-03-09, before it was made on 2026-03-10; look at the day" in told


def test_ordering_late_is_asked_about(book: Path) -> None:
    """An order after the last day takes --late, and what it earns at the prices of that day is said either way."""
    asked = run("register", book, "--mark", "Q-1=ordered", "--date", "2027-11-23")
    assert asked.exit_code == 1
    assert "quote Q-1 had lapsed on 2026-04-01, 601 days before; to order it all the same, add --late" in asked.stderr
    assert "at the prices of 2027-11-23 what was promised earns" in asked.stderr
    late = run("register", book, "--mark", "Q-1=ordered", "--date", "2027-11-23", "--late")
    assert late.stdout == "Q-1: ordered since 2027-11-23\n"
    assert "what was promised earns" in late.stderr
    assert "631 days after its date; look at the day" in late.stderr


def test_words_of_before(book: Path) -> None:
    """What a state was called earlier is understood, and what it is called now is said."""
    result = run("register", book, "--mark", "Q-1=Accepted", "--date", "2026-03-05")
    assert result.stdout == "Q-1: ordered since 2026-03-05\n"
    assert '"accepted" is called "ordered" now' in result.stderr
    assert "Ada Field" in run("register", book, "--state", "accepted").stdout


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
