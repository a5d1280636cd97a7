"""What a typed cell means: the tables are the claims, one line each."""

from __future__ import annotations

import datetime
import string
import unicodedata

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.book.reading.columns import to_fifteen_digits
from pricing.book.typed.yes_no import (
    DATE_REASONS,
    FIGURE_REASONS,
    Figure,
    date_from_text,
    figure_from_text,
    fold,
    unit_in_format,
    yes_no_from_cell,
)
from pricing.xlsx.cells import Cell

UNDERSTOOD = [
    ("12.5", 12.5, ""),
    ("12,50", 12.5, ""),
    (" 12.50 ", 12.5, ""),
    ("\u00a012.50", 12.5, ""),
    ("12.5\t", 12.5, ""),
    ("12.5\n", 12.5, ""),
    ("12\u200b.50", 12.5, ""),
    (".5", 0.5, ""),
    (",5", 0.5, ""),
    ("0,125", 0.125, ""),
    ("1.234", 1.234, ""),
    ("1234,567", 1234.567, ""),
    ("1,234.50", 1234.5, ""),
    ("1.234,50", 1234.5, ""),
    ("1,234,567", 1234567.0, ""),
    ("1.234.567", 1234567.0, ""),
    ("1 234,50", 1234.5, ""),
    ("1\u00a0234,50", 1234.5, ""),
    ("1\u202f234,50", 1234.5, ""),
    ("12 345 678", 12345678.0, ""),
    ("1'234.50", 1234.5, ""),
    ("1’234.50", 1234.5, ""),
    ("１２．５", 12.5, ""),
    ("٣", 3.0, ""),
    ("1e3", 1000.0, ""),
    ("1.5E-3", 0.0015, ""),
    ("1e3 kg", 1000.0, "kg"),
    ("-12.50", -12.5, ""),
    ("+5", 5.0, ""),
    ("−12.50", -12.5, ""),
    ("12.50-", -12.5, ""),
    ("12.50- kg", -12.5, "kg"),
    ("(12.50)", -12.5, ""),
    ("(£4.20)", -4.2, "£"),
    ("£(4.20)", -4.2, "£"),
    ("-£4.20", -4.2, "£"),
    ("£-4.20", -4.2, "£"),
    ("4.20-£", -4.2, "£"),
    ("4.20 EUR-", -4.2, "EUR"),
    ("0.30000000000000004", 0.3, ""),
    ("£4.20", 4.2, "£"),
    ("4.20 £", 4.2, "£"),
    ("EUR 4.20", 4.2, "EUR"),
    ("4.20 EUR", 4.2, "EUR"),
    ("US$ 12", 12.0, "US$"),
    ("kr 12", 12.0, "kr"),
    ("£4.20/kg", 4.2, "£/kg"),
    ("£4.20 / kg", 4.2, "£/ kg"),
    ("0.12 GBP/kWh", 0.12, "GBP/kWh"),
    ("25 kg", 25.0, "kg"),
    ("25kg", 25.0, "kg"),
    ("10 000 kg", 10000.0, "kg"),
    ("1,5 kg", 1.5, "kg"),
    ("1.2 m", 1.2, "m"),
    ("12 m2", 12.0, "m2"),
    ("12 m²", 12.0, "m²"),
    ("12 m^2", 12.0, "m^2"),
    ("25 kg/m³", 25.0, "kg/m³"),
    ("8 m2/L", 8.0, "m2/L"),
    ("5 N/mm²", 5.0, "N/mm²"),
    ("2.5mL/kg binder", 2.5, "mL/kg binder"),
    ("5 µm", 5.0, "µm"),
    ("5 °C", 5.0, "°C"),
    ("4.20 per kg", 4.2, "per kg"),
    ("5 each", 5.0, "each"),
    ("4%", 4.0, "%"),
    ("4 %", 4.0, "%"),
    ("-5%", -5.0, "%"),
    ("2 % of binder", 2.0, "% of binder"),
    ("3/4 in", 0.75, "in"),
    ("1 1/2 in", 1.5, "in"),
    ("1-1/2 in", 1.5, "in"),
    ("1½ in", 1.5, "in"),
    ("½", 0.5, ""),
    ("3⁄4 in", 0.75, "in"),
]

