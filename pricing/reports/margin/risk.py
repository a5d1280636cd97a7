"""The sheet "How sure": what cost and margin may come to where the price book gives a low and a high for its figures."""

from __future__ import annotations

import functools

import numpy as np

from pricing import money
from pricing.costing.analysis.simulation import Simulation, simulate
from pricing.glossary import GLOSSARY
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.sheet import MarginSheet
from pricing.reports.shared.charts import add_bars, bar_chart, set_chart
from pricing.reports.shared.report_book import ROW
from pricing.reports.shared.styles import number_format, shown_unit

#: More bars than this are no picture any more.
MOST_BARS = 15

#: A chance smaller than this share is no bar worth drawing.
SMALL_CHANCE = 0.005

_KINDS = {"pack_price": "Pack price", "minutes": "Minutes", "rejects": "Rejects"}
_TOP = 7

#: Of the columns, at least [pixels].
_WIDTHS = (128, 128, 82, 82, 82, 82, 82, 82, 82, 82, 103)


def write_risk(margin: MarginBook) -> bool:
    """Write the sheet "How sure" of a margin workbook, from a seeded simulation; its figures do not follow changes.

    Returns
    -------
    True where it was written; False where the price book gives nothing uncertain, and there is no such sheet
    """
    made = simulate(margin.costing)
    for problem in made.problems:
        margin.costing.problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell, warning=True)
    if not made.uncertain:
        return False
    _Risk(margin, made).write()
    return True


class _Risk:
    """The sheet while it is written."""

    def __init__(self, margin: MarginBook, made: Simulation) -> None:
        self.page = MarginSheet(margin, "How sure", "How sure the margins are", _WIDTHS, screen=True)
        self.made = made
        self.costing = margin.costing
        margins = margin.costing.line("discounted_margin")
        self.order = sorted(range(len(margins)), key=lambda line: (-made.chance_below[line], made.margin[line, 0], line))
        self.bars = min(int((made.chance_below >= SMALL_CHANCE).sum()), MOST_BARS)
        self.chart_rows = self.bars + 4 if self.bars else 0
        self.lines_at = _TOP + self.chart_rows + 2
        self.figures_at = self.lines_at + len(self.order) + 5

    def write(self) -> None:
        """Everything on the sheet, each cell once."""
        self.page.text("A2", self._sentence(), "text bold")
        self.page.text("A4", f"Nothing on this sheet follows what is changed in this workbook. {self.made.sentence} Prices are held; "
                       "figures of different cells are taken as independent of each other.", "note", italic=True)
        self._lines()
        self._figures()
        self.page.finish(self.figures_at + len(self.made.uncertain))
        self._chart()
        self.page.sheet.freeze_panes(4, 0)

    def _sentence(self) -> str:
        low, _, high = self.made.whole_margin
        lowest = self.costing.setting("lowest_margin")
        likely = int((self.made.chance_below >= 0.1).sum())
        return (
            f"Four times in five all quotes together earn between {_percent(low)} and {_percent(high)}; {likely} of "
            f"{len(self.order)} lines miss the lowest margin of {_percent(lowest)} at least one time in ten."
        )

    def _lines(self) -> None:
        row, unit = self.lines_at, self.costing.currency
        ten = ("One time in ten it is below this.", "As often below as above.", "One time in ten it is above this.")
        self.page.headings(row, "Lines, those that most likely miss the lowest margin first", (
            ("A", "Line", ""), ("C", f"Unit cost\n{unit}", "As costed: every figure at its likeliest."),
            *((letter, f"Cost {name}\n{unit}", note) for letter, name, note in zip("DEF", ("P10", "P50", "P90"), ten, strict=True)),
            ("G", "Margin", "As costed, after discount."),
            *((letter, f"Margin {name}", note) for letter, name, note in zip("HIJ", ("P10", "P50", "P90"), ten, strict=True)),
            ("K", "Chance of missing\nlowest margin", "Share of the draws in which the margin after discount is below the lowest."),
        ))
        names = self.page.margin.model.tables["lines"].text
        cost, margin, amount = self.costing.line("unit_cost"), self.costing.line("discounted_margin"), self.page.money
        for place, line in enumerate(self.order):
            at = row + 1 + place
            self.page.text(f"A{at}", f"{names['quote'][line]}  {names['product'][line]}")
            for letter, figure in zip("CDEF", (cost[line], *self.made.unit_cost[line]), strict=True):
                self.page.typed(f"{letter}{at}", figure, amount, italic=False)
            for letter, figure in zip("GHIJ", (margin[line], *self.made.margin[line]), strict=True):
                self.page.typed(f"{letter}{at}", figure, "0.0%", italic=False)
            self.page.typed(f"K{at}", self.made.chance_below[line], "0.0%", italic=False)
        self._all(row + 1 + len(self.order))

    def _all(self, at: int) -> None:
        """All quotes together, below the lines; carriage stands on both sides."""
        quote, made = self.costing.quote, self.made
        net, cost = float(quote("net").sum()), float(quote("quote_cost").sum())
        self.page.text(f"A{at}", "All quotes together", "total")
        self.page.text(f"B{at}", "", "total")
        figures = (*(("C", cost), *zip("DEF", made.whole_cost, strict=True)), ("G", (net - cost) / net if net else 0.0),
                   *zip("HIJ", made.whole_margin, strict=True), ("K", made.whole_chance_below))
        for letter, figure in figures:
            form = self.page.money if letter < "G" else "0.0%"
            style = self.page.style("total", form, align="right")
            self.page.sheet.write_number(f"{letter}{at}", float(figure), style)

    def _figures(self) -> None:
        row = self.figures_at
        self.page.headings(row, "What was drawn", (
            ("A", "Figure", ""), ("B", "In the price book", ""), ("C", "Low", ""), ("D", "Likeliest", "As the book counts with it."),
            ("E", "High", ""), ("F", "Kind", ""), ("G", "Unit", ""),
        ), words="ABFG")
        for place, each in enumerate(self.made.uncertain):
            at = row + 1 + place
            quantity = GLOSSARY[each.quantity]
            table, column, rows = each.cells[0]
            shown = functools.partial(self.page.margin.measures.figure, self.page.margin.model.tables[table], column, row=int(rows[0]))
            form = number_format(quantity.shown, quantity.decimals, self.costing.currency)
            self.page.text(f"A{at}", each.name)
            self.page.text(f"B{at}", each.place)
            for letter, figure in zip("CDE", (each.low, each.likeliest, each.high), strict=True):
                self.page.typed(f"{letter}{at}", shown(value=figure), form, italic=False)
            self.page.text(f"F{at}", _KINDS[each.quantity], indent=1)
            self.page.text(f"G{at}", shown_unit(quantity.shown, self.costing.currency), indent=1)

    def _chart(self) -> None:
        if not self.bars:
            return
        chart = bar_chart(self.page.margin.book, "Chance that a line misses the lowest margin", from_nought=True)
        first, last = self.lines_at + 1, self.lines_at + self.bars
        add_bars(chart, "'How sure'", f"$A${first}:$A${last}", f"$K${first}:$K${last}", "0%", gap=40)
        words = "Chance of missing the lowest margin, by line"
        set_chart(self.page.sheet, _TOP - 2, 0, chart, words, (900, round(self.chart_rows * ROW / 0.75) - 6))


def _percent(share: float) -> str:
    return f"{float(np.asarray(money.round_half_away(share * 100, 1))):.1f}%"
