"""The sheets of the repricing workbook with a row for each product and each quote."""

from __future__ import annotations

from collections.abc import Sequence

from pricing.reports.repricing.book import BELOW, FEWEST_ROWS, LIST, ORDERED, QUOTED, TOP, RepricingBook, formula_of
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.shared.plain_table import PlainTable, settle
from pricing.repricing.changes import ProductChange, QuoteChange
from pricing.rules import prices, totals


def write_list(book: RepricingBook) -> None:
    """What one piece of each list product costs and earns, before and now."""
    sheet = book.open_sheet(LIST, "List products", "One piece of each product, made at its usual run, before any discount.", repeat=TOP,
                            screen=len(book.repricing.products) < FEWEST_ROWS)
    table = PlainTable(sheet, book.styles, TOP, (
        TableColumn("Product"), TableColumn("Usual run\npieces", "#,##0"),
        TableColumn("Price", note="list: the price in the List price column stands. calculated: it follows the cost."),
        book.column("Cost before"), book.column("Cost now", role="result"), book.column("Change"), book.share("Change\n%"),
        book.column("Price before"), book.column("Price now", role="result"), book.column("Change"),
        book.column("At target margin", "The price that earns the target margin at the cost of now, rounded by the price step."),
        book.share("Margin\nbefore"), book.share("Margin\nnow", role="result"),
        TableColumn("Warning", BELOW, "result", left=True),
    ))
    table.headings()
    for number, product in enumerate(book.repricing.products):
        table.row(number, _product(book, table, number, product))
    _finish(book, LIST, table, len(book.repricing.products))


def _product(book: RepricingBook, table: PlainTable, number: int, product: ProductChange) -> list[Cell]:
    at = [table.cell(column, number) for column in range(14)]
    cost, price, taken = product.cost, product.price, book.repricing.taken_share
    margins = [
        formula_of(prices.line_margin, {
            "line_net": (at[net], amount), "line_cost": (at[made], paid), "taken_share": (f"{taken:.15g}", taken)})
        for net, amount, made, paid in ((7, price.old, 3, cost.old), (8, price.new, 4, cost.new))
    ]
    return [
        product.product, product.quantity, "list" if product.listed else "calculated", cost.old, cost.new,
        *_change(at[3], at[4], cost.old, cost.new), price.old, price.new, Formula(f"{at[8]}-{at[7]}", price.change), product.wanted,
        *margins, book.flag(at[12], float(margins[1].result)),
    ]


def write_quotes(book: RepricingBook) -> None:
    """What the open quotes cost and earn, as made, as promised and if revised."""
    sentence = "Quotes that wait for an answer: as they were made, and as if their lines were made at the prices of now."
    quotes = book.repricing.quotes
    sheet = book.open_sheet(QUOTED, "Open quotes", sentence, repeat=TOP, screen=len(quotes) < FEWEST_ROWS)
    table = PlainTable(sheet, book.styles, TOP, (
        TableColumn("Quote", widest=159), TableColumn("Customer", widest=173), TableColumn("State"),
        TableColumn("Date", "yyyy-mm-dd"), TableColumn("Valid until", "yyyy-mm-dd"),
        book.column("Cost as made"), book.column("Cost now", role="result"), book.column("Change"), book.share("Change\n%"),
        book.column("Net promised"), book.column("Net now", "What the same lines come to at the prices of now.", "result"),
        book.column("Change"), book.share("Margin\nas made"),
        book.share("Margin\nnow", "If it is ordered as it stands: the net that was promised, the cost of now.", "result"),
        book.share("Margin\nif revised", "The net and the cost of now."), TableColumn("Warning", BELOW, "result", left=True),
        *_remark(quotes),
    ))
    table.headings()
    for number, quote in enumerate(quotes):
        at = [table.cell(column, number) for column in range(16)]
        cost, net = quote.cost, quote.net
        margins = [
            _margin(at[a], at[b], amount, paid)
            for a, b, amount, paid in ((9, 5, net.old, cost.old), (9, 6, net.old, cost.new), (10, 6, net.new, cost.new))
        ]
        cells: list[Cell] = [
            quote.name, quote.customer, quote.state, quote.day, quote.valid_until, cost.old, cost.new,
            *_change(at[5], at[6], cost.old, cost.new), net.old, net.new, Formula(f"{at[10]}-{at[9]}", net.change), *margins,
            book.flag(at[13], float(margins[1].result)), quote.reason,
        ]
        table.row(number, cells[: len(table.columns)])
    if len(quotes) > 1:
        sums = {5: "cost.old", 6: "cost.new", 9: "net.old", 10: "net.new"}
        _totals(table, quotes, sums, ((9, 5, 12), (9, 6, 13), (10, 6, 14)))
    _finish(book, QUOTED, table, len(quotes))


