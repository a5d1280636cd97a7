"""The Python interface is whole: what the command line does, it does; tables and quantities go in and come out."""

from __future__ import annotations

import ast
import datetime
import inspect
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import typing_sample
from books import set_cell, small_book, write_book
from hypothesis import given
from hypothesis import strategies as st

import pricing
from pricing import units
from pricing.quantities import as_typed

ROOT = Path(__file__).parents[1]
DEMOS = [ROOT / "workbooks" / name for name in ("demo price book.xlsx", "demo price book imperial.xlsx")]

#: What the command line may know of the package besides itself: the interface, and how texts and amounts are told.
OPEN_TO_COMMANDS = {"pricing.api", "pricing.problems", "pricing.money"}


@pytest.mark.parametrize("path", sorted((ROOT / "pricing" / "cli").glob("*.py")), ids=lambda path: path.name)
def test_the_command_line_calls_nothing_but_the_interface(path: Path) -> None:
    """A module of the command line imports the package, its interface, and its ground, and nothing that computes or writes."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom):
            names = [f"pricing.{alias.name}" for alias in node.names] if node.module == "pricing" else [str(node.module)]
        for name in names:
            own = name == "pricing" or name.startswith("pricing.cli")
            assert not name.startswith("pricing") or own or name in OPEN_TO_COMMANDS, f"{path.name} imports {name}"


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.py")), ids=lambda path: path.name)
def test_an_example_needs_nothing_but_the_package(path: Path) -> None:
    """No example imports a module of the package, and none reaches into the costing model."""
    text = path.read_text(encoding="utf-8")
    assert "from pricing" not in text
    assert "import pricing." not in text
    assert ".model" not in text


@pytest.mark.parametrize("name", sorted(set(pricing.__all__) - {"price_quotes"}))
def test_every_name_of_the_interface_is_there_and_says_what_it_is(name: str) -> None:
    """Each name leads to a function or a class of that name, with a docstring; the parameters of a run are told one by one."""
    found = getattr(pricing, name)
    assert found.__name__ == name
    assert inspect.getdoc(found)
    told = inspect.getdoc(found) or ""
    for parameter in inspect.signature(found).parameters if inspect.isfunction(found) and "Parameters\n" in told else ():
        assert parameter in told, f"{name}: {parameter}"


def test_names_given_before_still_lead_where_they_did() -> None:
    """What a program called before is called so still."""
    assert pricing.price_quotes is pricing.quote
    assert {"load_price_book", "read_price_book", "cost_quotes", "cost_catalogue"} <= set(pricing.__all__)


def test_a_program_gets_frames_from_everything(tmp_path: Path) -> None:
    """The sample that mypy checks runs on the demo price book, and every table in it has rows and columns."""
    book = Path(shutil.copy(DEMOS[0], tmp_path / "book.xlsx"))
    for number, table in enumerate([*typing_sample.frames(pricing.read(book)), *typing_sample.runs(book, tmp_path / "out")]):
        assert table.shape[0] > 0, number
        assert table.shape[1] > 1, number


# ---- tables that go in ---------------------------------------------------------------------------------------------------


def frame_of(sheets: dict[str, list[list[Any]]], name: str) -> pd.DataFrame:
    """A sheet of a book made for a test, as a frame."""
    headings, *rows = sheets[name]
    return pd.DataFrame(rows, columns=[str(heading) for heading in headings])


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
@pytest.mark.parametrize("sheet", ["Products", "Enquiries"])
def test_a_sheet_read_by_pandas_and_given_as_a_frame_is_that_sheet(path: Path, sheet: str) -> None:
    """The demo's own sheet, read by another library and handed in, leads to the same columns and the same prices to the last bit."""
    book = pricing.read(path)
    table = book.tables[sheet]
    raw = pd.read_excel(path, sheet_name=sheet, header=None)
    top = int(np.flatnonzero(raw.iloc[:, 0] == {"Products": "Product", "Enquiries": "Quote"}[sheet])[0])
    headings = [str(heading).removesuffix(" (%)") for heading in raw.iloc[top]]  # a cell's format is lost: 3 % comes as 0.03
    frame = raw.iloc[top + 1 :].set_axis(headings, axis=1).dropna(how="all")
    given = pricing.read(path, **{"catalogue" if sheet == "Products" else "enquiries": frame})
    for name, values in table.columns.items():
        assert [str(value) for value in given.tables[sheet].columns[name].tolist()] == [str(value) for value in values.tolist()], name
    typed = np.unique(table.rows[table.rows > 0])  # what stands on another sheet, such as a service, has no row here; a set has several
    assert len(typed) == len(frame)
    assert given.tables[sheet].rows.tolist() == [int(np.searchsorted(typed, row)) + 1 if row else 0 for row in table.rows.tolist()]
    pd.testing.assert_frame_equal(pricing.cost(given).lines_table(), pricing.cost(book).lines_table(), check_exact=True)


