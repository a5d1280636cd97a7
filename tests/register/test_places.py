"""Where nothing is written: over the price book, over what a run reads, over workbooks of another book, over what was issued."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import pytest
from books import set_cell, small_book, write_book
from click.testing import CliRunner, Result

import pricing
from pricing.cli import main

TODAY = datetime.date.today()
LATER = TODAY + datetime.timedelta(3)


@pytest.fixture(autouse=True)
def without_margins(monkeypatch: pytest.MonkeyPatch) -> None:
    """The margin workbook, which takes the most time, is a blank file here."""
    monkeypatch.setattr("pricing.reports.quote.many.write_margin_part", lambda costing, part, path: (path.write_bytes(b"") and []) or [])


@pytest.fixture(scope="module")
def ordered_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a book and its register, in which Q-1 is ordered and Q-2 is issued."""
    sheets = small_book()
    for row in sheets["Enquiries"][1:]:
        row[1] = TODAY
    book = write_book(tmp_path_factory.mktemp("ordered") / "book.xlsx", sheets)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("pricing.reports.quote.many.write_margin_part", lambda costing, part, path: (path.write_bytes(b"") and []) or [])
        assert pricing.quote(book, out=book.parent / "out", record="issued").problems.errors == []
    pricing.mark(book, "Q-1", "ordered")
    return book


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


#: By what a book may be called: the command that would write a file of that name.
COMMANDS = {
    "margin summary.xlsx": ("quote", "BOOK", "--out", "DIR"),
    "Q-2 margin.xlsx": ("quote", "BOOK", "--quote", "Q-2", "--out", "DIR"),
    "Q-2 draft.xlsx": ("quote", "BOOK", "--draft", "--out", "DIR"),
    "Q-2 quote.xlsx": ("quote", "BOOK", "--quote", "Q-2", "--out", "DIR"),
    "Q-2 revision 2 quote.xlsx": ("reprice", "BOOK", "--reissue", "--quote", "Q-2", "--date", LATER, "--out", "DIR"),
    "repricing.xlsx": ("reprice", "BOOK", "--out", "DIR"),
    "Q-1 workshop.xlsx": ("workshop", "BOOK", "--out", "DIR"),
    "review.xlsx": ("review", "BOOK", "--out", "DIR"),
    "catalogue.xlsx": ("catalogue", "BOOK", "--format", "xlsx", "--out", "DIR"),
    "price list.xlsx": ("publish", "BOOK", "--list", "--out", "DIR"),
    "Q-1 delivery note.xlsx": ("papers", "BOOK", "--quote", "Q-1", "--paper", "delivery", "--out", "DIR"),
    "anything.xlsx": ("register", "BOOK", "--export", "BOOK"),
}


@pytest.mark.parametrize("name", COMMANDS)
def test_no_command_writes_over_the_price_book(ordered_book: Path, tmp_path: Path, name: str) -> None:
    """A book that is called as an output is refused in one sentence, and stands to the last byte."""
    book = shutil.copy(ordered_book, tmp_path / name)
    if name not in ("Q-2 draft.xlsx", "Q-2 quote.xlsx"):  # these are for quotes that are not on record
        shutil.copy(ordered_book.with_name("book.register.sqlite"), tmp_path / f"{Path(name).stem}.register.sqlite")
    before = book.read_bytes()
    done = run(*(book if each == "BOOK" else tmp_path if each == "DIR" else each for each in COMMANDS[name]))
    assert (done.exit_code, book.read_bytes() == before) == (1, True), done.output
    assert "the price book itself, and is never written over; " in done.stderr
    assert "Traceback" not in done.output


def test_nor_over_another_price_book_or_over_what_a_run_reads(ordered_book: Path, tmp_path: Path) -> None:
    """Another price book of any name, the older book of a comparison, and a table of variants stand too."""
    other = shutil.copy(ordered_book, tmp_path / "review.xlsx")
    done = run("review", ordered_book, "--out", tmp_path)
    assert (done.exit_code, "is a price book, and is not written over" in done.stderr) == (1, True)
    older = shutil.copy(ordered_book, tmp_path / "repricing.xlsx")
    done = run("reprice", ordered_book, "--against", older, "--out", tmp_path)
    assert (done.exit_code, "is what is read here, and is not written over" in done.stderr) == (1, True)
    variants = shutil.copy(ordered_book, tmp_path / "catalogue.xlsx")
    found = pricing.catalogue(ordered_book, variants=variants, form="xlsx", out=tmp_path)
    assert found.written == []
    assert {path.read_bytes() for path in (other, older, variants)} == {ordered_book.read_bytes()}


