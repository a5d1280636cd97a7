"""The first page of the workshop workbook: what is made, for whom, until when, how heavy it is, and what to be careful of."""

from __future__ import annotations

import datetime
import io
from collections.abc import Mapping, Sequence

import numpy as np

from pricing.costing.options import line_labels
from pricing.costing.time.lead_time import rounds, whole_places
from pricing.costing.workshop.work import Work
from pricing.languages.spelling import written_date
from pricing.reports.drawing.layout import lay_out
from pricing.reports.drawing.strokes import LengthUnit
from pricing.reports.quote.facts import QuoteFacts, QuoteLine
from pricing.reports.quote.sizes import notes_of
from pricing.reports.quote.wording import listed, weight_text
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.shared.flowing_page import DEFAULT_ROW
from pricing.reports.shared.paging import ROOM_FILLED
from pricing.reports.workshop.cautions import DEFERENCE
from pricing.reports.workshop.page import DAY, WorkPage
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes.piece_drawing import PLAIN, PieceDetails, drawn_piece
from pricing.xlsx.writing.safe_text import one_line

#: A drawing as it is laid out [px], and as large as it stands on the page [share].
DRAWING, SCALE = (480, 300), 0.64

#: As low as drawings become where everything then stands on one page [px], and in what steps.
LOWEST_DRAWING, LOWER_BY = 180, 10

_PIECES, _MASS = 3, 4

KEY = "For the workshop only: it shows costs.   Tinted: typed, may be changed.   Plain: worked out.   Bold: a result."

_HEAVY = "One person should not lift {which}: {weight} {unit}. Plan for more people or a lifting aid."
_CAUTIONS = (
    ("Wet cement", "is caustic: waterproof gloves, eye protection, covered skin; wash splashes off at once."),
    ("Dust", "of concrete, sand and cement holds respirable crystalline silica: work wet or with extraction, wear respiratory protection "
     "that fits."),
    ("Weight.", "Filled moulds weigh more than the pieces: see the weights above, plan the way, and keep hands and feet from under."),
    ("Walls, floors, fire, stairs and food", "have rules of their own: whatever carries a piece must be judged by someone competent."),
)


def columns(unit: str) -> tuple[TableColumn, ...]:
    """The columns of the page.

    Parameters
    ----------
    unit : of mass
    """
    return (
        TableColumn("No.", width=34), TableColumn("Drawing", width=320), TableColumn("Piece", width=246),
        TableColumn("Pieces", "#,##0", "result", width=58), TableColumn(f"Each\n{unit}", "#,##0.0", width=66),
        TableColumn("Casts", "#,##0.0", note="Pieces to cast so that the good ones are left, on average.", width=58),
        TableColumn(
            "Moulds", "#,##0", note="Moulds for the good pieces; for a piece that may fail none is cut or bought beforehand.", width=62),
        TableColumn("Ready on", DAY, "result", note="By the calendar, if work begins as it says.", width=126),
        TableColumn("Wanted by", DAY, width=126),
    )


def write_work(page: WorkPage, work: Work, facts: QuoteFacts) -> None:
    """Write the page."""
    page.opening(f"Work for quote {one_line(work.quote, 80)}", _sentence(work, facts), KEY)
    first = page.headings()
    page.sheet.repeat_rows(page.row - 1)
    page.sheet.freeze_panes(page.row, 0)
    casts = work.costing.line("casts").tolist()
    moulds = np.maximum(work.costing.line("moulds_at_once"), work.costing.line("moulds_built")).tolist()
    labels = line_labels(work.costing)
    for row, line in enumerate(facts.lines):
        cells: list[Cell] = [labels[row], None, _piece(work, row, line)]
        cells += ["", "", "", ""] if line.service else [line.quantity, line.mass, casts[row], moulds[row]]
        page.cells([*cells, work.calendar.ready[row], work.wanted[row]], valign="top")
    last = page.row
    totals: list[Cell] = [None, f"All pieces, and their weight together ({facts.mass_unit})", *[None] * 7]
    totals[_PIECES] = Formula(f"SUM({page.down(_PIECES, first, last)})", _pieces(facts))
    weights = f"SUMPRODUCT({page.down(_PIECES, first, last)},{page.down(_MASS, first, last)})"
    totals[_MASS] = Formula(weights, sum(line.quantity * line.mass for line in facts.lines))
    page.cells(totals, role="total")
    page.gap(10)
    page.section("Be careful")
    page.gap(3)
    lift = facts.one_person_lift
    heavy = [(label, line) for label, line in zip(labels, facts.lines, strict=True) if line.mass > lift + 1e-9]
    if heavy:
        weight = listed([weight_text(line.mass) for _, line in heavy])
        which = f"piece {heavy[0][0]}" if len(heavy) == 1 else "pieces " + listed([label for label, _ in heavy])
        page.titled("Lifting.", _HEAVY.format(which=which, weight=weight, unit=facts.mass_unit), 0, page.last)
    for title, text in _CAUTIONS:
        page.titled(title, text, 0, page.last)
    page.sentence(DEFERENCE, "note wrapped")
    drawn = [row for row, line in enumerate(facts.lines, first - 1) if drawn_piece(line.shape, line.dimensions, line.details) is not None]
    height = _drawing_height(page, drawn)
    for row, line in enumerate(facts.lines, first - 1):
        _drawing(page, row, line, height)
    page.keep_together(last - 1, page.row, page.room, page.heights[first - 2])


