"""The starter and the demo price book: everything that is declared is in them, and they are read without a problem."""

from __future__ import annotations

import datetime
import json
import re
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from click.testing import CliRunner

import pricing
from pricing.book.declared.choices import WORDS
from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.options import is_column_wanted
from pricing.book.declared.settings import CURRENCIES, SETTINGS
from pricing.book.declared.sheets import SHEETS, STARTER_SHEETS
from pricing.book.reading.cells import fifteen_digits
from pricing.book.reading.headings import split_heading
from pricing.book.reading.read import read_price_book
from pricing.book.reading.row_units import BASIS_UNITS
from pricing.book.starter import write as starter
from pricing.book.starter.demo import DEMO
from pricing.book.starter.reference_page import reference
from pricing.book.starter.samples import Choice, sample, write_starter
from pricing.book.starter.write import FIRST_ROW, HEADING_ROW, write_book, write_demo
from pricing.book.summary import counted
from pricing.cli import main
from pricing.rules.shapes import SHAPES


def written_columns(declared: SheetDeclaration) -> list[Column]:
    """The columns of every starter book, and those that the rows of this one fill in."""
    filled = {heading for row in STARTER.get(declared.name, []) for heading, value in row.items() if value not in (None, "")}
    shapes = {row["Shape"] for row in STARTER["Products"]}
    return [column for column in declared.columns if column.heading in filled or is_column_wanted(declared, column, (), shapes)]


