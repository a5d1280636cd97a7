"""The first sheet of the repricing workbook: the sentence that matters, the picture, and what changed."""

from __future__ import annotations

import datetime
import re

import numpy as np

from pricing.book.typed.conversion import fifteen_digits
from pricing.costing.method.shown_measures import ShownMeasures
from pricing.glossary import GLOSSARY
from pricing.languages.spelling import written_date
from pricing.reports.repricing.book import FRONT, LIST, LOWEST, ORDERED, QUOTED, WHY_COST, RepricingBook
from pricing.reports.repricing.why import WhyBlock
from pricing.reports.shared.cells import Cell, Formula, Shown, TableColumn
from pricing.reports.shared.charts import add_bars, bar_chart, set_chart
from pricing.reports.shared.plain_table import PlainTable, settle
from pricing.reports.shared.report_book import KEY
from pricing.reports.shared.styles import number_format, shown_unit
from pricing.repricing.changes import Name

#: More bars than this are no picture any more.
MOST_BARS = 12

_FIGURES = 7
_CHART_TOP = 10

#: A day as programs write it.
_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")

#: Prices that are given or not: 0 where none is.
_GIVEN = frozenset({"given_price", "stated_price"})


def _written(day: re.Match[str]) -> str:
    return written_date(datetime.date.fromisoformat(day[0]))


