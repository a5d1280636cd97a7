"""The sheet of the price history: what materials and hours cost, what the list products would have cost and earned; plots and tables."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pricing.book.shown_units import in_inches, shown_amount
from pricing.costing.engine.packed_columns import Floats
from pricing.languages.spelling import written_date
from pricing.reports.repricing.book import HISTORY, RepricingBook, formula_of
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.shared.charts import add_course, course_chart, set_chart
from pricing.reports.shared.paging import fullest_page, page_openings, page_room
from pricing.reports.shared.plain_table import PlainTable, settle
from pricing.reports.shared.report_book import ROW
from pricing.repricing.history import PriceHistory
from pricing.rules import prices
from pricing.xlsx.writing.text_width import fitting

#: More lines than this are no picture any more.
MOST_COURSES = 6

#: Rows that a plot takes, and where the first stands.
_CHART_TOP, _CHART_ROWS = 4, 13

_CHANGE = "+0.0%;-0.0%;0.0%"

#: Width of the names, of the plots, and of a page at least [pixels].
_NAME, _PLOT, _PAGE = 230, 800, 820


class HistorySheet:
    """The sheet while it is written."""

    def __init__(self, book: RepricingBook, history: PriceHistory) -> None:
        self.book, self.history = book, history
        self.sheet = book.open_sheet(HISTORY, "Price history")
        self.pounds = in_inches(book.repricing.book)
        self.tables: list[tuple[PlainTable, int]] = []
        self.at = _CHART_TOP + 3 * _CHART_ROWS + 3

    def write(self) -> None:
        """The sentence, three plots, and the tables that they show."""
        history = self.history
        units = [shown_amount(unit, 1.0) if self.pounds else (unit, 1.0) for unit in history.units]
        paid = np.array([row / amount for row, (_, amount) in zip(history.prices, units, strict=True)]).reshape(history.prices.shape)
        names = [f"{name}, {unit}" for name, (unit, _) in zip(history.materials, units, strict=True)]
        what = "a unit of each material, an hour and a kWh" if history.rates else "a unit of each material"
        bought = self._figures(f"What {what} cost, carriage and wastage counted in", names, paid, self.book.currency)
        whose = "price or rate" if history.rates else "material's price"
        rose = self._changes(f"Change of each {whose} since the first day that is known", history.materials, paid, bought)
        cost = self._figures("What one piece cost at its usual run", history.products, history.costs, self.book.currency)
        dearer = self._changes("Change of each product's cost since the first day", history.products, history.costs, cost)
        earned = self._margins(cost)
        title = f"What materials{', hours and electricity' if history.rates else ''} cost, against the first day"
        self._plot(0, title, rose, history.materials, _since_first(paid), "0.0%")
        self._plot(1, "What the list products would have cost, against the first day", dearer, history.products,
                   _since_first(history.costs), "0.0%")
        margins = history.costs / np.where(history.price == 0, np.nan, history.price)[:, None]
        self._plot(2, "What they would have earned at the price of today: margin", earned, history.products, margins, "0%")
        self._sentence(paid)
        self._finish()

    def _sentence(self, paid: Floats) -> None:
        """What moved most, and how the list moved."""
        history = self.history
        old, new = (float(history.costs[:, place].sum()) for place in (0, -1))
        text = f"Since {written_date(history.days[0])} one piece of each list product together costs {new / old - 1:+.1%}." if old else ""
        changes = _since_first(paid)[:, -1]
        if len(changes):
            most = int(np.nanargmax(np.abs(changes)))
            text += f" {history.materials[most]} moved most: {changes[most]:+.1%}."
        self.sheet.write_string(1, 0, text, self.book.styles.get("text bold"))
        told = "Days on which a price changed, but those on which something of the list had no price yet. Discounts are not counted."
        self.sheet.write_string(2, 0, told, self.book.styles.get("note"))

    def _table(self, title: str, columns: Sequence[TableColumn], rows: Sequence[Sequence[Cell]]) -> PlainTable:
        table = PlainTable(self.sheet, self.book.styles, self.at, columns)
        self.sheet.write_string(self.at - 2, 0, title, self.book.styles.get("text bold"))
        table.headings()
        for day, column in zip(self.history.days, range(1, len(columns)), strict=False):
            self.sheet.write_datetime(self.at - 1, column, day, self.book.styles.get("heading right", "d mmm yyyy"))
        for number, cells in enumerate(rows):
            table.row(number, cells)
        self.tables.append((table, len(rows)))
        self.at += len(rows) + 4
        return table

    def _columns(self, number: str, unit: str = "") -> list[TableColumn]:
        """A name, and a column for each day."""
        return [TableColumn(unit, width=_NAME, widest=_NAME), *(TableColumn("", number, width=82) for _ in self.history.days)]

    def _figures(self, title: str, names: Sequence[str], figures: Floats, unit: str) -> PlainTable:
        rows: list[list[Cell]] = [[_short(name), *map(_known, row)] for name, row in zip(names, figures.tolist(), strict=True)]
        return self._table(title, self._columns(self.book.money, unit), rows)

    def _changes(self, title: str, names: Sequence[str], figures: Floats, source: PlainTable) -> PlainTable:
        rows: list[list[Cell]] = []
        for number, (name, row) in enumerate(zip(names, figures, strict=True)):
            known = np.flatnonzero(~np.isnan(row) & (row != 0))
            first = source.cell(1 + int(known[0]), number, fixed=True) if len(known) else ""
            rows.append([_short(name), *(
                None if not first or np.isnan(figure) else
                Formula(f"{source.cell(1 + place, number)}/{first}-1", float(figure / row[known[0]] - 1))
                for place, figure in enumerate(row)
            )])
        return self._table(title, self._columns(_CHANGE), rows)

    def _margins(self, cost: PlainTable) -> PlainTable:
        """What each product would have earned at the price of the last day."""
        share = self.book.repricing.taken_share
        taken = f"{share:.15g}", share
        today = self.book.column("Price today", "The list price where there is one, otherwise what it works out at.")
        columns = [*self._columns("0.0%"), today]
        table = PlainTable(self.sheet, self.book.styles, self.at, columns)  # for its cells
        rows: list[list[Cell]] = []
        for number, (name, row, price) in enumerate(zip(self.history.products, self.history.costs, self.history.price, strict=True)):
            net = table.cell(len(columns) - 1, number), float(price)
            rows.append([_short(name), *(
                formula_of(prices.line_margin, {
                    "line_net": net, "line_cost": (cost.cell(1 + place, number), float(figure)), "taken_share": taken})
                for place, figure in enumerate(row)
            ), float(price)])
        return self._table("Margin that each product would have earned at the price of today", columns, rows)

    def _plot(self, place: int, title: str, table: PlainTable, names: Sequence[str], figures: Floats, number: str) -> None:
        """A line for each of those that moved most."""
        spread = np.nan_to_num(np.nanmax(figures, axis=1) - np.nanmin(figures, axis=1)) if len(names) else np.zeros(0)
        shown = sorted(np.argsort(-spread, kind="stable")[:MOST_COURSES].tolist())
        if not shown:
            self.sheet.write_string(_CHART_TOP + place * _CHART_ROWS, 0, f"{title}: nothing moved.", self.book.styles.get("note"))
            return
        if len(shown) < len(names):
            title += f" (the {len(shown)} of {len(names)} that moved most)"
        chart, last = course_chart(self.book.book, title, number), len(self.history.days)
        days = f"='{HISTORY}'!{table.row_range(1, last, -1)}"
        for course, row in enumerate(shown):
            name, figures_at = table.cell(0, row, fixed=True), table.row_range(1, last, row)
            add_course(chart, course, f"='{HISTORY}'!{name}", days, f"='{HISTORY}'!{figures_at}")
        size = _PLOT, round(_CHART_ROWS * ROW / 0.75) - 8
        set_chart(self.sheet, _CHART_TOP - 1 + place * _CHART_ROWS, 0, chart, title, size)

    def _finish(self) -> None:
        widths = settle(self.sheet, *(table for table, _ in self.tables))
        widths += [64] * max(0, -(-(_PAGE - sum(widths)) // 64))
        across = self.book.fit(self.sheet, widths)
        starts = [0, *(table.top - 2 for table, _ in self.tables)]
        blocks = list(zip(starts, [*starts[1:], self.at - 4], strict=True))
        room = min(page_room(self.book.paper, widths, across), fullest_page(self.book.paper, landscape=across))
        self.sheet.set_h_pagebreaks(page_openings({0: 26.0}, ROW, blocks, room))
        self.sheet.print_area(0, 0, self.at - 5, len(widths) - 1)


def _since_first(figures: Floats) -> Floats:
    """Change since the first figure that is known [1]."""
    made = np.full(figures.shape, np.nan)
    for row, each in enumerate(figures):
        known = each[~np.isnan(each) & (each != 0)]
        if len(known):
            made[row] = each / known[0] - 1
    return made


def _known(figure: float) -> float | None:
    return None if np.isnan(figure) else figure


def _short(name: str) -> str:
    return fitting(name, _NAME - 10, 10)


def write_history(book: RepricingBook, history: PriceHistory) -> None:
    """Write the sheet."""
    HistorySheet(book, history).write()
