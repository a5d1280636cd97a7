"""The repricing workbook: what moved, by how much, and why; every difference, share and sum a live formula."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing.algebra.expressions import Expression, evaluate, expression_of
from pricing.files.atomic import written_beside
from pricing.reports.shared.plain_table import Cell, Formula, PlainTable, TableColumn
from pricing.reports.shared.styles import FOOT, Styles, number_format, page_size, set_page
from pricing.rules import prices, totals
from pricing.xlsx.writing.safe_text import one_line

if TYPE_CHECKING:
    from pricing.repricing.changes import ProductChange, QuoteChange, Repricing

FRONT, LIST, QUOTED, ACCEPTED, WHY_COST, WHY_PRICE, CHECKS = (
    "Repricing", "List", "Quotes", "Accepted", "Why the cost", "Why the price", "Checks",
)

#: Where the lowest margin stands, on the first sheet.
LOWEST = "$B$5"

#: Row of the headings of the tables on the sheets after the first.
TOP = 5

BELOW = '"below lowest";;'


def write_repricing(repricing: Repricing, path: Path) -> None:
    """Write the repricing workbook.

    Parameters
    ----------
    path : where it goes; it is written beside and moved into place

    Problems raised: OSError where the folder cannot be written.
    """
    with written_beside(path) as beside:
        RepricingBook(repricing, beside).write()


def _formula_of(rule: Callable[..., Any], values: dict[str, tuple[str, float]]) -> Formula:
    """The formula of a rule over cells, with its result; each value is a cell and what stands in it."""
    algebra: Expression = expression_of(rule)
    text = algebra.formula({name: values[name][0] for name in algebra.names()})
    return Formula(text, float(evaluate(rule, {name: figure for name, (_, figure) in values.items()})))


class RepricingBook:
    """One repricing workbook while it is written."""

    def __init__(self, repricing: Repricing, path: Path) -> None:
        from pricing.xlsx.writing.workbook import new_workbook

        self.repricing = repricing
        self.book = new_workbook(str(path), {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False})
        self.styles = Styles(self.book)
        self.currency = repricing.currency
        self.money = number_format("money", 2, self.currency)
        settings = repricing.book.settings
        self.paper = page_size(self.currency, str(settings.get("page_size") or ""))
        self.business = one_line(str(settings["business_name"]), FOOT)
        self.sheets: dict[str, Any] = {}
        self.tables: dict[str, PlainTable] = {}

    def write(self) -> None:
        """Every sheet; formulas may point forward."""
        from pricing.reports.repricing.front import write_front
        from pricing.reports.repricing.why import write_checks, write_why

        names = [FRONT, LIST, QUOTED, *([ACCEPTED] if self.repricing.accepted else []), WHY_COST, WHY_PRICE, CHECKS]
        for name in names:
            self.sheets[name] = self.book.add_worksheet(name)
        self._list()
        self._quotes()
        if self.repricing.accepted:
            self._accepted()
        blocks = write_why(self)
        write_front(self, blocks)
        write_checks(self, blocks)
        day = datetime.datetime.combine(self.repricing.day, datetime.time())
        self.book.set_properties({"title": "Repricing", "author": self.business, "created": day})
        self.sheets[FRONT].activate()
        self.book.close()

    def open_sheet(self, name: str, title: str, sentence: str, *, wide: bool = True, repeat: bool = True) -> Any:
        """Title, sentence and page set-up of a sheet."""
        sheet = self.sheets[name]
        set_page(sheet, paper=self.paper, business=self.business, landscape=wide, repeat_row=TOP - 1 if repeat else None)
        sheet.set_row(0, 26)
        sheet.write_string(0, 0, title, self.styles.get("headline"))
        sheet.write_string(1, 0, sentence, self.styles.get("sentence"))
        return sheet

    def column(self, heading: str, note: str = "", role: str = "working", *, number: str = "") -> TableColumn:
        """A column of amounts, or of figures in another format."""
        return TableColumn(heading if number else f"{heading}\n{self.currency}", number or self.money, role, note, width=10)

    def share(self, heading: str, note: str = "", role: str = "working") -> TableColumn:
        """A column of percentages."""
        return TableColumn(heading, "0.0%", role, note, width=9)

    def flag(self, margin_cell: str, margin: float) -> Formula:
        """1 where a margin is below the lowest."""
        lowest = (f"{FRONT}!{LOWEST}", self.repricing.lowest_margin)
        return _formula_of(prices.below_lowest, {"discounted_margin": (margin_cell, margin), "lowest_margin": lowest})

    def _list(self) -> None:
        sheet = self.open_sheet(LIST, "List products", "One piece of each product, made at its usual run, before any discount.")
        table = PlainTable(sheet, self.styles, TOP, (
            TableColumn("Product", width=16), TableColumn("Usual run\npieces", "#,##0"),
            TableColumn("Price", note="list: the price in the List price column stands. calculated: it follows the cost.", width=10),
            self.column("Cost before"), self.column("Cost now", role="result"), self.column("Change"), self.share("Change\n%"),
            self.column("Price before"), self.column("Price now", role="result"), self.column("Change"),
            self.column("At target margin", "The price that earns the target margin at the cost of now, rounded by the price step."),
            self.share("Margin\nbefore"), self.share("Margin\nnow", role="result"),
            TableColumn("Look at", BELOW, "result", width=13, left=True),
        ))
        table.headings()
        for number, product in enumerate(self.repricing.products):
            table.row(number, self._product(table, number, product))
        self._finish(LIST, table, len(self.repricing.products))

    def _product(self, table: PlainTable, number: int, product: ProductChange) -> list[Cell]:
        at = [table.cell(column, number) for column in range(14)]
        cost, price = product.cost, product.price
        margins = [
            _formula_of(prices.line_margin, {"line_net": (at[net], amount), "line_cost": (at[made], paid)})
            for net, amount, made, paid in ((7, price.old, 3, cost.old), (8, price.new, 4, cost.new))
        ]
        return [
            product.product, product.quantity, "list" if product.listed else "calculated", cost.old, cost.new,
            *_change(at[3], at[4], cost.old, cost.new), price.old, price.new, Formula(f"{at[8]}-{at[7]}", price.change), product.wanted,
            *margins, self.flag(at[12], float(margins[1].result)),
        ]

    def _quotes(self) -> None:
        sentence = "Quotes that wait for an answer: as they were made, and as if their lines were made at the prices of now."
        sheet = self.open_sheet(QUOTED, "Open quotes", sentence)
        quotes = self.repricing.quotes
        table = PlainTable(sheet, self.styles, TOP, (
            TableColumn("Quote", width=9, widest=22), TableColumn("Customer", width=16, widest=24), TableColumn("State", width=8),
            TableColumn("Date", "yyyy-mm-dd", width=11), TableColumn("Valid until", "yyyy-mm-dd", width=11),
            self.column("Cost as made"), self.column("Cost now", role="result"), self.column("Change"), self.share("Change\n%"),
            self.column("Net promised"), self.column("Net now", "What the same lines come to at the prices of now.", "result"),
            self.column("Change"), self.share("Margin\nas made"),
            self.share("Margin\nnow", "If it is accepted as it stands: the net that was promised, the cost of now.", "result"),
            self.share("Margin\nif revised", "The net and the cost of now."), TableColumn("Look at", BELOW, "result", width=13, left=True),
            *self._remark(quotes),
        ))
        table.headings()
        for number, quote in enumerate(quotes):
            at = [table.cell(column, number) for column in range(16)]
            cost, net = quote.cost, quote.net
            margins = [
                self._margin(at[a], at[b], amount, paid)
                for a, b, amount, paid in ((9, 5, net.old, cost.old), (9, 6, net.old, cost.new), (10, 6, net.new, cost.new))
            ]
            cells: list[Cell] = [
                quote.name, quote.customer, quote.state, quote.day, quote.valid_until, cost.old, cost.new,
                *_change(at[5], at[6], cost.old, cost.new), net.old, net.new, Formula(f"{at[10]}-{at[9]}", net.change), *margins,
                self.flag(at[13], float(margins[1].result)), quote.reason,
            ]
            table.row(number, cells[: len(table.columns)])
        if len(quotes) > 1:
            sums = {5: "cost.old", 6: "cost.new", 9: "net.old", 10: "net.new"}
            self._totals(table, quotes, sums, ((9, 5, 12), (9, 6, 13), (10, 6, 14)))
        self._finish(QUOTED, table, len(quotes))

    def _remark(self, quotes: Sequence[QuoteChange]) -> tuple[TableColumn, ...]:
        return (TableColumn("Remark", width=20, widest=36),) if any(quote.reason for quote in quotes) else ()

    def _accepted(self) -> None:
        sentence = "Accepted quotes stand as they are; this is what they earn at the prices of now."
        sheet = self.open_sheet(ACCEPTED, "Accepted quotes", sentence)
        quotes = self.repricing.accepted
        table = PlainTable(sheet, self.styles, TOP, (
            TableColumn("Quote", width=9, widest=22), TableColumn("Customer", width=16, widest=24),
            TableColumn("Date", "yyyy-mm-dd", width=11), self.column("Net accepted"), self.column("Cost as made"),
            self.column("Cost now", role="result"), self.column("Change"), self.share("Change\n%"), self.share("Margin\nas made"),
            self.share("Margin\nnow", role="result"), TableColumn("Look at", BELOW, "result", width=13, left=True), *self._remark(quotes),
        ))
        table.headings()
        for number, quote in enumerate(quotes):
            at = [table.cell(column, number) for column in range(11)]
            cost, net = quote.cost, quote.net.old
            margins = [self._margin(at[3], at[4], net, cost.old), self._margin(at[3], at[5], net, cost.new)]
            cells: list[Cell] = [
                quote.name, quote.customer, quote.day, net, cost.old, cost.new, *_change(at[4], at[5], cost.old, cost.new), *margins,
                self.flag(at[9], float(margins[1].result)), quote.reason,
            ]
            table.row(number, cells[: len(table.columns)])
        if len(quotes) > 1:
            self._totals(table, quotes, {3: "net.old", 4: "cost.old", 5: "cost.new"}, ((3, 4, 8), (3, 5, 9)))
        self._finish(ACCEPTED, table, len(quotes))

    def _margin(self, net_cell: str, cost_cell: str, net: float, cost: float) -> Formula:
        return _formula_of(totals.quote_margin, {"net": (net_cell, net), "quote_cost": (cost_cell, cost)})

    def _totals(
        self, table: PlainTable, quotes: Sequence[QuoteChange], sums: dict[int, str], margins: Sequence[tuple[int, int, int]]
    ) -> None:
        """The last row: sums, their changes, and the margins of the whole."""
        count = len(quotes)
        cells: list[Cell] = ["All", *[None] * (len(table.columns) - 1)]
        figures = {}
        for column, name in sums.items():
            moved, _, side = name.partition(".")
            figures[column] = sum(getattr(getattr(quote, moved), side) for quote in quotes)
            cells[column] = Formula(f"SUM({table.range(column, count)})", figures[column])
        at = [table.cell(column, count) for column in range(len(cells))]
        where = {name: column for column, name in sums.items()}
        old, new = where["cost.old"], where["cost.new"]
        cells[new + 1], cells[new + 2] = _change(at[old], at[new], figures[old], figures[new])
        if "net.new" in where:
            old, new = where["net.old"], where["net.new"]
            cells[new + 1] = Formula(f"{at[new]}-{at[old]}", figures[new] - figures[old])
        for net, cost, place in margins:
            cells[place] = self._margin(at[net], at[cost], figures[net], figures[cost])
        table.row(count, cells, "total")

    def _finish(self, name: str, table: PlainTable, count: int) -> None:
        if not count:
            table.sheet.write_string(TOP, 0, "There are none.", self.styles.get("note"))
        table.settle()
        table.sheet.freeze_panes(TOP, 1)
        if count:
            table.sheet.autofilter(TOP - 1, 0, TOP + count - 1, len(table.columns) - 1)
        self.tables[name] = table


def _change(old_cell: str, new_cell: str, old: float, new: float) -> tuple[Formula, Formula]:
    """The difference of two cells, and its share of the first."""
    share = Formula(f"IF({old_cell}=0,0,({new_cell}-{old_cell})/{old_cell})", (new - old) / old if old else 0.0)
    return Formula(f"{new_cell}-{old_cell}", new - old), share
