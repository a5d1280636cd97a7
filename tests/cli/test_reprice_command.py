"""``pricing reprice``, as a maker uses it after the supplier wrote."""

from __future__ import annotations

import datetime
import json
import re
from pathlib import Path

import openpyxl
import pytest
from books import DAY, set_cell, small_book, write_book
from click.testing import CliRunner, Result

from pricing.cli import main

CEMENT = ["Cement", "binder", 25, "kg", 11.2, 0, "0 %", 3150, 1500, None, None, None, "Hill Merchants", datetime.date(2026, 3, 10)]


def run(*arguments: str | Path) -> Result:
    """The command line, as typed."""
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """The small workshop's book with both quotes issued, and then a dearer cement from 10 March on."""
    path = write_book(tmp_path / "book.xlsx", small_book())
    run("quote", path, "--out", tmp_path / "out")
    sheets = small_book()
    sheets["Materials"].append(CEMENT)
    return write_book(path, sheets)


def test_what_moved_and_why(book: Path) -> None:
    """A sentence names the cause, a table shows list and quotes, and the workbook is written; the book stays as it is."""
    before = book.read_bytes()
    result = run("reprice", book, "--date", "2026-03-20", "--out", book.parent / "out")
    assert result.exit_code == 0, result.stderr
    assert "compared with those of 2026-03-09, before their last change" in result.stdout
    assert ": Cement +" in result.stdout
    assert "Slab 1000" in result.stdout
    assert "Q-1" in result.stdout
    assert openpyxl.load_workbook(book.parent / "out" / "repricing.xlsx").sheetnames[0] == "Repricing"
    assert book.read_bytes() == before


def cells(result: Result, name: str) -> list[str]:
    """The cells of the line of the table that begins with a name."""
    return next(re.split(r"  +", line) for line in result.stdout.splitlines() if line.startswith(f"{name}  "))


def test_margins_are_told_apart(book: Path) -> None:
    """An open quote has a margin at the net that was promised and one at the net if it is issued again; one that is ordered only the
    first; each is worked out of the amounts that stand in its line."""
    run("register", book, "--mark", "Q-2=ordered", "--date", "2026-03-15")
    result = run("reprice", book, "--set", "Cement=+100%", "--date", "2026-03-20", "--out", book.parent / "out")
    assert cells(result, "quote")[-3:] == ["margin as made", "now as promised", "now if reissued"]
    _, state, *figures = cells(result, "Q-1")
    made, now, promised, reissued = (float(figure.replace(",", "")) for figure in figures[:4])
    assert state in ("issued", "lapsed")
    assert (made < now, promised < reissued) == (True, True)
    margins = [(promised - made) / promised, (promised - now) / promised, (reissued - now) / reissued]
    assert figures[4:7] == [f"{margin:.1%}" for margin in margins]
    assert len(set(figures[4:7])) == 3
    _, state, *figures = cells(result, "Q-2")
    made, now, promised = (float(figure.replace(",", "")) for figure in figures[:3])
    assert state == "ordered"
    assert [each for each in figures[3:] if each != "below lowest"] == [
        f"{(promised - made) / promised:.1%}", f"{(promised - now) / promised:.1%}"
    ]


def test_where_no_price_moved(book: Path) -> None:
    """A list that is compared with itself says so in place of an empty table, and the quotes are shown all the same."""
    result = run("reprice", book, "--since", "2026-03-20", "--date", "2026-03-20", "--out", book.parent / "out")
    assert result.exit_code == 0, result.stderr
    assert "no list product moved" in result.stdout
    assert cells(result, "Q-1")


def test_one_object_for_programs(book: Path) -> None:
    """--json gives every figure with its parts; they add up."""
    found = json.loads(run("reprice", book, "--date", "2026-03-20", "--json", "--out", book.parent / "out").stdout)
    assert found["currency"] == "EUR"
    assert [each["product"] for each in found["products"]] == ["Slab 1000", "Shelf 800", "Block"]
    for item in (*found["products"], *found["quotes"]):
        for name in ("cost", "price", "net"):
            if name in item:
                moved = item[name]
                parts = sum(part["part"] for part in moved["why"]) + moved["rounding"]
                assert parts == pytest.approx(moved["change"], abs=1e-9)
                assert moved["change"] == moved["new"] - moved["old"]
    assert found["causes"][0]["cells"] == [{"quantity": "pack_price", "old": 10.0, "new": 11.2, "place": "Materials!E14"}]


