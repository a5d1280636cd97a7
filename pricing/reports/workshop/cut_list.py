"""The cut list: every panel by board, and each whole sheet drawn to scale."""

from __future__ import annotations

import io

from pricing.costing.workshop.cut_list import BoardPlan, CutRow
from pricing.costing.workshop.work import Work
from pricing.reports.drawing.strokes import LengthUnit, figure
from pricing.reports.shared.cells import Cell, Formula, Shown, TableColumn
from pricing.reports.workshop.board_drawing import EDGE, WIDTH, sheet_png
from pricing.reports.workshop.cautions import CUT_CAUTION
from pricing.reports.workshop.page import WorkPage

#: The highest that a drawing stands on the page, and room for its caption [pixels].
MOST_HIGH, CAPTION = 480, 24

#: How lengths are shown and what they are divided by [m].
LENGTHS: dict[LengthUnit, tuple[str, float]] = {"mm": ("#,##0.0", 0.001), "in": ("# ??/16", 0.0254)}

#: How areas are shown, and the square metres of one.
AREAS: dict[LengthUnit, tuple[str, float]] = {"mm": ("m²", 1.0), "in": ("ft²", 0.3048**2)}

NOTE = ("Cut every panel to its rectangle first; what else to cut stands beside it. Between panels the saw takes {kerf}. "
        "For stock: the moulds are kept; cut only those that are not on the shelf.")


def columns(figures: LengthUnit) -> tuple[TableColumn, ...]:
    """The columns of the list."""
    number, _ = LENGTHS[figures]
    return (
        TableColumn("Mark", note="The drawings of the sheets name each panel by it.", width=42), TableColumn("Piece", width=132),
        TableColumn("Panel", width=104), TableColumn(f"Length\n{figures}", number, width=64),
        TableColumn(f"Width\n{figures}", number, width=60), TableColumn(f"Board\n{figures}", number, width=58),
        TableColumn("In a mould", "#,##0", width=62), TableColumn("Moulds", "#,##0", width=54),
        TableColumn("To cut", "#,##0", "result", width=56), TableColumn(f"Area\n{AREAS[figures][0]}", "#,##0.000", width=60),
        TableColumn("What else to cut", width=172),
    )


def write_cuts(page: WorkPage, work: Work, figures: LengthUnit, kerf: float) -> None:
    """Write the page.

    Parameters
    ----------
    figures : how lengths are shown
    kerf : of the saw [m]
    """
    sheets = sum(work.cuts.sheets().values())
    panels = sum(row.count for row in work.cuts.rows)
    whole = f"{sheets} whole {'sheet' if sheets == 1 else 'sheets'} of board"
    opening = f"{panels:,} panels to cut, from {whole}." if panels else "No panels to cut."
    taken = figure(kerf, figures) + (" mm" if figures == "mm" else "")
    page.opening(f"Cut list for quote {work.quote}", opening, NOTE.format(kerf=taken), CUT_CAUTION)
    for plan in work.cuts.boards:
        page.section(plan.board.material)
        page.sentence(plan.sentence)
        _table(page, plan, figures)
        page.gap(10)
    for sentence in work.cuts.without:
        page.sentence(sentence)
    _drawings(page, work, figures)


def _table(page: WorkPage, plan: BoardPlan, figures: LengthUnit) -> None:
    first = page.headings()
    for row in plan.rows:
        page.cells(_row(page, row, figures))
    last, area = page.row, sum(row.area for row in plan.rows) / AREAS[figures][1]
    count = Formula(f"SUM({page.down(8, first, last)})", float(sum(row.count for row in plan.rows)))
    page.cells(["", "All panels", *[None] * 6, count, Formula(f"SUM({page.down(9, first, last)})", area), None], role="total")


def in_sixteenths(inches: float) -> Shown:
    """Inches to the nearest sixteenth, as a tape has them: halves, quarters, eighths.

    >>> in_sixteenths(0.75).number, in_sixteenths(11.8125).number, in_sixteenths(36.0).number
    ('# ?/4', '# ??/16', '0')
    """
    parts = next((parts for parts in (1, 2, 4, 8) if round(inches * 16) % (16 // parts) == 0), 16)
    return Shown(inches, "0" if parts == 1 else f"# {'?' * len(str(parts))}/{parts}")


def _row(page: WorkPage, row: CutRow, figures: LengthUnit) -> list[Cell]:
    at, unit = page.row + 1, LENGTHS[figures][1]
    note = "; ".join(part for part in (row.note, "for stock" if row.for_stock else "") if part)
    count = Formula(f"{page.at(6, at)}*{page.at(7, at)}", float(row.count))
    square = AREAS[figures][1]
    area = Formula(f"{page.at(3, at)}*{page.at(4, at)}*{page.at(8, at)}/{square / unit**2:.15g}", row.area / square)
    lengths = [float(f"{size / unit:.12g}") for size in (row.length, row.width, row.thickness)]
    sizes: list[Cell] = [in_sixteenths(each) for each in lengths] if figures == "in" else [*lengths]
    return [row.mark, row.product, row.panel, *sizes, float(row.per_mould), float(row.moulds), count, area, note]


def _drawings(page: WorkPage, work: Work, figures: LengthUnit) -> None:
    """Each sheet in a row of its own, which no foot of a page cuts, as wide as the page or as high as a row may be."""
    for plan in work.cuts.boards:
        drawn: dict[tuple[tuple[str, float, float, bool], ...], bytes] = {}
        for number in range(1, (plan.nest.sheets if plan.nest else 0) + 1):
            assert plan.nest is not None
            places = tuple(place for place in plan.nest.placements if place.sheet == number)
            alike = tuple((place.panel, place.x, place.y, place.turned) for place in places)
            try:
                picture = drawn[alike] = drawn.get(alike) or sheet_png(plan.nest, number, figures)
            except ImportError:  # a cut list without drawings is still a cut list
                return
            used = sum(place.length * place.width for place in places)
            share = used / (plan.nest.sheet_length * plan.nest.sheet_width)
            caption = f"{plan.board.material}, sheet {number} of {plan.nest.sheets}: {share:.0%} used"
            high = plan.nest.sheet_width * (WIDTH - 2 * EDGE) / plan.nest.sheet_length + 2 * EDGE
            scale = min((sum(page.widths) - 8) / WIDTH, MOST_HIGH / high)
            page.sheet.insert_image(page.row, 0, "sheet.png", {
                "image_data": io.BytesIO(picture), "description": f"Panels on {caption}", "x_scale": scale, "y_scale": scale,
                "x_offset": 2, "y_offset": CAPTION, "object_position": 1,
            })
            page.text(caption, 0, page.last, "text bold", valign="top")
            page.need((high * scale + CAPTION) * 0.75 + 12)
            page.next_row()
