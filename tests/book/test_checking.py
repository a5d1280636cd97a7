"""Bad input: a table of cells that are wrong, each with the place and the words of its sentence.

The wording is a promise to makers and is tested by keywords; codes and places are exact.
"""

from __future__ import annotations

import datetime
import sys
from pathlib import Path
from typing import Any

import pytest
from small_book import SMALL, Formula, Shown, write_small

from pricing.book.reading.read import read_price_book
from pricing.book.wording.reporter import MOST_GUESSES
from pricing.book.wording.sentences import CODES

FEBRUARY = datetime.datetime(2025, 2, 3)

#: What is typed where; the code and the place of the problem; words of its sentence.
WRONG: list[tuple[dict[str, Any], str, str, str]] = [
    # units and dimensions
    ({"Products!E2": "25 kg"}, "wrong-dimension", "Products!E2",
     'thickness "25 kg" is a mass; a length is needed, such as 25 mm'),
    ({"Products!E2": "£25"}, "wrong-dimension", "Products!E2", "an amount of money; a length is needed"),
    ({"Products!E2": "2 fathoms"}, "unknown-unit", "Products!E2", '"fathoms" is not a unit; a length, such as 25 mm'),
    ({"Products!E2": "2 ton"}, "unknown-unit", "Products!E2", "907 or 1016 kg"),
    ({"Products!E2": Shown(25, '0" kg"')}, "format-contradicts", "Products!E2", 'shown as "kg"; a length is needed'),
    ({"Products!E2": Shown(4, '0" cm"')}, "format-contradicts", "Products!E2", 'shown as "cm"; heading says mm'),
    ({"Products!E2": Shown(0.4, "0%")}, "format-contradicts", "Products!E2", 'shown as "%"; a length is needed'),
    ({"Products!C1": "Length (kg)"}, "unknown-heading-unit", "Products!C1", "Length (kg); is a mass; mm in the brackets"),
    ({"Products!C1": "Length (el)"}, "unknown-heading-unit", "Products!C1", '"el" is not a unit'),
    ({"Labour!D2": Shown(0.02, "h:mm")}, "format-contradicts", "Labour!D2", "a time of day"),
    ({"Enquiries!E2": "2 kg"}, "wrong-dimension", "Enquiries!E2", "quantity; a mass; a plain number is needed"),
    ({"Enquiries!F2": "2 kg"}, "wrong-dimension", "Enquiries!F2", "length; a mass"),
    ({"Materials!C2": "25 L"}, "wrong-dimension", "Materials!C2", "a volume; a mass is needed, such as 25 kg"),
    ({"Extras!C2": "4 kg"}, "wrong-dimension", "Extras!C2", "a mass; a plain number is needed"),
    ({"Finishes!C2": "6 m2/L"}, "wrong-dimension", "Finishes!C2", "a coverage; an area per count is needed"),
    ({"Workshop!B7": "60 kg"}, "wrong-dimension", "Workshop!B7", "mixer load; a volume is needed, such as 60 L"),
    ({"Workshop!A7": "Mixer load (kg)"}, "unknown-heading-unit", "Workshop!B7", "a mass; a volume is needed"),
    ({"Machines!F2": "5 mm"}, "wrong-dimension", "Machines!F2", "a length; a power is needed, such as 1.5 kW"),
    # money
    ({"Materials!E2": "£8"}, "wrong-currency", "Materials!E2", "£8; not in EUR"),
    ({"Materials!E2": "USD 8"}, "wrong-currency", "Materials!E2", "USD 8; not in EUR"),
    ({"Materials!E2": Shown(8, "[$£-809]0.00")}, "wrong-currency", "Materials!E2", "not in EUR"),
    ({"Materials!E2": "8 kg"}, "wrong-dimension", "Materials!E2", "a mass; an amount of money is needed"),
    ({"Materials!E1": "Pack price (GBP)"}, "unknown-heading-unit", "Materials!E1", "GBP; this book is in EUR"),
    ({"Workshop!B3": "Euro"}, "unknown-currency", "Workshop!B3", "Euro; GBP, EUR or USD"),
    # numbers
    ({"Products!E2": "thick"}, "not-a-number", "Products!E2", "thick; holds no number; a length, such as 25 mm"),
    ({"Products!E2": "25 to 30"}, "not-a-number", "Products!E2", "more than one number"),
    ({"Products!E2": "1,234"}, "ambiguous-number", "Products!E2", "thousands; type 1234 or 1.234"),
    ({"Products!E2": True}, "not-a-number", "Products!E2", "TRUE; yes or no, not a number"),
    ({"Products!E2": FEBRUARY}, "not-a-number", "Products!E2", "2025-02-03; a date, not a number"),
    ({"Products!E2": Formula("=1/0", "#DIV/0!")}, "error-value", "Products!E2", "#DIV/0!; mend the formula"),
    ({"Products!E2": Formula("=D2/10", None)}, "formula-without-result", "Products!E2", "not stored; save it"),
    ({"Products!E2": Formula("=D2/10", 0)}, "doubtful-zero", "Products!E2", "stored result 0; save it"),
    ({"Products!E2": 0}, "out-of-range", "Products!E2", "between 5 mm and 2000 mm"),
    ({"Products!E2": -25}, "out-of-range", "Products!E2", '"-25"; between 5 mm and 2000 mm'),
    ({"Products!C2": "40 m"}, "out-of-range", "Products!C2", '"40 m"; at most 12000 mm|between 10 mm and 12000 mm'),
    ({"Materials!E2": -8}, "out-of-range", "Materials!E2", "pack price; 0 or more"),
    ({"Materials!E2": None}, "missing-value", "Materials!E2", "pack price is missing; type an amount of money, such as 4"),
    ({"Materials!C2": 0}, "out-of-range", "Materials!C2", "pack size; 0.001 or more"),
    ({"Mixes!C2": 0}, "out-of-range", "Mixes!C2", "amount; between 0.00001 and 1000000"),
    ({"Enquiries!E2": 0}, "out-of-range", "Enquiries!E2", 'quantity "0"; 1'),
    ({"Enquiries!E2": None}, "missing-value", "Enquiries!E2", "quantity is missing"),
    ({"Enquiries!E2": 2.5}, "not-whole", "Enquiries!E2", "a whole number"),
    ({"Moulds!C2": 0}, "out-of-range", "Moulds!C2", "lasts; 1"),
    ({"Machines!D2": 0}, "out-of-range", "Machines!D2", "life; between 1 h and 1000000 h"),
    # percentages
    ({"Products!N2": 4}, "ambiguous-percentage", "Products!N2", "4 % or 400 %; type 4 % or 0.04"),
    ({"Products!N2": "4"}, "ambiguous-percentage", "Products!N2", "type 4 % or 0.04"),
    ({"Products!N1": "Rejects (%)", "Products!N2": 0.04}, "ambiguous-percentage", "Products!N2", "0.04 % or 4 %"),
    ({"Products!N2": "100 %"}, "out-of-range", "Products!N2", "between 0 % and 99 %"),
    ({"Products!N2": "4 kg"}, "wrong-dimension", "Products!N2", "a mass; a percentage is needed"),
    ({"Products!N2": "many"}, "not-a-number", "Products!N2", "many; holds no number"),
    ({"Products!N1": "Rejects (mm)"}, "unknown-heading-unit", "Products!N1", "a percentage is needed"),
    ({"Mixes!C5": 0.02}, "ambiguous-percentage", "Mixes!C5", "0.02 % or 2 %"),
    ({"Customers!C2": 10}, "ambiguous-percentage", "Customers!C2", "discount; 10 % or 0.1"),
    ({"Workshop!B5": 1}, "margin-of-100", "Workshop!B5", "target margin; 100 %; less"),
    ({"Workshop!B5": 100}, "margin-of-100", "Workshop!B5", "target margin; 100 %; less"),
    ({"Workshop!B5": "100 %"}, "margin-of-100", "Workshop!B5", "target margin; 100 %; less"),
    ({"Workshop!B5": Shown(1, "0%")}, "margin-of-100", "Workshop!B5", "target margin; 100 %; less"),
    ({"Workshop!B5": 40}, "ambiguous-percentage", "Workshop!B5", "40 % or 0.4"),
    # dates, yes and no, words, names
    ({"Materials!N2": 45000}, "not-a-date", "Materials!N2", "a plain number, not a date; 2025-03-01"),
    ({"Materials!N2": "01/02/2025"}, "not-a-date", "Materials!N2", "two different days"),
    ({"Materials!N2": "31 February 2025"}, "not-a-date", "Materials!N2", "does not exist"),
    ({"Materials!N2": "soon"}, "not-a-date", "Materials!N2", "is not a date"),
    ({"Materials!N2": datetime.datetime(1925, 1, 1)}, "date-out-of-range", "Materials!N2", "1925-01-01; before 1990"),
    ({"Materials!N2": None}, "missing-value", "Materials!N2", "priced on is missing"),
    ({"Labour!H2": "maybe"}, "not-yes-or-no", "Labour!H2", "type yes or no"),
    ({"Materials!B2": "bnder"}, "unknown-word", "Materials!B2", 'bnder; perhaps "binder"; aggregate'),
    ({"Materials!D2": "bag"}, "unknown-word", "Materials!D2", "bag; kg, L, m, m2, each or sheet"),
    ({"Mixes!D2": "by feel"}, "unknown-word", "Mixes!D2", "by feel; parts by mass"),
    ({"Products!B2": "cube"}, "unknown-word", "Products!B2", "cube; slab with a lip; solid"),
    ({"Products!A2": FEBRUARY}, "not-a-name", "Products!A2", "a date, not a name; format the cell as text"),
    ({"Products!A2": True}, "not-a-name", "Products!A2", "yes or no, not a name"),
    ({"Products!A3": " SLAB "}, "duplicate-key", "Products!A3", "Slab; row 2"),
    ({"Materials!A3": "cement"}, "duplicate-key", "Materials!A3", "Cement; row 2"),
    ({"Products!A3": "x" * 1001}, "long-name", "Products!A3", "product has 1,001 characters; 1,000 at most; shorten it"),
    ({"Materials!A3": "None"}, "kept-name", "Materials!A3", "None; kept for where there is none; another name"),
    ({"Mixes!B3": "Cement"}, "duplicate-key", "Mixes!A3", "Grey; Cement; row 2"),
    ({"Products!J2": "Gray"}, "unknown-name", "Products!J2", 'mix "Gray" is not on the sheet Mixes; "Grey" meant'),
    ({"Products!K2": "Twice"}, "unknown-name", "Products!K2", "mould plan; Moulds; add it there"),
    ({"Products!L2": "Fancy"}, "unknown-name", "Products!L2", "labour plan; Labour"),
    ({"Products!M2": "Hond"}, "unknown-name", "Products!M2", 'Finishes; "Honed" meant'),
    ({"Products!J2": None}, "missing-value", "Products!J2", "mix is missing"),
    ({"Mixes!B3": "Sandd"}, "unknown-name", "Mixes!B3", 'Sandd; Materials; "Sand" meant'),
    ({"Mixes!D5": "parts by mass", "Mixes!C5": 1}, "unknown-name", "Mixes!B5", "Air; % of volume"),
    ({"Labour!C2": "Master"}, "unknown-name", "Labour!C2", "trade; Trades"),
    ({"Labour!F2": "Crane"}, "unknown-name", "Labour!F2", "machine; Machines"),
    ({"Moulds!D2": "Silikone"}, "unknown-name", "Moulds!D2", '"Silicone" meant'),
    ({"Finishes!B2": "Brush"}, "unknown-name", "Finishes!B2", "material; Materials"),
    ({"Extras!A2": "Table"}, "unknown-name", "Extras!A2", "product; Products"),
    ({"Customers!E2": "Far"}, "unknown-name", "Customers!E2", "delivery zone; Delivery"),
    ({"Enquiries!C2": "Nobody"}, "unknown-name", "Enquiries!C2", "customer; Customers"),
    ({"Enquiries!D2": "Slob"}, "unknown-name", "Enquiries!D2", '"Slab" meant'),
    ({"Enquiries!H2": "Gray"}, "unknown-name", "Enquiries!H2", "mix; Mixes"),
    ({"Actuals!C2": "Cemnt"}, "unknown-name", "Actuals!C2", '"Cement" meant'),
    ({"Workshop!A9": "Refit trade", "Workshop!B9": "Makr"}, "unknown-name", "Workshop!B9", 'Trades; "Maker" meant'),
    # sheets and headings
    ({"Products!B1": "Shpe"}, "missing-column", "Products!A1", '"Shape" is missing; "Shpe" meant'),
    ({"Products!D1": "Length (mm)"}, "duplicate-column", "Products!D1", "Length; C1"),
    ({"Products!A1": "x", "Products!B1": "y", "Products!J1": "z"}, "missing-column", "Products!C1", "Product"),
    # settings
    ({"Workshop!A5": "Target margn"}, "unknown-setting", "Workshop!A5", "Target margin; rename it"),
    ({"Workshop!B4": None}, "missing-setting", "Workshop!B4", "Tax rate"),
    ({"Workshop!A9": "mixer load", "Workshop!B9": 50}, "duplicate-setting", "Workshop!A9", "mixer load; row 7"),
    ({"Workshop!B6": None}, "no-overhead", "Workshop!B6", "Overhead per year"),
    ({"Workshop!A9": "Overhead per year", "Workshop!B9": 9000, "Workshop!A10": "Productive hours per year",
      "Workshop!B10": 1000}, "two-overheads", "Workshop!B6", "10; 9; keep one"),
    ({"Workshop!A9": "Lowest margin", "Workshop!B9": "50 %"}, "margins-crossed", "Workshop!B9", "50 %; 40 %"),
    ({"Workshop!A8": "Remark"}, "no-electricity-price", "Machines!F2", "Mixer; kWh"),
    ({"Workshop!A9": "Interest rate", "Workshop!B9": "6 %", "Machines!G1": "Hours per year"}, "no-hours-per-year", "Machines!G2",
     "Interest rate; Mixer"),
    ({"Workshop!A9": "Price rounding", "Workshop!B9": "down"}, "unknown-word", "Workshop!B9", "up or nearest"),
    # rows against each other
    ({"Products!E2": None}, "missing-dimension", "Products!E2", "slab needs a thickness; Slab"),
    ({"Products!F3": None}, "missing-dimension", "Products!F3", "slab with a lip needs a drop; Shelf"),
    ({"Products!G3": 3}, "out-of-range", "Products!G3", "long lips; between 0 and 2"),
    ({"Products!G3": 0}, "impossible-shape", "Products!G3", "there is no lip"),
    ({"Products!D3": 20}, "impossible-shape", "Products!A3", "the lips take up the"),
    ({"Moulds!B2": "Cement"}, "wrong-pack-unit", "Moulds!B2", "Cement; board; kg; sheet or m2 is needed"),
    ({"Moulds!F2": "Sand"}, "wrong-pack-unit", "Moulds!F2", "Sand; fixing; each is needed"),
    ({"Moulds!H2": "Screw"}, "wrong-pack-unit", "Moulds!H2", "Screw; tape; m is needed"),
    ({"Moulds!I2": "Screw"}, "wrong-pack-unit", "Moulds!I2", "Screw; release; L (or kg with a density) is needed"),
    ({"Materials!D6": "kg"}, "missing-property", "Materials!H6", "Silicone; sealant; a density; sold by kg"),
    ({"Materials!D3": "m2"}, "wrong-pack-unit", "Mixes!B3", "Sand; ingredient; kg (or L with a density)"),
    ({"Materials!H3": None}, "missing-property", "Materials!H3", "Sand; a density; 2650 kg/m3"),
    ({"Mixes!D4": "parts by volume"}, "mixed-parts", "Mixes!D4", "Grey; parts by mass and parts by volume"),
    ({"Materials!L5": None}, "missing-property", "Materials!L5", "Board; sheet thickness; 18 mm"),
    ({"Materials!J5": None}, "missing-property", "Materials!J5", "Board; sheet length; sold by the sheet"),
    ({"Materials!A9": "Cement", "Materials!B9": "binder", "Materials!C9": 25, "Materials!D9": "L", "Materials!E9": 9,
      "Materials!H9": 3150, "Materials!N9": FEBRUARY}, "changed-pack-unit", "Materials!D9", "Cement; L here and kg in row 2"),
    ({"Materials!A9": "Cement", "Materials!B9": "pigment", "Materials!C9": 25, "Materials!D9": "kg", "Materials!E9": 9,
      "Materials!H9": 3150, "Materials!N9": FEBRUARY}, "changed-kind", "Materials!B9", "pigment here and binder in row 2"),
    ({"Materials!B2": "aggregate", "Mixes!D3": "% of binder"}, "no-binder", "Mixes!D3", "Grey; no binder"),
    ({"Mixes!C5": "100 %"}, "too-much-air", "Mixes!C5", "Grey; 100 %"),
    ({"Labour!E2": None}, "incomplete-step", "Labour!E2", "Cast; minutes; Per"),
    ({"Labour!C2": None, "Labour!F2": None}, "incomplete-step", "Labour!C2", "Cast; no trade or machine"),
    ({"Labour!D2": None}, "incomplete-step", "Labour!D2", "Cast; a machine; no minutes"),
    ({"Moulds!E2": None}, "incomplete-mould", "Moulds!E2", "Once; a sealant; no sealant radius"),
    ({"Moulds!G2": None}, "incomplete-mould", "Moulds!G2", "Once; a fixing; no fixing spacing"),
    ({"Moulds!K2": 10}, "incomplete-mould", "Moulds!J2", "Once; refit minutes; Refit every"),
    ({"Machines!C2": 5000}, "resale-above-price", "Machines!C2", "5000; Mixer"),
    ({"Enquiries!C3": "Otto Hale", "Customers!A3": "Otto Hale"}, "two-in-a-quote", "Enquiries!C3", "Q1; Ida Venn; row 2"),
    ({"Enquiries!B3": FEBRUARY}, "two-in-a-quote", "Enquiries!B3", "2025-02-03 here and 2025-01-06 in row 2"),
    ({"Enquiries!F3": 0.5}, "out-of-range", "Enquiries!F3", '"0.5"; between 10 mm and 12000 mm'),
]

