"""``pricing workshop``: the files that it writes, what it prints, and the sentences where it cannot."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import DAY, set_cell, small_book, write_book
from click.testing import CliRunner, Result

from pricing.cli import main


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["workshop", *map(str, arguments)])


#: The quotes of the small workshop, by name: without one, only what is ordered is prepared.
BOTH = ("--quote", "Q-1", "--quote", "Q-2")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write_book(tmp_path / "small.xlsx", small_book())


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir()) if folder.exists() else []


def test_one_quote_is_one_workbook(book: Path, tmp_path: Path) -> None:
    """One workbook, named after its quote in whatever case it was typed; a line of figures; what to look at on standard error."""
    result = run(book, "--quote", "q-1", "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    assert names(tmp_path / "out") == ["Q-1 workshop.xlsx"]
    lines = result.stdout.splitlines()
    assert lines[0].split() == ["quote", "pieces", "hours", "mixer", "loads", "sheets", "ready", "on"]
    assert lines[1].split()[:2] == ["Q-1", "7"]
    assert lines[2].startswith("written: ")
    assert "45.3 kg" in result.stderr
    assert "margin" not in result.stderr


def test_several_quotes_share_a_shopping_list(book: Path, tmp_path: Path) -> None:
    """A workbook for each quote that is named, and one shopping list over all of them."""
    result = run(book, *BOTH, "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    assert names(tmp_path / "out") == ["Q-1 workshop.xlsx", "Q-2 workshop.xlsx", "shopping list.xlsx"]
    title = openpyxl.load_workbook(tmp_path / "out" / "shopping list.xlsx")["Shopping"]["A1"].value
    assert title == "Shopping list for quotes Q-1 and Q-2"
    assert result.stdout.count("written: ") == 3


def test_the_day_of_the_order_moves_the_calendar(book: Path, tmp_path: Path) -> None:
    """Ordered four weeks later, everything is ready four weeks later."""
    days = []
    for day in (DAY, DAY + datetime.timedelta(days=28)):
        result = run(book, "--quote", "Q-1", "--date", day, "--out", tmp_path / str(day))
        days.append(datetime.date.fromisoformat(result.stdout.splitlines()[1].split()[-1]))
    assert days[1] - days[0] == datetime.timedelta(days=28)


def test_days_that_are_past_are_said(book: Path, tmp_path: Path) -> None:
    """Without the day of the order the calendar counts from the quote's date: where all of it is past, --date is named."""
    past = run(book, *BOTH, "--date", DAY, "--out", tmp_path / "past")
    assert "2 of 2 calendars lie in the past; to begin at the order, name its day with --date" in past.stderr
    ahead = run(book, *BOTH, "--date", datetime.date.today() + datetime.timedelta(days=60), "--out", tmp_path / "ahead")
    assert ahead.exit_code == 0
    assert "past" not in ahead.stderr


def ready_days(result: Result) -> dict[str, datetime.date]:
    """When each quote is ready, as the table says."""
    rows = [line.split() for line in result.stdout.splitlines() if line.startswith("Q-")]
    return {row[0]: datetime.date.fromisoformat(row[-1]) for row in rows}


def issue(book: Path, *marks: str) -> None:
    """Issue all quotes and note what became of some: ``Q-1=ordered 2026-03-30``."""
    out = book.parent / "quotes"
    assert CliRunner().invoke(main, ["quote", str(book), "--out", str(out)]).exit_code == 0
    for mark in marks:
        state, day = mark.split()
        assert CliRunner().invoke(main, ["register", str(book), "--mark", state, "--date", day]).exit_code == 0


def test_an_ordered_quote_begins_at_its_order(book: Path, tmp_path: Path) -> None:
    """The quote that was ordered four weeks later is ready four weeks later, and says so; the other counts from its own date."""
    before = ready_days(run(book, *BOTH, "--out", tmp_path / "before"))
    issue(book, f"Q-1=ordered {DAY + datetime.timedelta(days=28)}")
    result = run(book, *BOTH, "--out", tmp_path / "after")
    assert ready_days(result) == {"Q-1": before["Q-1"] + datetime.timedelta(days=28), "Q-2": before["Q-2"]}
    assert ("1 of 2 calendars counts from the day on which the quote was ordered (Q-1 2026-03-30), at the prices of its own date"
            in result.stderr)
    assert "to begin at the order, name its day with --date" in result.stderr
    alone = run(book, "--quote", "Q-1", "--out", tmp_path / "alone")
    assert "the calendar counts from the day on which the quote was ordered (Q-1 2026-03-30)" in alone.stderr
    assert "the calendar lies in the past; to begin on another day, name it with --date" in alone.stderr


