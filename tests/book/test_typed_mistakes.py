"""What a maker mistypes, and the message that each mistake gives: one to read aloud.

Each is typed into the same small book, which is right otherwise. A remedy says what is expected, and shows what stands in the book; no
figure of an example is given as an order.
"""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from small_book import SMALL, write_small

from pricing.book.reading.read import read_price_book
from pricing.cli import main
from pricing.problems import Problems

#: What is typed, the cell at which it is told, and the message.
MISTAKES: list[tuple[dict[str, Any], str, str]] = [
    ({"Workshop!B3": "€"}, "Workshop!B3", 'currency "€" is not a currency code; type its three letters, such as EUR'),
    ({"Workshop!B3": "Euro"}, "Workshop!B3", 'currency "Euro" is not a currency code; type its three letters, such as GBP, EUR or USD'),
    ({"Workshop!B3": "$", "Materials!E2": "$8"}, "Workshop!B3",
     'currency "$" is not a currency code; type its three letters, such as USD or CAD or AUD'),
    ({"Workshop!B3": None}, "Workshop!B3", 'the setting "Currency" is missing; add a row for it, such as Currency: GBP'),
    ({"Workshop!B2": None}, "Workshop!B2",
     'the setting "Business name" is missing; add a row for it, such as Business name: the name of the workshop'),
    ({"Workshop!B4": "twenty"}, "Workshop!B4", 'tax rate "twenty" holds no number; type a percentage, such as 20 %'),
    ({"Workshop!B4": 20}, "Workshop!B4", 'tax rate "20" may be 20 % or 2000 %; type 20 % or 0.2'),
    ({"Workshop!B5": "140 %"}, "Workshop!B5",
     'target margin "140 %" is 100 % or more of the selling price, which no price can earn; type less, such as 40 %'),
    ({"Workshop!B5": None}, "Workshop!B5", 'the setting "Target margin" is missing; add a row for it, such as Target margin: 40 %'),
    ({"Workshop!A6": "Overhed per labour hour"}, "Workshop!A6",
     '"Overhed per labour hour" is not a setting and is left alone; if it should be "Overhead per labour hour", rename it'),
    ({"Workshop!A6": "Rent"}, "Workshop",
     "no overhead is given; set Overhead per labour hour, or Overhead per year with Productive hours per year (0 if none)"),
    ({"Workshop!A2": "Busines name"}, "Workshop!A2",
     '"Busines name" is not a setting and is left alone; if it should be "Business name", rename it'),
    ({"Materials!E1": "Packprice"}, "Materials!A1", 'the column "Pack price" is missing (is "Packprice" meant?); add it beside the others'),
    ({"Workshop!B8": "60 kg"}, "Workshop!B8", 'electricity price "60 kg" is a mass; a price of energy is needed, such as 0.28'),
    ({"Workshop!A8": "Mixerload"}, "Machines!F2",
     'the setting "Electricity price" is missing, and Mixer draws electricity; type a price per kWh'),
    ({"Workshop!A9": "Working week", "Workshop!B9": "Mon-Fri"}, "Workshop!B9",
     'working week "Mon-Fri" is not one of the words that can stand here; choose Monday to Friday or Monday to Saturday'),
    ({"Workshop!A9": "Holidays", "Workshop!B9": "England"}, "Workshop!B9",
     'the setting "Holidays" is England, for which no holidays are known; type the ISO 3166 code of a country or of a part '
     "of one, such as GB-ENG, or leave it blank and write the days on the sheet Closed"),
    ({"Workshop!A9": "Tax rate", "Workshop!B9": "5 %"}, "Workshop!A9", 'the setting "Tax rate" stands here and in row 4; keep one of them'),
    ({"Workshop!A9": "Lowest margin", "Workshop!B9": "80 %"}, "Workshop!B9",
     "the lowest margin, 80 %, is above the target margin, 40 %; lower it or raise the target"),
    ({"Workshop!A9": "Refit trade", "Workshop!B9": "Makr"}, "Workshop!B9",
     'refit trade "Makr" is not on the sheet Trades; is "Maker" meant?'),
    ({"Workshop!A9": "Price rounding", "Workshop!B9": "upwards"}, "Workshop!B9",
     'price rounding "upwards" is not one of the words that can stand here; choose up or nearest'),
    ({"Workshop!A9": "Saw kerf", "Workshop!B9": "3 cm"}, "Workshop!B9",
     'saw kerf "3 cm" must be between 0 mm and 20 mm; look for a slip of the decimal point or of the unit'),
    ({"Workshop!A9": "Quote valid for", "Workshop!B9": 30.5}, "Workshop!B9",
     'quote valid for "30.5" must be a whole number; type 30 days or 31 days'),
    ({"Materials!A3": None}, "Materials!A3", "material is missing; type a name"),
    ({"Materials!B2": "cement"}, "Materials!B2",
     'kind "cement" is not one of the words that can stand here; choose binder, aggregate, water, pigment, admixture, fibre,'
     " board, fixing, sealant, tape, release, abrasive, sealer, packing, bought in, reinforcement or cast in"),
    ({"Materials!B2": None}, "Materials!B2",
     "kind is missing; type one of binder, aggregate, water, pigment, admixture, fibre, board, fixing, sealant, tape, "
     "release, abrasive, sealer, packing, bought in, reinforcement or cast in"),
    ({"Materials!C2": "25 L"}, "Materials!C2", 'pack size "25 L" is a volume; a mass is needed, such as 25 kg'),
    ({"Materials!C2": 0}, "Materials!C2", 'pack size "0" must be 0.001 or more; look for a slip of the sign or of the decimal point'),
    ({"Materials!C2": "a bag"}, "Materials!C2", 'pack size "a bag" holds no number; type a mass, such as 25 kg'),
    ({"Materials!C2": None}, "Materials!C2", "pack size is missing; type a number, such as 25"),
    ({"Materials!D2": "kilo"}, "Materials!D2",
     'pack unit "kilo" is not one of the words that can stand here; perhaps "kg"; choose kg, L, m, m2, each or sheet'),
    ({"Materials!D2": None}, "Materials!D2", "pack unit is missing; type one of kg, L, m, m2, each or sheet"),
    ({"Materials!E2": "£8"}, "Materials!E2", 'pack price "£8" is not in EUR, the currency of this book; type the price in EUR'),
    ({"Materials!E2": "8 EUR/kg"}, "Materials!E2",
     'pack price "8 EUR/kg" is an amount of money per mass; an amount of money is needed, such as 4'),
    ({"Materials!E2": "1,234"}, "Materials!E2", 'pack price "1,234" can be read as thousands or as a decimal part; type 1234 or 1.234'),
    ({"Materials!E2": "1.234", "Materials!E3": "2,50"}, "Materials!E2",
     'pack price "1.234" can be read as thousands or as a decimal part; type 1234 or 1,2340'),
    ({"Materials!E2": "ask"}, "Materials!E2", 'pack price "ask" holds no number; type an amount of money, such as 4'),
    ({"Materials!E2": None}, "Materials!E2", "pack price is missing; type an amount of money, such as 4"),
    ({"Materials!E2": -8}, "Materials!E2", 'pack price "-8" must be 0 or more; look for a slip of the sign or of the decimal point'),
    ({"Materials!E2": datetime.datetime(2025, 1, 6)}, "Materials!E2",
     'pack price "2025-01-06" is a date, not a number; type an amount of money, such as 4'),
    ({"Materials!E2": True}, "Materials!E2", 'pack price "TRUE" is yes or no, not a number; type an amount of money, such as 4'),
    ({"Materials!G2": 5}, "Materials!G2", 'wastage "5" may be 5 % or 500 %; type 5 % or 0.05'),
    ({"Materials!G2": "lots"}, "Materials!G2", 'wastage "lots" holds no number; type a percentage, such as 5 %'),
    ({"Materials!G2": "-5 %"}, "Materials!G2",
     'wastage "-5 %" must be between 0 % and 1000 %; look for a slip of the sign or of the decimal point'),
    ({"Materials!H2": "3.15"}, "Materials!H2",
     'density "3.15" must be between 10 kg/m3 and 25000 kg/m3; look for a slip of the decimal point or of the unit'),
    ({"Materials!H2": None}, "Materials!H2",
     '"Cement" is used as an ingredient of a mix and needs a density; type it on the sheet Materials, such as 2650 kg/m3'),
    ({"Materials!N2": "6.1."}, "Materials!N2", 'priced on "6.1." is not a date; type a date such as 2025-03-01'),
    ({"Materials!N2": None}, "Materials!N2", "priced on is missing; type a date, such as 2025-03-01"),
    ({"Materials!N2": 20250106}, "Materials!N2", 'priced on "20250106" is a plain number, not a date; type a date such as 2025-03-01'),
    ({"Materials!A4": "Cement."}, "Mixes!B4", 'material "Water" is not on the sheet Materials; add it there, or choose one that is there'),
    ({"Materials!E1": "Pack price (GBP)"}, "Materials!E1",
     'the heading "Pack price (GBP)": "GBP" is a currency, and this book is in EUR; write a unit such as EUR in the brackets'),
    ({"Materials!J1": "Sheet length (kg)"}, "Materials!J1",
     'the heading "Sheet length (kg)": kg is a mass; a length is needed; write a unit such as mm in the brackets'),
    ({"Materials!E1": "Packprice"}, "Materials!A1", 'the column "Pack price" is missing (is "Packprice" meant?); add it beside the others'),
    ({"Materials!F1": "Pack price"}, "Materials!F1", 'the heading "Pack price" stands here and in E1; keep one of them'),
    ({"Materials!J5": None}, "Materials!J5",
     '"Board" is used as the board of a mould and needs a sheet length, because it is sold by the sheet; type it on the '
     "sheet Materials, such as 2440 mm"),
    ({"Mixes!A2": None}, "Mixes!A2", "mix is missing; type a name"),
    ({"Mixes!B3": "Sandd"}, "Mixes!B3", 'material "Sandd" is not on the sheet Materials; is "Sand" meant? If not, add it there'),
    ({"Mixes!B3": None}, "Mixes!B3", 'material is missing; type a name of the sheet Materials, such as "Cement"'),
    ({"Mixes!C3": "two"}, "Mixes!C3", 'amount "two" holds no number; type a number, such as 100'),
    ({"Mixes!C3": None}, "Mixes!C3", "amount is missing; type a number, such as 100"),
    ({"Mixes!D3": "parts"}, "Mixes!D3",
     'basis "parts" is not one of the words that can stand here; choose parts by mass, parts by volume, kg/m3, L/m3, % of '
     "binder, mL/kg binder or % of volume"),
    ({"Mixes!D3": "parts by volume"}, "Mixes!D3",
     'the mix "Grey" has parts by mass and parts by volume; give all of its parts in one of them'),
    ({"Mixes!B2": "Sand", "Mixes!B3": "Sand"}, "Mixes!A3",
     'mix · material · basis "Grey · Sand · parts by mass" stands in row 2 and again here; keep one of them'),
    ({"Materials!D2": "lb"}, "Materials!D2",
     'pack unit "lb" is not one of the words that can stand here; choose "kg", and type lb beside the pack size, such as 8 lb; or choose '
     "kg, L, m, m2, each or sheet"),
    ({"Trades!B2": None}, "Trades!B2", "hourly cost is missing; type an amount of money, such as 21.50"),
    ({"Trades!B2": "20 per hour"}, "Trades!B2",
     'hourly cost "20 per hour": "per hour" is not a unit that is known here; type an amount of money, such as 21.50'),
    ({"Machines!D2": None}, "Machines!D2", "life is missing; type a time, such as 4000 h"),
    ({"Machines!C2": 2500}, "Machines!C2", 'the resale 2500 of "Mixer" is above its price; type less'),
    ({"Machines!F2": "1.5 hp/kg"}, "Machines!F2", 'power "1.5 hp/kg" is a quantity in length^2 time^-3; a power is needed, such as 1.5 kW'),
    ({"Labour!C2": "Master"}, "Labour!C2", 'trade "Master" is not on the sheet Trades; is "Maker" meant? If not, add it there'),
    ({"Labour!C2": None, "Labour!F2": None}, "Labour!C2",
     'the step "Cast" has minutes but no trade or machine that they are for; type one'),
    ({"Labour!D2": "ten"}, "Labour!D2", 'minutes "ten" holds no number; type a time, such as 12 min'),
    ({"Labour!D2": "12 kg"}, "Labour!D2", 'minutes "12 kg" is a mass; a time is needed, such as 12 min'),
    ({"Labour!E2": "casts"}, "Labour!E2",
     'per "casts" is not one of the words that can stand here; perhaps "cast"; choose line, quote, batch, mould, cast, '
     "piece, m3, kg, m2 face, m2 underside, m2 open side, m arris, m2 mould, m joint, m length or m width"),
    ({"Labour!E2": None}, "Labour!E2", 'the step "Cast" has minutes but no word under Per for what they are counted by; type one'),
    ({"Labour!F2": "Mixr"}, "Labour!F2", 'machine "Mixr" is not on the sheet Machines; is "Mixer" meant? If not, add it there'),
    ({"Labour!G3": -4}, "Labour!G3", 'wait "-4" must be between 0 h and 10000 h; look for a slip of the decimal point or of the unit'),
    ({"Labour!H2": "perhaps"}, "Labour!H2", 'lost on reject "perhaps" is neither yes nor no; type yes or no'),
    ({"Labour!G3": None}, "Labour!D3", 'the step "Leave in the mould" takes no minutes and no waiting; type either, or remove the row'),
    ({"Moulds!B2": "Bord"}, "Moulds!B2", 'board "Bord" is not on the sheet Materials; is "Board" meant? If not, add it there'),
    ({"Moulds!C2": 0}, "Moulds!C2", 'lasts "0" must be between 1 and 100000; look for a slip of the sign or of the decimal point'),
    ({"Moulds!C2": 1.5}, "Moulds!C2", 'lasts "1.5" must be a whole number; type 1 or 2'),
    ({"Moulds!C2": None}, "Moulds!C2", "lasts is missing; type a whole number, such as 1"),
    ({"Moulds!E2": "5 m"}, "Moulds!E2",
     'sealant radius "5 m" must be between 0.5 mm and 50 mm; look for a slip of the decimal point or of the unit'),
    ({"Moulds!G2": None}, "Moulds!G2", 'the mould plan "Once" has a fixing but no fixing spacing; type one'),
    ({"Finishes!C2": None}, "Finishes!C2", "covers is missing; type a number, such as 8"),
    ({"Finishes!D2": "twice"}, "Finishes!D2", 'coats "twice" holds no number; type a number, such as 2'),
    ({"Finishes!E2": "face"}, "Finishes!E2",
     'surface "face" is not one of the words that can stand here; perhaps "m2 face"; choose m2 face, m2 underside, m2 open '
     "side, m2 mould, m arris or piece"),
    ({"Finishes!B2": "Padd"}, "Finishes!B2", 'material "Padd" is not on the sheet Materials; is "Pad" meant? If not, add it there'),
    ({"Products!A3": "Slab"}, "Extras!A2", 'product "Shelf" is not on the sheet Products; add it there, or choose one that is there'),
    ({"Products!B2": "slap"}, "Products!B2",
     'shape "slap" is not one of the words that can stand here; perhaps "slab"; choose slab, slab with a lip, slab with '
     "openings, L-shaped slab, slab by outline, disc, ring, step, coping, sill, trough, square planter, round planter, bench"
     " or solid"),
    ({"Products!B2": None}, "Products!B2",
     "shape is missing; type one of slab, slab with a lip, slab with openings, L-shaped slab, slab by outline, disc, ring, "
     "step, coping, sill, trough, square planter, round planter, bench or solid"),
    ({"Products!C2": "25 kg"}, "Products!C2", 'length "25 kg" is a mass; a length is needed, such as 900 mm'),
    ({"Products!C2": 1}, "Products!C2",
     'length "1" must be between 10 mm and 12000 mm; look for a slip of the decimal point or of the unit'),
    ({"Products!C2": None}, "Products!C2", 'a slab needs a length, and "Slab" has none; type a length, such as 400 mm'),
    ({"Products!E2": 1.4}, "Products!E2",
     'thickness "1.4" must be between 5 mm and 2000 mm; look for a slip of the decimal point or of the unit'),
    ({"Products!E2": "4 inch thick"}, "Products!E2",
     'thickness "4 inch thick": "inch thick" is not a unit that is known here; type a length, such as 25 mm'),
    ({"Products!J2": None}, "Products!J2", 'mix is missing; type a name of the sheet Mixes, such as "Grey"'),
    ({"Products!J2": "Gray"}, "Products!J2", 'mix "Gray" is not on the sheet Mixes; is "Grey" meant? If not, add it there'),
    ({"Products!K2": "Twice"}, "Products!K2", 'mould plan "Twice" is not on the sheet Moulds; add it there, or choose one that is there'),
    ({"Products!L2": "Plane"}, "Products!L2", 'labour plan "Plane" is not on the sheet Labour; is "Plain" meant? If not, add it there'),
    ({"Products!M2": "Honned"}, "Products!M2", 'finish "Honned" is not on the sheet Finishes; is "Honed" meant? If not, add it there'),
    ({"Products!N2": 4}, "Products!N2", 'rejects "4" may be 4 % or 400 %; type 4 % or 0.04'),
    ({"Products!O2": "stok"}, "Products!O2",
     'made for "stok" is not one of the words that can stand here; perhaps "stock"; choose order or stock'),
    ({"Products!P3": "free"}, "Products!P3", 'list price "free" holds no number; type an amount of money, such as 145.00'),
    ({"Products!F2": 40}, "Products!F2", "drop is given, but a slab has none; it is not used"),
    ({"Products!H2": 8}, "Products!H2", "volume is given, but a slab has none; it is not used"),
    ({"Extras!A2": "Shelv"}, "Extras!A2", 'product "Shelv" is not on the sheet Products; is "Shelf" meant? If not, add it there'),
    ({"Extras!C2": None}, "Extras!C2", "amount is missing; type a number, such as 2"),
    ({"Extras!D2": "pieces"}, "Extras!D2",
     'per "pieces" is not one of the words that can stand here; perhaps "piece"; choose line, quote, batch, mould, cast, '
     "piece, m3, kg, m2 face, m2 underside, m2 open side, m arris, m2 mould, m joint, m length or m width"),
    ({"Delivery!B2": None}, "Delivery!B2", "up to is missing; type a mass, such as 50 kg"),
    ({"Delivery!C2": "thirty"}, "Delivery!C2", 'charge "thirty" holds no number; type an amount of money, such as 35.00'),
    ({"Customers!C2": 10}, "Customers!C2", 'discount "10" may be 10 % or 1000 %; type 10 % or 0.1'),
    ({"Customers!D2": "yes"}, "Customers!D2", 'tax rate "yes" holds no number; type a percentage, such as 20 %'),
    ({"Customers!E2": "Far"}, "Customers!E2",
     'delivery zone "Far" is not on the sheet Delivery; add it there, or choose one that is there'),
    ({"Enquiries!A2": None}, "Enquiries!A2", "quote is missing; type a name"),
    ({"Enquiries!B2": "soon"}, "Enquiries!B2", 'date "soon" is not a date; type a date such as 2025-03-01'),
    ({"Enquiries!B2": "03/04/2025"}, "Enquiries!B2", 'date "03/04/2025" can be read as two different days; type a date such as 2025-03-01'),
    ({"Enquiries!B2": None}, "Enquiries!B2", "date is missing; type a date, such as 2025-03-01"),
    ({"Enquiries!C2": "Ida Ven"}, "Enquiries!C2",
     'customer "Ida Ven" is not on the sheet Customers; is "Ida Venn" meant? If not, add it there'),
    ({"Enquiries!C3": "Somebody"}, "Enquiries!C3",
     'customer "Somebody" is not on the sheet Customers; add it there, or choose one that is there'),
    ({"Enquiries!D2": "Slabb"}, "Enquiries!D2", 'product "Slabb" is not on the sheet Products; is "Slab" meant? If not, add it there'),
    ({"Enquiries!E2": 2.5}, "Enquiries!E2", 'quantity "2.5" must be a whole number; type 2 or 3'),
    ({"Enquiries!E2": 0}, "Enquiries!E2",
     'quantity "0" must be between 1 and 1000000; look for a slip of the sign or of the decimal point'),
    ({"Enquiries!E2": None}, "Enquiries!E2", "quantity is missing; type a whole number, such as 4"),
    ({"Enquiries!F2": "1.2"}, "Enquiries!F2",
     'length "1.2" must be between 10 mm and 12000 mm; look for a slip of the decimal point or of the unit'),
    ({"Enquiries!I3": "13o"}, "Enquiries!I3",
     'unit price "13o": "o" is not a unit that is known here; type an amount of money, such as 160.00'),
    ({"Enquiries!B3": datetime.datetime(2025, 1, 7)}, "Enquiries!B3",
     'the quote "Q1" has the date 2025-01-07 here and 2025-01-06 in row 2; give all its lines the same'),
    ({"Actuals!D2": "stuff"}, "Actuals!D2",
     'kind "stuff" is not one of the words that can stand here; choose material, labour, step, machine, overhead, rejected '
     "or mould casts"),
    ({"Actuals!E2": None}, "Actuals!E2", "quantity is missing; type a number, such as 12.5"),
    ({"Actuals!C2": "Cemment"}, "Actuals!C2", 'material "Cemment" is not on the sheet Materials; is "Cement" meant?'),
    ({"Actuals!C2": None}, "Actuals!C2", "item is missing; type the material"),
]


