"""The review workbook: finished jobs against what they were allowed, better standards, and what the accepted quotes take.

Every variance is the live formula of its rule; totals follow, and the checks take each figure by a second way.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from xlsxwriter.utility import xl_col_to_name

from pricing import money
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.model import Model
from pricing.costing.jobs.proposals import standards_tables
from pricing.files.atomic import written_beside
from pricing.glossary import GLOSSARY
from pricing.reports.shared.formulas import Block, Layout, quoted
from pricing.reports.shared.model_table import BlockWriter
from pricing.reports.shared.styles import Styles, number_format, page_size, set_page

if TYPE_CHECKING:
    from pricing.book.reading.read import PriceBook
    from pricing.costing.jobs.capacity import Capacity
    from pricing.costing.jobs.proposals import Proposal
    from pricing.costing.jobs.review import Review
    from pricing.reports.shared.plain_table import PlainTable

REVIEW_FILE = "review.xlsx"

SUMMARY, JOBS, ITEMS, STANDARDS, CAPACITY, LOADS, CHECKS = "Summary", "Jobs", "Items", "Standards", "Capacity", "Loads", "Checks"

#: Room between the figures of neighbouring columns [characters].
ROOM = 2.2

KEY = "Tinted: typed, may be changed.   Plain: worked out.   Bold: a result."
SIGN = "Actual minus allowed: + is adverse (it cost more than allowed), − is favourable (it cost less)."

#: How the figures of a standard are shown, by its kind: share or not, and decimals.
SHOWN: dict[str, str] = {"minutes": "#,##0.0", "coverage": "#,##0.00", "rejects": "0.0%", "casts": "#,##0"}

_OF_STANDARD = frozenset({"standard_today", "observed_mean", "proposed_standard", "standard_low", "standard_high", "standard_movement"})


def signed(number: str) -> str:
    """A number format with its sign, and no sign for what is shown as nothing.

    >>> signed("#,##0.00")
    '[>=0.005]+#,##0.00;[<=-0.005]-#,##0.00;#,##0.00'
    """
    plain = number.rstrip("%")
    places = len(plain.partition(".")[2]) + (2 if number.endswith("%") else 0)
    half = f"{0.5 / 10**places:.{places + 1}f}"
    return f"[>={half}]+{number};[<=-{half}]-{number};{number}"


class ReviewBlocks(BlockWriter):
    """Tables of a review: variances with their sign, and each kind of standard in its own figures."""

    table = ""

    def write(self, sheet: Any, table: str, notes: bool = True) -> None:
        """Write a table's headings and rows at its place."""
        self.table = table
        super().write(sheet, table, notes)

    def number_style(self, name: str, role: str) -> Any:
        """The format of a figure in a role."""
        quantity, kind = GLOSSARY[name], self.table.removeprefix("standards: ")
        number = number_format(quantity.shown, quantity.decimals, self.currency)
        if kind in SHOWN and name in _OF_STANDARD:
            number = SHOWN[kind]
        if name.endswith(("_variance", "_sum", "_movement", "_movement_share", "hours_beyond")):
            number = signed(number)
        return self.styles.get(role, number, align="right")


