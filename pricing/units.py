"""Units: the closed list of spellings that a maker may type, and the one pint registry that the rules are checked with.

Nothing that is not in the list is guessed at. The list is a plain table, so that reading a price book never waits for
pint; the tests hold every entry of it against pint.
"""

from __future__ import annotations

import functools
import unicodedata
from typing import TYPE_CHECKING

from pricing.dataclass import dataclass
from pricing.money import SIGNS

if TYPE_CHECKING:
    import pint

#: A dimension as powers of base dimensions, in alphabetical order: ``(("length", 2),)`` is an area.
Dimension = tuple[tuple[str, int], ...]

PLAIN: Dimension = ()
LENGTH: Dimension = (("length", 1),)
AREA: Dimension = (("length", 2),)
VOLUME: Dimension = (("length", 3),)
MASS: Dimension = (("mass", 1),)
TIME: Dimension = (("time", 1),)
POWER: Dimension = (("length", 2), ("mass", 1), ("time", -3))
ENERGY: Dimension = (("length", 2), ("mass", 1), ("time", -2))
COUNT: Dimension = (("count", 1),)
CURRENCY: Dimension = (("currency", 1),)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit as a maker writes it.

    Parameters
    ----------
    spelling : as a heading shows it
    dimension : powers of base dimensions
    factor : how many SI base units (m, kg, s, their products, count, currency) one of it is
    """

    spelling: str
    dimension: Dimension
    factor: float


#: Spelling shown, other spellings, dimension, factor to the SI base, and the same unit as pint writes it.
#: Factors: metre, kilogram and second of the SI; inch 0.0254 m and avoirdupois pound 0.45359237 kg by definition
#: (international yard and pound agreement of 1959), US gallon 231 cubic inches, imperial gallon 4.54609 L.
TABLE: tuple[tuple[str, str, Dimension, float, str], ...] = (
    ("mm", "millimetre millimetres millimeter millimeters", LENGTH, 0.001, "millimetre"),
    ("cm", "centimetre centimetres centimeter centimeters", LENGTH, 0.01, "centimetre"),
    ("m", "metre metres meter meters", LENGTH, 1.0, "metre"),
    ("in", "inch inches \" ″ ''", LENGTH, 0.0254, "inch"),
    ("ft", "foot feet ' ′", LENGTH, 0.3048, "foot"),
    ("yd", "yard yards", LENGTH, 0.9144, "yard"),
    ("mm2", "mm² sq_mm", AREA, 1e-6, "millimetre**2"),
    ("cm2", "cm² sq_cm", AREA, 1e-4, "centimetre**2"),
    ("m2", "m² sqm sq_m m^2", AREA, 1.0, "metre**2"),
    ("in2", "in² sq_in", AREA, 0.00064516, "inch**2"),
    ("ft2", "ft² sqft sq_ft ft^2", AREA, 0.09290304, "foot**2"),
    ("L", "l litre litres liter liters ltr", VOLUME, 0.001, "litre"),
    ("mL", "ml millilitre millilitres milliliter milliliters", VOLUME, 1e-6, "millilitre"),
    ("cL", "cl centilitre centilitres", VOLUME, 1e-5, "centilitre"),
    ("m3", "m³ cbm cu_m m^3", VOLUME, 1.0, "metre**3"),
    ("cm3", "cm³ cc", VOLUME, 1e-6, "centimetre**3"),
    ("ft3", "ft³ cu_ft ft^3", VOLUME, 0.028316846592, "foot**3"),
    ("in3", "in³ cu_in", VOLUME, 1.6387064e-5, "inch**3"),
    ("yd3", "yd³ cu_yd", VOLUME, 0.764554857984, "yard**3"),
    ("US gal", "gal_(us) us_gallon us_gallons", VOLUME, 0.003785411784, "US_liquid_gallon"),
    ("US qt", "qt_(us) us_quart us_quarts", VOLUME, 0.000946352946, "US_liquid_quart"),
    ("US fl oz", "fl_oz_(us)", VOLUME, 2.95735295625e-5, "US_fluid_ounce"),
    ("imp gal", "gal_(imp) gal_(uk) imperial_gallon imperial_gallons", VOLUME, 0.00454609, "imperial_gallon"),
    ("kg", "kilo kilos kilogram kilograms kgs", MASS, 1.0, "kilogram"),
    ("g", "gram grams", MASS, 0.001, "gram"),
    ("t", "tonne tonnes", MASS, 1000.0, "tonne"),
    ("lb", "lbs pound_mass", MASS, 0.45359237, "pound"),
    ("oz", "ounce ounces", MASS, 0.028349523125, "ounce"),
    ("s", "sec second seconds", TIME, 1.0, "second"),
    ("min", "mins minute minutes", TIME, 60.0, "minute"),
    ("h", "hr hrs hour hours", TIME, 3600.0, "hour"),
    ("day", "days", TIME, 86400.0, "day"),
    ("week", "weeks", TIME, 604800.0, "week"),
    ("W", "watt watts", POWER, 1.0, "watt"),
    ("kW", "kilowatt kilowatts", POWER, 1000.0, "kilowatt"),
    ("hp", "horsepower", POWER, 745.6998715822702, "horsepower"),
    ("kWh", "kw_h kilowatt_hour kilowatt_hours", ENERGY, 3.6e6, "kilowatt*hour"),
    ("each", "ea piece pieces pc pcs sheet sheets off pad pads pair pairs cast casts coat coats",
     COUNT, 1.0, "count"),
    ("%", "percent per_cent pct", PLAIN, 0.01, "percent"),
)

#: What is counted, each a dimension of its own where figures are checked with their units.
COUNTED = ("currency", "piece", "mould", "batch", "count", "order")

#: Words that look like units and mean two things, with what to type instead.
AMBIGUOUS: dict[str, str] = {
    **dict.fromkeys(("ton", "tons"), '"ton" is 1000, 907 or 1016 kg; type t (tonne), kg or lb'),
    **dict.fromkeys(("gal", "gallon", "gallons"), '"gal" is 3.785 L or 4.546 L; type US gal or imp gal'),
    **dict.fromkeys(
        ("fl oz", "pt", "pint", "pints", "qt", "quart", "quarts"), "it differs between countries; type L or mL"
    ),
    "cwt": '"cwt" is 45.36 or 50.8 kg; type kg or lb',
    "pound": 'a "pound" is a mass or money; type lb or £',
    "pounds": '"pounds" are a mass or money; type lb or £',
}

_NAMES: dict[Dimension, tuple[str, str]] = {
    PLAIN: ("a plain number", "12"),
    LENGTH: ("a length", "25 mm"),
    AREA: ("an area", "0.5 m2"),
    VOLUME: ("a volume", "20 L"),
    MASS: ("a mass", "25 kg"),
    TIME: ("a time", "30 min"),
    POWER: ("a power", "1.5 kW"),
    ENERGY: ("an energy", "2 kWh"),
    COUNT: ("a count", "4"),
    CURRENCY: ("an amount of money", "12.50"),
    (("length", -3), ("mass", 1)): ("a density", "2400 kg/m3"),
    (("length", -1),): ("a coverage", "8 m2/L"),
    (("currency", 1), ("time", -1)): ("a cost per time", "21.50"),
    (("currency", 1), ("length", -2), ("mass", -1), ("time", 2)): ("a price of energy", "0.28"),
}


def _squeezed(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).replace("\u2033", '"').replace("\u2032", "'").split())


@functools.cache
def _spellings() -> tuple[dict[str, Unit], dict[str, Unit]]:
    """Every spelling as written, and every one in small letters that means one unit only."""
    exact: dict[str, Unit] = {}
    for shown, others, dimension, factor, _ in TABLE:
        unit = Unit(shown, dimension, factor)
        for spelling in (shown, *others.replace("_", "\n").replace(" ", "\t").replace("\n", " ").split("\t")):
            exact[_squeezed(spelling)] = unit
    folded: dict[str, set[Unit]] = {}
    for spelling, unit in exact.items():
        folded.setdefault(spelling.casefold(), set()).add(unit)
    return exact, {spelling: next(iter(units)) for spelling, units in folded.items() if len(units) == 1}


def _combined(one: Dimension, other: Dimension, sign: int) -> Dimension:
    powers = dict(one)
    for base, power in other:
        powers[base] = powers.get(base, 0) + sign * power
    return tuple(sorted((base, power) for base, power in powers.items() if power))


def unit_of(text: str, currency: str = "") -> Unit | str:
    """The unit that a text names, or the reason why it names none.

    Parameters
    ----------
    text : ``mm``, ``m2/L``, ``lb/ft3``, ``£/kWh``; ``per`` may stand for the stroke
    currency : ISO 4217 code of the price book's money, whose code and sign may be typed

    Returns
    -------
    Unit, or a sentence that says what is wrong and what to type

    >>> unit_of("m2/L").factor, unit_of("KG").spelling
    (1000.0, 'kg')
    >>> unit_of("ton")
    '"ton" is 1000, 907 or 1016 kg; type t (tonne), kg or lb'
    """
    wanted = _squeezed(text)
    found = _simple(wanted, currency)
    if not isinstance(found, str):
        return found
    parts = wanted.replace(" per ", "/").split("/")
    if len(parts) == 2 and all(part.strip() for part in parts):
        above, below = (_simple(part.strip(), currency) for part in parts)
        if isinstance(above, str):
            return above
        if isinstance(below, str):
            return below
        dimension = _combined(above.dimension, below.dimension, -1)
        return Unit(f"{above.spelling}/{below.spelling}", dimension, above.factor / below.factor)
    return found


def _simple(wanted: str, currency: str) -> Unit | str:
    exact, folded = _spellings()
    unit = exact.get(wanted) or folded.get(wanted.casefold()) or exact.get(wanted.rstrip("."))
    if unit is not None:
        return unit
    if currency and (wanted.upper() == currency or wanted == SIGNS.get(currency)):
        return Unit(currency, CURRENCY, 1.0)
    if wanted == "currency":
        return Unit("currency", CURRENCY, 1.0)
    if wanted.casefold() in AMBIGUOUS:
        return AMBIGUOUS[wanted.casefold()]
    if is_money(wanted):
        other = f", and this book is in {currency}" if currency else ""
        return f'"{wanted}" is a currency{other}'
    return f'"{wanted}" is not a unit that is known here'


def is_money(text: str) -> bool:
    """True where a text is the sign or the ISO 4217 code of a currency that is commonly typed.

    >>> is_money("€"), is_money("USD"), is_money("kg")
    (True, True, False)
    """
    return text in SIGNS or text in SIGNS.values() or (len(text) == 1 and unicodedata.category(text) == "Sc")


def dimension_name(dimension: Dimension) -> str:
    """What a dimension is called: ``a mass``; the bare powers where it has no name.

    >>> dimension_name(MASS), dimension_name((("count", -1), ("length", 2)))
    ('a mass', 'an area per count')
    """
    if dimension in _NAMES:
        return _NAMES[dimension][0]
    above = tuple((base, power) for base, power in dimension if power > 0)
    below = tuple((base, -power) for base, power in dimension if power < 0)
    if above in _NAMES and below in _NAMES:
        return f"{_NAMES[above][0]} per {_NAMES[below][0].split(' ', 1)[1]}"
    return "a quantity in " + " ".join(f"{base}^{power}" if power != 1 else base for base, power in dimension)


def example_of(dimension: Dimension) -> str:
    """A figure of this dimension as a maker may type it.

    >>> example_of(LENGTH)
    '25 mm'
    """
    return _NAMES[dimension][1] if dimension in _NAMES else "a figure with its unit"


@functools.cache
def registry() -> pint.UnitRegistry[float]:
    """The one pint registry: pieces, moulds, batches, counts, orders and money are dimensions of their own.

    So that a price per piece cannot be added to a price (as plain numbers it could). Imports pint when first asked.

    >>> str(registry()("12 currency/piece * 3 piece").units)
    'currency'
    """
    from importlib.resources import files

    import pint

    # pint keeps the dimension of each unit as soon as its own list is complete, in which a count is a plain number;
    # so its list is read into an empty registry, and ours before anything is kept.
    found: pint.UnitRegistry[float] = pint.UnitRegistry(None, on_redefinition="ignore")
    found.load_definitions(str(files("pint") / "default_en.txt"))
    for base in COUNTED:
        found.define(f"{base} = [{base}]")
    found.default_system = "mks"
    return found
