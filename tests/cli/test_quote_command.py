"""``pricing quote`` as a maker uses it: what it prints, what it writes, and what it says of bad input."""

from __future__ import annotations

import datetime
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from click.testing import CliRunner, Result

from pricing.api import price_quotes
from pricing.cli import main

Sheets = dict[str, list[list[Any]]]


def run(*arguments: str | Path) -> Result:
    """The command line, as typed."""
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


def amounts(book: Path) -> tuple[float, float]:
    """What the first quote comes to by the engine, with its tax and without."""
    costing = price_quotes(book).costing
    assert costing is not None
    return float(costing.quote("payable")[0]), float(costing.quote("net")[0])


def thin_book() -> dict[str, list[list[Any]]]:
    """The small workshop in which one line is sold too cheaply."""
    sheets = small_book()
    sheets["Enquiries"][4][7] = 120
    return sheets


def test_the_main_job(tmp_path: Path) -> None:
    """Every quote gets its workbook, the maker gets one margin summary, and a short table says what came out."""
    book = write_book(tmp_path / "book.xlsx", thin_book())
    result = run("quote", book, "--out", tmp_path / "out")
    assert result.exit_code == 0
    assert sorted(path.name for path in (tmp_path / "out").glob("*.xlsx")) == ["Q-1 quote.xlsx", "Q-2 quote.xlsx", "margin summary.xlsx"]
    payable, net = amounts(book)
    assert f"{net:,.2f}" in result.stdout
    assert f"{payable:,.2f}" in result.stdout
    assert "below the lowest" in result.stderr
    assert "one person should lift" in result.stderr


def test_chosen_quotes_alone(tmp_path: Path) -> None:
    """A quote that is named is written, and no other; its name may be typed in any case."""
    book = write_book(tmp_path / "book.xlsx", small_book())
    assert run("quote", book, "--quote", "q-2", "--out", tmp_path / "out").exit_code == 0
    assert sorted(path.name for path in (tmp_path / "out").glob("*.xlsx")) == ["Q-2 margin.xlsx", "Q-2 quote.xlsx"]


def test_one_object_for_programs(tmp_path: Path) -> None:
    """--json prints one object with the promised keys, numbers as numbers."""
    book = write_book(tmp_path / "book.xlsx", thin_book())
    result = run("quote", book, "--json", "--date", "2026-04-01", "--out", tmp_path / "out")
    found = json.loads(result.stdout)
    assert found["currency"] == "EUR"
    assert found["date"] == "2026-04-01"
    quote = found["quotes"][0]
    assert {"quote", "customer", "lines", "net", "tax", "payable", "cost", "margin"} <= set(quote)
    line = quote["lines"][0]
    assert {"product", "quantity", "volume_m3", "mass_kg", "unit_cost", "unit_price", "net", "cost", "margin", "labour_hours",
            "costs"} <= set(line)
    assert all(isinstance(line[name], int | float) for name in ("quantity", "volume_m3", "unit_cost", "margin"))
    payable, net = amounts(book)
    assert quote["net"] == sum(line["quantity"] * line["unit_price"] for line in quote["lines"]) + 45 == net
    assert (quote["tax"], quote["payable"]) == (round(net * 0.2, 2), payable)
    assert {problem["code"] for problem in found["problems"]} >= {"low-margin", "heavy-piece"}
    assert all(set(problem) >= {"code", "sheet", "cell", "message"} for problem in found["problems"])


def test_the_same_run_gives_the_same_bytes(tmp_path: Path) -> None:
    """Run in two places, the quotes are the same files to the last byte."""
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        run("quote", write_book(tmp_path / folder / "book.xlsx", small_book()), "--out", tmp_path / folder)
    for path in (tmp_path / "one").glob("*quote.xlsx"):
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes(), path.name


def change(sheet: str, key: str, column: str, value: Any) -> Callable[[Sheets], None]:
    """A change of one cell."""
    return lambda sheets: set_cell(sheets, sheet, key, column, value)