def read(path: Path) -> Problems:
    """The problems of a book, but for the units that the small one does not state."""
    problems = read_price_book(path)[1]
    found = Problems(problems.file)
    found.take(problem for problem in problems if problem.code != "unit-not-stated")
    return found


@pytest.mark.parametrize(("edits", "place", "message"), MISTAKES, ids=[f"{edits}" for edits, *_ in MISTAKES])
def test_a_typed_mistake_gives_its_message(tmp_path: Path, edits: dict[str, Any], place: str, message: str) -> None:
    """At its cell, in these words."""
    assert (place, message) in [(problem.place, problem.message) for problem in read(write_small(tmp_path / "book.xlsx", edits))]


#: One fault each, of which more would follow if it were not held back.
ONE_FAULT: list[dict[str, Any]] = [
    {"Workshop!A6": "Overhed per labour hour"},
    {"Workshop!A2": "Busines name"}, {"Workshop!A8": "Electrcity price"}, {"Workshop!B1": "Valu"}, {"Materials!A1": "Materal"},
    {"Machines!A1": "Machin"}, {"Labour!A1": "Labor pln"},
    {"Materials!E1": "Packprice"},
    {"Mixes!B2": "Cementt", "Mixes!C5": "2 %", "Mixes!D5": "% of binder", "Mixes!B5": "Sand"},
    {"Materials!B2": "bindr", "Mixes!C5": "2 %", "Mixes!D5": "% of binder", "Mixes!B5": "Sand"},
    {"Products!J2": "Gray"}, {"Products!K2": "Twice"}, {"Products!L2": "Plane"}, {"Products!M2": "Honned"},
    {"Moulds!B2": "Bord"}, {"Labour!C2": "Master"}, {"Labour!F2": "Mixr"}, {"Labour!G3": -4}, {"Finishes!B2": "Padd"},
    {"Enquiries!C2": "Ida Ven"}, {"Enquiries!D2": "Slabb"}, {"Enquiries!B2": "soon"}, {"Customers!E2": "Far"}, {"Extras!A2": "Shelv"},
]