FAULTS: list[tuple[str, str, str, Any]] = [
    ("Products", "Shelf 800", "Length", "twelve"), ("Products", "Shelf 800", "Length", "3 kg"), ("Products", "Block", "Volume", None),
    ("Products", "Block", "Volume", -4), ("Products", "Slab 1000", "Mix", "Gray"), ("Products", "Slab 1000", "Rejects", 4),
    ("Products", "Block", "Product", "Slab 1000"), ("Products", "Block", "Made for", "nobody"), ("Products", "Block", "List price", True),
    ("Enquiries", "Q-2", "Quantity", 2.5), ("Enquiries", "Q-2", "Customer", "Ada Field"), ("Enquiries", "Q-2", "Product", "Shelff 800"),
    ("Enquiries", "Q-1", "Date", "1/2/2026"), ("Enquiries", "Q-2", "Unit price", "12 USD"), ("Enquiries", "Q-1", "Length", 0.00001),
]


@pytest.mark.parametrize(("sheet", "key", "column", "value"), FAULTS)
def test_a_frame_is_checked_as_the_sheet_would_be(sheet: str, key: str, column: str, value: Any, tmp_path: Path) -> None:
    """The same fault in a sheet and in a frame is the same problem in the same words, its place the heading and the row of the frame."""
    sheets = small_book()
    path = write_book(tmp_path / "book.xlsx", sheets)
    set_cell(sheets, sheet, key, column, value)
    written = write_book(tmp_path / "written" / "book.xlsx" if (tmp_path / "written").mkdir() is None else tmp_path, sheets)
    frame = frame_of(sheets, sheet)
    found = pricing.check(path, **{"catalogue" if sheet == "Products" else "enquiries": frame})
    expected = pricing.check(written)
    assert [(each.code, each.sheet, each.warning) for each in found.problems] == [
        (each.code, each.sheet, each.warning) for each in expected.problems]
    told = False
    for one, other in zip(found.problems, expected.problems, strict=True):
        if other.sheet == sheet and other.cell:
            heading, row = one.cell.split(", row ")
            letter, number = other.cell[0], int(other.cell[1:])
            assert (heading, int(row) + 1) == (frame.columns[ord(letter) - ord("A")], number)
            told = told or not one.warning
            if "row" not in other.message:
                assert one.message == other.message
        else:
            assert (one.cell, one.message) == (other.cell, other.message)
    assert told


def test_rows_that_a_message_names_are_those_of_the_frame(tmp_path: Path) -> None:
    """Where a problem names another row, it is the row of the frame, counted from 1."""
    sheets = small_book()
    path = write_book(tmp_path / "book.xlsx", sheets)
    set_cell(sheets, "Products", "Block", "Product", "Slab 1000")
    (problem,) = (each for each in pricing.check(path, catalogue=frame_of(sheets, "Products")).problems if each.code == "duplicate-key")
    assert (problem.cell, "row 1" in problem.message) == ("Product, row 3", True)