STARTER = sample(Choice(), datetime.date(2026, 11, 26))
ROOT = Path(__file__).parents[2]
DEMO_BOOK = ROOT / "workbooks" / "demo price book.xlsx"


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A starter book."""
    path = tmp_path_factory.mktemp("starter") / "price book.xlsx"
    write_starter(path)
    return path


@pytest.fixture(scope="module")
def workbook(written: Path) -> Any:
    """The starter book as another library reads it."""
    return openpyxl.load_workbook(written)


def test_every_sheet_and_column_is_written_with_its_unit_and_a_note(workbook: Any) -> None:
    """In the declared order, each heading with a note; further sheets come after."""
    assert workbook.sheetnames[: len(STARTER_SHEETS)] == [declared.name for declared in STARTER_SHEETS]
    for declared in STARTER_SHEETS:
        cells = list(workbook[declared.name][HEADING_ROW + 1])
        texts = [split_heading(cell.value) for cell in cells if cell.value]
        assert [text for text, _ in texts] == [column.heading for column in written_columns(declared)]
        for cell, column in zip(cells, written_columns(declared), strict=True):
            assert column.meaning in cell.comment.text
            if column.unit not in ("", "currency") and not column.names_its_unit:
                assert split_heading(cell.value)[1], f"{declared.name}: {column.heading} has no unit"


def test_every_setting_has_a_row(workbook: Any) -> None:
    """By its name, with its unit; blank rows stand only between groups."""
    rows = [row[0].value for row in workbook["Workshop"].iter_rows(min_row=FIRST_ROW + 1)]
    names = [split_heading(text)[0] for text in rows if text]
    assert names == [setting.heading for setting in SETTINGS]


def test_headings_stay_in_sight_and_print_on_every_page(workbook: Any) -> None:
    """Frozen below the headings, repeated on paper, a fixed number of pages wide, page numbers in the foot."""
    for declared in STARTER_SHEETS:
        sheet = workbook[declared.name]
        assert sheet.freeze_panes == f"{'ABCDE'[declared.frozen]}{FIRST_ROW + 1}"
        assert sheet.print_title_rows == f"${HEADING_ROW + 1}:${HEADING_ROW + 1}"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert "&P of &N" in (sheet.oddFooter.right.text or "")
        assert not sheet.sheet_view.showGridLines


def test_columns_that_take_a_name_or_a_word_have_a_list(workbook: Any) -> None:
    """Each choice column of each sheet has a drop-down list over its cells, of the right words or the right sheet."""
    for declared in STARTER_SHEETS[1:]:
        lists = {str(rule.sqref).split(":")[0]: rule.formula1 for rule in workbook[declared.name].data_validations.dataValidation}
        for place, column in enumerate(written_columns(declared)):
            cell = workbook[declared.name].cell(FIRST_ROW + 1, place + 1).coordinate
            if column.refers_to:
                assert lists[cell].startswith((f"OFFSET('{column.refers_to}'!$A${FIRST_ROW + 1}", "OFFSET(Words!"))
            elif column.kind == "yes_no":
                assert lists[cell] == '"yes,no"'
            elif column.heading == "Shape":
                assert _words(workbook, lists[cell]) == ["slab", "slab with a lip"]
            elif column.choices:
                assert _words(workbook, lists[cell]) == list(column.choices)
            else:
                assert cell not in lists


def _words(workbook: Any, source: str) -> list[str]:
    """The words of a drop-down list, taken from the cells that it points to where it does."""
    if source.startswith('"'):
        return source.strip('"').split(",")
    sheet, cells = source.lstrip("=").split("!")
    return [row[0].value for row in workbook[sheet][cells.replace("$", "")]]


def test_every_fixed_word_is_explained() -> None:
    """The sheet of words has each choice that has a heading of its own there, and no other."""
    for declared in SHEETS[1:]:
        for column in declared.columns:
            if column.choices and column.heading in WORDS and declared.name != "Actuals":
                assert tuple(WORDS[column.heading]) == column.choices
    assert tuple(WORDS["Shape"]) == tuple(SHAPES)
    assert tuple(WORDS["Basis"]) == tuple(BASIS_UNITS)


@pytest.mark.parametrize("data", [STARTER, DEMO], ids=["starter", "demo"])
def test_a_written_book_is_read_back_figure_for_figure(tmp_path: Path, data: dict[str, list[dict[str, Any]]]) -> None:
    """No problem, no warning, and every value that was written stands in the tables, in the declared unit."""
    write_book(tmp_path / "book.xlsx", data)
    book, problems = read_price_book(tmp_path / "book.xlsx")
    assert [str(problem) for problem in problems] == []
    assert book is not None
    in_shown = {"mm": 1000.0, "L": 1000.0}
    compared = 0
    for declared in SHEETS[1:]:
        table = book.tables[declared.name]
        services = len(data.get("Services", [])) if declared.name == "Products" else 0  # they stand behind the products
        lines = np.unique(table.rows, return_index=True)[1] if declared.name == "Enquiries" else np.arange(len(table))
        assert len(lines) == len(data.get(declared.name, [])) + services
        for column in declared.starter_columns:
            divisor = in_shown.get(column.shown, 1.0)
            for index, row in enumerate(data.get(declared.name, [])):
                value, found = row.get(column.heading), table[column.name][lines[index]]
                if "set" in table.columns and declared.name == "Enquiries" and table["set"][lines[index]]:  # a line for each part
                    value = {"Product": "Planter 400", "Quantity": 2}.get(column.heading, value)
                if value in (None, ""):
                    continue
                compared += 1
                if isinstance(value, datetime.date):
                    assert found == np.datetime64(value)
                elif isinstance(value, int | float):
                    assert found == fifteen_digits(float(value) / divisor)
                else:
                    assert found == value
                assert re.fullmatch(r"[A-Z]+\d+", table.cell(column.name, index))
    assert compared > 300


def test_the_starter_names_nothing_that_it_leaves_out() -> None:
    """It has fewer rows than the demo book, and a quote to begin with."""
    assert len(STARTER["Products"]) < len(DEMO["Products"])
    assert len(STARTER["Enquiries"]) > 0
    assert len(STARTER["Materials"]) < len(DEMO["Materials"])


def test_the_demo_workshop_shows_what_a_price_book_can_say() -> None:
    """Every shape, three bases of recipes and more, dated prices, overrides, both ways of making, several terms."""
    products, quotes, mixes = DEMO["Products"], DEMO["Enquiries"], DEMO["Mixes"]
    assert {row["Shape"] for row in products} == set(SHAPES)
    assert {row["Made for"] for row in products} == {"order", "stock"}
    assert len(products) >= 12
    assert len({row["Mix"] for row in mixes}) >= 3
    assert {"parts by mass", "parts by volume", "kg/m3", "L/m3", "% of binder", "mL/kg binder", "% of volume"} == {
        row["Basis"] for row in mixes
    }
    assert len({row["Quote"] for row in quotes}) >= 4
    assert len({row["Customer"] for row in quotes}) >= 4
    assert sum(row["Material"] == "White cement" for row in DEMO["Materials"]) >= 3
    assert any(row.get("Length") for row in quotes)
    assert any(row.get("Mix") for row in quotes)
    assert any(row.get("Unit price") for row in quotes)
    assert len({(row["Discount"], row["Tax rate"], row["Delivery zone"]) for row in DEMO["Customers"]}) >= 4


def test_the_demo_book_in_the_folder_is_the_one_that_is_written(tmp_path: Path) -> None:
    """Part by part; python -m pricing.book.starter.write "workbooks/demo price book.xlsx" writes it anew."""
    write_demo(tmp_path / "demo.xlsx")
    with zipfile.ZipFile(tmp_path / "demo.xlsx") as one, zipfile.ZipFile(DEMO_BOOK) as other:
        assert one.namelist() == other.namelist()
        for name in one.namelist():
            assert one.read(name) == other.read(name), f"{name} differs: write the demo book anew"


def test_an_existing_file_is_left_as_it_is(tmp_path: Path) -> None:
    """Nothing is overwritten, and nothing is left beside it."""
    path = tmp_path / "book.xlsx"
    path.write_bytes(b"mine")
    with pytest.raises(FileExistsError):
        write_starter(path)
    assert path.read_bytes() == b"mine"
    assert [file.name for file in tmp_path.iterdir()] == ["book.xlsx"]


def test_a_file_that_appears_meanwhile_is_left_as_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where another program takes the name while the book is being written."""
    path = tmp_path / "book.xlsx"
    write = starter._write

    def slow(beside: Path, *what: Any) -> None:
        write(beside, *what)
        path.write_bytes(b"theirs")

    monkeypatch.setattr(starter, "_write", slow)
    with pytest.raises(FileExistsError):
        write_starter(path)
    assert path.read_bytes() == b"theirs"
    assert [file.name for file in tmp_path.iterdir()] == ["book.xlsx"]


