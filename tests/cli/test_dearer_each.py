"""Where prices by quantity are shown to the maker, a price that rises with the number says why."""

from __future__ import annotations

import json
from pathlib import Path

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from click.testing import CliRunner

from pricing.cli import main

BECAUSE = "a second mould from 13 pieces"
SENTENCE = f"dearer each at 13 than at 12: {BECAUSE}"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workshop whose dear moulds last twelve casts, with one enquiry for thirteen slabs, and no list prices."""
    sheets = small_book()
    sheets["Delivery"].append(["Near", 1e6, 60])
    sheets["Enquiries"] = sheets["Enquiries"][:2]
    sheets["Enquiries"][1][3:5] = ["Slab 1000", 13]
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 12)
    set_cell(sheets, "Materials", "Melamine", "Pack price", 480)
    set_cell(sheets, "Products", "Slab 1000", "Rejects", 0)
    sheets["Workshop"].append(["Mixer loads", "by volume", None])
    set_cell(sheets, "Products", "Slab 1000", "Usual run", 1)
    return write_book(tmp_path_factory.mktemp("dearer") / "book.xlsx", sheets)


def run(*arguments: object) -> str:
    """What a command prints."""
    result = CliRunner().invoke(main, [str(each) for each in arguments])
    assert result.exit_code == 0, result.output
    return result.output


def test_a_quote_with_a_price_table_tells_the_maker_why_one_more_is_dearer(book: Path, tmp_path: Path) -> None:
    """The command names the reason as a warning at the quantity's cell; the margin workbook says it below its own price table."""
    told = json.loads(run("quote", book, "--out", tmp_path, "--breaks", "12,13", "--draft", "--json"))
    assert [(each["message"].partition(";")[0], each["severity"]) for each in told["problems"] if each["code"] == "dearer-each"] == [
        (f'"Slab 1000" is {SENTENCE}', "warning")]
    sheet = openpyxl.load_workbook(tmp_path / "margin summary.xlsx")["Sensitivity"]
    (said,) = [cell.value for cell in sheet["A"] if isinstance(cell.value, str) and "dearer each" in cell.value]
    assert said == "Q-1, Slab 1000: dearer each at 25 than at 10: a third mould from 25 pieces"


def test_a_catalogue_has_a_column_for_the_reason(book: Path, tmp_path: Path) -> None:
    """Of a product at 1, 12 and 13 pieces the last names the second mould, the others nothing."""
    run("catalogue", book, "--out", tmp_path, "--quantities", "1,12,13", "--format", "xlsx")
    rows = list(openpyxl.load_workbook(tmp_path / "catalogue.xlsx").active.values)
    assert rows[0][-1] == "Dearer because"
    assert [row[-1] for row in rows if row[0] == "Slab 1000"] == [None, None, BECAUSE]


def test_an_explained_price_names_the_mould_that_makes_it_dearer_than_fewer(book: Path) -> None:
    """The tree of a price ends with it, and JSON has it."""
    assert f"Each piece is {SENTENCE}." in run("explain", book, "--quote", "Q-1")
    assert json.loads(run("explain", book, "--quote", "Q-1", "--json"))["dearer_than_fewer"] == SENTENCE


def test_publishing_a_price_list_tells_which_product_is_dearer(book: Path, tmp_path: Path) -> None:
    """Where a list price holds at the usual run alone, a price list for 12 and 13 names the product in its row."""
    sheets = openpyxl.load_workbook(book)
    sheets["Workshop"].append(["List price holds", "at the usual run"])
    copy = tmp_path / "book.xlsx"
    sheets.save(copy)
    told = run("publish", copy, "--list", "--breaks", "12,13", "--out", tmp_path)
    assert f'"Slab 1000" is {SENTENCE}' in told
