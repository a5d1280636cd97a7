"""The register as a workbook for the bookkeeper: what was promised to whom, and what became of it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.files.atomic import written_beside
from pricing.reports.shared.plain_table import Cell, Formula, PlainTable, TableColumn
from pricing.reports.shared.styles import FOOT, Styles, number_format, page_size, set_page
from pricing.xlsx.writing.safe_text import one_line

if TYPE_CHECKING:
    from pricing.register.recorded_quote import RecordedQuote

#: Row of the headings.
_TOP = 5

SHEET = "Register"


def write_register(quotes: Sequence[RecordedQuote], path: Path, *, business: str = "", day: datetime.date | None = None) -> None:
    """Write quotes of the register as a workbook.

    Parameters
    ----------
    quotes : in the order in which they are listed
    path : where it goes; it is written beside and moved into place
    business : whose register it is, for the foot of the page
    day : on which the states hold

    Problems raised: OSError where the folder cannot be written.
    """
    from pricing.xlsx.writing.workbook import new_workbook

    on = day or datetime.date.today()
    with written_beside(path) as beside:
        book = new_workbook(str(beside), {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False})
        business = one_line(business, FOOT)
        _write(book, quotes, business, on)
        book.set_properties({"title": "Register of quotes", "author": business, "created": datetime.datetime.combine(on, datetime.time())})
        book.close()


def _write(book: object, quotes: Sequence[RecordedQuote], business: str, day: datetime.date) -> None:
    from xlsxwriter.workbook import Workbook

    assert isinstance(book, Workbook)
    styles = Styles(book)
    sheet = book.add_worksheet(SHEET)
    currencies = list(dict.fromkeys(quote.currency for quote in quotes))
    currency = currencies[0] if currencies else "EUR"
    several = len(currencies) > 1
    money = number_format("money", 2, currency)
    set_page(sheet, paper=page_size(currency), business=business, landscape=True, repeat_row=_TOP - 1)
    sheet.set_row(0, 26)
    sheet.write_string(0, 0, "Register of quotes", styles.get("headline"))
    unit = "" if several else f"\n{currency}"
    table = PlainTable(sheet, styles, _TOP, (
        TableColumn("Quote", width=10, widest=22), TableColumn("Revi-\nsion", "0", width=6), TableColumn("Customer", width=18, widest=30),
        TableColumn("Date", "yyyy-mm-dd", width=11), TableColumn("Valid until", "yyyy-mm-dd", width=11), TableColumn("State", width=10),
        TableColumn("Since", "yyyy-mm-dd", width=11), *([TableColumn("Currency", width=9)] if several else []),
        TableColumn(f"Net{unit}", money, width=10), TableColumn(f"Tax{unit}", money, width=10),
        TableColumn(f"Payable{unit}", money, "result", width=10), TableColumn(f"Cost{unit}", money, "working", "As it was made.", 10),
        TableColumn("Margin\nas made", "0.0%", width=9), TableColumn("Workbook", width=16, widest=44),
    ))
    table.headings()
    net = 8 if several else 7
    for number, quote in enumerate(quotes):
        at = [table.cell(column, number) for column in range(len(table.columns))]
        margin = Formula(f"IF({at[net]}>0,({at[net]}-{at[net + 3]})/{at[net]},0)", quote.totals["quote_margin"])
        table.row(number, [
            quote.number, quote.revision, quote.customer, quote.day, quote.valid_until, quote.state, quote.since,
            *([quote.currency] if several else []), quote.totals["net"], quote.totals["tax"], quote.totals["payable"],
            quote.totals["quote_cost"], margin, quote.file,
        ])
    count = len(quotes)
    states = table.range(5, count)
    waiting = sum(quote.state in ("draft", "sent") for quote in quotes)
    text = f'COUNTIF({states},"sent")+COUNTIF({states},"draft")&" of "&ROWS({states})&" quotes wait for an answer on {day}."'
    if count:
        sheet.write_formula(1, 0, f"={text}", styles.get("text bold"), f"{waiting} of {count} quotes wait for an answer on {day}.")
    else:
        sheet.write_string(1, 0, "No quote is on record.", styles.get("text bold"))
    if count > 1 and not several:
        cells: list[Cell] = ["All", *[None] * (len(table.columns) - 1)]
        for column, name in ((net, "net"), (net + 1, "tax"), (net + 2, "payable"), (net + 3, "quote_cost")):
            cells[column] = Formula(f"SUM({table.range(column, count)})", sum(quote.totals[name] for quote in quotes))
        table.row(count, cells, "total")
    table.settle()
    sheet.freeze_panes(_TOP, 1)
    if count:
        sheet.autofilter(_TOP - 1, 0, _TOP + count - 1, len(table.columns) - 1)