def test_a_book_that_cannot_be_finished_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the writing stops half-way, there is neither half a book nor a file beside it."""

    def full(*_: Any) -> None:
        raise OSError("no space left")

    monkeypatch.setattr(starter._BookWriter, "sheet", full)
    with pytest.raises(OSError, match="no space"):
        write_book(tmp_path / "book.xlsx", STARTER)
    assert list(tmp_path.iterdir()) == []


HOSTILE = ["=1+1", "+1", "-1", "@SUM(A1)", "http://x.invalid/", "\tTab", "a & b", "<b>", "'quoted'", "_x0041_"]


def test_texts_that_look_like_formulas_stay_texts(tmp_path: Path) -> None:
    """Names that begin with = + - @ or are addresses are written and read back as they are."""
    customers = [{"Customer": name} for name in HOSTILE]
    write_book(tmp_path / "book.xlsx", {**STARTER, "Customers": [*STARTER["Customers"], *customers]})
    book, problems = read_price_book(tmp_path / "book.xlsx")
    assert book is not None, [str(problem) for problem in problems]
    assert book.tables["Customers"]["customer"].tolist()[-len(HOSTILE) :] == [name.strip() for name in HOSTILE]
    with zipfile.ZipFile(tmp_path / "book.xlsx") as archive:
        assert not any(b"<f>" in archive.read(name) for name in archive.namelist() if "worksheets/sheet" in name)


def test_the_name_of_the_workshop_cannot_steer_the_footer(tmp_path: Path) -> None:
    """An ampersand in the business name is printed, not taken for a code."""
    settings = {**STARTER["Workshop"][0], "Business name": "Ash & Pagan"}
    write_book(tmp_path / "book.xlsx", {**STARTER, "Workshop": [settings]})
    footer = openpyxl.load_workbook(tmp_path / "book.xlsx")["Mixes"].oddFooter
    assert "Ash && Pagan" in footer.left.text


@pytest.mark.parametrize(("currency", "paper", "price"), [("GBP", "9", "#,##0.00"), ("USD", "1", "#,##0.00"), ("JPY", "9", "#,##0"),
                                                          ("KWD", "9", "#,##0.000")])
def test_paper_and_decimals_follow_the_currency(tmp_path: Path, currency: str, paper: str, price: str) -> None:
    """A4 or Letter by the currency's country where no size is typed, and as many decimals as the currency has (ISO 4217)."""
    write_book(tmp_path / "book.xlsx", {**STARTER, "Workshop": [{**STARTER["Workshop"][0], "Currency": currency, "Page size": ""}]})
    sheet = openpyxl.load_workbook(tmp_path / "book.xlsx")["Materials"]
    assert str(sheet.page_setup.paperSize) == paper
    assert sheet.cell(FIRST_ROW + 1, 5).number_format == price
    assert sheet.cell(HEADING_ROW + 1, 5).value == "Pack price"


def test_the_enquiries_of_a_new_book_are_of_today(workbook: Any) -> None:
    """So that no quote of it has lapsed on the day of the first look."""
    sheet = workbook["Enquiries"]
    dates = {row[1].value.date() for row in sheet.iter_rows(min_row=FIRST_ROW + 1) if row[0].value}
    assert len(dates) == 1
    assert datetime.date.today() - dates.pop() <= datetime.timedelta(days=1)