def test_what_if(book: Path) -> None:
    """Suppositions are named as such, in words and in the workbook."""
    result = run("reprice", book, "--set", "Sand=+12%", "--set", "Helper=19", "--date", "2026-03-20", "--out", book.parent / "out")
    assert "those without the change" in result.stdout
    assert "Sand" in result.stdout
    sheet = openpyxl.load_workbook(book.parent / "out" / "repricing.xlsx")["Repricing"]
    assert sheet["A4"].value == "What if: Sand +12%; Helper 19. Nothing in the price book was changed."


def test_an_index(book: Path) -> None:
    """A published index between two dates moves the named materials by its ratio."""
    index = book.parent / "index.csv"
    index.write_text("month,binders,sand\n2025-01,120,100\n2026-01,126,99\n", encoding="utf-8")
    result = run("reprice", book, "--index", index, "--from", "2025-01", "--to", "2026-01", "--series", "binders", "--materials", "binder",
                 "--date", "2026-03-20", "--json", "--out", book.parent / "out")
    found = json.loads(result.stdout)
    assert found["what_if"] == ["binder +5.0% by binders of index.csv, 2025-01 to 2026-01"]
    cells = found["causes"][0]["cells"]
    assert (cells[0]["old"], cells[0]["new"]) == (11.2, 11.76)


def test_against_an_older_book(book: Path) -> None:
    """Against an older file: the change between the two."""
    old = write_book(book.parent / "old.xlsx", small_book())
    result = run("reprice", book, "--against", old, "--date", "2026-03-20", "--out", book.parent / "out")
    assert 'those of 2026-03-20 in "old.xlsx"' in result.stdout
    assert ": Cement +" in result.stdout


