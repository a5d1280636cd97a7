"""Rounding against published tables, against exact decimals, and against a spreadsheet program."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import numpy as np
import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st
from referee import recalculated

from pricing import money


def round_decimal(value: float, digits: int) -> Decimal:
    """The referee: the same rounding on one number, exactly, through its 15-digit decimal text."""
    return Decimal(f"{value:.15g}").quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)


#: Typed ties and their rounding half away from zero. Sources: CPython issue 69015 (the decimals 1.05 to 1.95 and
#: 2.675, read there with half to even or binary results); gists sailfish009 and gsakkis/2020833 (0.125, 0.135, 0.175, 3.5,
#: -2.665 half up in magnitude). The rounded values follow from the rule.
TIES = [
    (1.05, 1, 1.1), (1.15, 1, 1.2), (1.25, 1, 1.3), (1.35, 1, 1.4), (1.45, 1, 1.5), (1.55, 1, 1.6), (1.65, 1, 1.7), (1.75, 1, 1.8),
    (1.85, 1, 1.9), (1.95, 1, 2.0), (2.675, 2, 2.68), (0.125, 2, 0.13), (0.135, 2, 0.14), (0.175, 2, 0.18), (2.665, 2, 2.67),
    (1.005, 2, 1.01), (365.125, 2, 365.13), (-365.125, 2, -365.13), (-2.665, 2, -2.67), (3.5, 0, 4.0), (2.5, 0, 3.0), (-2.5, 0, -3.0),
    (0.285, 2, 0.29), (5.015, 2, 5.02), (8.075, 2, 8.08),
]


@pytest.mark.parametrize(("value", "digits", "rounded"), TIES)
def test_a_typed_tie_goes_away_from_zero(value: float, digits: int, rounded: float) -> None:
    """Every published tie rounds away from zero, as the fast rule and as exact decimals."""
    assert money.round_half_away(value, digits) == rounded
    assert float(round_decimal(value, digits)) == rounded


@given(st.integers(-10**10, 10**10), st.integers(0, 4))
def test_the_fast_rounding_is_the_exact_one(units: int, digits: int) -> None:
    """On any typed decimal with one digit too many, ties among them, the fast rule gives what exact decimals give."""
    value = float(Decimal(units).scaleb(-digits - 1))
    assert money.round_half_away(value, digits) == float(round_decimal(value, digits))


@given(st.floats(0.01, 1e6), st.integers(1, 400))
def test_products_of_typed_figures_round_as_exact_decimals(price: float, quantity: int) -> None:
    """A typed price times a quantity rounds as the 15-digit decimal of the product."""
    value = float(f"{price:.4f}") * quantity
    assert money.round_half_away(value, 2) == float(round_decimal(value, 2))


@pytest.mark.parametrize(
    ("need", "whole"), [(57 / 0.57, 100), (114 / 0.57, 200), (145 / 0.58, 250), (0.3 / 0.1, 3), (3 * 0.1 / 0.1, 3), (2.01, 3), (0.0, 0)]
)
def test_whole_numbers_needed(need: float, whole: int) -> None:
    """57 good pieces at a yield of 0.57 need 100 starts and not 101; 0.3 of 0.1 needs 3 (computed traps of binary numbers)."""
    assert money.whole_up(need) == whole


def test_some_of_these_are_traps_for_the_plain_functions() -> None:
    """The plain functions of the language are wrong on these cases, so the cases test something."""
    assert math.ceil(57 / 0.57) == 101
    assert sum(round(value, digits) != rounded for value, digits, rounded in TIES) >= 10


@pytest.mark.parametrize(
    ("currency", "digits"),
    [("BIF", 0), ("JPY", 0), ("KRW", 0), ("ISK", 0), ("CLP", 0), ("BHD", 3), ("KWD", 3), ("TND", 3), ("CLF", 4), ("HUF", 2), ("EUR", 2)],
)
def test_minor_units(currency: str, digits: int) -> None:
    """Minor units of ISO 4217 (as carried by the Unicode CLDR), with a library of locale data as a second referee."""
    assert money.minor_units(currency) == digits


def test_minor_units_agree_with_a_library_of_locale_data() -> None:
    """Our table differs from two decimals exactly where the library's does, among the currencies that it names."""
    numbers = pytest.importorskip("babel.numbers", reason="Babel is not installed: its currency table cannot referee ours")
    agreed = [code for code in money.MINOR_UNITS if code != "IQD"]  # whose fils the library takes to be out of use
    assert {code: numbers.get_currency_precision(code) for code in agreed} == {code: money.MINOR_UNITS[code] for code in agreed}


@pytest.mark.usefixtures("requires_office")
def test_a_spreadsheet_rounds_the_same(tmp_path: Path) -> None:
    """ROUND, ROUNDUP of ROUND, and steps: 2,000 awkward figures round in a spreadsheet program as they do here."""
    generator = np.random.default_rng(7)
    values = np.concatenate([
        generator.integers(-10**6, 10**6, 700) / 1000, generator.integers(1, 10**6, 700) * 0.005, generator.uniform(-1e4, 1e4, 600),
    ])
    values = np.array([float(f"{value:.15g}") for value in values])
    path = tmp_path / "rounding.xlsx"
    book = xlsxwriter.Workbook(str(path))
    sheet = book.add_worksheet("Sheet")
    for row, value in enumerate(values.tolist()):
        sheet.write_number(row, 0, value)
        sheet.write_formula(row, 1, f"=ROUND(A{row + 1},2)")
        sheet.write_formula(row, 2, f"=ROUNDUP(ROUND(A{row + 1},6),0)")
        sheet.write_formula(row, 3, f"=ROUND(ROUND(ROUND(A{row + 1}/0.05,6),0)*0.05,2)")
        sheet.write_formula(row, 4, f"=ROUNDDOWN(ROUND(A{row + 1},6),2)")
    book.close()
    computed = recalculated(path)["Sheet"]
    columns = [[computed.cell(row + 1, column).value for row in range(len(values))] for column in (2, 3, 4, 5)]
    assert columns[0] == money.round_half_away(values, 2).tolist()
    positive = values >= 0
    assert [c for c, keep in zip(columns[1], positive, strict=True) if keep] == money.whole_up(values[positive]).tolist()
    assert columns[2] == money.round_half_away(money.whole_nearest(values / 0.05) * 0.05, 2).tolist()
    assert columns[3] == money.round_down(values, 2).tolist()
