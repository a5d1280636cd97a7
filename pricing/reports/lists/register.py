"""The register as a workbook for the bookkeeper: what was promised to whom, and what became of it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

from pricing.book.paper import paper_of
from pricing.files.atomic import written_beside
from pricing.register.recorded_quote import RecordedQuote
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.shared.plain_table import PlainTable, settle
from pricing.reports.shared.report_book import House, ReportBook

#: Row of the headings.
_TOP = 5

SHEET = "Register"


def write_register(
    quotes: Sequence[RecordedQuote], path: Path, *, business: str = "", price_book: str = "", day: datetime.date | None = None
) -> None:
    """Write quotes of the register as a workbook.

    Parameters
    ----------
    quotes : in the order in which they are listed
    path : where it goes; it is written beside and moved into place
    business : whose register it is, for the foot of the page
    price_book : file name of its price book
    day : on which the states hold

    Problems raised: OSError where the folder cannot be written.
    """
    on = day or datetime.date.today()
    currencies = list(dict.fromkeys(quote.currency for quote in quotes))
    currency = currencies[0] if currencies else "EUR"
    house = House(business, paper_of(currency), currency, price_book)
    with written_beside(path) as beside, ReportBook(str(beside), house) as book:
        _write(book, quotes, on, several=len(currencies) > 1)
        book.close("Register of quotes", on)


def _write(book: ReportBook, quotes: Sequence[RecordedQuote], day: datetime.date, *, several: bool) -> None:
    sheet = book.open_sheet(SHEET, "Register of quotes", repeat=_TOP)
    styles, money, currency = book.styles, book.money, book.currency
    unit = "" if several else f"\n{currency}"
    table = PlainTable(sheet, styles, _TOP, (
        TableColumn("Quote", widest=159), TableColumn("Revi-\nsion", "0"), TableColumn("Customer", widest=215),
        TableColumn("Date", "yyyy-mm-dd"), TableColumn("Valid until", "yyyy-mm-dd"), TableColumn("State"),
        TableColumn("Since", "yyyy-mm-dd"), *([TableColumn("Currency")] if several else []),
        TableColumn(f"Net{unit}", money), TableColumn(f"Tax{unit}", money),
        TableColumn(f"Payable{unit}", money, "result"), TableColumn(f"Cost{unit}", money, "working", "As it was made."),
        TableColumn("Margin\nas made", "0.0%"), TableColumn("Workbook", widest=313),
    ))
    table.headings()
    net = 8 if several else 7
    for number, quote in enumerate(quotes):
        at = [table.cell(column, number) for column in range(len(table.columns))]
        margin = Formula(f"IF({at[net]}>0,({at[net]}-{at[net + 3]})/{at[net]},0)", quote.totals["quote_margin"])
        table.row(number, [
            quote.number, quote.revision, quote.customer, quote.day, quote.valid_until, quote.stands, quote.since,
            *([quote.currency] if several else []), quote.totals["net"], quote.totals["tax"], quote.totals["payable"],
            quote.totals["quote_cost"], margin, quote.file,
        ])
    count = len(quotes)
    states = table.range(5, count)
    waiting = sum(quote.state in ("draft", "issued") for quote in quotes)
    text = f'COUNTIF({states},"issued")+COUNTIF({states},"draft")&" of "&ROWS({states})&" quotes wait for an answer on {day}."'
    if count:
        sheet.write_formula(1, 0, f"={text}", styles.get("text bold"), f"{waiting} of {count} quotes wait for an answer on {day}.")
    else:
        sheet.write_string(1, 0, "No quote is on record.", styles.get("text bold"))
    if count > 1 and not several:
        cells: list[Cell] = ["All", *[None] * (len(table.columns) - 1)]
        for column, name in ((net, "net"), (net + 1, "tax"), (net + 2, "payable"), (net + 3, "quote_cost")):
            cells[column] = Formula(f"SUM({table.range(column, count)})", sum(quote.totals[name] for quote in quotes))
        table.row(count, cells, "total")
    book.fit(sheet, settle(sheet, table))
    sheet.freeze_panes(_TOP, 1)
    if count:
        sheet.autofilter(_TOP - 1, 0, _TOP + count - 1, len(table.columns) - 1)