def drop_sheet(name: str) -> Callable[[Sheets], None]:
    """A book without a sheet."""

    def drop(sheets: Sheets) -> None:
        del sheets[name]

    return drop


def drop_column(sheet: str, column: str) -> Callable[[Sheets], None]:
    """A sheet without a column."""

    def drop(sheets: Sheets) -> None:
        place = [str(heading).partition(" (")[0] for heading in sheets[sheet][0]].index(column)
        for row in sheets[sheet]:
            del row[place]

    return drop


def empty_sheet(name: str) -> Callable[[Sheets], None]:
    """A sheet without rows."""

    def clear(sheets: Sheets) -> None:
        sheets[name] = []

    return clear


def early_date(sheets: Sheets) -> None:
    """Every line of the quotes on a day before the first price."""
    for row in sheets["Enquiries"][1:]:
        row[1] = datetime.date(2020, 1, 1)


#: What is wrong, where the sentence points, and words that it has to say.
BAD = [
    pytest.param(drop_sheet("Mixes"), "Mixes", ["sheet"], id="a missing sheet"),
    pytest.param(empty_sheet("Products"), "Products", [], id="an empty sheet"),
    pytest.param(drop_column("Products", "Mix"), "Products", ["Mix"], id="a missing column"),
    pytest.param(change("Products", "Slab 1000", "Thickness", "25 kg"), "Products!F2", ["25 kg", "mass", "length"],
                 id="a mass for a length"),
    pytest.param(change("Products", "Slab 1000", "Mix", "Gray"), "Products!J2", ["Gray", "Grey"], id="an unknown mix"),
    pytest.param(change("Materials", "Cement", "Pack price", -3), "Materials!E2", ["-3"], id="a negative price"),
    pytest.param(change("Materials", "Cement", "Pack price", None), "Materials!E2", ["pack price", "missing"], id="a missing price"),
    pytest.param(change("Workshop", "Target margin", "Value", 1), "Workshop!B6", ["100"], id="a margin of 100 %, typed as 1"),
    pytest.param(change("Workshop", "Target margin", "Value", "100 %"), "Workshop!B6", ["100"], id="a margin of 100 %"),
    pytest.param(change("Enquiries", "Q-1", "Quantity", 0), "Enquiries!E2", ["0"], id="a zero quantity"),
    pytest.param(early_date, "Enquiries!B2", ["2020-01-01", "price"], id="a date before any price"),
    pytest.param(change("Enquiries", "Q-1", "Product", "Slap 1000"), "Enquiries!D2", ["Slap 1000", "Slab 1000"], id="an unknown product"),
    pytest.param(change("Materials", "Cement", "Wastage", 4), "Materials!G2", ["4"], id="a percentage typed as 4"),
    pytest.param(change("Materials", "Cement", "Pack price", "1,234"), "Materials!E2", ["1,234"], id="a number that may be two numbers"),
    pytest.param(change("Products", "Shelf 800", "Width", 20), "Products!A3", ["lip"], id="a lip as thick as the piece is wide"),
]