#: What is taken, with something to look at.
WARNED: list[tuple[dict[str, Any], str, str, str]] = [
    ({"Products!I1": "Face aera"}, "unknown-column", "Products!I1", '"Face aera"; "Face area"'),
    ({"Products!C1": "Length"}, "unit-not-stated", "", "Products: Length (read as mm)"),
    ({"Materials!F1": None, "Materials!F2": 1.2}, "column-without-heading", "Materials!F1", "column F have no heading; not used"),
    ({"Products!F2": 40}, "unused-dimension", "Products!F2", "drop; slab"),
    ({"Products!L2": None}, "no-plan", "Products!L2", "Slab; no labour plan"),
    ({"Workshop!A9": "Favourite colour", "Workshop!B9": "grey"}, "unknown-setting", "Workshop!A9", "left alone"),
    ({"Moulds!D2": None}, "unused-value", "Moulds!E2", "sealant radius; without a sealant"),
    ({"Moulds!D2": "Water"}, "odd-kind", "Moulds!D2", "Water; sealant; of the kind water"),
    ({"Labour!G3": None}, "empty-step", "Labour!D3", "Leave in the mould; no minutes and no waiting"),
    ({"Materials!E2": Shown(8000, '#,##0,"k"')}, "scaled-format", "Materials!E2", "8000; thousands"),
    ({"Materials!E2": Shown(8, ";;;")}, "hidden-figure", "Materials!E2", "8; hidden by its number format"),
    ({"Products!A4": "Total", "Products!P4": Formula("=SUM(P2:P3)", 120)}, "not-data", "Products!A4", "a total"),
    ({"Products!P4": Formula("=SUM(P2:P3)", 120)}, "not-data", "Products!P4", "a total"),
    ({"Products!A6": "* prices without tax"}, "not-data", "Products!A6", "a footnote"),
    ({"Products!B7": "written last spring"}, "not-data", "Products!B7", "a footnote"),
]


