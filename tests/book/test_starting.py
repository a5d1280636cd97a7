"""A price book begun for the shapes, measures and options of one workshop, and added to later."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from openpyxl.workbook.protection import WorkbookProtection

import pricing
from pricing.book.declared.options import dimensions_of, options
from pricing.book.declared.sheets import DIMENSION_COLUMNS, SHEETS
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.book.starter.samples import Choice, write_starter
from pricing.book.starter.write import FIRST_ROW, HEADING_ROW
from pricing.cli import main
from pricing.rules.shapes import SHAPES
from tests.referee import recalculated_all

#: What is typed from a started book to the first own quote: a name, what an hour costs, a product, a customer, a line.
OWN: dict[str, dict[str, Any]] = {
    "Workshop": {"Business name": "Marl Yard"},
    "Trades": {"Hourly cost": 24.5},
    "Products": {"Product": "Mantel 1400", "Shape": "slab", "Length": 1400, "Width": 300, "Thickness": 60, "Mix": "Charcoal mix",
                 "Mould plan": "Melamine, once", "Labour plan": "Catalogue", "Finish": "Honed and sealed"},
    "Customers": {"Customer": "Orla Fenwright"},
    "Enquiries": {"Quote": "M-1", "Date": datetime.date.today(), "Customer": "Orla Fenwright", "Product": "Mantel 1400", "Quantity": 1},
}


def headings(book: Any, sheet: str) -> list[str]:
    """The headings of a sheet, without their units."""
    return [str(cell.value).partition(" (")[0] for cell in book[sheet][HEADING_ROW + 1] if cell.value]


def begun(folder: Path, choice: Choice) -> Any:
    """A new book, checked, as another library reads it."""
    write_starter(folder / "book.xlsx", choice)
    book, problems = read_price_book(folder / "book.xlsx")
    assert [str(problem) for problem in problems] == []
    assert book is not None
    workbook = openpyxl.load_workbook(folder / "book.xlsx")
    (folder / "book.xlsx").unlink()
    return workbook


def test_only_the_dimensions_of_the_shapes_have_columns(tmp_path: Path) -> None:
    """Slabs and sills: what they measure, and no more; each has a product to begin with."""
    book = begun(tmp_path, Choice(shapes=("slab", "sill")))
    wanted = {column.heading for column in DIMENSION_COLUMNS if column.name in dimensions_of(("slab", "sill"))}
    every = {column.heading for column in DIMENSION_COLUMNS}
    for sheet in ("Products", "Enquiries"):
        assert set(headings(book, sheet)) & every == wanted
    assert [row[2].value for row in book["Products"].iter_rows(min_row=FIRST_ROW + 1) if row[0].value] == ["slab", "sill"]
    assert len(headings(begun(tmp_path, Choice()), "Products")) < 20


@pytest.mark.parametrize("inches", [False, True], ids=["metric", "inches"])
def test_every_shape_and_option_makes_a_book_without_a_problem(tmp_path: Path, inches: bool) -> None:
    """Each with a product; a quote of today comes out."""
    write_starter(tmp_path / "book.xlsx", Choice(inches=inches, shapes=tuple(SHAPES), options=frozenset(options())))
    book = load_price_book(tmp_path / "book.xlsx")
    assert book.tables["Products"]["shape"].tolist() == list(SHAPES)
    assert (pricing.cost(book).line("unit_price") > 0).all()
    workbook = openpyxl.load_workbook(tmp_path / "book.xlsx")
    assert [sheet.title for sheet in workbook][:-1] == [declared.name for declared in SHEETS]
    assert headings(workbook, "Products").count("Use") == 1


@pytest.mark.parametrize("name", options())
def test_an_option_brings_what_declares_it(name: str, tmp_path: Path) -> None:
    """The sheets and columns that name it, and those that every book has."""
    book, plain = begun(tmp_path, Choice(options=frozenset({name}))), begun(tmp_path, Choice())
    brought = {(declared.name, column.heading) for declared in SHEETS for column in declared.columns
               if declared.option == name or (column.option == name and declared.name in plain.sheetnames)}
    assert brought
    for sheet, heading in brought:
        assert heading in headings(book, sheet)
    for sheet in plain.sheetnames[:-1]:
        assert set(headings(plain, sheet)) <= set(headings(book, sheet))


def test_one_setting_says_the_currency(tmp_path: Path) -> None:
    """In euros one cell says so; no heading does, and a unit per hour is read all the same."""
    book = begun(tmp_path, Choice(currency="EUR"))
    said = [cell.coordinate for sheet in book for row in sheet.iter_rows() for cell in row if cell.value == "EUR"]
    assert len(said) == 1
    for sheet in SHEETS:
        if sheet.name in book.sheetnames:
            assert not any(word in str(cell.value) for cell in book[sheet.name][HEADING_ROW + 1] for word in ("EUR", "GBP", "currency"))
    assert "Hourly cost (per h)" in [cell.value for cell in book["Trades"][HEADING_ROW + 1]]


@pytest.mark.parametrize(("currency", "least", "most"), [("IDR", 5e5, 5e7), ("KWD", 30.0, 1e3)])
def test_prices_of_a_currency_are_of_its_size(currency: str, least: float, most: float, tmp_path: Path) -> None:
    """A shelf costs what one may cost there, in whole coins, no figure is beyond its bounds, and the book says that all are examples."""
    write_starter(tmp_path / "book.xlsx", Choice(currency=currency))
    read, problems = read_price_book(tmp_path / "book.xlsx")
    assert read is not None
    assert list(problems) == []
    book = openpyxl.load_workbook(tmp_path / "book.xlsx", read_only=True)
    assert "example, to be written over" in book["Materials"]["A2"].value
    assert "example, to be written over" in book["Workshop"]["A2"].value
    price = float(pricing.cost(read).line("unit_price")[0])
    assert least < price < most
    assert price % 1 == 0 or currency == "KWD"


def test_customers_are_written_to_in_a_language_from_the_first_quote(tmp_path: Path) -> None:
    """The setting stands in the new book, with the tax by its name there; the sheets stay in English, and the help says so."""
    path = tmp_path / "book.xlsx"
    run = CliRunner().invoke(main, ["start", str(path), "--language", "de-AT", "--currency", "EUR"])
    assert run.exit_code == 0, run.output
    book = load_price_book(path)
    assert (book.word("language"), book.word("tax_name")) == ("de", "MwSt.")
    assert "stay in English" in " ".join(CliRunner().invoke(main, ["start", "--help"]).output.split())
    pricing.quote(path, out=tmp_path / "out")
    letter = openpyxl.load_workbook(next((tmp_path / "out").glob("Q-1001*.xlsx")))
    assert any(cell.value == "Angebot" for row in letter.worksheets[0].iter_rows() for cell in row)


def test_the_price_is_near_the_number_customer_and_product(tmp_path: Path) -> None:
    """Those three stay in sight, and the price of a line is the second column after them."""
    book = begun(tmp_path, Choice())
    assert book["Enquiries"].freeze_panes == f"E{FIRST_ROW + 1}"
    assert headings(book, "Enquiries")[:6] == ["Quote", "Date", "Customer", "Product", "Quantity", "Unit price"]


@pytest.mark.usefixtures("requires_office")
def test_a_list_offers_each_name_once(tmp_path: Path) -> None:
    """Two labour plans of dozens of steps are two names to choose from; a third that is typed is offered as well."""
    write_starter(tmp_path / "book.xlsx")
    book = openpyxl.load_workbook(tmp_path / "book.xlsx")
    labour, words = book["Labour"], book["Words"]
    labour.cell(labour.max_row + 1, 1).value = "Own plan"
    rule = next(rule for rule in book["Products"].data_validations.dataValidation if "Words" in str(rule.formula1)
                and words.cell(HEADING_ROW + 1, openpyxl.utils.column_index_from_string(_column(rule.formula1))).value == "Labour")
    column = _column(rule.formula1)
    book.save(tmp_path / "more.xlsx")
    seen = [[row[0].value for row in file["Words"][f"{column}{FIRST_ROW + 1}:{column}{FIRST_ROW + 60}"] if row[0].value]
            for file in recalculated_all([tmp_path / "book.xlsx", tmp_path / "more.xlsx"])]
    assert seen == [["Worktop", "Catalogue"], ["Worktop", "Catalogue", "Own plan"]]


def _column(formula: str) -> str:
    return formula.partition("Words!$")[2].partition("$")[0]


def test_the_first_own_quote_takes_at_most_twenty_typed_cells(tmp_path: Path) -> None:
    """From a started book to a price of a piece of one's own, for a customer of one's own."""
    write_starter(tmp_path / "book.xlsx")
    book = openpyxl.load_workbook(tmp_path / "book.xlsx")
    typed = 0
    for name, cells in OWN.items():
        sheet = book[name]
        rows = [row for row in range(FIRST_ROW + 1, sheet.max_row + 1) if sheet.cell(row, 1).value]
        places = {heading: place for place, heading in enumerate(headings(book, name), 1)}
        for heading, value in cells.items():
            if name == "Workshop":
                row, place = next(row for row in rows if sheet.cell(row, 1).value == heading), 2
            else:
                row, place = (rows[0] if name in ("Trades", "Enquiries") else rows[-1] + 1), places[heading]
            sheet.cell(row, place).value = value
            typed += 1
    book.save(tmp_path / "book.xlsx")
    assert typed <= 20
    costing = pricing.cost(tmp_path / "book.xlsx", quotes=["M-1"])
    assert costing.line("unit_price")[0] > 100
    assert costing.book.settings["business_name"] == "Marl Yard"


def test_a_book_gets_more_later(tmp_path: Path) -> None:
    """A sheet, columns of a shape and of an option: the rest of the file is what it was, byte for byte, and a copy stands beside it."""
    path = tmp_path / "book.xlsx"
    write_starter(path)
    before = path.read_bytes()
    run = CliRunner().invoke(main, ["start", "--add", "layers, sill,uses", str(path)])
    assert run.exit_code == 0, run.output
    for words in ("sheet Layers", "Products: Fall (mm)", "Enquiries: Fall (mm)", "Products: Use"):
        assert words in run.output
    assert [copy.read_bytes() for copy in tmp_path.glob("book backup *.xlsx")] == [before]
    book = openpyxl.load_workbook(path)
    assert headings(book, "Layers") == ["Product", "Mix", "Thickness", "On"]
    heading = book["Products"].cell(HEADING_ROW + 1, len(headings(book, "Products")))
    assert heading.font.b == book["Products"].cell(HEADING_ROW + 1, 1).font.b is True
    with zipfile.ZipFile(path) as now, zipfile.ZipFile(next(tmp_path.glob("book backup *.xlsx"))) as then:
        changed = {name for name in then.namelist() if now.read(name) != then.read(name)}
        new = set(now.namelist()) - set(then.namelist())
    sheets = {f"xl/worksheets/sheet{book.sheetnames.index(name) + 1}.xml" for name in ("Products", "Enquiries")}
    assert changed == {"[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", *sheets}
    assert len(new) == 1
    again = CliRunner().invoke(main, ["start", "--add", "layers,sill", str(path)])
    assert (again.exit_code, "nothing was changed" in again.output) == (0, True)


def test_a_book_that_another_library_saved_gets_more(tmp_path: Path) -> None:
    """Whatever way the list of its sheets is written in: the new sheet is there, and the book is read."""
    path = tmp_path / "book.xlsx"
    write_starter(path)
    openpyxl.load_workbook(path).save(path)
    assert b"<sheet xmlns:" in zipfile.ZipFile(path).read("xl/workbook.xml")
    added, _ = pricing.start_add(path, ["terms", "closed"])
    assert len(added) == 2
    assert {"Terms", "Closed"} <= set(openpyxl.load_workbook(path).sheetnames)
    load_price_book(path)


def test_what_was_added_is_used(tmp_path: Path) -> None:
    """A sill and a layer that are typed into the new sheet and columns are read."""
    path = tmp_path / "book.xlsx"
    write_starter(path, Choice(inches=True))
    pricing.start_add(path, ["layers", "sill"])
    book = openpyxl.load_workbook(path)
    assert "Fall (in)" in [cell.value for cell in book["Products"][HEADING_ROW + 1]]
    products, layers = book["Products"], book["Layers"]
    places = {name: place for place, name in enumerate(headings(book, "Products"), 1)}
    row = FIRST_ROW + 1
    products.cell(row, places["Shape"]).value, products.cell(row, places["Fall"]).value = "sill", 0.5
    products.cell(row, places["Drop"]).value = products.cell(row, places["Long lips"]).value = None
    for place, value in enumerate((products.cell(row, 1).value, products.cell(row, places["Mix"]).value, 0.25, "face"), 1):
        layers.cell(row, place).value = value
    book.save(path)
    read = load_price_book(path)
    assert read.tables["Products"]["fall"][0] == pytest.approx(0.0127)
    assert read.tables["Layers"]["thickness"].tolist() == [pytest.approx(0.00635)]


def test_a_shape_may_be_typed_with_hyphens(tmp_path: Path) -> None:
    """As words of a command mostly are: a square planter, whichever way it is written, and also where it is added."""
    for number, words in enumerate(("square planter", "Square-Planter")):
        pricing.start(tmp_path / f"{number}.xlsx", shapes=[words])
        assert load_price_book(tmp_path / f"{number}.xlsx").tables["Products"]["shape"].tolist() == ["square planter"]
    assert pricing.start_add(tmp_path / "0.xlsx", ["round-planter"])[0]


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["start", "--add", "layerz", "book.xlsx"], 1, 'is "layers" meant?'),
        (["start", "--add", "layers", "none.xlsx"], 1, "no such file"),
        (["start", "new.xlsx", "--shapes", "slb"], 1, 'is "slab" meant?'),
        (["start", "new.xlsx", "--currency", "€"], 1, "is not a currency code"),
        (["start", "new.xlsx", "--language", "xx"], 1, "is no language that quotes can be written in; there are en-GB"),
        (["start", "new.xlsx", "--layers", "--add", "layers"], 2, "--add changes a book that is there"),
    ],
)
def test_slips_are_told(arguments: list[str], code: int, words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With what was meant, and nothing is written."""
    monkeypatch.chdir(tmp_path)
    write_starter(Path("book.xlsx"))
    before = Path("book.xlsx").read_bytes()
    run = CliRunner().invoke(main, arguments)
    assert (run.exit_code, Path("book.xlsx").read_bytes() == before) == (code, True)
    assert words in run.output
    assert sorted(path.name for path in tmp_path.iterdir()) == ["book.xlsx"]


def test_a_book_that_is_open_or_protected_is_left_alone(tmp_path: Path) -> None:
    """A sentence says why, and the file is what it was."""
    path = tmp_path / "book.xlsx"
    write_starter(path)
    (tmp_path / "~$book.xlsx").write_bytes(b"")
    with pytest.raises(pricing.BookError, match="open in a spreadsheet program"):
        pricing.start_add(path, ["layers"])
    (tmp_path / "~$book.xlsx").unlink()
    book = openpyxl.load_workbook(path)
    book.security = WorkbookProtection(lockStructure=True)
    book.save(path)
    before = path.read_bytes()
    with pytest.raises(pricing.BookError, match="the workbook is protected"):
        pricing.start_add(path, ["layers"])
    assert path.read_bytes() == before
