"""The capacity sheet of the review workbook: what the ordered quotes take, what is scarce, and when money moves."""

from __future__ import annotations

from typing import Any

import numpy as np

from pricing.book.shown_units import mass_unit
from pricing.costing.jobs.capacity import BALANCE, DEPOSIT, MATERIALS, Capacity, weeks_of
from pricing.reports.review.book import CAPACITY, LOADS, ReviewBook
from pricing.reports.review.tables import write_tables
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.shared.checks import Check
from pricing.reports.shared.plain_table import PlainTable
from pricing.reports.workshop.shopping import in_pounds_and_feet

DAY = "d mmm yyyy"

TAX_NOTE = (
    "Deposits and balances are as the customers pay them, tax included: the tax in them is not the workshop's, and when it falls due "
    "is ruled by local law. Materials are without tax. Wages, overhead and what customers pay late are left out."
)

CURING_NOTE = (
    "Days in the mould follow from the mix and the weather. A piece that is taken out before it is strong enough can break and hurt "
    "whoever handles it: scarce mould places are not a reason to strip early."
)


TO_BUY = (
    "Materials to buy, as on the shopping list of the workshop: in whole packs, wastage included, board in whole sheets from the drawings"
)


class CapacityPage:
    """The sheet while it is written."""

    def __init__(self, review: ReviewBook, capacity: Capacity) -> None:
        self.review, self.capacity = review, capacity
        self.style = review.styles.get
        self.sheet: Any = review.open_sheet(CAPACITY, "Capacity and cash")
        self.weeks = weeks_of(capacity.payments)
        pounds = mass_unit(capacity.orders[0].costing.book) == "lb"
        shopping = [in_pounds_and_feet(row) if pounds else row for row in capacity.shopping.rows]
        #: Each pack that is bought, with its row and how many, the first of each thing also where none is.
        self.bought = [
            (row, pack, count, number == 0)
            for row in shopping for number, (pack, count) in enumerate(zip(row.packs, row.purchase.counts, strict=True))
            if count or number == 0
        ]

    def write(self) -> None:
        """Everything on the sheet, each cell once."""
        self._sentence()
        write_tables(self.review, CAPACITY, self.sheet)
        last = self.review.block("ranking").last
        resources = self.review.block("resources").last
        self.sheet.write_string(resources, 0, CURING_NOTE, self.style("note"))
        if self.capacity.free:
            self.sheet.write_string(last, 0, f"Takes none of it: {', '.join(self.capacity.free)}.", self.style("note"))
        top = self.review.block("ranking").last + 5
        purchases_at = top + len(self.weeks) + 5
        payments_at = purchases_at + len(self.bought) + 5
        if self.bought:  # a caption at the foot of a page would stand apart from its table
            self.sheet.set_h_pagebreaks([purchases_at - 2])
        bought = self._purchases(purchases_at)
        payments = self._payments(payments_at, bought)
        self._weeks(top, payments)
        self.sheet.freeze_panes(4, 0)

    def _sentence(self) -> None:
        review, capacity = self.review, self.capacity
        weeks, names = review.range("resources", "resource_weeks"), review.range("resources", "resource")
        most = float(np.max(review.values.value("resources", "resource_weeks"), initial=0.0))
        count = len(capacity.orders)
        noun = "ordered quote" if count == 1 else "ordered quotes"
        scarce = f"INDEX({names},MATCH(MAX({weeks}),{weeks},0))"
        text = f'"{count} {noun}: the bottleneck is "&{scarce}&", with "&TEXT(MAX({weeks}),"0.0")&" weeks of work."'
        stored = f"{count} {noun}: the bottleneck is {capacity.bottleneck or capacity.resources()[0]}, with {most:.1f} weeks of work."
        self.sheet.write_formula(1, 0, f"={text}", self.style("text bold"), stored)
        quotes = ", ".join(order.quote for order in capacity.orders[:12])
        more = f" and {count - 12} more" if count > 12 else ""
        self.sheet.write_string(3, 0, f"Quotes: {quotes}{more}. Mould places are counted by the hours that casts stand in their moulds, "
                                "nights and free days included; 24 of them are a mould-day.", self.style("note"))

    def _purchases(self, top: int) -> Formula | None:
        """What has to be bought, in whole packs; the sum of it."""
        columns = [TableColumn("Material", widest=215), TableColumn("Supplier"), TableColumn("Unit"), TableColumn("Needed", "#,##0.00"),
                   TableColumn("In stock", "#,##0.00"), TableColumn("Pack", "#,##0.###"), TableColumn("Packs", "0", "result"),
                   self.review.amounts("Price of a pack"), self.review.amounts("To pay", "result")]
        table = self.review.titled_table(self.sheet, top, TO_BUY, columns)
        bought = self.bought
        for at, (row, pack, count, first) in enumerate(bought):
            paid = Formula(f"{table.cell(6, at)}*{table.cell(7, at)}", count * pack.price)
            needed: list[Cell] = [row.need, row.in_stock] if first else [None, None]
            table.row(at, [pack.material, pack.supplier, row.unit, *needed, pack.size, float(count), pack.price, paid])
        total = Formula(f"SUM({table.range(8, len(bought))})", self.capacity.shopping.cost)
        if bought:
            table.row(len(bought), ["Total", *[None] * 7, total], "total")
        self.review.widen(CAPACITY, table)
        return Formula(table.cell(8, len(bought)), float(total.result)) if bought else None

    def _payments(self, top: int, bought: Formula | None) -> PlainTable:
        columns = [TableColumn("Week from", DAY), TableColumn("Day", DAY), TableColumn("Quote"),
                   TableColumn("What"), self.review.amounts("Amount", sign=True), TableColumn("Stage")]
        title = "Payments: what is due with the order, and what when it is ready or later"
        table = self.review.titled_table(self.sheet, top, title, columns)
        for row, each in enumerate(self.capacity.payments):
            amount: Cell = each.amount
            if each.what == MATERIALS and bought is not None:
                amount = Formula(f"-{bought.text}", each.amount)
            table.row(row, [each.week, each.day, each.quote, each.what, amount, each.stage])
        self.review.widen(CAPACITY, table)
        return table

    def _weeks(self, top: int, payments: PlainTable) -> None:
        """Money in and out by week, and what it comes to."""
        amounts = self.review.amounts
        columns = [TableColumn("Week from", DAY), amounts("With the order"), amounts("Later stages"), amounts("Materials", sign=True),
                   amounts("In the week", sign=True), amounts("So far", "result", sign=True)]
        table = self.review.titled_table(self.sheet, top, "Cash by week", columns)
        rows = len(self.capacity.payments)
        when, what, amount = (payments.range(column, rows) for column in (0, 3, 4))
        so_far = 0.0
        for row, week in enumerate(self.weeks):
            cells: list[Cell] = [week]
            in_week = 0.0
            for kind in (DEPOSIT, BALANCE, MATERIALS):
                figure = sum(each.amount for each in self.capacity.payments if each.week == week and each.what == kind)
                in_week += figure
                cells.append(Formula(f'SUMPRODUCT(({when}={table.cell(0, row)})*({what}="{kind}")*{amount})', figure))
            so_far += in_week
            cells.append(Formula(f"SUM({table.cell(1, row)}:{table.cell(3, row)})", in_week))
            first = table.cell(4, 0, fixed=True)
            cells.append(Formula(f"SUM({first}:{table.cell(4, row)})", so_far))
            table.row(row, cells)
        self.sheet.write_string(top + len(self.weeks), 0, TAX_NOTE, self.style("note"))
        self.review.widen(CAPACITY, table)
        left = Formula(f"SUM({table.range(4, len(self.weeks), CAPACITY)})", so_far)
        right = Formula(f"SUM({payments.range(4, rows, CAPACITY)})", sum(each.amount for each in self.capacity.payments))
        self.review.cash_checks.append(Check("Cash by week adds up to the payments", left, right))


def write_capacity(review: ReviewBook) -> None:
    """Write the capacity sheet, and the sheet of what each line takes."""
    assert review.capacity is not None
    CapacityPage(review, review.capacity).write()
    sheet = review.open_sheet(LOADS, "Loads", "What each line of the ordered quotes takes of hands, mould places and machines.",
                              screen=True)
    write_tables(review, LOADS, sheet)
    sheet.freeze_panes(review.block("loads").heading, 0)