def test_headings_of_a_frame_are_checked_too(tmp_path: Path) -> None:
    """A column that is missing is told once, with the heading that is spelled much like it."""
    path = write_book(tmp_path / "book.xlsx", small_book())
    frame = frame_of(small_book(), "Enquiries").rename(columns={"Quantity": "Quantitty"})
    found = pricing.check(path, enquiries=frame)
    assert found.book is None
    told = [each for each in found.problems if each.sheet == "Enquiries"]
    assert [(each.code, each.cell) for each in told] == [("missing-column", "the heading Quote")]
    assert '(is "Quantitty" meant?)' in told[0].message


def test_a_frame_of_the_wrong_kind_ends_in_sentences(tmp_path: Path) -> None:
    """An empty frame, one with other headings, and one full of odd things raise BookError, never anything else."""
    path = write_book(tmp_path / "book.xlsx", small_book())
    odd = frame_of(small_book(), "Products").astype(object)
    odd["Length (mm)"] = [object(), 10**400, complex(1, 2)]
    odd["Width (mm)"] = [float("inf"), np.bool_(True), pd.Timestamp("2026-01-01", tz="UTC")]
    for frame in (pd.DataFrame(), pd.DataFrame({"a": [1], 3: ["b"]}), odd):
        with pytest.raises(pricing.BookError, match=r"book\.xlsx  Products"):
            pricing.read(path, catalogue=frame)


def test_variants_come_as_a_frame(tmp_path: Path) -> None:
    """Variants in a frame have the prices of those in a workbook; a fault in one is told by heading and row."""
    path = write_book(tmp_path / "book.xlsx", small_book())
    rows = [["Product", "Length (mm)", "Quantity"], ["Slab 1000", 900, 2], ["Slab 1000", 1200, 7]]
    workbook = write_book(tmp_path / "variants.xlsx", {"Variants": rows})
    given = pricing.catalogue(path, variants=frame_of({"Variants": rows}, "Variants")).variants_table()
    pd.testing.assert_frame_equal(given, pricing.catalogue(path, variants=workbook).variants_table(), check_exact=True)
    rows[2][1] = "2 kg"
    (problem,) = pricing.catalogue(path, variants=frame_of({"Variants": rows}, "Variants")).problems.errors
    assert (problem.code, problem.cell) == ("wrong-dimension", "Length (mm), row 2")


# ---- quantities ----------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small workshop's price book."""
    return write_book(tmp_path_factory.mktemp("book") / "book.xlsx", small_book())


#: Lengths between 300 and 1500 mm in units of the closed list, as pint has them.
LENGTHS = st.tuples(st.integers(300, 1500), st.sampled_from(["mm", "cm", "m", "in", "ft"])).map(
    lambda each: pricing.quantity(each[0], "mm").to(pricing.quantity(1, each[1]).units))


@given(length=LENGTHS)
def test_a_quantity_in_a_frame_is_what_it_is_in_metres(length: Any, book: Path) -> None:
    """A length in whatever unit comes to the metres that pint says it is, to 15 digits."""
    frame = frame_of(small_book(), "Enquiries").astype(object)
    frame.loc[0, "Length (mm)"] = length
    read = pricing.read(book, enquiries=frame.rename(columns={"Length (mm)": "Length"}))
    assert read.tables["Enquiries"]["length"][0] == pytest.approx(length.m_as("metre"), rel=1e-14)


@pytest.mark.parametrize("entry", units.TABLE, ids=lambda entry: entry[0])
def test_a_quantity_of_any_unit_of_the_list_is_typed_in_that_unit(entry: tuple[Any, ...]) -> None:
    """The text that a quantity becomes names its own unit, and every digit of its figure."""
    assert as_typed(units.registry().Quantity(1.0625, entry[-1])) == f"1.0625 {entry[0]}"
    assert units.unit_of(entry[0]) == units.Unit(entry[0], entry[2], entry[3])


def test_a_quantity_of_another_registry_is_taken_over(book: Path) -> None:
    """A program that has a registry of its own may hand its quantities in."""
    import pint

    own = pint.UnitRegistry()
    found = pricing.what_if(book, {"Saw kerf": own.Quantity(0.125, "inch")})
    assert found.what_if == ("Saw kerf 0.125 in",)


