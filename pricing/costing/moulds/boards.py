"""What the mould of a line is built from: the board of its plan as bought on the line's day, and its take-off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from pricing.book.reading.read import price_row_on
from pricing.costing.nesting.whole_sheets import KERF, Sheet, sheet_share
from pricing.rules.shapes import SHAPES
from pricing.rules.shapes.shape import Shape

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing


@dataclass(frozen=True, slots=True)
class Board:
    """A board as it is bought.

    Parameters
    ----------
    material : its name in the Materials sheet
    row : the row of the Materials sheet in force, counted from 0
    thickness : [m]
    sheet : length and width of a whole sheet [m]; None where it is sold by the square metre
    """

    material: str
    row: int
    thickness: float
    sheet: Sheet | None


def board_of(costing: Costing, line: int) -> Board | None:
    """The board that a line's moulds are built of; None where they are not built of board.

    Parameters
    ----------
    line : counted from 0
    """
    plans, materials = costing.book.tables["Moulds"].columns, costing.book.tables["Materials"].columns
    plan = np.flatnonzero(plans["mould_plan"] == costing.lines.plans["mould_plan"][line])
    name = str(plans["board"][plan[0]]) if len(plan) and costing.lines.plans["mould_plan"][line] else ""
    row = price_row_on(costing.book, name, costing.lines.day[line]) if name else None
    if row is None:
        return None
    sheet = None
    if materials["pack_unit"][row] == "sheet":
        sheet = Sheet(float(materials["sheet_length"][row]), float(materials["sheet_width"][row]))
    return Board(name, row, float(materials["sheet_thickness"][row]), sheet)


def shape_of(costing: Costing, line: int) -> Shape:
    """The shape of a line's piece."""
    return SHAPES[str(costing.book.tables["Products"].columns["shape"][costing.lines.product[line]])]


def take_off_of(costing: Costing, line: int) -> dict[str, float]:
    """Dimensions and take-off of one piece of a line, by name [SI]."""
    rows = costing.model.tables[f"take-off: {shape_of(costing, line).name}"]
    row = int(np.flatnonzero(rows.given["line"] == line + 1)[0])
    return {column.name: float(costing.values.value(rows.spec.name, column.name)[row])
            for column in rows.spec.columns if column.name not in rows.text}


def kerf_of(costing: Costing) -> float:
    """What the saw takes away between two panels [m]."""
    kerf = costing.book.settings.get("saw_kerf", KERF)
    return float(kerf) if isinstance(kerf, float | int) and kerf > 0 else KERF


def share_of_sheets(costing: Costing, line: int, moulds: int) -> float:
    """What each of so many moulds pays of the whole sheets that they are cut from together [m²/mould].

    Parameters
    ----------
    line : counted from 0
    moulds : cut together

    The panels' own area where the board is not sold by the sheet; zero where board is charged by what is cut.
    """
    board = board_of(costing, line)
    if costing.book.settings.get("board_bought_by") != "sheets" or board is None:
        return 0.0
    values, shape = take_off_of(costing, line), shape_of(costing, line)
    if board.sheet is None or not shape.panels:
        return values["mould_area"]
    return sheet_share(shape, values, moulds, board.sheet, kerf_of(costing))