NOT_UNDERSTOOD = [
    ("", "empty"),
    ("   ", "empty"),
    ("\u200b", "empty"),
    ("TBC", "no-number"),
    ("n/a", "no-number"),
    ("-", "no-number"),
    ("#N/A", "no-number"),
    ("inf", "no-number"),
    ("nan", "no-number"),
    ("M6", "no-number"),
    ("about 5", "no-number"),
    ("7" * 201, "no-number"),
    ("1,234", "ambiguous-thousands"),
    ("12,345", "ambiguous-thousands"),
    ("-1,234", "ambiguous-thousands"),
    ("£1,234", "ambiguous-thousands"),
    ("1,234 kg", "ambiguous-thousands"),
    ("1.234,5,6", "malformed-number"),
    ("12,345.6,7", "malformed-number"),
    ("1,23,456.00", "malformed-number"),
    ("12.5.", "malformed-number"),
    ("12'34", "malformed-number"),
    ("--5", "malformed-number"),
    ("-(5)", "malformed-number"),
    ("5+", "malformed-number"),
    ("3'", "malformed-number"),
    ("25 -", "malformed-number"),
    ("5 - kg", "malformed-number"),
    ("1 e3", "malformed-number"),
    ("5 = kg", "malformed-number"),
    ("£5 kg", "malformed-number"),
    ("0x1F", "not-decimal"),
    ("12.5\n13.5", "several-lines"),
    ("12.5\u202813.5", "several-lines"),
    ("12 34", "several-numbers"),
    ("1 00", "several-numbers"),
    ("600 x 300", "several-numbers"),
    ("1-2", "several-numbers"),
    ("1 m 20", "several-numbers"),
    ("12:30", "several-numbers"),
    ("1/2/2025", "several-numbers"),
    ("2025-01-01", "several-numbers"),
    ("1_000", "several-numbers"),
    ("1/0", "zero-denominator"),
    ("1e30", "too-large"),
    ("1e400", "too-large"),
]


@pytest.mark.parametrize(("text", "value", "unit"), UNDERSTOOD)
def test_an_unambiguous_figure_is_taken_with_its_unit(text: str, value: float, unit: str) -> None:
    """Each of these can be read in one way only, and is read that way."""
    assert figure_from_text(text) == Figure(value, unit)


@pytest.mark.parametrize(("text", "reason"), NOT_UNDERSTOOD)
def test_an_unclear_figure_is_refused_for_its_reason(text: str, reason: str) -> None:
    """Each of these is no figure, or could be two, and says which."""
    assert figure_from_text(text) == reason
    assert reason in FIGURE_REASONS


@given(st.text(max_size=40))
def test_any_text_is_a_finite_figure_or_a_known_reason(text: str) -> None:
    """No text makes the reading fail, and none becomes a number that is not finite."""
    found = figure_from_text(text)
    if isinstance(found, Figure):
        assert abs(found.value) < 1e15
        assert any(character.isdigit() or unicodedata.numeric(character, None) is not None for character in text)
    else:
        assert found in FIGURE_REASONS


@given(st.text(alphabet="0123456789.,' -+()eE/%£kgm\u00a0\u2212½", max_size=14))
def test_texts_that_look_like_figures_never_fail(text: str) -> None:
    """Mixtures of digits and signs are figures or known reasons."""
    found = figure_from_text(text)
    assert isinstance(found, Figure) or found in FIGURE_REASONS


@given(st.floats(-1e9, 1e9), st.sampled_from(["", " kg", "kg", " m2/L", " £", "%"]))
def test_what_is_written_out_is_read_back(value: float, unit: str) -> None:
    """A number written with a decimal point is read back to 15 digits, with its unit."""
    text = f"{value:.6f}"
    assert figure_from_text(text + unit) == Figure(float(f"{float(text):.15g}") + 0.0, unit.strip())