def _says(message: str, words: str) -> bool:
    """True where a message holds every one of some words; a stroke stands between words of which one is enough."""
    return all(any(choice.strip() in message for choice in part.split("|")) for part in words.split("; "))


@pytest.mark.parametrize(("edits", "code", "place", "words"), WRONG, ids=[f"{code} {next(iter(edits))}" for edits, code, *_ in WRONG])
def test_a_wrong_cell_is_reported_at_its_place_with_the_remedy(
    tmp_path: Path, edits: dict[str, Any], code: str, place: str, words: str
) -> None:
    """Each mistake gives an error of its own kind, at its cell, in words that say how to mend it."""
    book, problems = read_price_book(write_small(tmp_path / "price-book.xlsx", edits))
    assert book is None
    found = [problem for problem in problems.errors if problem.code == code]
    assert found, [str(problem) for problem in problems]
    assert found[0].place == place
    assert _says(found[0].message, words), found[0].message
    assert str(found[0]).startswith("price-book.xlsx  ")
    told = {problem.code for problem in problems.errors if problem.place == found[0].place}
    assert told == {code}, "what follows from a wrong cell is not told again at the same cell"
    assert {problem.code for problem in problems} <= CODES.keys(), "codes are a closed list"


@pytest.mark.parametrize(("edits", "code", "place", "words"), WARNED, ids=[code for _, code, *_ in WARNED])
def test_what_is_odd_but_clear_is_taken_with_a_warning(tmp_path: Path, edits: dict[str, Any], code: str, place: str, words: str) -> None:
    """The book is read, and the maker told what to look at."""
    book, problems = read_price_book(write_small(tmp_path / "price-book.xlsx", edits))
    assert book is not None, [str(problem) for problem in problems.errors]
    found = [problem for problem in problems.warnings if problem.code == code]
    assert place in [problem.place for problem in found]
    assert any(_says(problem.message, words) for problem in found), found


