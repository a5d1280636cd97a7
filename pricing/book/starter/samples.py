"""What a new price book starts with: a few rows of an invented workshop, for the shapes, measures and options that are wanted."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path

from pricing.book.declared.dimensions import DIMENSION_COLUMNS
from pricing.book.declared.options import OF_SHAPES
from pricing.book.shown_units import MEASURES
from pricing.book.starter.currencies import in_currency
from pricing.book.starter.data import BookData, Row, dated, smaller
from pricing.book.starter.demo import DEMO
from pricing.book.starter.demo_imperial import DEMO_IMPERIAL
from pricing.book.starter.write import write_book
from pricing.dataclass import dataclass

#: Pieces to begin with where nobody asks for other shapes, and those that stand for their shape.
USUAL = ("Shelf 900", "Hearth 1000", "Worktop 1800")
USUAL_IN_INCHES = ("Shelf 36", "Hearth 48")

#: Stands under the titles of a new book.
EXAMPLES = "Every price in this book is an invented example, to be written over."

#: A dimension of the metric example in the units of the other: by what it is multiplied, and to what it is rounded.
_OTHER = {"mm": (1 / 25.4, 0.5), "m": (1 / 0.3048, 0.25), "m2": (1 / 0.3048**2, 0.1), "L": (1 / 3.785411784, 0.1)}

#: How a dimension of the example is counted, by its heading.
_SHOWN = {column.heading: column.shown for column in DIMENSION_COLUMNS if column.shown in _OTHER}
_OUTLINE = dict.fromkeys(("X", "Y", "Radius"), "mm")
#: What the tax on sales is usually called, by language; from memory.
_TAX_NAMES = {"de": "MwSt.", "fr": "TVA", "es": "IVA", "nl": "btw", "en-US": "Sales tax"}
_PLANS = ("Mix", "Mould plan", "Labour plan", "Finish")


@dataclass(frozen=True)
class Choice:
    """What a new price book is to be like.

    Parameters
    ----------
    currency : ISO 4217 code; that of the example where empty
    inches : True for inches, pounds and US gallons
    shapes : what is cast; the usual ones where empty
    options : what it has besides
    language : BCP 47 tag of the language in which customers are written to; by the currency where empty
    """

    currency: str = ""
    inches: bool = False
    shapes: tuple[str, ...] = ()
    options: frozenset[str] = frozenset()
    language: str = ""

    @property
    def all_options(self) -> frozenset[str]:
        """The options, with those that the shapes need."""
        return self.options | {OF_SHAPES[shape] for shape in self.shapes if shape in OF_SHAPES}

    @property
    def measures(self) -> dict[str, str]:
        """Units that stand in the headings instead of the usual ones."""
        return dict(MEASURES) if self.inches else {}


def write_starter(path: Path, choice: Choice | None = None) -> None:
    """Write a price book to begin with, its enquiries of today.

    Parameters
    ----------
    path : of the new file
    choice : what it is to be like; the usual shapes in millimetres where None

    Raises
    ------
    FileExistsError : where there is a file of this name already
    """
    choice = choice or Choice()
    data = sample(choice, datetime.date.today())
    write_book(path, data, measures=choice.measures, chosen=choice.all_options, shapes=choice.shapes, remark=EXAMPLES)


def sample(choice: Choice, day: datetime.date) -> BookData:
    """The rows of a new price book: products of the shapes with everything that they name, and one quote of today.

    Parameters
    ----------
    day : of the quote
    """
    data = {**DEMO_IMPERIAL, "Outlines": [_other_units(row, _OUTLINE) for row in DEMO["Outlines"]]} if choice.inches else DEMO
    products = _products(data, choice)
    settings: Row = {
        "Business name": "Example Castworks", "Address": "1 Example Lane\nAnytown", "Contact": "hello@castworks.example", "Tax number": "",
        "Page size": "", "One-person lift": 35.0 if choice.inches else 16.0,
    }
    if choice.currency:
        settings["Currency"] = choice.currency
    if choice.language:
        settings["Language"] = choice.language
        settings |= {"Tax name": _TAX_NAMES[choice.language]} if choice.language in _TAX_NAMES else {}
    customer = data["Customers"][0]["Customer"]
    lines: list[Row] = [
        {"Quote": "Q-1001", "Date": day, "Customer": customer, "Product": row["Product"], "Quantity": quantity}
        for row, quantity in zip(products, (3, 1), strict=False)
    ]
    made = dated(smaller(data, settings, products, lines, choice.all_options), day)
    return in_currency(made, choice.currency)


def _products(data: BookData, choice: Choice) -> list[Row]:
    """The first product of each shape, the usual ones before others; of a shape that only the metric example has in inches."""
    usual = USUAL_IN_INCHES if choice.inches else USUAL
    rows = sorted(data["Products"], key=lambda row: row["Product"] not in usual)
    if not choice.shapes:
        return [row for row in rows if row["Product"] in usual]
    return [_first(rows, shape) or _in_inches(_first(_metric(), shape) or {}, data["Products"][0]) for shape in choice.shapes]


def _metric() -> list[Row]:
    return sorted(DEMO["Products"], key=lambda row: row["Product"] not in USUAL)


def _first(rows: Sequence[Row], shape: str) -> Row | None:
    return next((row for row in rows if row["Shape"] == shape), None)


def _in_inches(row: Row, like: Row) -> Row:
    """A product of the metric example in inches, made as another one is made."""
    kept = {heading: value for heading, value in _other_units(row, _SHOWN).items() if heading not in ("List price", "Use")}
    return {**kept, **{plan: like[plan] for plan in _PLANS}, "Product": str(row["Shape"]).capitalize()}


def _other_units(row: Row, shown: Mapping[str, str]) -> Row:
    """A row of the metric example with its measures in the units of the other; what is there stays more than nothing."""
    changed: Row = {}
    for heading, value in row.items():
        if heading in shown and isinstance(value, int | float) and value:
            factor, step = _OTHER[shown[heading]]
            changed[heading] = round(max(step, round(value * factor / step) * step), 2)
    return {**row, **changed}
