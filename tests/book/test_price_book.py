"""Reading a price book: figures in the declared units, names in one spelling, only rows that are data."""

from __future__ import annotations

import datetime
import math
import time
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_book import SMALL, Formula, Shown, write_small

from pricing.book.declared.sheets import SETTINGS, SHEETS
from pricing.book.price_book import PriceBook, price_row_on
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.problems import BookError

DAY = datetime.datetime(2025, 1, 6)


def read(path: Path) -> PriceBook:
    book, problems = read_price_book(path)
    assert book is not None, [str(problem) for problem in problems.errors]
    return book


def small(tmp_path: Path, edits: dict[str, Any] | None = None, **others: Any) -> PriceBook:
    return read(write_small(tmp_path / "small.xlsx", edits, **others))


#: What is typed where, and the value in the declared unit of sheet, column and row. Inch, foot, pound and gallon by
#: definition (international yard and pound agreement of 1959; US gallon of 231 cubic inches).
UNDERSTOOD: list[tuple[dict[str, Any], str, str, int, object]] = [
    ({}, "Products", "length", 0, 1.0),
    ({"Products!C2": "1.2 m"}, "Products", "length", 0, 1.2),
    ({"Products!C2": "120 cm"}, "Products", "length", 0, 1.2),
    ({"Products!C2": "1.234,5 mm"}, "Products", "length", 0, 1.2345),
    ({"Products!C2": "40 in"}, "Products", "length", 0, 1.016),
    ({"Products!C2": '40"'}, "Products", "length", 0, 1.016),
    ({"Products!C2": "3 ft 4 in"}, "Products", "length", 0, 1.016),
    ({"Products!C2": "3' 4\""}, "Products", "length", 0, 1.016),
    ({"Products!C2": '39 1/2"'}, "Products", "length", 0, 1.0033),
    ({"Products!C1": "Length (in)", "Products!C2": 40, "Products!C3": 36}, "Products", "length", 0, 1.016),
    ({"Products!C1": "Length [m]", "Products!C2": 1.2, "Products!C3": 0.9}, "Products", "length", 0, 1.2),
    ({"Products!C1": "Length (m)", "Products!C2": 1.2, "Products!C3": "900 mm"}, "Products", "length", 1, 0.9),
    ({"Products!C1": " LENGTH\n(mm) ", "Products!C2": 1200}, "Products", "length", 0, 1.2),
    ({"Products!C1": "Length", "Products!C2": 1200}, "Products", "length", 0, 1.2),
    ({"Products!C1": "Length", "Products!C2": Shown(1.2, '0.0" m"')}, "Products", "length", 0, 1.2),
    ({"Products!C2": Shown(1200, '0" mm"')}, "Products", "length", 0, 1.2),
    ({"Products!C2": "1\u00a0200"}, "Products", "length", 0, 1.2),
    ({"Products!C2": Formula("=2*600", 1200)}, "Products", "length", 0, 1.2),
    ({"Products!E2": 83}, "Products", "thickness", 0, 0.083),
    ({"Products!N2": "4 %"}, "Products", "rejects", 0, 0.04),
    ({"Products!N2": Shown(0.04, "0.0%")}, "Products", "rejects", 0, 0.04),
    ({"Products!N1": "Rejects (%)", "Products!N2": 4}, "Products", "rejects", 0, 0.04),
    ({"Products!N1": "Rejects (%)", "Products!N2": Shown(0.04, "0%")}, "Products", "rejects", 0, 0.04),
    ({"Products!N2": None}, "Products", "rejects", 0, 0.0),
    ({"Products!O2": None}, "Products", "made_for", 0, "order"),
    ({"Products!O2": " Stock "}, "Products", "made_for", 0, "stock"),
    ({"Products!J2": "  GREY"}, "Products", "mix", 0, "Grey"),
    ({"Products!B3": "SLAB  with a Lip"}, "Products", "shape", 1, "slab with a lip"),
    ({"Products!A2": 1001, "Enquiries!D2": "1001", "Actuals!B2": 1001}, "Enquiries", "product", 0, "1001"),
    ({"Materials!C2": "25 kg"}, "Materials", "pack_size", 0, 25.0),
    ({"Materials!C2": "55 lb"}, "Materials", "pack_size", 0, 24.94758035),
    ({"Materials!C4": "1 m3"}, "Materials", "pack_size", 2, 1000.0),
    ({"Materials!C4": "1 US gal"}, "Materials", "pack_size", 2, 3.785411784),
    ({"Materials!E2": "€8.50"}, "Materials", "pack_price", 0, 8.5),
    ({"Materials!E2": "8,50 EUR"}, "Materials", "pack_price", 0, 8.5),
    ({"Materials!E2": Shown(8.5, "[$€-2] #,##0.00")}, "Materials", "pack_price", 0, 8.5),
    ({"Materials!E1": "Pack price (EUR)"}, "Materials", "pack_price", 0, 8.0),
    ({"Materials!H2": "197 lb/ft3"}, "Materials", "density", 0, 197 * 0.45359237 / 0.028316846592),
    ({"Materials!H2": "3.15 g/cm3"}, "Materials", "density", 0, 3150.0),
    ({"Materials!B2": "Binder"}, "Materials", "kind", 0, "binder"),
    ({"Materials!D5": "SHEET"}, "Materials", "pack_unit", 3, "sheet"),
    ({"Materials!N2": "6 January 2025"}, "Materials", "priced_on", 0, datetime.date(2025, 1, 6)),
    ({"Materials!N2": datetime.datetime(2025, 1, 6, 17, 30)}, "Materials", "priced_on", 0, datetime.date(2025, 1, 6)),
    ({"Mixes!C5": "2 %"}, "Mixes", "amount", 3, 0.02),
    ({"Mixes!C5": 2}, "Mixes", "amount", 3, 0.02),
    ({"Mixes!C5": Shown(0.02, "0%")}, "Mixes", "amount", 3, 0.02),
    ({"Mixes!C2": "350 kg/m3", "Mixes!D2": "kg/m³"}, "Mixes", "amount", 0, 350.0),
    ({"Mixes!C2": "350 kg/m3", "Mixes!D2": "kg/m³"}, "Mixes", "basis", 0, "kg/m3"),
    ({"Mixes!C2": "0.35 L/kg", "Mixes!D2": "mL/kg binder", "Mixes!B3": "Sand", "Mixes!D3": "kg/m3", "Materials!B3": "binder"},
     "Mixes", "amount", 0, 350.0),
    ({"Labour!D2": "0.2 h"}, "Labour", "minutes", 0, 12.0),
    ({"Labour!G3": "2 days"}, "Labour", "wait", 1, 48.0),
    ({"Labour!H2": "x"}, "Labour", "lost_on_reject", 0, 1.0),
    ({"Labour!H2": False}, "Labour", "lost_on_reject", 0, 0.0),
    ({"Machines!F2": "750 W"}, "Machines", "power", 0, 0.75),
    ({"Machines!E2": "€0.50/h"}, "Machines", "upkeep", 0, 0.5),
    ({"Trades!B2": "20 EUR"}, "Trades", "hourly_cost", 0, 20.0),
    ({"Finishes!C2": "6 m2/pad"}, "Finishes", "covers", 0, 6.0),
    ({"Finishes!C2": "65 ft2/pad"}, "Finishes", "covers", 0, 6.0386976),
    ({"Finishes!D2": None}, "Finishes", "coats", 0, 1.0),
    ({"Delivery!B2": "0.1 t"}, "Delivery", "up_to", 0, 100.0),
    ({"Enquiries!E2": "2 pieces"}, "Enquiries", "quantity", 0, 2.0),
    ({"Extras!C2": "4 each"}, "Extras", "amount", 0, 4.0),
]