@given(st.integers(1000, 10**9), st.integers(0, 99), st.sampled_from([(",", "."), (".", ","), (" ", ","), ("'", ".")]))
def test_grouped_thousands_with_cents_are_read_in_every_custom(whole: int, cents: int, marks: tuple[str, str]) -> None:
    """Thousands and decimals with two different marks have one reading."""
    grouped = f"{whole:,}".replace(",", marks[0])
    assert figure_from_text(f"{grouped}{marks[1]}{cents:02d}") == Figure(round(whole + cents / 100, 2), "")


DATES = [
    ("2025-02-01", datetime.date(2025, 2, 1)),
    ("2025-2-1", datetime.date(2025, 2, 1)),
    ("2025-02-01T10:30:00", datetime.date(2025, 2, 1)),
    ("2025/02/01", datetime.date(2025, 2, 1)),
    (" 2025\u201102\u201101 ", datetime.date(2025, 2, 1)),
    ("13/02/2025", datetime.date(2025, 2, 13)),
    ("02/13/2025", datetime.date(2025, 2, 13)),
    ("05.05.2025", datetime.date(2025, 5, 5)),
    ("1 Feb 2025", datetime.date(2025, 2, 1)),
    ("1st February 2025", datetime.date(2025, 2, 1)),
    ("1-Feb-2025", datetime.date(2025, 2, 1)),
    ("1. FEBRUARY 2025", datetime.date(2025, 2, 1)),
    ("Saturday, 1 February 2025", datetime.date(2025, 2, 1)),
    ("Feb 1, 2025", datetime.date(2025, 2, 1)),
    ("Sept. 3rd, 2025", datetime.date(2025, 9, 3)),
    ("29 Feb 2024", datetime.date(2024, 2, 29)),
    ("01/02/2025", "ambiguous-date"),
    ("1.2.2025", "ambiguous-date"),
    ("13/02/25", "ambiguous-date"),
    ("29 Feb 2025", "no-such-day"),
    ("2025-13-01", "no-such-day"),
    ("32/01/2025", "no-such-day"),
    ("0/13/2025", "no-such-day"),
    ("2025-02-01T25:00", "not-a-date"),
    ("Feb 2025", "not-a-date"),
    ("1 Février 2025", "not-a-date"),
    ("today", "not-a-date"),
    ("45658", "not-a-date"),
    ("1/2-2025", "not-a-date"),
    ("", "empty"),
]


@pytest.mark.parametrize(("text", "expected"), DATES)
def test_a_day_is_taken_only_where_it_is_the_only_one(text: str, expected: datetime.date | str) -> None:
    """01/02/2025 may be in January or in February and is reported; 13/02/2025 is one day."""
    assert date_from_text(text) == expected
    assert not isinstance(expected, str) or expected in DATE_REASONS


@given(st.text(alphabet=string.ascii_letters + string.digits + " -/.,:", max_size=20) | st.text(max_size=20))
def test_no_text_makes_the_reading_of_dates_fail(text: str) -> None:
    """Any text is a day or a known reason."""
    found = date_from_text(text)
    assert isinstance(found, datetime.date) or found in DATE_REASONS


@given(st.dates())
def test_iso_dates_are_read_back(day: datetime.date) -> None:
    """A day written as ISO 8601 is that day."""
    assert date_from_text(day.isoformat()) == day


ANSWERS = [
    (Cell(1, 1, True, "bool"), True),
    (Cell(1, 1, False, "bool"), False),
    (Cell(1, 1, 1.0, "number"), True),
    (Cell(1, 1, 0.0, "number"), False),
    (Cell(1, 1, " YES\u00a0", "text"), True),
    (Cell(1, 1, "x", "text"), True),
    (Cell(1, 1, "no", "text"), False),
    (Cell(1, 1, "perhaps", "text"), "not-yes-or-no"),
    (Cell(1, 1, 2.0, "number"), "not-yes-or-no"),
    (Cell(1, 1, "#REF!", "error"), "not-yes-or-no"),
    (Cell(1, 1, " ", "text"), "empty"),
    (Cell(1, 1, None, "blank", formula="A1", stored=False), "empty"),
]