@pytest.mark.parametrize(
    ("changes", "typed"),
    [
        ({"Cement": "+12%"}, ["Cement=+12%"]), ({"Cement": 11.25}, ["Cement=11.25"]),
        ({"Cement": pricing.quantity(11.25, "currency")}, ["Cement=11.25"]), ({"Target margin": 0.45}, ["Target margin=45%"]),
        ({"Electricity price": pricing.quantity(0.31, "currency/kWh")}, ["Electricity price=0.31"]),
        ({"Maker": 27, "Sand": "-5%"}, ["Maker=27", "Sand=-5%"]),
    ],
)
def test_what_is_supposed_may_be_typed_counted_or_measured(changes: dict[str, Any], typed: list[str], book: Path) -> None:
    """A text, a number and a quantity that mean the same lead to the same costs, to the last bit."""
    one, other = (pricing.what_if(book, each, day=datetime.date(2026, 3, 2)) for each in (changes, typed))
    pd.testing.assert_frame_equal(one.products_table(), other.products_table(), check_exact=True)
    assert any(each.cost.change or each.price.change for each in one.products)


def test_what_is_supposed_is_explained_to_the_last_bit(book: Path) -> None:
    """The causes of a table of a supposed change add up to the change of each cost."""
    found = pricing.what_if(book, {"Cement": "+12%", "Maker": "+3%"}, day=datetime.date(2026, 3, 2))
    table = found.causes_table()
    parts = table[table["figure"] == "cost"].groupby(["of", "name"])["part"].sum()
    for each in found.products:
        assert parts.get(("product", each.product), 0.0) == pytest.approx(each.cost.change, rel=1e-12, abs=1e-12)
    assert set(table["cause"]) >= {"Cement", "Maker"}


def test_results_have_their_units(book: Path) -> None:
    """A column with its unit is the column without, and may be asked for in another; the frame heads it with the same unit."""
    costing = pricing.cost(book)
    mass = costing.quantity("mass")
    assert (mass.magnitude == costing.line("mass")).all()
    assert mass.to("g/piece").magnitude == pytest.approx(costing.line("mass") * 1000)
    assert str(costing.quantity("net").units) == "currency"
    table = costing.lines_table(units=True)
    assert table["mass_kg"].columns.tolist() == ["kilogram/piece"]
    plain = costing.lines_table()
    for name, unit in table.columns:
        assert (table[name, unit] == plain[name]).all()
        assert not unit or units.registry().Unit(unit)


def test_a_quantity_of_the_wrong_dimension_is_refused(book: Path) -> None:
    """Where pieces are asked for, a length is refused by pint; a unit that means two things is refused with the remedy."""
    import pint

    with pytest.raises(pint.DimensionalityError):
        pricing.cost_list(book, quantities=[pricing.quantity(3, "m")])
    with pytest.raises(ValueError, match="type t"):
        pricing.quantity(3, "ton")


# ---- what goes wrong -----------------------------------------------------------------------------------------------------

RUNS: dict[str, Callable[[Path, Path], Any]] = {
    "quote": lambda path, out: pricing.quote(path, out=out, record="issued"),
    "workshop": lambda path, out: pricing.workshop(path, quotes=["Q-1", "Q-2"], out=out),
    "reprice": lambda path, out: pricing.reprice(path, out=out),
    "publish": lambda path, out: pricing.publish(path, price_list=True, out=out),
    "catalogue": lambda path, out: pricing.catalogue(path, out=out, form="xlsx"),
    "review": lambda path, out: pricing.review(path, out=out, quotes=["Q-1"]),
}


@pytest.mark.parametrize("run", RUNS)
def test_a_run_says_what_stops_it(run: str, tmp_path: Path) -> None:
    """A price book that is not there, one that is none, and a place that cannot be written are problems, and nothing is written."""
    none = tmp_path / "none.xlsx"
    none.write_text("no workbook")
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where a folder is asked for")
    good = write_book(tmp_path / "book.xlsx", small_book())
    for path, out in ((tmp_path / "nothing.xlsx", tmp_path / "out"), (none, tmp_path / "out"), (good, blocked)):
        result = RUNS[run](path, out)
        assert result.problems.errors, (path, out)
        assert not result.written
        assert all(problem.message and problem.code for problem in result.problems.errors)
    assert not (tmp_path / "out").exists()


