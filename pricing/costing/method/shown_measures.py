"""In which measures the pages for the maker show the model: as the rules have it, or in inches, feet, yards, pounds and gallons.

A rule holds in any measures that belong together, so that a live formula in inches is the rule itself with the whole numbers between
inch, foot and yard. What a row is counted in (a pack, a basis, what work is counted by) is shown with the figure that belongs to it.
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from pricing import units
from pricing.book.price_book import PriceBook
from pricing.book.shown_units import in_inches
from pricing.book.typed.conversion import fifteen_digits, scaled
from pricing.costing.engine.columns import Column, Input, Text
from pricing.costing.engine.model import Rows
from pricing.costing.method.piece_declared import ALL_DRIVERS
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY, Quantity
from pricing.languages.spelling import in_american
from pricing.languages.tags import AMERICAN, usual_language
from pricing.rules.geometry.shape import TAKE_OFF

#: Of a foot, and of each length that is shown, the number of inches.
INCHES = {"in": 1, "ft": 12, "yd": 36}

#: Instead of a kilogram, and of a litre.
_OTHER = {"kilogram": "lb", "litre": "US gal"}

#: Each unit of length, mass and volume of the glossary, in the spelling of the table of units.
_BASE = {"metre": "m", "kilogram": "kg", "litre": "L"}

#: Densities of materials are told by the cubic foot, what is in a mix by the cubic yard.
_BY_FOOT = frozenset({"density", "bulk_density", "sold_density", "fresh_density"})

_RAISED = str.maketrans({"2": "²", "3": "³"})

#: Words in which a maker counts, as they are shown, with the factor of a figure counted by the one to that counted by the other.
_COUNTED = {"kg": "lb", "L": "US gal", "m": "ft", "m2": "ft2", "m3": "ft3"}
_SPELT = {"US gal": "gal (US)", "US fl oz": "fl oz"}

#: Bases of recipes that name a unit: how they are shown, and the units of their amount and of what it is multiplied by.
_BASES = {
    "kg/m3": ("lb/yd3", ("kg", "lb"), ("m3", "yd3")), "L/m3": ("gal/yd3", ("L", "US gal"), ("m3", "yd3")),
    "mL/kg binder": ("fl oz/lb binder", ("mL", "US fl oz"), ("kg", "lb")),
}
_AMOUNTS, _MULTIPLIED = frozenset({"plain_amount", "bulk_amount", "volume_of_amount"}), frozenset({"by_cubic_metre", "by_binder", "driver"})
_DRIVEN = frozenset({"driven_mass", "driven_volume"})
_OF_RECIPES = _AMOUNTS | _MULTIPLIED | _DRIVEN | {"amount"}

#: Columns whose unit a word of their row says, and the powers of it: of what work is counted by, and of the pack unit.
_ROWS: dict[str, tuple[int, int]] = {
    "minutes": (-1, 0), "minutes_low": (-1, 0), "minutes_high": (-1, 0), "count": (1, 0), "covers": (1, -1), "finish_amount": (0, 1),
    "counted_each": (1, 0), "measure_size": (1, 0),
    "extra_amount": (-1, 1), "extra_used": (0, 1), "pack_size": (0, 1), "unit_price_of_material": (0, -1), "unit_mass": (0, -1),
    **dict.fromkeys(("standard_quantity_allowed", "actual_quantity_bought", "actual_quantity_used"), (0, 1)),
    **dict.fromkeys(("actual_material_price", "standard_material_price"), (0, -1)),
    **dict.fromkeys(("kilograms_per_pack_unit", "litres_per_pack_unit", "square_metres_per_pack_unit", "pack_unit_mass", "pack_unit_area",
                     "pack_unit_volume"), (0, -1)),
}
_WORDS = ("per", "surface", "price_per", "basis", "measure", "pack_unit", "material")

#: Figures of a standard, which is counted in whatever its row says.
_STANDARDS = frozenset({"standard_today", "observed_mean", "proposed_standard", "standard_low", "standard_high", "standard_movement"})

#: American words for what the glossary says, the longest first.
_SAID: tuple[tuple[str, str], ...] = (
    (r"0\.001 for litres, 0\.000001 for millilitres, 1 for a share of the volume, otherwise 0\.", "Of one gallon, or one fluid ounce."),
    (r"cubic metres", "cubic {volume}s"), (r"cubic metre", "cubic {volume}"), (r"square metres", "square feet"),
    (r"square metre", "square foot"), (r"millilitres", "fluid ounces"), (r"kilograms", "pounds"), (r"kilogram", "pound"),
    (r"litres", "gallons"), (r"litre", "gallon"), (r"metres", "feet"), (r"metre", "foot"), (r"m³", "{short}"), (r"m²", "ft²"),
    (r"\bkg/m³", "lb/{short}"), (r"\bkg\b", "lb"), (r"\bper L\b", "per gal"), (r"\bper m\b", "per ft"), (r"\bin L\b", "in gal"),
    (r"\bm2\b", "ft2"), (r"\bm3\b", "ft3"),
)


@functools.cache
def between(one: str, other: str) -> float:
    """How many of another unit one of a unit is."""
    first, second = units.unit_of(one), units.unit_of(other)
    assert isinstance(first, units.Unit)
    assert isinstance(second, units.Unit)
    return float(scaled(1.0, first.factor, second.factor))


@functools.cache
def powers(unit: str) -> Mapping[str, int]:
    """The powers of length, mass and volume in a unit of the glossary.

    >>> powers("currency/metre**3"), powers("kilogram/metre**3"), powers("metre**2/litre")
    ({'metre': -3}, {'kilogram': 1, 'metre': -3}, {'metre': 2, 'litre': -1})
    """
    found: dict[str, int] = {}
    for sign, part in zip((1, -1), unit.partition("/")[::2], strict=True):
        for base, power in re.findall(r"(metre|kilogram|litre)(?:\*\*(-?\d+))?", part):
            found[base] = found.get(base, 0) + sign * int(power or 1)
    return found


@functools.cache
def length_shown(name: str) -> str:
    """The length in which a quantity is told: inches of sizes, feet of what is counted by length, yards of what a mix holds."""
    quantity = GLOSSARY[name]
    power = powers(quantity.unit).get("metre", 0)
    if power == -3 and name not in _BY_FOOT:
        return "yd"
    sized = quantity.unit in ("metre", "metre/count") and name not in TAKE_OFF
    return "in" if sized else "ft"


@functools.cache
def _american(name: str) -> Quantity:
    """A quantity as an American workshop reads it."""
    known = GLOSSARY[name]
    length = length_shown(name)
    shown = known.shown
    if shown in ("kg/m³", "kg per m³"):
        shown = f"lb/{length}³"
    else:
        shown = re.sub(r"m([²³])", lambda found: f"{length if known.unit != 'dimensionless' else 'yd'}{found[1]}", shown)
        shown = re.sub(r"\bm$", length, shown)
        shown = re.sub(r"\bkg\b", "lb", re.sub(r"\bL\b", "gal", shown))
    if known.unit == "litre/metre":
        shown = "gal per ft"
    if shown == "flag" and powers(known.unit) and name not in _AMOUNTS | _MULTIPLIED:
        shown = "lb" if "kilogram" in powers(known.unit) else "ft³"
    factor = _factor(name)
    decimals = known.decimals
    if factor != 1 and not shown.startswith("money"):
        decimals = max(0, known.decimals - math.floor(math.log10(factor)))
    if shown == "in":
        decimals = max(decimals, 3)
    per_foot = length == "ft" and known.unit != "dimensionless"
    return replace(known, shown=in_american(shown), decimals=decimals, label=said_in_american(known.label, per_foot=per_foot),
                   meaning=said_in_american(known.meaning, per_foot=per_foot))


@functools.cache
def _spelled(name: str) -> Quantity:
    """A quantity as it is spelled in America, in the measures of the glossary."""
    known = GLOSSARY[name]
    return replace(known, shown=in_american(known.shown), label=in_american(known.label), meaning=in_american(known.meaning))


@functools.cache
def _factor(name: str) -> float:
    """How many of its unit shown one of its unit in the glossary is."""
    made = 1.0
    for base, power in powers(GLOSSARY[name].unit).items():
        made *= between(_BASE[base], length_shown(name) if base == "metre" else _OTHER[base]) ** power
    return made


def said_in_american(text: str, *, per_foot: bool = False) -> str:
    """A sentence of ours as an American workshop says it.

    Parameters
    ----------
    per_foot : what is told by the cubic foot; otherwise by the cubic yard

    >>> said_in_american("What a cubic metre of the mix costs."), said_in_american("Price of a m³")
    ('What a cubic yard of the mix costs.', 'Price of a yd³')
    """
    volume = {"volume": "foot" if per_foot else "yard", "short": "ft³" if per_foot else "yd³"}
    for pattern, word in _SAID:
        text = re.sub(pattern, word.format(**volume), text)
    return in_american(text.replace("cubic foots", "cubic feet"))


@dataclass(frozen=True)
class ShownMeasures:
    """The measures of a workshop.

    Parameters
    ----------
    american : inches, pounds and gallons; otherwise as the glossary has it
    packs : the pack unit of each material, where the measures ask for it
    spelled : our words as they are spelled in America, in whatever measures
    """

    american: bool = False
    packs: Mapping[str, str] | None = None
    spelled: bool = False

    @classmethod
    def of(cls, book: PriceBook, tables: Mapping[str, Rows] | None = None) -> ShownMeasures:
        """Those of a price book, for the tables of a model."""
        if not in_inches(book):
            return cls(spelled=True) if usual_language(book.word("currency")) == AMERICAN else METRIC
        materials = book.tables["Materials"].columns
        packs: dict[str, str] = dict(zip(materials["material"].tolist(), materials["pack_unit"].tolist(), strict=True))
        for rows in (tables or {}).values():
            if rows.spec.group == "prices":
                packs.update(zip(rows.text["material"].tolist(), rows.text["pack_unit"].tolist(), strict=True))
        return cls(True, packs)

    def quantity(self, name: str) -> Quantity:
        """A quantity as it is shown."""
        return _american(name) if self.american else _spelled(name) if self.spelled else GLOSSARY[name]

    def factor(self, name: str) -> float:
        """How many of its unit shown one of its unit in the glossary is, whatever its row says."""
        return _factor(name) if self.american else 1.0

    def said(self, text: str) -> str:
        """A sentence of ours in the words of these measures."""
        return said_in_american(text) if self.american else in_american(text) if self.spelled else text

    def word(self, column: str, text: str) -> str:
        """A word of the model that names a unit, as it is shown.

        >>> ShownMeasures(True).word("per", "m2 face"), ShownMeasures(True).word("basis", "kg/m3"), METRIC.word("per", "kg")
        ('ft2 face', 'lb/yd3', 'kg')
        """
        if not self.american or not self.says(column):
            return text
        if column == "measure":
            return " per ".join(self.unit(part) for part in text.split(" per "))
        if column == "basis":
            return _BASES[text][0] if text in _BASES else text
        return self.unit(text)

    def says(self, column: str) -> bool:
        """Whether the words of a column are told in these measures."""
        return column in _WORDS and column != "material"

    def of_word(self, text: str) -> float:
        """How many of a word's unit as it is shown one of it is: 10.76 for ``m2 underside``."""
        return _of_word(text.partition(" ")[0]) if self.american else 1.0

    def of_measure(self, text: str) -> float:
        """The same of what is counted by something: of ``minutes per m2 face``, or ``m2 face per L``."""
        above, _, below = text.partition(" per ")
        return self.of_word(above) / self.of_word(below)

    def unit(self, text: str) -> str:
        """A unit, or what is counted by one, as it is shown: ``ft2 face`` for ``m2 face``."""
        first, _, rest = text.partition(" ")
        if not self.american or first not in _COUNTED:
            return text
        other = _COUNTED[first]
        return " ".join((_SPELT.get(other, other), rest)).strip()

    def figures(self, rows: Rows, column: Column | str, values: Any) -> Any:
        """The figures of a column of a table, as they are shown; shape (rows,)."""
        name = column if isinstance(column, str) else column.name
        if not self.american or isinstance(column, Text):
            return values
        shown = np.asarray(values, dtype=np.float64) * self.factors(rows, name)
        return np.array([fifteen_digits(value) for value in shown.tolist()]) if isinstance(column, Input) else shown

    def figure(self, rows: Rows, column: Column | str, value: float, row: int) -> float:
        """One of them."""
        if not self.american or isinstance(column, Text):
            return value
        name = column if isinstance(column, str) else column.name
        shown = value * self._row_factor(rows, name, row) * _factor(name)
        return fifteen_digits(shown) if isinstance(column, Input) else shown

    def factors(self, rows: Rows, name: str) -> Any:
        """How many of its unit shown one of its unit in the model is, for each row; or for all of them."""
        if not self.american:
            return 1.0
        if name not in _ROWS.keys() | _STANDARDS | (_OF_RECIPES if rows.spec.name == "ingredients" else frozenset()):
            return _factor(name)
        return _factor(name) * np.array([self._row_factor(rows, name, row) for row in range(rows.count)])

    def _row_factor(self, rows: Rows, name: str, row: int) -> float:
        return self.counted(name, unit_words(rows, row))

    def counted(self, name: str, words: Mapping[str, str]) -> float:
        """How many of its unit shown one of its unit in the model is, by the words of its row alone.

        Parameters
        ----------
        words : as :func:`unit_words` finds them

        >>> round(ShownMeasures(True).counted("minutes", {"per": "m2 face"}), 6), METRIC.counted("minutes", {"per": "m2 face"})
        (0.092903, 1.0)
        """
        if not self.american:
            return 1.0
        if "basis" in words:
            return _of_basis(words["basis"], name)
        if name in _STANDARDS:
            return self.of_measure(words.get("measure", ""))
        counted, packed = _ROWS.get(name, (0, 0))
        per = words.get("per", words.get("surface", words.get("price_per", ""))).partition(" ")[0]
        pack = words.get("pack_unit") or (self.packs or {}).get(words.get("material", ""), "")
        return _of_word(per) ** counted * _of_word(pack) ** packed


def unit_words(rows: Rows, row: int) -> dict[str, str]:
    """The words of a row that say in what its figures are counted, by their columns."""
    return {name: str(rows.text[name][row]) for name in _WORDS if name in rows.text}


#: As the glossary has it.
METRIC = ShownMeasures()


@functools.cache
def _of_word(unit: str) -> float:
    return between(unit, _COUNTED[unit]) if unit in _COUNTED else 1.0


@functools.cache
def _of_basis(basis: str, name: str) -> float:
    if basis not in _BASES:
        return 1.0
    _, amount, multiplied = _BASES[basis]
    more, less = between(*amount), between(*multiplied)
    if name == "amount":
        return more / less
    return 1 / more if name in _AMOUNTS else 1 / less if name in _DRIVEN else less if name in _MULTIPLIED else 1.0


assert all(word.partition(" ")[0] in _COUNTED or " " not in word for word, _ in ALL_DRIVERS)