def test_the_demo_workshop_is_believable(tmp_path: Path) -> None:
    """One person's hours, margins after wages and overhead, hours of a long top, prices in proportion: common practice, no source."""
    settings = DEMO["Workshop"][0]
    assert 1050 <= settings["Productive hours per year"] <= 1250
    assert 22 <= settings["Overhead per year"] / settings["Productive hours per year"] <= 25
    assert 0.10 <= settings["Target margin"] <= 0.20
    head = {"Quote": "B", "Date": datetime.date(2026, 11, 26), "Customer": "Ottilie Marrable", "Quantity": 1}
    asked = [{**head, "Product": "Worktop 2400"}, {**head, "Product": "Stepping stone 450", "Quantity": 20}]
    write_book(tmp_path / "book.xlsx", {**DEMO, "Enquiries": asked, "Cut-outs": [], "Actuals": []})
    costing = pricing.cost(tmp_path / "book.xlsx")
    hours, price = costing.line("labour_hours"), costing.line("unit_price")
    assert 12 <= hours[0] <= 18
    assert 20 <= price[0] / price[1] <= 80
    assert all(0.10 <= margin <= 0.20 for margin in pricing.cost(DEMO_BOOK).quote("quote_margin"))


def test_start_writes_a_book_and_check_reads_it(tmp_path: Path) -> None:
    """The two first commands of a maker, and what they say."""
    path = tmp_path / "my prices.xlsx"
    run = CliRunner()
    first = run.invoke(main, ["start", str(path)])
    assert (first.exit_code, path.exists()) == (0, True)
    again = run.invoke(main, ["start", str(path)])
    assert again.exit_code == 1
    assert "already" in again.output
    checked = run.invoke(main, ["check", str(path)])
    assert checked.exit_code == 0
    assert checked.output.startswith('read "my prices.xlsx": ')
    assert "3 products" in checked.output
    assert "1 quote with 2 lines" in checked.output


@pytest.mark.parametrize(("arguments", "code"), [(["start"], 2), (["check"], 2), (["start", "book.ods"], 2),
                                                 (["start", "no such folder/book.xlsx"], 1), (["check", "no such.xlsx"], 1)])
def test_usage_errors_end_with_2_and_problems_with_1(arguments: list[str], code: int) -> None:
    """Never with a traceback."""
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == code
    assert "Traceback" not in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)


def test_check_prints_one_object_for_programs(tmp_path: Path) -> None:
    """File, counts and problems; exit code 1 where there is an error."""
    run = CliRunner()
    good = run.invoke(main, ["check", str(DEMO_BOOK), "--json"])
    assert good.exit_code == 0
    found = json.loads(good.output)
    assert found["file"] == "demo price book.xlsx"
    assert found["counts"]["products"] == len(DEMO["Products"])
    assert found["problems"] == []
    (tmp_path / "bad.xlsx").write_bytes(b"not a workbook")
    bad = run.invoke(main, ["check", str(tmp_path / "bad.xlsx"), "--json"])
    assert bad.exit_code == 1
    assert set(json.loads(bad.output)["problems"][0]) >= {"code", "sheet", "cell", "message"}


def test_counts_are_read_as_a_sentence() -> None:
    """Singular and plural, with nothing of what there is none of."""
    assert counted({"mixes": 1, "zones": 0, "quotes": 1, "quote_lines": 1}) == "1 mix, 1 quote with 1 line"


def test_the_reference_names_every_sheet_column_setting_and_word() -> None:
    """It is printed from the declarations, so that it cannot lag behind."""
    text = reference()
    for declared in SHEETS:
        assert f"### {declared.name}" in text
        for column in declared.columns:
            assert f"| {column.heading} |" in text
    for setting in SETTINGS:
        assert f"| {setting.heading} |" in text
    for words in WORDS.values():
        for word in words:
            assert f"`{word}`" in text


def test_currency_codes_are_those_of_the_standard() -> None:
    """ISO 4217 codes in use, as the Unicode CLDR has them; the list here holds nothing that it does not know."""
    numbers = pytest.importorskip("babel.numbers")
    assert numbers.list_currencies() >= CURRENCIES - {"XCG", "ZWG"}  # of 2024 and 2025, younger than some of its releases
    assert {"EUR", "GBP", "USD", "JPY", "CHF", "KWD"} <= CURRENCIES