@pytest.mark.parametrize("edits", ONE_FAULT, ids=str)
def test_one_fault_is_one_message(tmp_path: Path, edits: dict[str, Any]) -> None:
    """Whatever would follow from a name or a figure that is wrong is not told beside it."""
    assert len(list(read(write_small(tmp_path / "book.xlsx", edits)))) == 1


def test_a_tax_of_no_known_category_is_one_message(tmp_path: Path) -> None:
    """Nothing is said of the rate that it would need, as long as its category is not known."""
    taxes: list[list[Any]] = [["Tax", "Rate", "Category"], ["Reverse charge", None, "RC"]]
    (told,) = read(write_small(tmp_path / "book.xlsx", rows={"Taxes": taxes}))
    assert told.message.startswith('category "RC" is not one of the words that can stand here')


@pytest.mark.parametrize("sheet", ["Workshop", "Materials", "Mixes", "Trades", "Machines", "Labour", "Moulds", "Finishes", "Products"])
def test_a_sheet_without_rows_is_one_message(tmp_path: Path, sheet: str) -> None:
    """That each name is not there is not told as well."""
    problems = read(write_small(tmp_path / "book.xlsx", rows={sheet: SMALL[sheet][:1]}))
    (told,) = [problem for problem in problems if not problem.warning]
    assert "on this sheet; type at least" in told.message or f'the sheet "{sheet}" has no rows, and the ' in told.message