@pytest.mark.parametrize(("edits", "sheet", "column", "row", "value"), UNDERSTOOD)
def test_what_is_unambiguous_is_understood(tmp_path: Path, edits: dict[str, Any], sheet: str, column: str, row: int, value: object) -> None:
    """A figure arrives in the declared unit, a name in the spelling of its own sheet, a word as it is declared."""
    found = small(tmp_path, edits).tables[sheet][column].tolist()[row]
    if isinstance(value, float):
        assert found == pytest.approx(value, rel=2e-15)
        assert found == float(f"{found:.15g}"), "figures have 15 significant digits"
    else:
        assert found == value


SETTINGS_UNDERSTOOD: list[tuple[str, object, str, object]] = [
    ("Mixer load (L)", "0.06 m3", "mixer_load", 60.0),
    ("Mixer load (US gal)", 16, "mixer_load", 60.566588544),
    ("Electricity price", "€0.30/kWh", "electricity_price", 0.3),
    ("Target margin (%)", 40, "target_margin", 0.4),
    ("Quote valid for", "2 weeks", "quote_valid_for", 14.0),
    ("One-person lift", "55 lb", "one_person_lift", 24.94758035),
    ("Currency", "eur", "currency", "EUR"),
    ("Price rounding", "Nearest", "price_rounding", "nearest"),
    ("refit GRADE", "maker", "refit_trade", "Maker"),
    ("Release covers (ft2/US gal)", 489, "release_covers", 489 * 0.09290304 / 3.785411784),
    ("Start within (working days)", 10, "start_within", 10.0),
]