@pytest.mark.parametrize(("spoil", "place", "words"), BAD)
def test_bad_input_gets_a_sentence(tmp_path: Path, spoil: Callable[[Sheets], None], place: str, words: list[str]) -> None:
    """Each fault is one sentence with file, sheet and cell; exit code 1; nothing is written; programs get the same."""
    sheets = small_book()
    spoil(sheets)
    book = write_book(tmp_path / "book.xlsx", sheets)
    result = run("quote", book, "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "Traceback" not in result.output
    line = next(line for line in result.stderr.splitlines() if f"book.xlsx  {place}" in line and "look at" not in line)
    assert all(word in line for word in words), line
    assert not (tmp_path / "out").exists() or not list((tmp_path / "out").iterdir())
    found = json.loads(run("quote", book, "--out", tmp_path / "out", "--json").stdout)
    assert any(f"{each['sheet']}!{each['cell']}".startswith(place) for each in found["problems"])
    assert run("check", book).exit_code == 1
    assert not book.with_name("book.register.sqlite").exists()


def test_all_problems_come_in_one_pass(tmp_path: Path) -> None:
    """Three faults in three sheets are three sentences of one run."""
    sheets = small_book()
    set_cell(sheets, "Products", "Slab 1000", "Thickness", "25 kg")
    set_cell(sheets, "Materials", "Sand", "Pack price", -1)
    set_cell(sheets, "Enquiries", "Q-1", "Quantity", 0)
    result = run("quote", write_book(tmp_path / "book.xlsx", sheets), "--out", tmp_path / "out")
    places = ["Products!F2", "Materials!E3", "Enquiries!E2"]
    assert [place for place in places if place in result.stderr] == places


def encrypted(path: Path) -> None:
    path.write_bytes(bytes.fromhex("D0CF11E0A1B11AE1") + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le") + b"\0" * 600)


def truncated(path: Path) -> None:
    write_book(path, small_book())
    path.write_bytes(path.read_bytes()[:3000])


def no_workbook(path: Path) -> None:
    with zipfile.ZipFile(path, "w") as package:
        package.writestr("letter.txt", "hello")


@pytest.mark.parametrize(
    "make",
    [encrypted, truncated, no_workbook, lambda path: path.write_text("a;b\n1;2\n"), lambda path: path.write_bytes(b""),
     lambda path: None],
    ids=["encrypted", "damaged", "another zip", "text", "empty", "missing"],
)
def test_what_is_no_workbook_gets_a_sentence(tmp_path: Path, make: Callable[[Path], Any]) -> None:
    """A file that cannot be read is said to be so in one line; exit code 1; nothing is written."""
    path = tmp_path / "book.xlsx"
    make(path)
    for command in (["check", path], ["quote", path, "--out", tmp_path / "out"]):
        result = run(*command)
        assert result.exit_code == 1
        lines = [line for line in result.output.splitlines() if line]
        assert len(lines) == 1
        assert lines[0].startswith("book.xlsx  ")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "arguments",
    [["quote"], ["quote", "b.xlsx", "--date", "yesterday"], ["quote", "b.xlsx", "--breaks", "1,x"], ["price"],
     ["quote", "b.xlsx", "--colour"]],
)
def test_usage_errors_leave_with_2(arguments: list[str]) -> None:
    """A command that is typed wrongly leaves with exit code 2 and says how it goes."""
    result = run(*arguments)
    assert result.exit_code == 2
    assert "Usage" in result.output


def test_an_unknown_quote(tmp_path: Path) -> None:
    """A quote that is not there is a sentence that lists those that are."""
    result = run("quote", write_book(tmp_path / "book.xlsx", small_book()), "--quote", "Q-9", "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "Q-9" in result.stderr
    assert "Q-1" in result.stderr


def test_a_quantity_table(tmp_path: Path) -> None:
    """--breaks adds the prices of other quantities to the quote."""
    for folder, more in (("plain", []), ("table", ["--breaks", "1,50"])):
        (tmp_path / folder).mkdir()
        book = write_book(tmp_path / folder / "book.xlsx", small_book())
        assert run("quote", book, *more, "--out", tmp_path / folder).exit_code == 0
    shown = {}
    for folder in ("plain", "table"):
        sheet = openpyxl.load_workbook(tmp_path / folder / "Q-1 quote.xlsx", data_only=True)["Quote"]
        shown[folder] = {cell.value for row in sheet.iter_rows() for cell in row}
    assert 50 in shown["table"]
    assert 50 not in shown["plain"]


def test_text_of_the_book_does_not_steer_the_terminal(tmp_path: Path) -> None:
    """Control characters in a name are shown as replacement marks."""
    sheets = small_book()
    set_cell(sheets, "Products", "Slab 1000", "Mix", "Gr\u009bey")
    result = run("quote", write_book(tmp_path / "book.xlsx", sheets), "--out", tmp_path / "out")
    assert "\u009b" not in result.output
