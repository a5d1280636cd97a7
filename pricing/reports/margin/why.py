"""The sheet of the margin workbook that says why each price is what it is, from the price down to the price book.

Every value refers to the cell of the model that holds it, so that it follows every change; the words say how a figure was
made when the workbook was written. Rows fold by outline levels: at first each line shows its price, its cost and the parts.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pricing.costing.engine.columns import SETTINGS
from pricing.costing.explain.explain import Explainer
from pricing.costing.explain.trace import ABOVE, TYPED, Line, Trace, opened
from pricing.costing.explain.words import unit_of
from pricing.costing.options import line_labels
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY
from pricing.reports.margin.book import MarginBook
from pricing.reports.shared.formulas import quoted
from pricing.reports.shared.paging import page_openings, page_room
from pricing.reports.shared.styles import SMALL, shown_unit
from pricing.xlsx.writing.safe_text import clean_text
from pricing.xlsx.writing.text_width import line_height, wrapped

NAME = "Why"

#: Rows that the sheet stays below: more are no explanation any more.
MOST_ROWS = 2000

#: Levels below the price that every line shows, the chain from the price to the unit cost counting as one: the parts of
#: the cost, and what each part is made of.
SHORT = 2

#: Levels that are open when the workbook is opened: the chain and the parts.
OPEN = 2

_COLUMNS = (("Figure", 210), ("Value", 84), ("Unit", 74), ("In the price book", 96), ("How it is made", 436))
_HOW = 436
_RESULTS = ("unit_price", "unit_cost")
_HEADING = 5
_DEEPEST = 7  # outline levels of a spreadsheet

#: Height of a row: many stand on a page, and none below a rule but the first of a line [points].
_ROW, _TITLE = 14.25, 20.0


@dataclass(frozen=True, slots=True)
class LineRows:
    """The rows of one line of a quote.

    Parameters
    ----------
    title : which line it is
    lines : the lines of its tree
    """

    title: str
    lines: list[Line]


def write_why(margin: MarginBook) -> None:
    """Write the sheet.

    Its rows fold, which a spreadsheet program allows only where the sheet is not protected.
    """
    blocks, left_out = blocks_of(margin)
    sentence = "From each price down to what it rests on. Values are live; the words are of the day of writing. Unfold at the left."
    if left_out:
        sentence += f" {len(blocks)} of {len(blocks) + left_out} lines, those with the largest net; the command pricing explain shows any."
    sheet = margin.open_sheet(NAME, "Why each price", sentence, repeat=_HEADING)
    sheet.set_default_row(_ROW)
    style = margin.styles.get
    widths = [width for _, width in _COLUMNS]
    across = margin.fit(sheet, widths)
    for column, (text, _) in enumerate(_COLUMNS):
        role = style("heading right") if text == "Value" else style("heading", indent=int(text == "Unit"))
        sheet.write_string(_HEADING - 1, column, text, role)
    sheet.freeze_panes(_HEADING, 1)
    sheet.outline_settings(True, False, False, False)
    row, heights, pages = _HEADING, {0: 26.0}, []
    for block in blocks:
        end = _write_block(margin, sheet, block, row, heights)
        pages.append((row, end))
        row = end + 1
    sheet.print_area(0, 0, max(row - 2, _HEADING), len(widths) - 1)
    room = page_room(margin.paper, widths, across) - _ROW
    sheet.set_h_pagebreaks(page_openings(heights, _ROW, pages, room))


def blocks_of(margin: MarginBook) -> tuple[list[LineRows], int]:
    """What the sheet shows, in the order of the quotes, and how many lines found no room; the largest is shown in full."""
    explainer, costing = Explainer(margin.costing), margin.costing
    labels = line_labels(costing)
    net = costing.line("line_net").tolist()
    by_size = sorted(range(len(net)), key=lambda line: -net[line])
    made: dict[int, LineRows] = {}
    count = 0
    for place, line in enumerate(by_size):
        lines = list(_lines(explainer, line, None if place == 0 else SHORT))
        if place and count + len(lines) + 2 > MOST_ROWS:
            break
        count += len(lines) + 2
        made[line] = LineRows(_title(margin, line, labels[line]), lines)
    return [made[line] for line in sorted(made)], len(net) - len(made)


def _lines(explainer: Explainer, line: int, depth: int | None) -> Iterator[Line]:
    """The tree of a line's price, and that of its cost where the price does not rest on it."""
    shown = list(opened(explainer.trace("lines", "unit_price", line), depth, chained=True))
    yield from shown
    if all(each.trace.name != "unit_cost" for each in shown):
        yield from opened(explainer.trace("lines", "unit_cost", line), depth, chained=True)