def test_the_named_day_wins(book: Path, tmp_path: Path) -> None:
    """With --date the register is not asked; a quote that was refused, or ordered before its date, counts from its date."""
    before = ready_days(run(book, *BOTH, "--out", tmp_path / "before"))
    issue(book, "Q-1=ordered 2026-03-30", "Q-2=refused 2026-03-30")
    named = run(book, *BOTH, "--date", DAY, "--out", tmp_path / "named")
    assert ready_days(named) == before
    assert "ordered" not in named.stderr
    assert ready_days(run(book, "--quote", "Q-2", "--out", tmp_path / "refused"))["Q-2"] == before["Q-2"]
    issue(book, "Q-1=refused 2026-03-31", "Q-1=ordered 2026-02-02")
    assert ready_days(run(book, "--quote", "Q-1", "--out", tmp_path / "early"))["Q-1"] == before["Q-1"]


@pytest.mark.parametrize(("late", "said"), [(-1, True), (0, False)], ids=["a day too early", "just in time"])
def test_a_line_that_is_late_from_the_order_on_is_told(late: int, said: bool, book: Path, tmp_path: Path) -> None:
    """In time from the quote's date on, a line may be late from its order on: it is named with both days."""
    order = DAY + datetime.timedelta(days=28)
    ready = ready_days(run(book, "--quote", "Q-2", "--date", order, "--out", tmp_path / "named"))["Q-2"]
    sheets = small_book()
    sheets["Enquiries"][0].append("Wanted by")
    for row in sheets["Enquiries"][1:]:
        row.append(ready + datetime.timedelta(days=late) if row[0] == "Q-2" else None)
    write_book(book, sheets)
    issue(book, f"Q-2=ordered {order}")
    result = run(book, "--quote", "Q-2", "--out", tmp_path / "after")
    assert ready_days(result)["Q-2"] == ready
    assert (f"wanted by {ready - datetime.timedelta(days=1)}, ready on {ready} from the day of the order on" in result.stderr) == said
    assert ("wanted by" in result.stderr) == said


def shopping_of(path: Path) -> list[tuple[object, ...]]:
    """Everything on the sheet Shopping."""
    return list(openpyxl.load_workbook(path)["Shopping"].iter_rows(values_only=True))


def test_prices_stay_those_of_the_quote(book: Path, tmp_path: Path) -> None:
    """Cement that has become dearer since is bought at the price of the quote; with --date it is dearer; both begin alike."""
    sheets = small_book()
    sheets["Materials"].append([*sheets["Materials"][1][:4], 20, *sheets["Materials"][1][5:13], datetime.date(2026, 3, 16)])
    write_book(book, sheets)
    name = "Q-1 workshop.xlsx"
    run(book, "--quote", "Q-1", "--out", tmp_path / "before")
    issue(book, "Q-1=ordered 2026-03-30")
    run(book, "--quote", "Q-1", "--out", tmp_path / "after")
    run(book, "--quote", "Q-1", "--date", "2026-03-30", "--out", tmp_path / "named")
    before, after, named = (shopping_of(tmp_path / folder / name) for folder in ("before", "after", "named"))
    assert after == before
    assert named != before
    starts = [openpyxl.load_workbook(tmp_path / folder / name)["Calendar"]["A2"].value for folder in ("before", "after", "named")]
    assert starts[0] != starts[1] == starts[2]


def test_a_register_that_cannot_be_read_is_no_hindrance(book: Path, tmp_path: Path) -> None:
    """The work is written from the quotes' own dates, and that is said."""
    before = ready_days(run(book, *BOTH, "--out", tmp_path / "before"))
    (tmp_path / "small.register.sqlite").write_bytes(b"not a register" * 100)
    result = run(book, *BOTH, "--out", tmp_path / "after")
    assert result.exit_code == 0
    assert ready_days(result) == before
    assert "look at: the register small.register.sqlite cannot be read" in result.stderr
    assert "the calendars count from the dates of the quotes" in result.stderr


