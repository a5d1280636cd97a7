"""Data frames that come in: each takes the place of a sheet, and is read and checked as that sheet would be."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from numbers import Real
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import read_price_book
from pricing.problems import Problem, Problems
from pricing.quantities import as_typed, is_quantity
from pricing.xlsx.addresses import column_letters
from pricing.xlsx.cells import BOOL, DATE, NUMBER, TEXT, Value
from pricing.xlsx.reading.cell_table import CellTable, Sheet

if TYPE_CHECKING:
    import pandas

_CELL = re.compile(r"([A-Z]+)(\d+)")


def sheet_of_frame(name: str, frame: pandas.DataFrame) -> Sheet:
    """A data frame as a sheet: its headings in row 0, its rows counted from 1; what is missing is blank.

    Parameters
    ----------
    name : of the sheet
    """
    table = CellTable()
    table.open_row(0)
    for place, heading in enumerate(_headings(frame), 1):
        table.append(place, 0, TEXT, heading)
    missing = frame.isna().to_numpy()
    columns = [frame.iloc[:, place].tolist() for place in range(frame.shape[1])]
    for row, values in enumerate(zip(*columns, strict=True)):
        table.open_row(row + 1)
        for place, value in enumerate(values):
            if not missing[row, place]:
                table.append(place + 1, 0, *_typed(value))
    table.close()
    return Sheet(name, cells=table)


def _headings(frame: pandas.DataFrame) -> list[str]:
    return [str(each) for each in frame.columns]


def _typed(value: Any) -> tuple[int, Value]:
    """What a value is in a cell, and how it stands there."""
    if isinstance(value, bool | np.bool_):
        return BOOL, bool(value)
    if isinstance(value, datetime.datetime):
        return DATE, value.replace(tzinfo=None)
    if isinstance(value, datetime.date):
        return DATE, datetime.datetime.combine(value, datetime.time())
    if is_quantity(value):
        return TEXT, as_typed(value)
    try:
        return (NUMBER, float(value)) if isinstance(value, Real) else (TEXT, str(value))
    except OverflowError:
        return TEXT, str(value)


def place_in_frame(headings: Sequence[str], cell: str) -> str:
    """A cell of such a sheet as it is looked for in the frame.

    >>> place_in_frame(["Product", "Length (mm)"], "B3"), place_in_frame(["Product"], "A0")
    ('Length (mm), row 3', 'the heading Product')
    """
    found = _CELL.fullmatch(cell)
    letters = {column_letters(place): heading for place, heading in enumerate(headings, 1)}
    if found is None or found[1] not in letters:
        return cell
    return f"{letters[found[1]]}, row {found[2]}" if int(found[2]) else f"the heading {letters[found[1]]}"


def read_with_frames(path: Path, frames: Mapping[str, pandas.DataFrame]) -> tuple[PriceBook | None, Problems]:
    """Read and check a price book some of whose sheets are frames.

    Parameters
    ----------
    path : of the workbook
    frames : by the name of the sheet whose place each takes
    """
    headings = {name: _headings(frame) for name, frame in frames.items()}
    book, found = read_price_book(path, instead=[sheet_of_frame(name, frame) for name, frame in frames.items()])
    problems = Problems(found.file)
    problems.take(in_frames(found, headings))
    for name in frames:
        letters = book.tables[name].letters if book is not None else {}
        for column, letter in letters.items():
            letters[column] = place_in_frame(headings[name], f"{letter}1").removesuffix("1")
    return book, problems


def in_frames(problems: Problems, headings: Mapping[str, Sequence[str]]) -> list[Problem]:
    """Problems whose cells are named as they are looked for in a frame.

    Parameters
    ----------
    headings : of the frames, by the name of the sheet that each stands for
    """
    return [
        Problem(each.code, each.message, each.file, each.sheet, place_in_frame(headings[each.sheet], each.cell), each.warning)
        if each.sheet in headings else each for each in problems
    ]
