"""Why costs and prices moved: a row for each piece and quote, a column for each cause, and the sum that closes the row."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pricing.dataclass import dataclass
from pricing.reports.repricing.book import FEWEST_ROWS, LIST, ORDERED, QUOTED, TOP, WHY_COST, WHY_PRICE, RepricingBook
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.shared.checks import Check
from pricing.reports.shared.paging import page_openings, page_room
from pricing.reports.shared.plain_table import PlainTable, settle
from pricing.reports.shared.report_book import ROW
from pricing.repricing.changes import Change, Name

#: What the columns are, under the title; how the shares are found, in a note.
SHARES = "The shares of the change that its causes have, in money."
ADDED = "They add up exactly, and it does not matter in which order prices moved."
METHOD = (
    "Each cause has its Shapley value: what it adds when it joins the others, averaged over every order in which they can join "
    "(L. S. Shapley, 1953). No order is preferred."
)

#: The columns of the List, Quotes and Accepted sheets in which the changes of cost and of price stand.
_CHANGES = {WHY_COST: {LIST: 5, QUOTED: 7, ORDERED: 6}, WHY_PRICE: {LIST: 9, QUOTED: 11}}

_CAPTIONS = {LIST: "List products, one piece of each", QUOTED: "Open quotes, each as a whole", ORDERED: "Ordered quotes, each as a whole"}

Row = tuple[str, Change]


@dataclass
class WhyBlock:
    """One block of rows on one of the two sheets.

    Parameters
    ----------
    sheet : on which it stands
    source : the sheet that its changes come from
    rows : what each is called, and what moved
    names : the causes in the order of the columns
    table : where it stands
    """

    sheet: str
    source: str
    rows: list[Row]
    names: list[Name]
    table: PlainTable

    def cause_range(self, name: Name) -> str:
        """The parts of a cause, with the sheet."""
        return self.table.range(1 + self.names.index(name), len(self.rows), self.sheet)

    @property
    def sum_range(self) -> str:
        """The sums of the parts, with the sheet."""
        return self.table.range(len(self.table.columns) - 2, len(self.rows), self.sheet)

    @property
    def change_range(self) -> str:
        """The changes that the parts add up to, with the sheet."""
        return self.table.range(len(self.table.columns) - 1, len(self.rows), self.sheet)


def write_why(book: RepricingBook) -> list[WhyBlock]:
    """Write the two sheets; returns their blocks."""
    repricing = book.repricing
    found = []
    for sheet in (WHY_COST, WHY_PRICE):
        of_cost = sheet == WHY_COST
        groups: list[tuple[str, list[Row]]] = [
            (LIST, [(each.product, each.cost if of_cost else each.price) for each in repricing.products]),
            (QUOTED, [(each.name, each.cost if of_cost else each.net) for each in repricing.quotes]),
        ]
        if of_cost:
            groups.append((ORDERED, [(each.name, each.cost) for each in repricing.ordered]))
        found += _write_sheet(book, sheet, [(source, rows) for source, rows in groups if rows])
    return found


def _write_sheet(book: RepricingBook, name: str, groups: Sequence[tuple[str, list[Row]]]) -> list[WhyBlock]:
    of_cost = name == WHY_COST
    title = "Why the cost moved" if of_cost else "Why the price moved"
    screen = sum(len(rows) for _, rows in groups) < FEWEST_ROWS
    sheet = book.open_sheet(name, title, f"{SHARES} {ADDED}" if screen else SHARES, screen=screen)
    if not screen:  # one line would be wider than the page where few causes moved
        sheet.write_string(2, 0, ADDED, book.styles.get("sentence"))
    names = [each for each in book.repricing.causes if any(each in moved.parts for _, rows in groups for _, moved in rows)]
    columns = [TableColumn("")]
    columns += [book.column(_heading(book, each)) for each in names]
    if not of_cost:
        columns.append(book.column("Rounding", "Rounding to the price step, and of amounts to the coin, before and now."))
    columns += [book.column("Sum of the shares", METHOD, role="result"), book.column("Change")]
    blocks = []
    top = TOP
    for source, rows in groups:
        table = PlainTable(sheet, book.styles, top, columns)
        sheet.write_string(top - 2, 0, _CAPTIONS[source], book.styles.get("text bold"))
        table.headings()
        for number, (called, moved) in enumerate(rows):
            change = f"{source}!{book.tables[source].cell(_CHANGES[name][source], number)}"
            table.row(number, _cells(table, number, called, moved, names, of_cost, change))
        blocks.append(WhyBlock(name, source, rows, names, table))
        top += len(rows) + 4
    if not blocks or not names:
        sheet.write_string(TOP + (top - TOP if blocks else 0), 0, "Nothing moved.", book.styles.get("note"))
    _divide(book, sheet, blocks)
    sheet.freeze_panes(0, 1)
    return blocks


def _divide(book: RepricingBook, sheet: Any, blocks: list[WhyBlock]) -> None:
    """Print as narrow as can be read, and divide no block that a page can hold."""
    widths = settle(sheet, *(block.table for block in blocks))
    across = book.fit(sheet, widths)
    starts = [0, *(block.table.top - 2 for block in blocks[1:])]
    ends = [*starts[1:], blocks[-1].table.top + len(blocks[-1].rows)] if blocks else [TOP]
    sheet.set_h_pagebreaks(page_openings({}, ROW, list(zip(starts, ends, strict=True)), page_room(book.paper, widths, across)))


def _heading(book: RepricingBook, name: Name) -> str:
    """What a cause is called; its kind too where two causes share a name."""
    kind, called = name
    return f"{called} ({kind})" if sum(other == called for _, other in book.repricing.causes) > 1 else called


def _cells(table: PlainTable, number: int, called: str, moved: Change, names: list[Name], of_cost: bool, change: str) -> list[Cell]:
    parts: list[Cell] = [moved.parts.get(name) for name in names]
    if not of_cost:
        parts.append(moved.rounding or None)
    last = len(parts)
    total = sum(part for part in parts if isinstance(part, float))
    summed = Formula(f"SUM({table.cell(1, number)}:{table.cell(last, number)})", total) if parts else 0.0
    return [called, *parts, summed, Formula(change, moved.change)]


def checks_of(blocks: list[WhyBlock]) -> list[Check]:
    """The parts against the changes, as sums and row by row."""
    made = []
    for block in blocks:
        what = "cost" if block.sheet == WHY_COST else "price"
        parts, changes = block.sum_range, block.change_range
        summed = sum(sum(moved.parts.values()) + moved.rounding for _, moved in block.rows)
        changed = sum(moved.change for _, moved in block.rows)
        apart = Formula(f"ROUND(SUMPRODUCT(MAX(ABS({parts}-{changes}))),6)", 0.0)
        claim = f"{_CAPTIONS[block.source]}: in every row the parts add up to the change of {what}"
        made.append(Check(claim, Formula(f"SUM({parts})", summed), Formula(f"SUM({changes})", changed), apart))
    return made