def test_an_unknown_quote_is_told_with_those_that_are_there(book: Path, tmp_path: Path) -> None:
    """Nothing is written where one of the quotes is not there."""
    result = run(book, "--quote", "Q-1", "--quote", "Q-7", "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert 'there is no quote "Q-7"; the quotes are Q-1, Q-2' in result.stderr
    assert names(tmp_path / "out") == []


def wrong(change: str) -> dict[str, list[list[Any]]]:
    """The small workshop with something wrong in it."""
    sheets = small_book()
    if change == "empty":
        sheets["Enquiries"] = sheets["Enquiries"][:1]
    elif change == "price":
        set_cell(sheets, "Materials", "Cement", "Pack price", "cheap")
    elif change == "too early":
        sheets["Enquiries"][1][1] = sheets["Enquiries"][2][1] = datetime.date(2025, 1, 6)
    elif change == "century":
        set_cell(sheets, "Products", "Block", "Rejects", "99 %")
        sheets["Enquiries"] = [sheets["Enquiries"][0], ["Q-1", DAY, "Brook House", "Block", 100_000, None, None, None, None]]
    return sheets


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("empty", "there is no enquiry to make"),
        ("price", "Materials!E2"),
        ("too early", "has no price yet on that day"),
        ("century", "a hundred years"),
    ],
)
def test_what_cannot_be_made_is_a_sentence(tmp_path: Path, change: str, words: str) -> None:
    """A book with errors, prices of the future, an order without end: exit code 1, a sentence, and no file."""
    result = run(write_book(tmp_path / "book.xlsx", wrong(change)), "--quote", "Q-1", "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert isinstance(result.exception, SystemExit)
    assert words in result.stderr
    assert "Traceback" not in result.output
    assert names(tmp_path / "out") == []


def test_a_folder_that_cannot_be_is_a_sentence(book: Path, tmp_path: Path) -> None:
    """Where a file stands in the place of the folder, the sentence names it."""
    (tmp_path / "out").write_text("in the way")
    result = run(book, "--quote", "Q-1", "--out", tmp_path / "out" / "deeper")
    assert result.exit_code == 1
    assert isinstance(result.exception, SystemExit)
    assert "out" in result.stderr
    assert "choose another folder" in result.stderr


def test_a_book_that_is_not_there_is_a_sentence(tmp_path: Path) -> None:
    """No book, no work."""
    result = run(tmp_path / "none.xlsx")
    assert result.exit_code == 1
    assert "none.xlsx" in result.stderr


def test_packs_that_are_left_out_are_told_once(tmp_path: Path) -> None:
    """A pack that is not the same is told on standard error and on the list."""
    sheets = small_book()
    sheets["Materials"][0].append("Same as")
    for row in sheets["Materials"][1:]:
        row.append(None)
    odd = list(sheets["Materials"][2])
    odd[0], odd[3], odd[-1] = "Sand by the litre", "L", "Sand"
    sheets["Materials"].append(odd)
    result = run(write_book(tmp_path / "book.xlsx", sheets), *BOTH, "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    assert result.stderr.count("Sand by the litre") == 1
    sheet = openpyxl.load_workbook(tmp_path / "out" / "shopping list.xlsx")["Shopping"]
    assert any("Sand by the litre" in str(cell.value) for row in sheet.iter_rows(max_row=4) for cell in row)


def test_what_is_ordered_and_not_made_is_prepared(book: Path, tmp_path: Path) -> None:
    """Without a name only the order is prepared; what is left out is named with why; once it is made, nothing is left to prepare."""
    nothing = run(book, "--out", tmp_path / "out")
    assert (nothing.exit_code, names(tmp_path / "out")) == (1, [])
    assert "no quote is ordered and not yet made; note an order with: pricing register --mark" in nothing.stderr
    issue(book, "Q-2=ordered 2026-03-05")
    result = run(book, "--out", tmp_path / "out")
    assert (result.exit_code, names(tmp_path / "out")) == (0, ["Q-2 workshop.xlsx"])
    assert "prepared is what is ordered and not yet made; left out: Q-1 (lapsed)" in result.stdout
    issue(book, "Q-2=made 2026-03-25")
    assert run(book, "--out", tmp_path / "made").exit_code == 1


def test_an_order_is_made_as_it_was_promised(book: Path, tmp_path: Path) -> None:
    """A product that was deleted, and one of which the drop was changed, are made as they were when the order came."""
    sheets = small_book()
    run(book, "--quote", "Q-1", "--out", tmp_path / "before")
    issue(book, "Q-1=ordered 2026-03-05")
    sheets["Products"] = [row for row in sheets["Products"] if row[0] != "Slab 1000"]
    sheets["Extras"] = sheets["Extras"][:1]
    set_cell(sheets, "Products", "Shelf 800", "Drop", 60)
    sheets["Enquiries"] = [row for row in sheets["Enquiries"] if row[0] != "Q-1"]
    write_book(book, sheets)
    result = run(book, "--out", tmp_path / "after")
    assert result.exit_code == 0, result.output
    assert shopping_of(tmp_path / "after" / "Q-1 workshop.xlsx") == shopping_of(tmp_path / "before" / "Q-1 workshop.xlsx")