class Front:
    """The first sheet while it is written."""

    def __init__(self, book: RepricingBook, blocks: list[WhyBlock]) -> None:
        self.book = book
        self.repricing = book.repricing
        self.measures = ShownMeasures.of(book.repricing.book)
        self.blocks = {block.source: block for block in blocks if block.sheet == WHY_COST}
        self.style = book.styles.get
        self.sheet = book.open_sheet(FRONT, "Repricing")
        self.effects = {
            name: {source: self._effect(block, name) for source, block in self.blocks.items()} for name in self.repricing.causes
        }
        order = (LIST, QUOTED, ORDERED)
        self.names = sorted(self.effects, key=lambda name: [-abs(self.effects[name].get(source, 0.0)) for source in order])
        self.bars = min(sum(1 for name in self.names if abs(self.effects[name].get(LIST, 0.0)) > 0), MOST_BARS)
        self.causes_at = _CHART_TOP + (max(self.bars, 4) + 5 if self.bars else 1)
        self.cells_at = self.causes_at + len(self.names) + 4

    def _effect(self, block: WhyBlock, name: Name) -> float:
        """What a cause does to all of a block: list products at their usual runs, quotes as they are."""
        weights = [each.quantity for each in self.repricing.products] if block.source == LIST else [1.0] * len(block.rows)
        return float(sum(weight * moved.parts.get(name, 0.0) for weight, (_, moved) in zip(weights, block.rows, strict=True)))

    def write(self) -> None:
        """Everything on the sheet, each cell once."""
        self._sentences()
        self._figures()
        causes = self._causes()
        self._cells(causes)
        if self.bars:
            self._chart(causes)

    def _sentences(self) -> None:
        products, quotes = self.repricing.products, self.repricing.quotes
        lowest, figure = LOWEST, self.repricing.lowest_margin
        parts, stored = [], []
        low = sum(_below(each.price.new, each.cost.new, figure) for each in products)
        for source, column, rows, called, few in (
            (LIST, 13, len(products), "list products", low),
            (QUOTED, 15, len(quotes), "open quotes", sum(_below(each.net.old, each.cost.new, figure) for each in quotes)),
        ):
            if rows:
                flags = self.book.tables[source].range(column, rows, source)
                parts.append(f'SUM({flags})&" of "&ROWS({flags})&" {called}"')
                stored.append(f"{few} of {rows} {called}")
        text = '&" and "&'.join(parts) + f'&" earn less than the lowest margin of "&TEXT({lowest},"0.0%")&" now."'
        ending = f" earn less than the lowest margin of {np.floor(figure * 1000 + 0.5) / 10:.1f}% now."
        if parts:
            self.sheet.write_formula(1, 0, f"={text}", self.style("text bold"), " and ".join(stored) + ending)
        what, in_file, file = self.repricing.compared_with.partition(" in ")
        compared = f"Prices of {written_date(self.repricing.day)} compared with {_DAY.sub(_written, what)}{in_file}{file}"
        compared += "; each quote with the prices it was made with."
        self.sheet.write_string(2, 0, compared, self.style("sentence"))
        if self.repricing.what_if:
            supposed = "; ".join(self.repricing.what_if)
            self.sheet.write_string(3, 0, f"What if: {supposed}. Nothing in the price book was changed.", self.style("text bold"))
        self.sheet.write_string(4, 0, "Lowest margin", self.style("note", valign="vcenter"))
        self.sheet.write_number(LOWEST.replace("$", ""), figure, self.style("input", "0.0%", align="right"))
        self.sheet.write_string(4, 2, KEY, self.style("note", valign="vcenter", indent=1))

    def _figures(self) -> None:
        """The figures of the whole, above the picture."""
        products = self.repricing.products
        count = len(products)
        made: list[tuple[int, str, Formula, str]] = []
        if count:
            table = self.book.tables[LIST]
            runs, old, new = (table.range(column, count, LIST) for column in (1, 3, 4))
            before = sum(each.quantity * each.cost.old for each in products)
            now = sum(each.quantity * each.cost.new for each in products)
            change = Formula(f"SUMPRODUCT({runs},{new})/SUMPRODUCT({runs},{old})-1", now / before - 1 if before else 0.0)
            made.append((0, "Cost of the list at usual runs", change, "+0.0%;-0.0%;0.0%"))
        for column, source, caption, net, cost in (
            (1, QUOTED, "Open quotes: margin as made", 9, 5), (3, QUOTED, "Open quotes: margin now", 9, 6),
            (5, ORDERED, "Ordered: margin now", 3, 5),
        ):
            quotes = self.repricing.quotes if source == QUOTED else self.repricing.ordered
            if quotes:
                amount = sum(each.net.old for each in quotes)
                paid = sum(each.cost.old if cost == 5 and source == QUOTED else each.cost.new for each in quotes)
                nets, costs = (self.book.tables[source].range(each, len(quotes), source) for each in (net, cost))
                text = f"IF(SUM({nets})=0,0,(SUM({nets})-SUM({costs}))/SUM({nets}))"
                made.append((column, caption, Formula(text, (amount - paid) / amount if amount else 0.0), "0.0%"))
        for column, caption, formula, number in made:
            self.sheet.write_string(_FIGURES - 1, column, caption, self.style("note"))
            style = self.style("result", number, align="left", font_size=12)
            self.sheet.write_formula(_FIGURES, column, f"={formula.text}", style, formula.result)

    def _causes(self) -> PlainTable:
        sources = [source for source in (LIST, QUOTED, ORDERED) if source in self.blocks]
        headings = {LIST: "On the list at usual runs", QUOTED: "On the open quotes", ORDERED: "On the ordered quotes"}
        columns = [TableColumn("Cause", width=173, widest=215), TableColumn("Kind", width=159)]
        columns += [self.book.column(headings[source], role="result" if source == LIST else "working") for source in sources]
        table = PlainTable(self.sheet, self.book.styles, self.causes_at, columns)
        self.sheet.write_string(self.causes_at - 2, 0, "What moved the costs, most first", self.style("text bold"))
        table.headings()
        for number, name in enumerate(self.names):
            cells: list[Cell] = [name[1], name[0]]
            for source in sources:
                block = self.blocks[source]
                if name in block.names:
                    parts, runs = block.cause_range(name), self.book.tables[LIST].range(1, len(self.repricing.products), LIST)
                    text = f"SUMPRODUCT({runs},{parts})" if source == LIST else f"SUM({parts})"
                    cells.append(Formula(text, self.effects[name][source]))
                else:
                    cells.append(0.0)
            table.row(number, cells)
        if not self.names:
            self.sheet.write_string(self.causes_at, 0, "Nothing that a cost rests on has changed.", self.style("note"))
        return table

    def _cells(self, causes: PlainTable) -> None:
        """Every changed cell, before and now."""
        top = self.cells_at
        table = PlainTable(self.sheet, self.book.styles, top, (
            TableColumn("Cause", widest=215), TableColumn("Changed"),
            TableColumn("Before", "0", note="A cell stands twice where quotes were made at several of its prices."),
            TableColumn("Now", "0", "result"), self.book.share("Change\n%"), TableColumn("In the price book", width=145),
        ))
        self.sheet.write_string(top - 2, 0, "What changed", self.style("text bold"))
        table.headings()
        row = 0
        for name in self.names:
            cause = self.repricing.causes[name]
            placed = any(cell.place for cell in cause.cells)
            for cell in cause.cells:
                if placed and not cell.place and GLOSSARY[cell.quantity].shown == "flag":
                    continue  # yes or no by a cell that stands in a row of its own
                number, unit = self._format(cell.quantity)
                change = _share(table.cell(2, row), table.cell(3, row), cell.old, cell.new)
                where = cell.place or "follows from other cells"
                counted = self.measures.factor(cell.quantity) * self.measures.counted(cell.quantity, dict(cell.words))
                old, new = (fifteen_digits(figure * counted) for figure in (cell.old, cell.new))
                named = self.measures.said(cause.name) if cause.kind == "setting" else cause.name
                table.row(row, [named, f"{self.measures.said(cell.label)}{unit}", Shown(old, number), Shown(new, number), change, where])
                row += 1
            for remark in cause.remarks:
                table.row(row, [cause.name, remark, None, None, None, ""])
                row += 1
        self.book.fit(self.sheet, settle(self.sheet, causes, table))

    def _format(self, quantity: str) -> tuple[str, str]:
        known = self.measures.quantity(quantity)
        number, unit = number_format(known.shown, known.decimals, self.book.currency), shown_unit(known.shown, self.book.currency)
        return f'{number};-{number};"none"' if quantity in _GIVEN else number, f", {unit}" if unit else ""

    def _chart(self, causes: PlainTable) -> None:
        effects = [self.effects[name].get(LIST, 0.0) for name in self.names[: self.bars]]
        title = f"What moved the cost of the list at usual runs ({self.book.currency})"
        chart = bar_chart(self.book.book, title, from_nought=min(effects) >= 0)
        add_bars(chart, FRONT, causes.range(0, self.bars), causes.range(2, self.bars), self.book.money)
        size = 720, (max(self.bars, 4) + 3) * 20
        set_chart(self.sheet, _CHART_TOP - 1, 0, chart, "What moved the cost of the list", size)


def _share(old_cell: str, new_cell: str, old: float, new: float) -> Formula:
    """The change as a share; nothing where there was nothing before."""
    return Formula(f'IF({old_cell}=0,"",{new_cell}/{old_cell}-1)', new / old - 1 if old else "")


def _below(net: float, cost: float, lowest: float) -> bool:
    margin = (net - cost) / net if net > 0 else 0.0
    return round(margin - lowest, 9) < 0


def write_front(book: RepricingBook, blocks: list[WhyBlock]) -> None:
    """Write the first sheet."""
    Front(book, blocks).write()
