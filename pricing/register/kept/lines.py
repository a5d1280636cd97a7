"""The lines of a quote as the register keeps them, and those that are offered beside it."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Sequence
from typing import Any

import numpy as np

from pricing.book.declared.sheets import SHEETS
from pricing.book.offers import number_instead
from pricing.book.sets import OF_A_PART
from pricing.costing.lines.enquiries import columns_of
from pricing.costing.lines.order_lines import DIMENSIONS
from pricing.dataclass import dataclass
from pricing.register.kept.nonsense import NonsenseError, day_of, number_of, object_of, objects_of, words_of

#: What a line is called to cost that is priced by a measure: one of it, as it was offered.
PRICE_OF_MEASURE = "price_of_measure"

#: The figures of a line, and what is a number of the line as it was asked for.
_FIGURES = ("quantity", "unit_cost", "unit_price", "net")
_NUMBERS = frozenset({PRICE_OF_MEASURE, *DIMENSIONS, *(name for name, blank in OF_A_PART.items() if blank != ""), *(
    column.name for sheet in SHEETS if sheet.name == "Enquiries" for column in sheet.columns if column.is_number)})

#: Without these there is no line.
_NEEDED = ("product", "quantity")


@dataclass(frozen=True)
class SnapshotLine:
    """A line of a quote.

    Parameters
    ----------
    product, quantity : what, and how many [pieces]
    unit_cost, unit_price : of one [currency/piece]
    net : of all [currency]
    asked : the line as an Enquiries sheet would state it, plans and dimensions as they held
    """

    product: str
    quantity: float
    unit_cost: float
    unit_price: float
    net: float
    asked: dict[str, Any]

    @property
    def promised(self) -> dict[str, Any]:
        """What of it the customer is told: how a piece is made is the maker's own business."""
        return {name: value for name, value in self.asked.items() if name not in ("mould_plan", "labour_plan", "unit_price", "margin")}


def line_of(row: Any) -> SnapshotLine:
    """A line from its row in the register.

    Problems raised: NonsenseError where the row holds nonsense.
    """
    what = f"line {row['line']}"
    quantity, cost, price, net = (float(number_of(row[name], f"{name.replace('_', ' ')} in {what}")) for name in _FIGURES)
    return SnapshotLine(words_of(row["product"], f"product in {what}"), quantity, cost, price, net, asked_of(row["asked"], what))


def asked_of(text: Any, what: str) -> dict[str, Any]:
    """A line as an Enquiries sheet would state it, from the text that the register keeps.

    Parameters
    ----------
    what : the line, in words

    Problems raised: NonsenseError where it is none.
    """
    return _checked(object_of(text, what, _NEEDED), what)


def all_asked(texts: Sequence[Any]) -> list[dict[str, Any] | None]:
    """Many lines as an Enquiries sheet would state them; None in place of one that is damaged.

    Parameters
    ----------
    texts : as the register keeps them
    """
    read = objects_of(texts, "line", _NEEDED)
    try:
        values: dict[str, set[Any]] = {}
        for name, _, some in columns_of([each for each in read if not isinstance(each, NonsenseError)]):
            values.setdefault(name, set()).update(some)
        for name, some_values in values.items():
            for value in some_values:
                _check(name, value, "line")
    except (NonsenseError, TypeError):  # a value that is none, or a list of values
        return [_checked_or_none(each) for each in read]
    return [None if isinstance(each, NonsenseError) else each for each in read]


def _checked_or_none(asked: dict[str, Any] | NonsenseError) -> dict[str, Any] | None:
    with contextlib.suppress(NonsenseError):
        return None if isinstance(asked, NonsenseError) else _checked(asked, "line")
    return None


def _checked(asked: dict[str, Any], what: str) -> dict[str, Any]:
    for name, value in asked.items():
        _check(name, value, what)
    return asked


def _check(name: str, value: Any, what: str) -> None:
    check = day_of if name == "wanted_by" else number_of if name in _NUMBERS else words_of
    check(value, f"{name.replace('_', ' ')} in {what}")


@dataclass(frozen=True)
class OfferedLine:
    """A line that is offered beside a quote, or a part of a set that is.

    Parameters
    ----------
    number : in the quote
    offer : as the enquiry says it
    adds : what the net of the quote changes by with it [currency]
    line : itself, as an order of its own
    """

    number: int
    offer: str
    adds: float
    line: SnapshotLine

    @property
    def instead_of(self) -> int:
        """The line that it takes the place of; 0 for an option."""
        return number_instead(self.offer) or 0


def offered_of(row: Any) -> OfferedLine:
    """A line that is offered from its row in the register.

    Problems raised: NonsenseError where the row holds nonsense.
    """
    number = int(number_of(row["line"], "number of an option"))
    offer = words_of(row["offer"], f"offer in line {number}")
    return OfferedLine(number, offer, float(number_of(row["adds"], f"what is added by line {number}")), line_of(row))


def enquiry_of(number: str, customer: str, day: datetime.date, asked: dict[str, Any]) -> dict[str, Any]:
    """A recorded line as a row of an Enquiries sheet of *day*; a date of delivery that is past is left out."""
    row = {**asked, "quote": number, "customer": customer, "date": np.datetime64(day, "D")}
    if wanted := row.pop("wanted_by", ""):
        by = np.datetime64(wanted, "D")
        row |= {"wanted_by": by} if by >= row["date"] else {}
    return row