def test_lapsed_quotes_are_issued_again(book: Path) -> None:
    """--reissue writes the next revision of each lapsed quote, dated the day, at the prices of the day; the rest stays."""
    run("register", book, "--mark", "Q-2=ordered", "--date", "2026-03-20")
    first = (book.parent / "out" / "Q-1 quote.xlsx").read_bytes()
    result = run("reprice", book, "--date", "2026-05-02", "--reissue", "--out", book.parent / "out")
    assert result.exit_code == 0, result.stderr
    assert "Q-1 revision 2 quote.xlsx  (Q-1 revision 2, valid until 2026-06-01)" in result.stdout
    assert "Q-2 revision" not in result.stdout
    assert (book.parent / "out" / "Q-1 quote.xlsx").read_bytes() == first
    sheet = openpyxl.load_workbook(book.parent / "out" / "Q-1 revision 2 quote.xlsx").worksheets[0]
    texts = [str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert "Q-1 revision 2" in texts
    assert any("by the window" in text for text in texts)
    listed = json.loads(run("register", book, "--date", "2026-05-02", "--json").stdout)["quotes"]
    assert [(quote["number"], quote["revision"], quote["state"]) for quote in listed] == [("Q-2", 1, "ordered"), ("Q-1", 2, "issued")]
    again = run("reprice", book, "--date", "2026-05-02", "--reissue", "--out", book.parent / "out")
    assert "no quote has lapsed; nothing was issued" in again.stdout


def test_a_chosen_quote_is_issued_again(book: Path) -> None:
    """A quote that is named is revised though it has not lapsed; one that is ordered is refused."""
    result = run("reprice", book, "--date", "2026-03-20", "--reissue", "--quote", "q-1", "--out", book.parent / "out")
    assert "Q-1 revision 2, valid until 2026-04-19" in result.stdout
    run("register", book, "--mark", "Q-2=ordered", "--date", "2026-03-20")
    refused = run("reprice", book, "--reissue", "--quote", "Q-2", "--out", book.parent / "out")
    assert refused.exit_code == 1
    assert "is ordered and is not issued again" in refused.stderr


@pytest.fixture
def lapsed(tmp_path: Path) -> Path:
    """Three lapsed quotes, the first with a note that names a house; then the house becomes a customer."""
    sheets = small_book()
    set_cell(sheets, "Enquiries", "Q-1", "Note", "by the window of Larkspur Hall")
    sheets["Enquiries"].append(["Q-3", DAY, "Ada Field", "Block", 2, None, None, None, None])
    path = write_book(tmp_path / "book.xlsx", sheets)
    assert run("quote", path, "--out", tmp_path / "out").exit_code == 0
    sheets["Customers"].append(["Larkspur Hall", "3 Hill", "0 %", None, None])
    return write_book(path, sheets)


def revisions(book: Path) -> list[tuple[str, int]]:
    """The quotes that stand in the register, and their revisions."""
    listed = json.loads(run("register", book, "--date", "2026-05-02", "--json").stdout)["quotes"]
    return sorted((quote["number"], quote["revision"]) for quote in listed)


@pytest.mark.parametrize("as_json", [False, True], ids=["in words", "as json"])
def test_a_refusal_takes_no_other_quote_with_it(as_json: bool, lapsed: Path) -> None:
    """The quote that would name another customer is neither written nor recorded; those after it are; exit code 1."""
    out = lapsed.parent / "out"
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    result = run("reprice", lapsed, "--date", "2026-05-02", "--reissue", "--out", out, *(["--json"] if as_json else []))
    assert result.exit_code == 1
    new = ["Q-2 revision 2 quote.xlsx", "Q-3 revision 2 quote.xlsx"]
    assert sorted(path.name for path in out.iterdir()) == sorted([*before, *new, "repricing.xlsx"])
    assert all((out / name).read_bytes() == content for name, content in before.items())
    assert revisions(lapsed) == [("Q-1", 1), ("Q-2", 2), ("Q-3", 2)]
    if as_json:
        found = json.loads(result.stdout)
        assert found["written"] == [str(out / name) for name in ("repricing.xlsx", *new)]
        assert [problem["code"] for problem in found["problems"]] == ["leak"]
        assert "quote Q-1 revision 2 is not delivered" in found["problems"][0]["message"]
    else:
        assert [line.split("  (")[0] for line in result.stdout.splitlines() if line.startswith("written: ")] == [
            f"written: {out / name}" for name in ("repricing.xlsx", *new)
        ]
        assert "quote Q-1 revision 2 is not delivered" in result.stderr
        assert "larkspur hall" in result.stderr
        assert "nothing was issued" not in result.stdout


def test_an_ordered_quote_does_not_keep_the_others_from_being_revised(lapsed: Path) -> None:
    """Of the quotes that are named the ordered one is refused, and the one after it is issued."""
    run("register", lapsed, "--mark", "Q-2=ordered", "--date", "2026-03-20")
    out = lapsed.parent / "out"
    result = run("reprice", lapsed, "--date", "2026-05-02", "--reissue", "--quote", "Q-2", "--quote", "Q-3", "--out", out)
    assert result.exit_code == 1
    assert "quote Q-2 is ordered and is not issued again" in result.stderr
    assert "Q-3 revision 2 quote.xlsx  (Q-3 revision 2, valid until 2026-06-01)" in result.stdout
    assert revisions(lapsed) == [("Q-1", 1), ("Q-2", 1), ("Q-3", 2)]


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["--set", "Cemnt=+12%"], 1, "near it is Cement"), (["--set", "Cement"], 1, "is no change"),
        (["--since", "2020-01-01"], 1, "has no price yet"), (["--against", "none.xlsx"], 1, "no such file"),
        (["--since", "2026-03-21", "--date", "2026-03-20"], 2, "2026-03-21, with which the list is compared, comes after 2026-03-20"),
        (["--since", "2099-01-01"], 2, "name an earlier one with --since, or a later one with --date"),
        (["--since", "2026-01-01", "--against", "old.xlsx"], 2, "give one of them"), (["--index", "none.csv"], 2, "belong together"),
        (["--index", "none.csv", "--from", "2020-01", "--to", "2021-01"], 1, "cannot be read"),
        (["--set", "Cement=+1%", "--reissue"], 2, "supposed prices"), (["--quote", "Q-1"], 2, "--reissue"),
        (["--reissue", "--quote", "Q-77"], 1, "it holds Q-1, Q-2"),
    ],
)
def test_what_cannot_be_done_is_said(arguments: list[str], code: int, words: str, book: Path) -> None:
    """One sentence, the right exit code, no traceback, and nothing issued."""
    result = run("reprice", book, *arguments, "--out", book.parent / "out")
    assert result.exit_code == code
    assert words in result.stderr
    assert not list(book.parent.glob("out/*revision*"))


def test_a_book_with_errors(tmp_path: Path) -> None:
    """A book that cannot be used is refused with every problem and its cell."""
    sheets = small_book()
    set_cell(sheets, "Materials", "Cement", "Pack price", "dear")
    result = run("reprice", write_book(tmp_path / "book.xlsx", sheets), "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "Materials!E2" in result.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["book.xlsx"]