QUESTIONS: dict[str, Callable[[Path], Any]] = {
    "read": pricing.read, "cost": pricing.cost, "cost_list": pricing.cost_list, "explain": lambda path: pricing.explain(path, "Q-1"),
    "what_if": lambda path: pricing.what_if(path, ["Cement=+1%"]), "recorded": pricing.recorded,
    "mark": lambda path: pricing.mark(path, "Q-1", "ordered", late=True), "next_number": pricing.next_number,
}


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_question_is_refused_with_a_sentence(question: str, tmp_path: Path) -> None:
    """What is asked of a price book that is not there is refused by one kind of exception, with code and sentence."""
    with pytest.raises(pricing.PricingError, match="there is no such") as refusal:
        QUESTIONS[question](tmp_path / "nothing.xlsx")
    assert [problem.message for problem in refusal.value.problems]


def test_what_cannot_be_meant_is_refused_at_once(book: Path, tmp_path: Path) -> None:
    """Two comparisons at a time, quotes issued at supposed prices, and a price list without a folder are errors of the caller."""
    with pytest.raises(ValueError, match="one of them"):
        pricing.reprice(book, since=datetime.date(2026, 1, 1), against=book)
    with pytest.raises(ValueError, match="prices of the price book"):
        pricing.reprice(book, changes=["Cement=+1%"], reissue=True, out=tmp_path)
    with pytest.raises(ValueError, match="folder"):
        pricing.publish(book, price_list=True)
    with pytest.raises(ValueError, match="files"):
        pricing.catalogue(pricing.read(book), out=tmp_path)


# ---- what is loaded ------------------------------------------------------------------------------------------------------

#: Libraries that take their time, and the commands that use them on a small price book.
USED = {
    "check book.xlsx": {"numpy", "xlsxwriter", "PIL"},  # what quotes would give away is looked for in the quotes themselves
    "explain book.xlsx --quote Q-1": {"numpy"},
    "publish book.xlsx --show": {"numpy"},
    "register book.xlsx": {"numpy"},
    "quote book.xlsx": {"numpy", "xlsxwriter", "PIL", "multiprocessing"},  # its margin workbook is written by a copy of the process
    "workshop book.xlsx --quote Q-1": {"numpy", "xlsxwriter", "PIL", "ortools"},
    "reprice book.xlsx": {"numpy", "xlsxwriter"},
    "start new.xlsx": {"numpy", "xlsxwriter"},
    "catalogue book.xlsx --format xlsx --out list": {"numpy", "xlsxwriter"},
}


@pytest.mark.parametrize("command", USED)
def test_no_command_loads_what_it_does_not_use(command: str, tmp_path: Path) -> None:
    """Data frames, units, and what writes workbooks are loaded by the commands that need them, and by no other."""
    write_book(tmp_path / "book.xlsx", small_book())
    script = (
        "import sys\nfrom pricing.cli import main\nmain(sys.argv[1:], standalone_mode=False)\n"
        "print('LOADED', *sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", script, *command.split()], capture_output=True, text=True, check=True, cwd=tmp_path,
                          env={"PYTHONPATH": str(ROOT), "PATH": ""})
    loaded = set(done.stdout.rpartition("LOADED")[2].split())
    heavy = {"numpy", "pandas", "pint", "openpyxl", "xlsxwriter", "PIL", "ortools", "pyarrow", "dask", "distributed", "numpy.ma",
             "multiprocessing"}
    assert loaded & heavy <= USED[command]


def test_the_package_runs_as_a_module() -> None:
    """``python -m pricing`` is the command, under its own name, where the command itself is not on the path."""
    done = subprocess.run([sys.executable, "-m", "pricing", "check", "--help"], capture_output=True, text=True, check=True,
                          env={"PYTHONPATH": str(ROOT), "PATH": ""})
    assert done.stdout.startswith("Usage: pricing check")