class ReviewBook:
    """One review workbook while it is written.

    Parameters
    ----------
    book : the price book
    path : of the file
    review : finished jobs; None where there is none
    proposals : better standards
    capacity : None where no quote is accepted
    """

    def __init__(
        self, book: PriceBook, path: Path, review: Review | None, proposals: Sequence[Proposal], capacity: Capacity | None
    ) -> None:
        from pricing.xlsx.writing.workbook import new_workbook

        self.price_book, self.review, self.proposals, self.capacity = book, review, proposals, capacity
        self.currency = str(book.settings["currency"])
        options = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
        self.book = new_workbook(str(path), options)
        self.styles = Styles(self.book)
        tables = [*(review.model.tables.values() if review else ()), *standards_tables(proposals)]
        tables += capacity.model.tables.values() if capacity else ()
        self.model = Model(tables)
        self.values = evaluate(self.model)
        self.layout = Layout(self.model)
        self.blocks = ReviewBlocks(self.layout, self.values, self.styles, self.currency)
        self.paper = page_size(self.currency, str(book.settings.get("page_size") or ""))
        self.business = str(book.settings["business_name"])
        self.money = number_format("money", 2, self.currency)
        self.digits = money.minor_units(self.currency)
        self.sheets: dict[str, Any] = {}
        self.cash_checks: list[tuple[str, tuple[str, float], tuple[str, float]]] = []

    def write(self) -> None:
        """Every sheet that there is something for; the first opens on the sentence that matters."""
        from pricing.reports.review.capacity import write_capacity
        from pricing.reports.review.summary import write_summary
        from pricing.reports.review.tables import place_tables, write_checks, write_items, write_jobs, write_standards

        names = [SUMMARY, JOBS, ITEMS] if self.review else []
        names += [STANDARDS] if self.proposals else []
        names += [CAPACITY, LOADS] if self.capacity else []
        for name in [*names, CHECKS]:
            self.sheets[name] = self.book.add_worksheet(name)
        place_tables(self)
        if self.review:
            write_jobs(self)
            write_items(self)
        if self.proposals:
            write_standards(self)
        if self.review:
            write_summary(self)
        if self.capacity:
            write_capacity(self)
        write_checks(self)
        self.blocks.widths = {place: width + ROOM for place, width in self.blocks.widths.items()}
        self.blocks.settle_widths(self.sheets)
        for sheet in self.sheets.values():
            sheet.protect("", {"format_columns": True, "format_rows": True, "select_locked_cells": True, "objects": True})
        self.book.set_properties({"title": "Review", "author": self.business[:100], "created": _at_midnight(self)})
        next(iter(self.sheets.values())).activate()
        self.book.close()

    # what the sheets share

    def open_sheet(self, name: str, title: str, sentence: str, *, wide: bool = True) -> Any:
        """Title, sentence, key and page set-up of a sheet."""
        sheet = self.sheets[name]
        set_page(sheet, paper=self.paper, business=self.business, landscape=wide)
        sheet.set_row(0, 26)
        sheet.write_string(0, 0, title, self.styles.get("headline"))
        if sentence:
            sheet.write_string(1, 0, sentence, self.styles.get("sentence"))
        sheet.write_string(2, 0, KEY, self.styles.get("note"))
        return sheet

    def block(self, table: str) -> Block:
        """Where a table of the model stands."""
        return self.layout.blocks[table]

    def range(self, table: str, column: str) -> str:
        """All cells of a column, with the sheet."""
        return self.block(table).range(column)

    def cell(self, table: str, column: str, row: int) -> str:
        """One cell, with the sheet."""
        block = self.block(table)
        return f"{quoted(block.sheet)}!{block.cell(column, row)}"

    def total(self, table: str, column: str) -> float:
        """The sum of a column."""
        return float(self.values.value(table, column).sum())

    def widen(self, sheet: str, table: PlainTable) -> None:
        """Let a plain table have its say in the widths of its columns."""
        for at, width in enumerate(table.widths):
            key = sheet, xl_col_to_name(at)
            self.blocks.widths[key] = max(self.blocks.widths.get(key, 0.0), width)

    def has(self, table: str) -> bool:
        """Whether a table has rows."""
        return table in self.model.tables and self.model.tables[table].count > 0


def write_review(book: PriceBook, path: Path, review: Review | None, proposals: Sequence[Proposal], capacity: Capacity | None) -> None:
    """Write the review workbook.

    Parameters
    ----------
    book : the price book
    path : where it goes; it is written beside and moved into place
    review, proposals, capacity : what there is to show; a sheet is left out where there is nothing

    Problems raised: OSError where the folder cannot be written.
    """
    with written_beside(path) as beside:
        ReviewBook(book, beside, review, proposals, capacity).write()


def _at_midnight(review: ReviewBook) -> Any:
    """The last day that the workbook speaks of, so that the same review gives the same file."""
    import datetime

    days = [job.promise.day.astype("datetime64[D]").astype(object) for job in review.review.jobs] if review.review else []
    days += [order.accepted for order in review.capacity.orders] if review.capacity else []
    return datetime.datetime.combine(max(days, default=datetime.date(2000, 1, 1)), datetime.time())
