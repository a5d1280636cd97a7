"""The closed list of units agrees with pint, and refuses what can be read in two ways."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing import units

#: pint's names of the base dimensions, and ours.
BASES = {"[length]": "length", "[mass]": "mass", "[time]": "time", "[count]": "count", "[currency]": "currency"}


def dimension_by_pint(text: str) -> units.Dimension:
    powers = units.registry().parse_expression(text).dimensionality
    return tuple(sorted((BASES[str(base)], int(power)) for base, power in powers.items()))


@pytest.mark.parametrize(("shown", "others", "dimension", "factor", "pint_name"), units.TABLE)
def test_every_entry_of_the_table_is_what_pint_says(
    shown: str, others: str, dimension: units.Dimension, factor: float, pint_name: str
) -> None:
    """Dimension and factor of each unit agree with pint to 1e-12."""
    quantity = units.registry().parse_expression(pint_name)
    assert dimension == dimension_by_pint(pint_name)
    base = quantity.to_base_units()
    in_si = base.to("gram").magnitude / 1000 if dimension == units.MASS else base.magnitude
    assert in_si == pytest.approx(factor, rel=1e-12)


def test_no_spelling_stands_for_two_units() -> None:
    """Each spelling of the table, in its own letter case, is listed once."""
    seen: dict[str, str] = {}
    for shown, others, *_ in units.TABLE:
        for spelling in (shown, *(word.replace("_", " ") for word in others.split())):
            assert seen.setdefault(spelling, shown) == shown, spelling
            unit = units.unit_of(spelling)
            assert isinstance(unit, units.Unit), spelling
            assert unit.spelling == shown


COMPOUND = [
    ("m2/L", "metre**2/litre"), ("m² per litre", "metre**2/litre"), ("kg/m3", "kilogram/metre**3"),
    ("lb/ft3", "pound/foot**3"), ("mL/kg", "millilitre/kilogram"), ("g/cm3", "gram/centimetre**3"),
    ("ft2/US gal", "foot**2/US_liquid_gallon"), ("m2/pad", "metre**2/count"), ("£/kWh", "currency/kilowatt/hour"),
    ("GBP/h", "currency/hour"), ("l/m3", "litre/metre**3"), ("oz/ft2", "ounce/foot**2"),
]


@pytest.mark.parametrize(("text", "pint_name"), COMPOUND)
def test_compound_units_are_what_pint_says(text: str, pint_name: str) -> None:
    """A unit over another has the quotient of both factors."""
    unit = units.unit_of(text, "GBP")
    assert isinstance(unit, units.Unit)
    assert unit.dimension == dimension_by_pint(pint_name)
    base = units.registry().parse_expression(pint_name).to_root_units()
    grams = dict(unit.dimension).get("mass", 0)
    assert base.magnitude / 1000.0**grams == pytest.approx(unit.factor, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "keyword"),
    [
        ("ton", "tonne"), ("Tons", "tonne"), ("gal", "US gal"), ("gallon", "imp gal"), ("fl oz", "mL"), ("pt", "L"),
        ("pound", "lb"), ("cwt", "kg"), ("furlong", "not a unit"), ("", "not a unit"), ("m2/ton", "tonne"),
        ("$", "currency"), ("USD", "GBP"), ("EUR/kWh", "GBP"),
    ],
)
def test_ambiguous_and_unknown_units_are_refused_with_a_reason(text: str, keyword: str) -> None:
    """What means two things, or nothing, gives a sentence with what to type."""
    reason = units.unit_of(text, "GBP")
    assert isinstance(reason, str)
    assert keyword in reason


@pytest.mark.parametrize("text", ["mm", "KG", " kg ", "Litres", "m²", "M3", "ＫＧ", "kg.", "hrs", "sq m", "gal (US)", "″"])
def test_letter_case_spaces_and_superscripts_make_no_difference(text: str) -> None:
    """The usual ways to write a unit are all understood."""
    assert isinstance(units.unit_of(text), units.Unit)


@given(st.text(max_size=12))
def test_any_text_gives_a_unit_or_a_reason(text: str) -> None:
    """No text makes the reading of a unit fail."""
    found = units.unit_of(text, "EUR")
    assert isinstance(found, units.Unit) or found


def test_pieces_and_money_are_dimensions_of_their_own() -> None:
    """A price per piece cannot be added to a price, which as plain numbers it could."""
    registry = units.registry()
    with pytest.raises(Exception, match="Cannot convert"):
        registry("1 currency/piece") + registry("1 currency")


def test_dimensions_are_named_in_words() -> None:
    """Every dimension that a column can have is called by a name, not by its powers."""
    for text in ("m", "m2", "L", "kg", "min", "kW", "kg/m3", "m2/L", "m2/kg", "m/each", "currency/h", "currency/kWh"):
        unit = units.unit_of(text)
        assert isinstance(unit, units.Unit)
        assert "quantity in" not in units.dimension_name(unit.dimension), text
