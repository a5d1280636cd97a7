"""Which set each line is a part of, and what was typed for the set."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import PriceBook
from pricing.costing.engine.packed_columns import Codes, Floats, Texts
from pricing.dataclass import dataclass


@dataclass
class LineSets:
    """Sets of lines as columns, each of shape (lines,).

    Parameters
    ----------
    number : of the set, the same for all its parts; -1 where a line is no part of one
    name : of the set; empty where there is none
    pieces : in one set [pieces]; nan where there is none
    count : of sets that are asked for [pieces]; nan where there is none
    price : typed for one set [currency]; nan where there is none
    """

    number: NDArray[np.intp]
    name: Texts
    pieces: Floats
    count: Floats
    price: Floats

    def taken(self, at: NDArray[np.intp]) -> LineSets:
        """Those of some of the lines, counted from 0."""
        return LineSets(*(getattr(self, each.name)[at] for each in fields(self)))

    @property
    def has_price(self) -> NDArray[np.bool_]:
        """The lines whose price is a part of one that was typed for their set."""
        return ~np.isnan(self.price)

    def groups(self) -> dict[int, list[int]]:
        """The lines of each set, in the order of their first lines."""
        found: dict[int, list[int]] = {}
        for line, number in enumerate(self.number.tolist()):
            if number >= 0:
                found.setdefault(number, []).append(line)
        return found


def sets_of_lines(book: PriceBook, enquiry: NDArray[np.intp], order: Codes) -> LineSets | None:
    """The sets of some lines; None where no line is a part of one.

    Parameters
    ----------
    enquiry : row of the Enquiries table of each line, counted from 0; -1 where there is none
    order : number of the quote of each line
    """
    columns = book.tables["Enquiries"].columns
    asked, at = enquiry >= 0, np.maximum(enquiry, 0)
    if "set" not in columns or not asked.any():
        return None
    name = np.where(asked, columns["set"][at], "").astype(object)
    if not (name != "").any():
        return None
    numbers: dict[tuple[int, float], int] = {}
    keys = zip(name.tolist(), order.tolist(), columns["set_line"][at].tolist(), strict=True)
    number = [numbers.setdefault((quote, line), len(numbers)) if part else -1 for part, quote, line in keys]
    figures = (np.where(asked, columns[each][at], np.nan) for each in ("pieces_of_set", "sets", "set_price"))
    return LineSets(np.array(number, dtype=np.intp), name, *figures)
