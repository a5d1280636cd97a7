"""The cut list of a quote: every panel of every mould, and how the panels of each board nest on whole sheets."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil

from pricing.costing.method.costing import Costing
from pricing.costing.method.mould_boards import Board, board_of, cuts_of, kerf_of, shape_of
from pricing.costing.nesting.nest import Nest, NestingError, Panel, nest
from pricing.dataclass import dataclass
from pricing.rules.geometry.cut_out import millimetres

#: Effort that the exact search may spend on the panels of one board [s]. Of 246 drawn sets of panels of a small workshop, through
#: cuts were proven best at once for 234; the search closed 3 of the others within 0.02 s, and none of the 9 left within 3 s.
SECONDS = 1.0


@dataclass(frozen=True, slots=True)
class CutRow:
    """A panel of the moulds of a line.

    Parameters
    ----------
    mark : by which the drawings of the sheets name it
    line : counted from 0
    product : of the line
    panel : ``base``, ``lip side``
    length, width : of the rectangle to cut [m]
    per_mould : how many of it a mould has
    moulds : of the line [moulds]
    note : what else to cut
    board : name of the material; empty where the plan names no board
    thickness : of the board [m]
    for_stock : True where the moulds are kept for later orders
    """

    mark: str
    line: int
    product: str
    panel: str
    length: float
    width: float
    per_mould: int
    moulds: int
    note: str
    board: str
    thickness: float
    for_stock: bool

    @property
    def count(self) -> int:
        """How many of it to cut."""
        return self.per_mould * self.moulds

    @property
    def area(self) -> float:
        """Area of all of them [m²]."""
        return self.length * self.width * self.count


@dataclass(frozen=True, slots=True)
class BoardPlan:
    """The panels of one board.

    Parameters
    ----------
    board : as it is bought
    rows : its panels
    nest : where each is cut; None where the sentence says why not
    sentence : how it was nested, or why it was not
    joined : panels larger than a sheet, which have to be joined of two and are not nested
    """

    board: Board
    rows: tuple[CutRow, ...]
    nest: Nest | None
    sentence: str
    joined: tuple[CutRow, ...] = ()

    @property
    def sheets(self) -> int:
        """Whole sheets that are bought for it: those nested, and enough for what has to be joined."""
        if self.nest is None or self.board.sheet is None:
            return 0
        return self.nest.sheets + ceil(sum(row.area for row in self.joined) / self.board.sheet.area)


@dataclass(frozen=True, slots=True)
class CutList:
    """All panels of a quote.

    Parameters
    ----------
    rows : panel by panel, line after line
    boards : the panels by board
    without : sentences on lines whose moulds are not cut from board
    """

    rows: tuple[CutRow, ...]
    boards: tuple[BoardPlan, ...]
    without: tuple[str, ...]

    def sheets(self) -> dict[str, int]:
        """Whole sheets that are bought of each board that was nested."""
        return {plan.board.material: plan.sheets for plan in self.boards if plan.nest is not None}


def cut_list(costing: Costing, seconds: float = SECONDS, figure: Callable[[float], str] | None = None) -> CutList:
    """The cut list of a quote, nested on whole sheets.

    Parameters
    ----------
    costing : of one quote
    seconds : effort that the exact search may spend on each board [s]
    figure : from a length [m] to its text in a note; whole millimetres where none is given
    """
    rows: list[CutRow] = []
    without: list[str] = []
    boards: dict[str, Board] = {}
    moulds = costing.line("moulds_built").astype(int).tolist()
    for line, product in enumerate(costing.products()):
        shape, board = shape_of(costing.book, costing.lines, line), board_of(costing.book, costing.lines, line)
        if not costing.line("has_mould")[line]:
            without.append(f"{product} has no mould plan.")
            continue
        if not moulds[line]:
            without.append(f"{product}: its moulds stand in the rack.")
            continue
        cuts = cuts_of(costing, line, figure or millimetres)
        if board is None or not cuts:
            reason = "its mould plan names no board" if board is None else f"a {shape.name} has no panels of its own"
            without.append(f"{product}: {moulds[line]} {'mould' if moulds[line] == 1 else 'moulds'}, not cut from board here: {reason}.")
            continue
        boards.setdefault(board.material, board)
        for cut in cuts:
            rows.append(CutRow(
                str(len(rows) + 1), line, product, cut.name, cut.length, cut.width, cut.count, moulds[line], cut.note, board.material,
                board.thickness, bool(costing.line("made_for_stock")[line]),
            ))
    plans = tuple(_plan(costing, board, [row for row in rows if row.board == name], seconds) for name, board in boards.items())
    return CutList(tuple(rows), plans, tuple(without))


def _plan(costing: Costing, board: Board, rows: list[CutRow], seconds: float) -> BoardPlan:
    if board.sheet is None:
        return BoardPlan(board, tuple(rows), None, f"{board.material} is sold by the square metre; it is not nested on sheets.")
    sheet = board.sheet
    joined = tuple(row for row in rows if not _fits(row, sheet.length, sheet.width))
    panels = [Panel(row.mark, row.length, row.width, row.count) for row in rows if row not in joined]
    try:
        placed = nest(panels, sheet.length, sheet.width, kerf=kerf_of(costing.book), seconds=seconds)
    except NestingError as error:
        return BoardPlan(board, tuple(rows), None, str(error))
    larger = [f' Panel {row.mark} ("{row.panel}" of {row.product}) is larger than a sheet: join it of two.' for row in joined]
    return BoardPlan(board, tuple(rows), placed, "".join((_sentence(board, placed), *larger)), joined)


def _fits(row: CutRow, length: float, width: float) -> bool:
    """Whether a panel fits a sheet, turned or not, to a hundredth of a millimetre."""
    hair = 5e-6
    return any(one <= length + hair and other <= width + hair for one, other in ((row.length, row.width), (row.width, row.length)))


def _sentence(board: Board, placed: Nest) -> str:
    sheets = f"{placed.sheets} {'sheet' if placed.sheets == 1 else 'sheets'}"
    few = "fewer are proven impossible" if placed.proven else "fewer may be possible"
    cuts = "all by cuts right through" if placed.method == "guillotine" else "some cuts stop inside the sheet"
    return f"{board.material}: {sheets}, {placed.used_share:.0%} of their area used; {few}; {cuts}."