def test_what_rests_on_a_column_that_is_missing_is_one_message(tmp_path: Path) -> None:
    """Every row needs it; it is told once with the rows."""
    rows = [["Labour plan", "Step", "Minutes", "Per"], *(["Plain", step, 12, "cast"] for step in ("Fill", "Cast", "Lift"))]
    run = CliRunner().invoke(main, ["check", str(write_small(tmp_path / "book.xlsx", rows={"Labour": rows}))])
    (line,) = [line for line in run.output.splitlines() if "Labour" in line and "Trade" in line]
    assert 'rows need the column "Trade", which this sheet has not; add it, or look at the headings: Plain (A2), Plain (A3)' in line


def test_a_name_that_is_misspelt_where_it_stands_for_all_is_told_once(tmp_path: Path) -> None:
    """Each sheet that names it is told with the cells."""
    run = CliRunner().invoke(main, ["check", str(write_small(tmp_path / "book.xlsx", {"Mixes!A2": "Gr", "Mixes!A3": "Gr", "Mixes!A4": "Gr",
                                                                                       "Mixes!A5": "Gr"}))])
    lines = [line for line in run.output.splitlines() if "is not on the sheet" in line]
    assert len(lines) == 1
    assert "(1 more cell names it: J3)" in lines[0]


def test_there_are_enough_of_them_and_none_orders_a_figure() -> None:
    """At least 85; whatever figure stands in a remedy is one that may stand there, or one of two readings."""
    assert len(MISTAKES) >= 85
    for _, _, message in MISTAKES:
        assert not re.search(r"; type (?:\d|White|a name of the sheet \w+$)", message) or " may be " in message or " or " in message
        assert message[:1] == message[:1].lower() or message.startswith('"'), message


