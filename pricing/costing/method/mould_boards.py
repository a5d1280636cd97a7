"""What the mould of a line is built from: the board of its plan as bought on the line's day, and its share of whole sheets."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping

import numpy as np

from pricing.book.price_book import PriceBook, price_row_on
from pricing.costing.lines.line_pieces import LinePieces
from pricing.costing.lines.order_lines import OrderLines
from pricing.costing.method.costing import Costing
from pricing.costing.nesting.whole_sheets import KERF, Sheet, sheet_share
from pricing.dataclass import dataclass
from pricing.rules.geometry.cut_out import CutOut, core_cuts, millimetres
from pricing.rules.geometry.outline import Outline
from pricing.rules.geometry.shape import Cut, Shape
from pricing.rules.shapes import SHAPES
from pricing.rules.shapes.slab_by_outline import outline_cuts


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


def board_of(book: PriceBook, lines: OrderLines, line: int) -> Board | None:
    """The board that a line's moulds are built of; None where they are not built of board.

    Parameters
    ----------
    line : counted from 0
    """
    plans, materials = book.tables["Moulds"].columns, book.tables["Materials"].columns
    plan = np.flatnonzero(plans["mould_plan"] == lines.plans["mould_plan"][line])
    name = str(plans["board"][plan[0]]) if len(plan) and lines.plans["mould_plan"][line] else ""
    row = price_row_on(book, name, lines.day[line]) if name else None
    if row is None:
        return None
    sheet = None
    if materials["pack_unit"][row] == "sheet":
        sheet = Sheet(float(materials["sheet_length"][row]), float(materials["sheet_width"][row]))
    return Board(name, row, float(materials["sheet_thickness"][row]), sheet)


def shape_of(book: PriceBook, lines: OrderLines, line: int) -> Shape:
    """The shape of a line's piece."""
    return SHAPES[str(book.tables["Products"].columns["shape"][lines.product[line]])]


def take_off_of(costing: Costing, line: int) -> dict[str, float]:
    """Dimensions and take-off of one piece of a line, by name [SI]."""
    rows = costing.model.tables[f"take-off: {shape_of(costing.book, costing.lines, line).name}"]
    row = int(np.flatnonzero(rows.given["line"] == line + 1)[0])
    return {column.name: float(costing.values.value(rows.spec.name, column.name)[row])
            for column in rows.spec.columns if column.name not in rows.text}


def kerf_of(book: PriceBook) -> float:
    """What the saw takes away between two panels [m]."""
    return book.number("saw_kerf") if "saw_kerf" in book.settings else KERF


def cuts_of(costing: Costing, line: int, figure: Callable[[float], str] = millimetres) -> list[Cut]:
    """The cut list of one mould of a line: the boards of its shape or of its outline, and the cores of its cut-outs.

    Parameters
    ----------
    line : counted from 0
    figure : from a length [m] to its text in a note
    """
    pieces = LinePieces(costing.book, costing.lines)
    shape, values = shape_of(costing.book, costing.lines, line), take_off_of(costing, line)
    outline = pieces.outline_of(line) if shape.measured else None
    return _cuts(shape, outline, tuple(pieces.cut_outs_of(line)), values, figure)


def _cuts(
    shape: Shape, outline: Outline | None, cut_outs: tuple[CutOut, ...], values: Mapping[str, float], figure: Callable[[float], str]
) -> list[Cut]:
    cuts = shape.cuts(values, figure) if outline is None else outline_cuts(outline, values, figure)
    depth = values.get("thickness", 0.0)
    return [*cuts, *(core for cut in cut_outs for core in core_cuts(cut, depth, values["board"], figure))]


def share_of_sheets(book: PriceBook, lines: OrderLines, line: int, moulds: int, pieces: LinePieces | None = None) -> float:
    """What each of so many moulds pays of the whole sheets that they are cut from together [m²/mould].

    Parameters
    ----------
    line : counted from 0
    moulds : cut together
    pieces : of the lines, where several are asked about

    The panels' own area where the board is not sold by the sheet; zero where board is charged by what is cut.
    """
    board = board_of(book, lines, line)
    if book.word("board_bought_by") != "sheets" or board is None:
        return 0.0
    shape, pieces = shape_of(book, lines, line), pieces or LinePieces(book, lines)
    dimensions = tuple(float(values) for values in lines.sizes(shape, line).values())
    outline = pieces.outline_of(line) if shape.measured else None
    cut_outs = tuple(pieces.cut_outs_of(line))
    return _share(shape.name, dimensions, board.thickness, board.sheet, moulds, kerf_of(book), outline, cut_outs)


@functools.lru_cache(maxsize=4096)
def _share(
    shape_name: str, dimensions: tuple[float, ...], thickness: float, sheet: Sheet | None, moulds: int, kerf: float,
    outline: Outline | None, cut_outs: tuple[CutOut, ...],
) -> float:
    """The same for lines that are alike, worked out once."""
    shape = SHAPES[shape_name]
    sizes = dict(zip(shape.dimensions, dimensions, strict=True))
    sizes |= {name: outline.figures[name] for name in shape.measured} if outline is not None else {}
    values = shape.take_off(sizes, thickness)
    cuts = _cuts(shape, outline, cut_outs, values, millimetres)
    if sheet is None or not cuts:
        cores = (core for cut in cut_outs for core in core_cuts(cut, values.get("thickness", 0.0), thickness, millimetres))
        return float(values["mould_area"]) + sum(core.area for core in cores)
    return sheet_share(cuts, moulds, sheet, kerf)