@pytest.mark.parametrize(("cell", "expected"), ANSWERS)
def test_yes_and_no_are_understood_as_people_type_them(cell: Cell, expected: bool | str) -> None:
    """True, 1, yes, y and x are yes; anything doubtful is neither."""
    assert yes_no_from_cell(cell) == expected


FORMATS = [
    ("General", ""),
    ("0.00", ""),
    ("#,##0.00_);(#,##0.00)", ""),
    ("@", ""),
    ("# ?/?", ""),
    ("0.00E+00", ""),
    ("[Red]-0.0", ""),
    ("[$-409]#,##0.00", ""),
    ("dd/mm/yyyy", ""),
    ('0.0" kg"', "kg"),
    ('0 "m²"', "m²"),
    ("0\\ \\k\\g", "kg"),
    ('General" kg"', "kg"),
    ("0.0 mm", "mm"),
    ('# ?/? "in"', "in"),
    ('0.00" per day"', "per day"),
    ("[$£-809]#,##0.00", "£"),
    ("#,##0.00\\ [$€-407]", "€"),
    ("[$USD] #,##0.00", "USD"),
    ("£#,##0.00", "£"),
    ('"£"#,##0.00', "£"),
    ('_-"£"* #,##0.00_-;-"£"* #,##0.00_-;_-"£"* "-"??_-;_-@_-', "£"),
    ("#,##0.00 €", "€"),
    ("-$#,##0", "$"),
    ("0%", "%"),
    ("0.0%", "%"),
    ('#,##0,"k"', "thousands"),
    ("0.0,,", "millions"),
    ("#,##0,.0", "thousands"),
    ('[<1000]0" g";0.0," kg"', "mixed"),
    ('[<1000]0" g";0" kg"', "mixed"),
    ('[<0]"minus "0" kg";0" kg"', "kg"),
    (";;;", "hidden"),
    ('"";"";""', "hidden"),
    ("h:mm", "time"),
    ("[h]:mm:ss", "time"),
    ("mm:ss.0", "time"),
]


@pytest.mark.parametrize(("number_format", "unit"), FORMATS)
def test_the_unit_that_a_number_format_prints_is_known(number_format: str, unit: str) -> None:
    """A format that prints kg, a currency or a scaled number says so."""
    assert unit_in_format(number_format) == unit


@given(st.text(alphabet='0#?.,;%"[]$£€-_*\\ kgmydhs<>=', max_size=24) | st.text(max_size=24))
def test_no_number_format_makes_the_reading_fail(number_format: str) -> None:
    """Any text may stand as a number format."""
    assert isinstance(unit_in_format(number_format), str)


def test_names_are_compared_without_case_kinds_of_space_and_invisible_characters() -> None:
    """Names that look alike have one key."""
    alike = [
        "Grey Cement",
        " grey  cement ",
        "GREY\u00a0CEMENT",
        "Gre\u200by\u2003Cement",
        "Ｇｒｅｙ cement",
        "grey\ncement",
    ]
    assert {fold(name) for name in alike} == {"grey cement"}
    assert fold("Straße") == fold("STRASSE")
    assert fold("café") == fold("cafe\u0301")
    assert fold("m²") == fold("M2")
    assert fold("Grey cement") != fold("Gray cement")


@given(st.text())
def test_folding_twice_changes_nothing(text: str) -> None:
    """A key is its own key, so that keys can be compared wherever they were made."""
    assert fold(fold(text)) == fold(text)


def test_the_largest_number_is_read_without_a_word_of_the_arithmetic() -> None:
    """A number near the end of what a cell can hold is kept as it is."""
    assert to_fifteen_digits(np.array([0.1 + 0.2, 9.99e307])).tolist() == [0.3, 9.99e307]