def _drawing_height(page: WorkPage, drawn: Sequence[int]) -> int:
    """How high the drawings are laid out [px]: lower where only so everything stands on one page, which is no use for more pages.

    Parameters
    ----------
    drawn : the rows that hold a drawing
    """
    room = page.room * ROOM_FILLED[0]
    for height in range(DRAWING[1], LOWEST_DRAWING - 1, -LOWER_BY):
        with_drawings = {row: max(page.heights.get(row, DEFAULT_ROW), _row_height(height)) for row in drawn}
        if sum(with_drawings.get(row, page.heights.get(row, DEFAULT_ROW)) for row in range(page.row)) <= room:
            return height
    return DRAWING[1]


def _row_height(height: int) -> float:
    """Height of the row of a drawing that is laid out so high [points]."""
    return height * SCALE * 0.75 + 8


def _pieces(facts: QuoteFacts) -> float:
    return sum(line.quantity for line in facts.pieces)


def _sentence(work: Work, facts: QuoteFacts) -> str:
    """What is made for whom and when, and whether that is in time."""
    pieces, calendar = round(_pieces(facts)), work.calendar
    start = min(bar.begins for bar in calendar.bars) if calendar.bars else facts.day
    hours = sum(step.total for step in work.steps) / 60
    loads = sum(load.count for sheet in work.batches for load in sheet.loads)
    filled = int(rounds(work.costing.line("quantity"), whole_places(work.costing.line("places"))).max())
    text = (
        f"{pieces} {'piece' if pieces == 1 else 'pieces'} for {facts.customer}: begun on {written_date(start)}, all ready on "
        f"{written_date(calendar.last)}. {hours:.1f} hours of work, {loads} mixer {'load' if loads == 1 else 'loads'}, at most {filled} "
        f"{'round' if filled == 1 else 'rounds'} of casting."
    )
    late = [f"piece {row + 1}" for row, day in enumerate(work.wanted) if day is not None and calendar.ready[row] > day]
    wanted = [day for day in work.wanted if day is not None]
    if late:
        return f"{text} Not in time: {listed(late)}; agree on a later day, or start sooner."
    return f"{text} In time for the first day that is wanted, {written_date(min(wanted))}." if wanted else text


def _piece(work: Work, row: int, line: QuoteLine) -> str:
    """What a piece is, in words."""
    plans = work.costing.lines.plans
    mix, finish, moulds = (str(plans[name][row]) for name in ("mix", "finish", "mould_plan"))
    made = ", ".join(part for part in (mix, finish, moulds) if part)
    sets = work.costing.lines.sets
    of_set = "" if line.part_of is None or sets is None else f"Part of {sets.name[row]}"
    note = line.note if line.part_of is None else line.part_of.note
    said = (f"{work.costing.products()[row]}: {line.title}", of_set, line.size, made, note, if_one_fails(work, row))
    return "\n".join(part for part in said if part)


def if_one_fails(work: Work, row: int) -> str:
    """What to do where a piece fails, for one that may: nothing is cut or bought for it beforehand."""
    line = {name: float(work.costing.line(name)[row]) for name in (
        "rejects", "has_mould", "is_bought", "quantity", "mould_life", "moulds_built", "moulds_kept")}
    if not (line["rejects"] and line["has_mould"]):
        return ""
    if (line["moulds_built"] + line["moulds_kept"]) * line["mould_life"] >= line["quantity"] + 1:
        return "If one fails, cast one more in the same mould."
    made, beforehand = ("buy", "bought") if line["is_bought"] else ("build", "cut")
    return f"If one fails, {made} one more mould; none is {beforehand} beforehand."


def _drawing(page: WorkPage, row: int, line: QuoteLine, height: int) -> None:
    """The dimensioned drawing of a piece, laid out so high [px], in a row that is written."""
    picture = drawing_of(line.shape, line.dimensions, line.figures, height, line.details)
    if picture is None:
        return
    page.sheet.insert_image(row, 1, "drawing.png", {
        "image_data": io.BytesIO(picture), "description": f"Drawing of piece {line.number}", "x_scale": SCALE / 2, "y_scale": SCALE / 2,
        "x_offset": 4, "y_offset": 4, "object_position": 1,
    })
    page.need(_row_height(height), row)


def drawing_of(
    shape: Shape, dimensions: Mapping[str, float], figures: LengthUnit, height: int = DRAWING[1], details: PieceDetails = PLAIN
) -> bytes | None:
    """The drawing of a piece as a picture, twice as fine as it is laid out; None where there is none, or nothing draws it.

    Parameters
    ----------
    dimensions : by name [SI]
    height : of the layout [px]
    details : what the piece has besides
    """
    drawing = drawn_piece(shape, dimensions, details)
    for most_sized in (1, 0) if any(cut.is_placed for cut in details.cut_outs) else ():  # fewer sizes where one would cover another
        if drawing is None or lay_out(drawing, DRAWING[0] * 2, height * 2, figures, notes_of(drawing, figures)).clear:
            break
        drawing = drawn_piece(shape, dimensions, details, most_sized)
    if drawing is None:
        return None
    try:
        from pricing.reports.drawing.render import draw_png

        return draw_png(drawing, DRAWING[0] * 2, height * 2, figures, notes_of(drawing, figures))
    except ImportError:  # a work sheet without drawings is still a work sheet
        return None


def first_day(work: Work) -> datetime.date:
    """The day on which work begins."""
    return min((bar.begins for bar in work.calendar.bars), default=work.calendar.last)