@pytest.mark.parametrize(("setting", "typed", "name", "value"), SETTINGS_UNDERSTOOD)
def test_settings_are_read_in_their_units(tmp_path: Path, setting: str, typed: object, name: str, value: object) -> None:
    """A setting's unit may stand in its name or in its cell."""
    rows = [row for row in SMALL["Workshop"] if not setting.casefold().startswith(str(row[0]).split(" (")[0].casefold())]
    book = small(tmp_path, rows={"Workshop": [*rows, [setting, typed, ""]]})
    assert book.settings[name] == (pytest.approx(value, rel=1e-7) if isinstance(value, float) else value)
    assert book.setting_cells[name] == f"B{len(rows) + 1}"


def test_settings_that_are_not_there_have_their_defaults(tmp_path: Path) -> None:
    """Every declared setting is in the book; what has no default and is not set is nan or empty."""
    book = small(tmp_path)
    assert sorted(book.settings) == sorted(setting.name for setting in SETTINGS)
    for setting in SETTINGS:
        value = book.settings[setting.name]
        assert isinstance(value, float if setting.is_number else str), setting.heading
        if setting.name not in book.setting_cells and setting.is_number:
            assert value == setting.default or (math.isnan(value) and math.isnan(float(setting.default)))


def test_every_declared_column_is_there_with_its_type(tmp_path: Path) -> None:
    """Also columns and sheets that the workbook does not have: floats, texts, days, as many as there are rows."""
    for book in (small(tmp_path), small(tmp_path, {"Customers!E2": None}, without=["Delivery", "Actuals"])):
        for declared in SHEETS[1:]:
            table = book.tables[declared.name]
            assert list(table.columns) == [column.name for column in declared.columns]
            for column in declared.columns:
                values = table[column.name]
                wanted = "datetime64[D]" if column.kind == "date" else "float64" if column.is_number else "object"
                assert values.dtype == wanted, (declared.name, column.name)
                assert len(values) == len(table)


def test_values_lead_back_to_their_cells(tmp_path: Path) -> None:
    """Rows are the spreadsheet's own numbers, letters those of the columns; an absent column has no cell."""
    book = small(tmp_path)
    products = book.tables["Products"]
    assert products.rows.tolist() == [2, 3]
    assert products.cell("thickness", 1) == "E3"
    assert products.cell("usual_run", 1) == ""
    assert "usual_run" not in products.letters
    assert book.setting_cells["target_margin"] == "B5"
    assert book.file == "small.xlsx"


def test_titles_order_case_and_further_columns_make_no_difference(tmp_path: Path) -> None:
    """With a title above, columns reversed, capitals and columns of the maker's own, the same is read."""
    rows = {}
    for sheet, table in SMALL.items():
        turned = [[*reversed(row), "own" if number == 0 else "text"] for number, row in enumerate(table)]
        turned[0] = [str(heading).upper() for heading in turned[0]]
        rows[sheet] = [["Our own title"], [], *turned]
    plain, other = small(tmp_path), small(tmp_path, rows=rows)
    for name, table in plain.tables.items():
        if name == "Workshop":
            continue
        assert (other.tables[name].rows - table.rows == 2).all()
        for column, values in table.columns.items():
            assert np.array_equal(values, other.tables[name][column], equal_nan=values.dtype != object), column
    assert {k: v for k, v in plain.settings.items() if v == v} == {k: v for k, v in other.settings.items() if v == v}