def test_a_plan_of_more_steps_than_any_workshop_writes_down_is_told_at_the_first_too_many(tmp_path: Path) -> None:
    """It is told with what it is called and how long it is, before any work grows with it."""
    step = {"A": "Long", "B": "step {}", "C": "Maker", "D": 1, "E": "piece"}
    edits = {
        f"Labour!{column}{row}": value.format(row) if isinstance(value, str) else value
        for row in range(20, 621) for column, value in step.items()
    }
    book, problems = read_price_book(write_small(tmp_path / "price-book.xlsx", edits))
    assert book is None
    (problem,) = problems.errors
    assert (problem.code, problem.place) == ("too-long", "Labour!A520")
    assert problem.message.startswith('labour plan "Long" has 601 rows, and 500 is the most that is worked with; leave out')


def test_of_many_misspelt_names_the_first_are_told_what_may_be_meant(tmp_path: Path) -> None:
    """Guessing ends when nobody would read the guesses any more; every wrong name is told all the same."""
    edits: dict[str, Any] = {}
    for row in range(20, 220):
        edits |= {f"Enquiries!A{row}": f"Q-{row}", f"Enquiries!D{row}": f"Slab{row}", f"Enquiries!E{row}": 1}
    _, problems = read_price_book(write_small(tmp_path / "price-book.xlsx", edits))
    unknown = [problem for problem in problems.errors if problem.code == "unknown-name"]
    assert len(unknown) == 200
    assert ["meant" in problem.message for problem in unknown] == [True] * MOST_GUESSES + [False] * (200 - MOST_GUESSES)


