"""The review workbook while it is written: the model of finished jobs and ordered quotes, and what its sheets share."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_col_to_name

from pricing import money
from pricing.book.price_book import PriceBook
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.model import Model
from pricing.costing.jobs.capacity import Capacity
from pricing.costing.jobs.proposals import Proposal, standards_tables
from pricing.costing.jobs.review import Review
from pricing.costing.method.shown_measures import ShownMeasures
from pricing.reports.shared.cells import TableColumn
from pricing.reports.shared.checks import Check
from pricing.reports.shared.formulas import Block, Layout, quoted
from pricing.reports.shared.model_table import BlockWriter
from pricing.reports.shared.plain_table import PlainTable
from pricing.reports.shared.report_book import House, ReportBook
from pricing.reports.shared.styles import number_format

SUMMARY, JOBS, ITEMS, STANDARDS, CAPACITY, LOADS = "Summary", "Jobs", "Items", "Standards", "Capacity", "Loads"

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
        quantity, kind = self.measures.quantity(name), self.table.removeprefix("standards: ")
        number = number_format(quantity.shown, quantity.decimals, self.currency)
        if kind in SHOWN and name in _OF_STANDARD:
            number = SHOWN[kind]
        if name.endswith(("_variance", "_sum", "_movement", "_movement_share", "hours_beyond")):
            number = signed(number)
        return self.styles.get(role, number, align="right")


class ReviewBook(ReportBook):
    """One review workbook while it is written.

    Parameters
    ----------
    book : the price book
    path : of the file
    review : finished jobs; None where there is none
    proposals : better standards
    capacity : None where no quote is ordered
    """

    def __init__(
        self, book: PriceBook, path: Path, review: Review | None, proposals: Sequence[Proposal], capacity: Capacity | None
    ) -> None:
        super().__init__(str(path), House.of(book, spelled=True))
        self.price_book, self.review, self.proposals, self.capacity = book, review, proposals, capacity
        tables = [*(review.model.tables.values() if review else ()), *standards_tables(proposals)]
        tables += capacity.model.tables.values() if capacity else ()
        self.model = Model(tables)
        self.values = evaluate(self.model)
        self.measures = ShownMeasures.of(book)
        self.layout = Layout(self.model, self.measures)
        self.blocks = ReviewBlocks(self.layout, self.values, self.styles, self.currency)
        self.digits = money.minor_units(self.currency)
        self.cash_checks: list[Check] = []

    def open_sheet(self, name: str, title: str, sentence: str = "", **more: Any) -> Any:
        """Title, sentence, key and page set-up of a sheet."""
        return super().open_sheet(name, self.measures.said(title), self.measures.said(sentence), **{"key": True, **more})

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
        """The sum of a column, as its figures are shown."""
        return float(np.sum(self.measures.figures(self.model.tables[table], column, self.values.value(table, column))))

    def widen(self, sheet: str, table: PlainTable) -> None:
        """Let a plain table have its say in the widths of its columns."""
        for at, width in enumerate(table.widths):
            key = sheet, xl_col_to_name(at)
            self.blocks.widths[key] = max(self.blocks.widths.get(key, 0.0), (width - 5) / 7)

    def amounts(self, heading: str, role: str = "working", *, sign: bool = False) -> TableColumn:
        """A column of money under a heading that names the currency; with *sign*, a rise shows its plus."""
        return TableColumn(f"{heading}\n{self.currency}", signed(self.money) if sign else self.money, role)

    def titled_table(self, sheet: Any, top: int, title: str, columns: list[TableColumn]) -> PlainTable:
        """A table under its title, the headings written."""
        sheet.write_string(top - 2, 0, title, self.styles.get("text bold"))
        table = PlainTable(sheet, self.styles, top, columns)
        table.headings()
        return table

    def has(self, table: str) -> bool:
        """Whether a table has rows."""
        return table in self.model.tables and self.model.tables[table].count > 0
