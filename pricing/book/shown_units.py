"""In which measures the maker's customers think: metric, or inches and pounds, by the setting Measures."""

from __future__ import annotations

from collections.abc import Mapping

from pricing import units
from pricing.book.price_book import PriceBook
from pricing.book.typed.conversion import converted, fifteen_digits

#: The word of the setting that asks for inches and pounds.
INCHES_AND_POUNDS = "inches and pounds"

#: What stands for a unit in the headings of a book in inches and pounds.
MEASURES: Mapping[str, str] = {
    "mm": "in", "m": "ft", "m2": "ft2", "L": "gal (US)", "kg": "lb", "kg/m3": "lb/ft3", "m2/L": "ft2/gal (US)", "kW": "hp",
}

#: An avoirdupois pound [kg]. Source: the international yard and pound agreement of 1959.
POUND = 0.45359237

#: A US gallon [L]: 231 cubic inches. Source: NIST Handbook 44, appendix C (from memory).
GALLON = 3.785411784

#: What stands for a pack unit where the maker buys by the pound, the gallon and the foot.
BY_THE_POUND: Mapping[str, str] = {unit: MEASURES[unit] for unit in ("kg", "L", "m", "m2")}


def in_inches(book: PriceBook) -> bool:
    """Whether the setting Measures asks for inches and pounds."""
    return bool(book.settings.get("measures") == INCHES_AND_POUNDS)


def heading_unit(book: PriceBook, unit: str) -> str:
    """The unit that a heading of the book would have, where it is not the usual one: ``in`` for ``mm`` in inches and pounds."""
    return MEASURES.get(unit, "") if in_inches(book) else ""


def mass_unit(book: PriceBook) -> str:
    """``lb`` where the setting Measures asks for it, otherwise ``kg``."""
    return "lb" if in_inches(book) else "kg"


def shown_mass(mass: float, unit: str) -> float:
    """A mass [kg] in the unit that is shown, to 15 significant digits.

    >>> shown_mass(45.359237, "lb"), shown_mass(25.0, "kg")
    (100.0, 25.0)
    """
    return fifteen_digits(mass / POUND) if unit == "lb" else mass


def shown_amount(unit: str, amount: float) -> tuple[str, float]:
    """An amount [pack units] by the pound, the US gallon or the foot, with its unit.

    >>> shown_amount("kg", 45.359237), shown_amount("L", 3.785411784), shown_amount("each", 4.0)
    (('lb', 100.0), ('gal (US)', 1.0), ('each', 4.0))
    """
    other = BY_THE_POUND.get(unit)
    given, shown = units.unit_of(unit), units.unit_of(other or unit)
    if other is None or isinstance(given, str) or isinstance(shown, str):
        return unit, amount
    return other, converted(amount, given, shown)