def test_reading_ends_with_a_sentence_where_there_are_more_errors_than_anybody_mends(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was found until then is told, and that there is more; what is only to be looked at ends nothing."""
    edits = {f"Enquiries!{column}{row}": text for row in range(20, 80) for column, text in zip("ADE", (f"Q-{row}", "Slab", 1), strict=True)}
    path = write_small(tmp_path / "price-book.xlsx", edits)
    monkeypatch.setattr("pricing.book.wording.reporter.MOST_ERRORS", 50)
    book, problems = read_price_book(path)
    assert book is None
    *told, last = problems.errors
    assert len(told) == 51
    assert (last.code, last.message) == ("too-many-problems", "there are many more problems; mend these first")


def test_all_problems_come_out_in_one_pass(tmp_path: Path) -> None:
    """Seven mistakes on six sheets are seven problems after one reading."""
    edits = {
        "Workshop!B5": "100 %", "Materials!E2": -8, "Mixes!B3": "Sandd", "Labour!H2": "maybe", "Products!E2": "25 kg",
        "Products!N2": 4, "Enquiries!E2": 0,
    }
    book, problems = read_price_book(write_small(tmp_path / "price-book.xlsx", edits))
    assert book is None
    assert sorted(problem.place for problem in problems.errors) == sorted(edits)


def test_the_small_book_itself_is_sound(tmp_path: Path) -> None:
    """Without a change there is no error; the only warning is about two headings without a unit."""
    book, problems = read_price_book(write_small(tmp_path / "small.xlsx"))
    assert book is not None
    assert [problem.code for problem in problems] == ["unit-not-stated"]


@pytest.mark.parametrize("sheet", ["Workshop", "Materials", "Mixes", "Products"])
def test_a_sheet_that_is_always_needed_is_missed(tmp_path: Path, sheet: str) -> None:
    """Its name and its headings are said."""
    book, problems = read_price_book(write_small(tmp_path / "small.xlsx", without=[sheet]))
    assert book is None
    missing = [problem for problem in problems.errors if problem.code == "missing-sheet"]
    assert [problem.sheet for problem in missing] == [sheet]
    assert f'the sheet "{sheet}" is missing' in missing[0].message


@pytest.mark.parametrize(("sheet", "place"), [("Labour", "Products!L2"), ("Moulds", "Products!K2"), ("Trades", "Labour!C2"),
                                              ("Delivery", "Customers!E2"), ("Customers", "Enquiries!C2")])
def test_a_sheet_that_something_names_is_missed_where_it_is_named(tmp_path: Path, sheet: str, place: str) -> None:
    """The problem stands at the first cell that needs the sheet."""
    _, problems = read_price_book(write_small(tmp_path / "small.xlsx", without=[sheet]))
    missing = [problem for problem in problems.errors if problem.code == "missing-sheet"]
    assert missing[0].place == place
    assert f'the sheet "{sheet}" is missing' in missing[0].message


@pytest.mark.parametrize("sheet", ["Materials", "Mixes", "Products"])
def test_an_empty_sheet_and_one_without_rows_are_told_apart(tmp_path: Path, sheet: str) -> None:
    """An empty sheet lacks its headings; one with headings only lacks rows."""
    _, problems = read_price_book(write_small(tmp_path / "empty.xlsx", rows={sheet: [[]]}))
    assert ("missing-headings", sheet) in [(problem.code, problem.sheet) for problem in problems.errors]
    _, problems = read_price_book(write_small(tmp_path / "headings.xlsx", rows={sheet: [SMALL[sheet][0]]}))
    assert ("no-rows", sheet) in [(problem.code, problem.sheet) for problem in problems.errors]


def test_a_mix_of_shares_alone_is_no_mix(tmp_path: Path) -> None:
    """Shares of the binder and of the volume need something that they are shares of."""
    edits = {"Mixes!D2": "% of binder", "Mixes!D3": "% of binder", "Mixes!D4": "mL/kg binder"}
    _, problems = read_price_book(write_small(tmp_path / "small.xlsx", edits | {"Mixes!C2": "90 %", "Mixes!C3": "10 %"}))
    assert ("only-shares", "Mixes!D2") in [(problem.code, problem.place) for problem in problems.errors]


def test_refitting_needs_somebody_who_does_it(tmp_path: Path) -> None:
    """Refit minutes without any trade of labour are reported at the minutes."""
    rows = {"Trades": [["Trade", "Hourly cost"]], "Labour": [SMALL["Labour"][0]]}
    edits = {"Moulds!J2": 1, "Moulds!K2": 10, "Products!L2": None, "Products!L3": None}
    _, problems = read_price_book(write_small(tmp_path / "small.xlsx", edits, rows=rows))
    assert [(problem.code, problem.place) for problem in problems.errors] == [("no-row-of-kind", "Moulds!K2")]


def test_a_calendar_that_is_not_installed_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A code of public holidays without the library that knows them is reported at the setting."""
    monkeypatch.setitem(sys.modules, "holidays", None)
    _, problems = read_price_book(write_small(tmp_path / "small.xlsx", {"Workshop!A9": "Holidays", "Workshop!B9": "GB-WLS"}))
    assert [(problem.code, problem.place) for problem in problems.errors] == [("no-holidays", "Workshop!B9")]


def test_every_kind_of_problem_is_one_sentence() -> None:
    """No template has a full stop at its end or a second line."""
    assert not [code for code, text in CODES.items() if text.rstrip().endswith(".") or "\n" in text]


def test_every_kind_of_problem_is_shown_to_happen() -> None:
    """No code of the closed list is without an example in these tests, but for those that need a sheet of their own."""
    shown = {code for _, code, *_ in (*WRONG, *WARNED)}
    elsewhere = {"missing-sheet", "missing-headings", "no-rows", "hidden-rows", "hidden-sheet", "merged-cells", "only-shares",
                 "no-row-of-kind", "too-long", "too-many-options", "too-many-parts", "too-many-letters"}
    elsewhere |= {"not-a-price-book", "misnamed-sheet", "like-names", "spelt-otherwise"}  # in test_typed_mistakes
    elsewhere |= {"empty-sheet", "no-settings"}  # there too
    elsewhere |= {"no-holidays", "closed-backwards", "unknown-holidays"}  # where the working days are counted
    elsewhere |= {  # in test_pieces_checks
        "cut-out-of-nothing", "cut-out-of-both", "unknown-line", "incomplete-cut-out", "half-a-place", "no-cut-outs", "impossible-cut-out",
        "impossible-outline", "impossible-layer", "unusable-model", "unknown-use", "no-unit-mass", "no-length",
    }
    elsewhere |= {"unknown-language"}  # in test_languages
    elsewhere |= {"same-day", "no-day-here", "misspelt-column"}  # in test_rates_by_day
    elsewhere |= {"empty-level", "nothing-left"}  # in test_selling
    elsewhere |= {"extra-of-both", "extra-of-nothing", "extra-unused", "free-service", "service-and-product"}  # in test_services
    elsewhere |= {"nothing-but-options", "offer-of-no-line", "unknown-offer"}  # in test_options
    elsewhere |= {"set-and-other", "set-in-set", "set-by-measure", "set-of-two-taxes", "set-has-none", "cut-out-of-a-set"}  # in test_sets
    elsewhere |= {  # in test_terms
        "no-tax-number", "out-of-scope-with-others", "payments-and-deposit", "reason-not-printed", "shares-of-plan", "tax-needs-rate",
        "tax-needs-reason", "tax-takes-no-rate", "terms-of-no-quote", "two-rests", "two-taxes",
    }
    assert CODES.keys() - shown == elsewhere