def _title(margin: MarginBook, line: int, label: str) -> str:
    """The quote, the line as the quote numbers it, and the product; an option is called by its number already."""
    called = str(margin.costing.lines.quote[line])
    if not called.endswith(f" option {label}"):
        called += f", line {label}"
    return clean_text(f"{called}: {margin.model.tables['lines'].text['product'][line]}")


def _write_block(margin: MarginBook, sheet: Any, block: LineRows, row: int, heights: dict[int, float]) -> int:
    """Write the rows of one line from *row*, counted from 0; returns the row below them, and notes the heights of rows."""
    heights[row] = _TITLE
    sheet.set_row(row, _TITLE)
    sheet.write_string(row, 0, block.title, margin.styles.get("section", valign="bottom"))
    for column in range(1, 5):
        sheet.write_blank(row, column, None, margin.styles.get("section"))
    of = [""] * (max(line.depth for line in block.lines) + 2)
    hidden = [*_hidden(block.lines), False]
    for place, line in enumerate(block.lines):
        number, text = row + 1 + place, _words(line)
        lines = len(wrapped(text, _HOW, SMALL))
        height = max(_ROW, line_height(SMALL) * lines + 1.5)
        heights[number] = 0.0 if hidden[place] else height
        folding = {"level": min(line.depth + 1, _DEEPEST), "hidden": hidden[place], "collapsed": hidden[place + 1] and not hidden[place]}
        sheet.set_row(number, None if height == _ROW else height, None, folding)
        subject = f" ({line.trace.of})" if line.depth and line.trace.of and line.trace.of != of[line.depth] else ""
        of[line.depth + 1] = line.trace.of or of[line.depth]
        _write_line(margin, sheet, number, line, subject, text)
    return row + 1 + len(block.lines)


def _hidden(lines: list[Line]) -> list[bool]:
    """Which rows are folded away: all below the parts of the cost, and what else the chain from the price to the cost rests on."""
    cost = next(place for place, line in enumerate(lines) if line.trace.name == "unit_cost")
    return [line.depth + 1 > OPEN or (line.depth > 0 and place < cost) for place, line in enumerate(lines)]


def _write_line(margin: MarginBook, sheet: Any, row: int, line: Line, subject: str, how: str) -> None:
    first, style = line.first, margin.styles.get
    name = clean_text(first.label + subject)
    result = line.depth == 0 and first.name in _RESULTS
    sheet.write_string(row, 0, name, style("text bold" if result else "text", indent=line.depth))
    number, unit = _number(margin, first, "result" if result else "working")
    sheet.write_formula(row, 1, f"={_cell(margin, first)}", number, first.told)
    told = ((unit, style("note", valign="vcenter", indent=1)), (line.trace.place, style("note", valign="vcenter")),
            (how, style("note wrapped", valign="vcenter")))
    for column, (text, form) in enumerate(told, 2):
        if text:
            sheet.write_string(row, column, clean_text(text), form)


def _words(line: Line) -> str:
    """How the figure of a row is made; nothing where it is typed."""
    words = ABOVE if line.note == ABOVE else line.trace.words
    return "" if words == TYPED else clean_text(words)


def _cell(margin: MarginBook, trace: Trace) -> str:
    if trace.table == SETTINGS:
        return margin.layout.settings[trace.name]
    block = margin.layout.blocks[trace.table]
    return f"{quoted(block.sheet)}!{block.cell(trace.name, trace.row)}"


def _number(margin: MarginBook, trace: Trace, role: str) -> tuple[Any, str]:
    """The format of a value and the unit beside it; a share shows its sign in the value."""
    unit = unit_of(margin.model.tables[trace.table], trace.row, trace.name, margin.costing.currency, margin.measures)
    if GLOSSARY[trace.name].shown == "flag":
        return margin.blocks.number_style(trace.name, role), shown_unit("flag", "")
    if not unit.startswith("%"):
        return margin.blocks.number_style(trace.name, role), unit
    return margin.styles.get(role, "0.0%", align="right"), unit[1:].strip()