def test_two_books_do_not_write_over_each_others_lists_and_papers(ordered_book: Path, tmp_path: Path) -> None:
    """Price list, catalogue, list of quotes and papers of one book are left by the other, and written anew by their own."""
    for name in ("one", "two"):
        shutil.copy(ordered_book, tmp_path / f"{name}.xlsx")
        shutil.copy(ordered_book.with_name("book.register.sqlite"), tmp_path / f"{name}.register.sqlite")
    out = tmp_path / "out"
    commands = (
        ("publish", "BOOK", "--list", "--out", out), ("catalogue", "BOOK", "--format", "xlsx", "--out", out),
        ("register", "BOOK", "--export", out / "quotes.xlsx"), ("papers", "BOOK", "--quote", "Q-1", "--out", out),
    )
    for command in commands:
        ours, theirs = ([tmp_path / f"{name}.xlsx" if each == "BOOK" else each for each in command] for name in ("one", "two"))
        assert run(*ours).exit_code == 0
        held = {path: path.read_bytes() for path in out.iterdir()}
        refused = run(*theirs)
        assert refused.exit_code == 1
        assert 'was written from "one.xlsx" and is not written over' in refused.stderr
        assert {path: path.read_bytes() for path in out.iterdir()} == held
        assert run(*ours).exit_code == 0
    (tmp_path / "one.xlsx").unlink()
    assert run("papers", tmp_path / "two.xlsx", "--quote", "Q-1", "--out", out).exit_code == 0


def test_what_was_issued_stands_also_where_nothing_is_recorded(ordered_book: Path, tmp_path: Path) -> None:
    """From Python without a record, a file that was issued is refused in a sentence, and the others are written."""
    shutil.copytree(ordered_book.parent, tmp_path, dirs_exist_ok=True)
    sheets = small_book()
    set_cell(sheets, "Enquiries", "Q-1", "Quantity", 9)
    issued = tmp_path / "out" / "Q-1 quote.xlsx"
    before = issued.read_bytes()
    done = pricing.quote(write_book(tmp_path / "book.xlsx", sheets), quotes=["Q-1"], out=tmp_path / "out")
    assert issued.read_bytes() == before
    assert [each.code for each in done.problems.errors] == ["file-in-the-way"]


@pytest.mark.parametrize("command", [
    ("quote", "--quote", "Q-2"), ("papers", "--quote", "Q-1", "--paper", "delivery"), ("publish", "--list"),
    ("reprice", "--reissue", "--quote", "Q-2", "--date", LATER),
])
def test_every_command_that_writes_for_customers_makes_pdfs(
    ordered_book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: tuple[str, ...]
) -> None:
    """``--pdf`` prints exactly what the customer gets, also a quote that was issued before; without LibreOffice it says how to get it."""
    shutil.copytree(ordered_book.parent, tmp_path, dirs_exist_ok=True)
    arguments = (command[0], tmp_path / "book.xlsx", *command[1:], "--out", tmp_path / "papers", "--pdf")
    monkeypatch.setattr("pricing.files.pdf.office", lambda: None)
    done = run(*arguments)
    assert (done.exit_code, "no PDF was made: there is no LibreOffice on this machine; install LibreOffice" in done.stderr) == (0, True)
    monkeypatch.setattr("pricing.files.pdf.office", lambda: "office")
    monkeypatch.setattr(
        "pricing.files.pdf._convert", lambda _, books, folder: [(folder / f"{book.stem}.pdf").write_bytes(b"%PDF") for book in books])
    assert run(*arguments).exit_code == 0
    pages = {path.stem for path in tmp_path.glob("**/*.pdf")}
    assert len(pages) == 1
    assert not [name for name in pages if "margin" in name or name == "repricing"]