def test_one_wrong_currency_is_one_message(tmp_path: Path) -> None:
    """A sign instead of its code is told once, however many prices carry it."""
    prices = {f"Materials!E{row}": f"€{row}" for row in range(2, 9)} | {"Trades!B2": "€20", "Materials!E1": "Pack price (€)"}
    told = read(write_small(tmp_path / "book.xlsx", {"Workshop!B3": "€", **prices}))
    assert [problem.message for problem in told] == ['currency "€" is not a currency code; type its three letters, such as EUR']


@pytest.mark.parametrize(
    ("name", "sheet"), [("Material", "Materials"), ("Enquires", "Enquiries"), ("Orders", "Enquiries"), ("Customer", "Customers"),
                        ("Trade", "Trades"), ("My extras", "Extras")],
)
def test_a_sheet_of_another_name_is_recognised(tmp_path: Path, name: str, sheet: str) -> None:
    """Misspelt or renamed, it is an error that names what may be meant, and nothing that follows from it is told."""
    told = read(write_small(tmp_path / "book.xlsx", without=[sheet], rows={name: SMALL[sheet]}))
    message = f"this sheet is not read: is {name} meant to be {sheet}? rename it, or give it other headings if it is not"
    assert [(problem.sheet, problem.message, problem.warning) for problem in told] == [(name, message, False)]