def test_blank_rows_footnotes_and_totals_are_no_data(tmp_path: Path) -> None:
    """Rows without anything in a declared column are skipped; so are a footnote and a total, with a warning."""
    edits = {
        "Products!A5": "Late", "Products!B5": "slab", "Products!C5": 500, "Products!D5": 300, "Products!E5": 30,
        "Products!J5": "Grey", "Products!K5": "Once", "Products!L5": "Plain", "Products!Z6": "a note of the maker's own",
        "Products!A8": "* made to measure on request",
    }
    path = write_small(tmp_path / "small.xlsx", edits)
    book, problems = read_price_book(path)
    assert book is not None
    assert book.tables["Products"].rows.tolist() == [2, 3, 5]
    assert [problem.place for problem in problems.warnings if problem.code == "not-data"] == ["Products!A8"]


def test_a_single_name_right_below_the_rows_is_an_unfinished_row(tmp_path: Path) -> None:
    """It is reported as incomplete, not dropped as a footnote."""
    _, problems = read_price_book(write_small(tmp_path / "small.xlsx", {"Products!A4": "New shelf"}))
    assert ("missing-value", "Products!B4") in [(problem.code, problem.place) for problem in problems.errors]


def test_a_customer_needs_no_more_than_a_name(tmp_path: Path) -> None:
    """Where only the first column is needed, a row with that alone is data even below a gap."""
    book = small(tmp_path, {"Customers!A5": "Otto Hale"})
    assert book.tables["Customers"]["customer"].tolist() == ["Ida Venn", "Otto Hale"]


def test_hidden_rows_and_sheets_are_read_and_mentioned_once(tmp_path: Path) -> None:
    """One warning to a sheet, whatever the number of hidden rows."""
    path = write_small(tmp_path / "small.xlsx")
    workbook = openpyxl.load_workbook(path)
    for row in (3, 5, 6):
        workbook["Materials"].row_dimensions[row].hidden = True
    workbook["Trades"].sheet_state = "hidden"
    workbook.save(path)
    book, problems = read_price_book(path)
    assert book is not None
    assert len(book.tables["Materials"]) == 7
    assert len(book.tables["Trades"]) == 1
    found = {(problem.code, problem.sheet): problem.message for problem in problems.warnings}
    assert found["hidden-rows", "Materials"].startswith("rows 3, 5 and 6 are hidden")
    assert ("hidden-sheet", "Trades") in found


def test_totals_of_a_table_are_no_data(tmp_path: Path) -> None:
    """The totals row of a spreadsheet table is left out without a word."""
    path = write_small(tmp_path / "small.xlsx", {"Delivery!A3": "All", "Delivery!B3": 100, "Delivery!C3": 30})
    workbook = openpyxl.load_workbook(path)
    table = openpyxl.worksheet.table.Table(displayName="Zones", ref="A1:C3", totalsRowCount=1)
    workbook["Delivery"].add_table(table)
    workbook.save(path)
    assert read(path).tables["Delivery"]["zone"].tolist() == ["Near"]


def test_merged_cells_are_told_as_such(tmp_path: Path) -> None:
    """A mix's name merged over its rows is reported with the merged area."""
    path = write_small(tmp_path / "small.xlsx", {"Mixes!A3": None, "Mixes!A4": None, "Mixes!A5": None})
    workbook = openpyxl.load_workbook(path)
    workbook["Mixes"].merge_cells("A2:A5")
    workbook.save(path)
    _, problems = read_price_book(path)
    merged = [problem for problem in problems.errors if problem.code == "merged-cells"]
    assert [problem.place for problem in merged] == ["Mixes!A2"]
    assert "A2:A5" in merged[0].message