def _remark(quotes: Sequence[QuoteChange]) -> tuple[TableColumn, ...]:
    return (TableColumn("Remark", widest=257),) if any(quote.reason for quote in quotes) else ()


def write_ordered(book: RepricingBook) -> None:
    """What the ordered quotes earn at the prices of now."""
    sentence = "Ordered quotes stand as they are; this is what they earn at the prices of now."
    quotes = book.repricing.ordered
    sheet = book.open_sheet(ORDERED, "Ordered quotes", sentence, repeat=TOP, screen=len(quotes) < FEWEST_ROWS)
    table = PlainTable(sheet, book.styles, TOP, (
        TableColumn("Quote", widest=159), TableColumn("Customer", widest=173),
        TableColumn("Date", "yyyy-mm-dd"), book.column("Net ordered"), book.column("Cost as made"),
        book.column("Cost now", role="result"), book.column("Change"), book.share("Change\n%"), book.share("Margin\nas made"),
        book.share("Margin\nnow", role="result"), TableColumn("Warning", BELOW, "result", left=True), *_remark(quotes),
    ))
    table.headings()
    for number, quote in enumerate(quotes):
        at = [table.cell(column, number) for column in range(11)]
        cost, net = quote.cost, quote.net.old
        margins = [_margin(at[3], at[4], net, cost.old), _margin(at[3], at[5], net, cost.new)]
        cells: list[Cell] = [
            quote.name, quote.customer, quote.day, net, cost.old, cost.new, *_change(at[4], at[5], cost.old, cost.new), *margins,
            book.flag(at[9], float(margins[1].result)), quote.reason,
        ]
        table.row(number, cells[: len(table.columns)])
    if len(quotes) > 1:
        _totals(table, quotes, {3: "net.old", 4: "cost.old", 5: "cost.new"}, ((3, 4, 8), (3, 5, 9)))
    _finish(book, ORDERED, table, len(quotes))


def _margin(net_cell: str, cost_cell: str, net: float, cost: float) -> Formula:
    return formula_of(totals.quote_margin, {"net": (net_cell, net), "quote_cost": (cost_cell, cost)})


def _totals(
    table: PlainTable, quotes: Sequence[QuoteChange], sums: dict[int, str], margins: Sequence[tuple[int, int, int]]
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
        cells[place] = _margin(at[net], at[cost], figures[net], figures[cost])
    table.row(count, cells, "total")


def _finish(book: RepricingBook, name: str, table: PlainTable, count: int) -> None:
    if not count:
        table.sheet.write_string(TOP, 0, "There are none.", book.styles.get("note"))
    book.fit(table.sheet, settle(table.sheet, table))
    table.sheet.freeze_panes(TOP, 1)
    if count:
        table.sheet.autofilter(TOP - 1, 0, TOP + count - 1, len(table.columns) - 1)
    book.tables[name] = table


def _change(old_cell: str, new_cell: str, old: float, new: float) -> tuple[Formula, Formula]:
    """The difference of two cells, and its share of the first."""
    share = Formula(f"IF({old_cell}=0,0,({new_cell}-{old_cell})/{old_cell})", (new - old) / old if old else 0.0)
    return Formula(f"{new_cell}-{old_cell}", new - old), share