def test_a_sheet_of_ones_own_is_left_alone(tmp_path: Path) -> None:
    """Also where it is called almost like one of the price book."""
    path = write_small(tmp_path / "book.xlsx", rows={"Material notes": [["Ask", "about sand"]], "Trade": [["a note"], ["b"]]})
    assert list(read(path)) == []


def test_a_workbook_that_is_no_price_book_is_told_in_one_line(tmp_path: Path) -> None:
    """With how to begin one."""
    path = write_small(tmp_path / "book.xlsx", without=list(SMALL), rows={"Sheet1": [["Name", "Telephone"], ["Ada", 1234]]})
    run = CliRunner().invoke(main, ["check", str(path)])
    assert run.exit_code == 1
    lines = [line for line in run.output.splitlines() if line.strip()]
    assert sum("not a price book" in line for line in lines) == 1
    assert "pricing start" in run.output


def test_a_merged_title_between_rows_is_one_message(tmp_path: Path) -> None:
    """It is taken as no row of the sheet, and nothing is missing in it."""
    path = write_small(tmp_path / "book.xlsx")
    book = openpyxl.load_workbook(path)
    sheet = book["Products"]
    sheet.insert_rows(3)
    sheet["A3"] = "Shelves"
    sheet.merge_cells("A3:H3")
    book.save(path)
    assert [(problem.place, problem.message) for problem in read(path)] == [
        ("Products!A3", "this row is taken as a title across the columns, not as data; unmerge its cells if it is a row of the sheet")]


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("Grey.", 'the names "Grey." and "Grey" (row 2) differ by a full stop or a space alone; give both the same spelling if one is '
                "meant"),
        ("Gr ey", 'the names "Gr ey" and "Grey" (row 2) differ by a full stop or a space alone; give both the same spelling if one is '
                "meant"),
        ("GREY", '"GREY" is spelt "Grey" in row 2; both are taken as one and the same'),
    ],
)
def test_names_that_differ_by_next_to_nothing_are_pointed_at(tmp_path: Path, name: str, message: str) -> None:
    """By a full stop, a space or capital letters."""
    told = read(write_small(tmp_path / "book.xlsx", {"Mixes!A5": name}))
    assert message in [problem.message for problem in told if problem.warning]


def test_more_quantities_than_the_limit_are_told_with_it() -> None:
    """Thirteen of them: twelve is the limit."""
    run = CliRunner().invoke(main, ["catalogue", "book.xlsx", "--quantities", ",".join(map(str, range(1, 14)))])
    assert run.exit_code == 2
    assert "names 13 quantities, and 12 is the limit" in run.output