#: What makers type, and what nobody would.
ODD: list[Any] = [
    None, "", " ", "x", "=1", "0", 0, -1, 1, 4, 0.04, 1e300, -1e-300, 1e15, "1e400", "NaN", "inf", "25 kg", "1.2 m", "4 %", "400 %",
    "€5", "£5", "2 ton", "1,234", "½", "5'", '"', "ft", True, False, DAY, datetime.datetime(9999, 12, 31), "2025-02-30", "yes",
    "Grey", "Cement", "Slab", "slab", "Air", "% of volume", "parts by mass", "kg", "sheet", "stock", "Total", "* note", "a" * 5000,
    "\u200b", "\u202e", "日本", "(5)", "5-", "5 m2/L", "5/0", "EUR", "Currency", Shown(5, "0%"), Shown(5, '0" kg"'), Shown(0.5, "h:mm"),
    Shown(5, ";;;"), Shown(5, '#,##0,"k"'), Shown(5, "[$£-809]0"), Formula("=A1", None), Formula("=A1", 0), Formula("=A1", "#N/A"),
]
PLACES = [
    f"{sheet}!{chr(65 + column)}{row}"
    for sheet, table in SMALL.items()
    for row in range(1, len(table) + 3)
    for column in range(min(len(table[0]) + 1, 26))
]


@settings(max_examples=60, deadline=None)
@given(edits=st.dictionaries(st.sampled_from(PLACES), st.sampled_from(ODD), min_size=1, max_size=30))
def test_whatever_is_typed_there_is_a_book_or_sentences(tmp_path_factory: pytest.TempPathFactory, edits: dict[str, Any]) -> None:
    """No content of any cells makes the reading fail; a problem has its sheet, or names its sheets in a whole sentence."""
    book, problems = read_price_book(write_small(tmp_path_factory.mktemp("odd") / "odd.xlsx", edits))
    assert (book is None) == bool(problems.errors)
    for problem in problems:
        assert problem.sheet or (problem.code == "unit-not-stated" and ": " in problem.message)
        assert "{" not in problem.message


HISTORY = [("2025-03-01", 9.0), ("2024-06-01", 7.0), ("2025-01-06", 8.0)]


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory) -> PriceBook:
    """A book with three prices of cement, in no order."""
    materials = [list(row) for row in SMALL["Materials"] if row[0] != "Cement"]
    for day, price in HISTORY:
        when = datetime.datetime.fromisoformat(day)
        materials.append(["Cement", "binder", 25, "kg", price, 0, None, 3150, 1440, None, None, None, "", when])
    return read(write_small(tmp_path_factory.mktemp("history") / "small.xlsx", rows={"Materials": materials}))


@given(st.dates(datetime.date(2024, 1, 1), datetime.date(2026, 1, 1)))
def test_the_price_in_force_is_the_latest_that_is_not_after_the_day(history: PriceBook, day: datetime.date) -> None:
    """Against the rule itself, on every day; before the first price there is none."""
    known = [(datetime.date.fromisoformat(since), price) for since, price in HISTORY]
    wanted = max((entry for entry in known if entry[0] <= day), default=None)
    row = price_row_on(history, "CEMENT", day)
    assert (None if row is None else float(history.tables["Materials"]["pack_price"][row])) == (wanted and wanted[1])


def test_an_unknown_material_has_no_price(history: PriceBook) -> None:
    """No row, whatever the day."""
    assert price_row_on(history, "Gold", np.datetime64("2030-01-01")) is None


def test_programs_get_all_problems_in_one_exception(tmp_path: Path) -> None:
    """``load_price_book`` gives the book, or raises with every error."""
    assert load_price_book(write_small(tmp_path / "good.xlsx")).file == "good.xlsx"
    with pytest.raises(BookError) as raised:
        load_price_book(write_small(tmp_path / "bad.xlsx", {"Products!E2": "25 kg", "Materials!E2": -1}))
    assert len(raised.value.problems) == 2


@pytest.mark.slow
def test_a_catalogue_of_a_hundred_thousand_rows_is_read_in_seconds(tmp_path: Path) -> None:
    """Columns are read whole: 100,000 products within 30 s on a slow machine, of which the checks take a small part."""
    line = SMALL["Products"][1]
    products = [SMALL["Products"][0], *([f"P{number}", *line[1:]] for number in range(100_000))]
    path = write_small(tmp_path / "large.xlsx", rows={"Products": products}, without=["Extras", "Enquiries", "Actuals"])
    start = time.perf_counter()
    book = read(path)
    assert time.perf_counter() - start < 30
    assert len(book.tables["Products"]) == 100_000
    assert np.array_equal(book.tables["Products"]["length"], np.full(100_000, 1.0))
