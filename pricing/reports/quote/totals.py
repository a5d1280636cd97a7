"""The totals below the lines of a quote: each the live formula of its rule, each rate in a cell of its own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pricing.algebra.simplify import live_formula
from pricing.reports.quote.facts import QuoteFacts
from pricing.reports.quote.wording import LABELS
from pricing.reports.shared.flowing_page import NET, PIECE_TOO, PRICE, QUANTITY, Page
from pricing.rules import totals


def percent_format(share: float) -> str:
    """A number format that shows a share in full: 20%, 12.5%.

    >>> percent_format(0.2), percent_format(0.125)
    ('0%', '0.0%')
    """
    decimals = next((number for number in range(4) if abs(share - round(share, number + 2)) < 1e-9), 4)
    return "0" + ("." + "0" * decimals if decimals else "") + "%"


class TotalsWriter:
    """Writes the totals and remembers the cell of each figure.

    Parameters
    ----------
    page : the page, at the row below the lines
    facts : what the quote says
    nets : the cells of the lines' nets, as ``H12:H15``
    money : number format of amounts
    tax : the tax as it stands within a sentence
    """

    def __init__(self, page: Page, facts: QuoteFacts, nets: str, money: str, tax: str) -> None:
        self.page, self.facts, self.money, self.tax = page, facts, money, tax
        self.cells: dict[str, str] = {"line_net_sum": f"SUM({nets})"}
        self.settled: dict[str, float] = {"minor_digits": float(facts.digits), "tax_down": facts.tax_down}

    def write(self) -> None:
        """All rows, down to the deposit; what does not occur in this quote has none."""
        facts, labels, values = self.facts, LABELS, self.facts.totals
        self._amount(totals.lines_net, labels["sum"])
        if values["discount"]:
            self._rate("discount_rate", values["discount_rate"])
            self._amount(totals.discount, labels["discount"])
            self._amount(totals.goods_net, labels["less discount"])
        else:
            self.cells["goods_net"] = self.cells["lines_net"]
        if values["small_order_charge"]:
            self._typed("small_order_charge", labels["small order"])
        else:
            self.settled["small_order_charge"] = 0.0
        self._typed("carriage", labels["collected" if facts.collected else "carriage"])
        self._amount(totals.net, labels["total net"].format(tax=self.tax), role="total")
        self._rate("tax_rate", values["tax_rate"])
        self._amount(totals.tax, facts.tax_name[:1].upper() + facts.tax_name[1:])
        self._payable()
        if facts.deposit_share:
            self._rate("deposit_share", facts.deposit_share)
            self._amount(totals.deposit, labels["deposit"])

    def _payable(self) -> None:
        facts, label = self.facts, LABELS["payable"].format(currency=self.facts.currency)
        if not facts.cash_step:
            self._amount(totals.gross, label, role="grand total")
            self.cells["payable"] = self.cells["gross"]
            return
        self._amount(totals.gross, LABELS["total"].format(tax=self.tax), role="total")
        self._rate("cash_step", facts.cash_step, self.money)
        self.cells["cash_divisor"] = self.cells["cash_step"]
        self.cells["payable"] = self.page.cell(NET, self.page.row + 1)
        self._amount(totals.rounding, LABELS["rounding"])
        self._amount(totals.payable, label, role="grand total")

    def _rate(self, name: str, value: float, number: str = "") -> None:
        """The rate of the amount that comes next, in its own cell."""
        self.page.number(value, PRICE, "working", number or percent_format(value))
        self.cells[name] = self.page.cell(PRICE)

    def _amount(self, rule: Callable[..., Any], label: str, role: str = "working") -> None:
        name = rule.__name__
        formula = live_formula(rule, self.cells, self.settled)
        self._label(label, role)
        self.cells[name] = self.page.formula(formula, self.facts.totals[name], NET, role, self.money)
        self.page.need(16.5 if role == "working" else 19.5)
        self.page.next_row()

    def _typed(self, name: str, label: str) -> None:
        self._label(label, "working")
        self.page.number(self.facts.totals[name], NET, "working", self.money)
        self.cells[name] = self.page.cell(NET)
        self.page.need(16.5)
        self.page.next_row()

    def _label(self, label: str, role: str) -> None:
        rated = self.page.cell(PRICE) in self.cells.values()
        self.page.text(label, PIECE_TOO, QUANTITY if rated else PRICE, role, align="right", text_wrap=True)
