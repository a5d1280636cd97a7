"""The totals below the lines of a quote: each the live formula of its rule, each rate in a cell of its own."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Sequence
from typing import Any

from pricing.algebra.simplify import live_formula
from pricing.costing.method.quote_terms import Payment, TaxAmount
from pricing.languages.words import Words
from pricing.reports.quote.facts import QuoteFacts, QuoteLine
from pricing.reports.quote.wording import LABELS, REASONS, TAX_COLUMNS, due_words, stage_words, with_due
from pricing.reports.shared.flowing_page import LAST, NET, NUMBER, PIECE, PIECE_TOO, PRICE, QUANTITY, WEIGHT, Page
from pricing.reports.shared.styles import SMALL
from pricing.rules import payments, shares, taxes, totals
from pricing.text import fold

#: Cells that one SUM may name.
_MOST_IN_SUM = 200


def percent_format(share: float, before: str = "") -> str:
    """A number format that shows a share in full: 20%, 12.5%.

    Parameters
    ----------
    before : what stands before the sign

    >>> percent_format(0.2), percent_format(0.125, " ")
    ('0%', '0.0 %')
    """
    decimals = next((number for number in range(4) if abs(share - round(share, number + 2)) < 1e-9), 4)
    return "0" + ("." + "0" * decimals if decimals else "") + f"{before}%"


def percent_text(share: float, words: Words) -> str:
    """A share in a sentence.

    >>> percent_text(0.2, Words("en-GB")), percent_text(0.125, Words("de"))
    ('20%', '12,5 %')
    """
    return words.figure(f"{round(share * 100, 6):g}") + f"{words.before_percent}%"


def tax_label(tax_name: str, tax: TaxAmount) -> str:
    """What a tax is called beside its rate: the name of the tax, and what the maker calls this one, its rate not said twice.

    Parameters
    ----------
    tax_name : as the workshop calls the tax

    >>> names = ("VAT", "Standard 23%", "Reduced rate", "VAT (23 %)", "23%")
    >>> [tax_label("VAT", TaxAmount(name, "S", 0.23, 100.0, 23.0, 100.0, 0.0)) for name in names]
    ['VAT', 'VAT (Standard)', 'VAT (Reduced rate)', 'VAT', 'VAT']
    """
    rate = re.escape(f"{round(tax.rate * 100, 6):g}").replace(r"\.", "[.,]")
    name = re.sub(rf"[\s,:(]*(?<![\d.,]){rate}\s*%\)?", "", tax.tax).strip() or tax_name
    whole = name if fold(tax_name) in fold(name) else f"{tax_name} ({name})"
    return whole[:1].upper() + whole[1:]


def summed(cells: Sequence[str]) -> str:
    """The sum of some cells, whatever their number.

    >>> summed(["H12"]), summed(["H12", "H14"]), summed([])
    ('SUM(H12)', 'SUM(H12,H14)', '0')
    """
    if not cells:
        return "0"
    parts = [f"SUM({','.join(cells[start : start + _MOST_IN_SUM])})" for start in range(0, len(cells), _MOST_IN_SUM)]
    return parts[0] if len(parts) == 1 else f"({'+'.join(parts)})"


class TotalsWriter:
    """Writes the totals and remembers the cell of each figure.

    Parameters
    ----------
    page : the page, at the row below the lines
    facts : what the quote says
    nets : the cells of the lines' nets, as ``H12``
    money : number format of amounts
    tax : the tax as it stands within a sentence
    """

    def __init__(self, page: Page, facts: QuoteFacts, nets: Sequence[str], money: str, tax: str) -> None:
        self.page, self.facts, self.money, self.tax = page, facts, money, tax
        self.nets = nets
        #: The row from which on the columns to the left of the totals are in use.
        self.free_until = 0
        self.cells: dict[str, str] = {"line_net_sum": f"SUM({nets[0]}:{nets[-1]})"}
        self.settled: dict[str, float] = {"minor_digits": float(facts.digits), "tax_down": facts.tax_down}

    def write(self) -> None:
        """All rows, down to the deposit; what does not occur in this quote has none."""
        facts, values = self.facts, self.facts.totals
        self._amount(totals.lines_net, self.label("sum"))
        if values["discount"]:
            if values["discountable"] == values["lines_net"]:
                self.cells["discountable"] = self.cells["lines_net"]
            else:
                self.cells["discountable_sum"] = self._discountable()
                self._amount(totals.discountable, self.label("discountable"))
            self._rate("discount_rate", values["discount_rate"])
            self._discount()
            self._amount(totals.goods_net, self.label("less discount"))
        else:
            self.cells["goods_net"] = self.cells["lines_net"]
        if values["small_order_charge"]:
            self._typed("small_order_charge", self.label("small order"))
        else:
            self.settled["small_order_charge"] = 0.0
        self._typed("carriage", self.label("collected" if facts.collected else "carriage"))
        self._amount(totals.net, self.label("total net", tax=self.tax), role="total")
        if len(facts.taxes) == 1:
            self._rate("tax_rate", facts.taxes[0].rate)
            self._amount(totals.tax, tax_label(facts.tax_name, facts.taxes[0]))
        else:
            self.free_until = self.page.row
            self._taxes()
        self._payable()
        self.free_until = self.free_until or self.page.row
        self._payments()
        self._reasons()

    def _discountable(self, place: int | None = None) -> str:
        """The sum of the lines that the customer's discount is taken off, of all taxes or of one."""
        lines = [*zip(self.nets, self.facts.charged, strict=True)] if place is None else self._lines_of_tax.get(place, [])
        whole = [net for net, line in lines if line.discountable]
        return summed([*whole, *(f"{line.discountable_part:.{self.facts.digits}f}" for _, line in lines if line.discountable_part)])

    @functools.cached_property
    def _lines_of_tax(self) -> dict[int, list[tuple[str, QuoteLine]]]:
        """The lines of each category and rate, with the cells of their nets."""
        found: dict[int, list[tuple[str, QuoteLine]]] = {}
        for net, line in zip(self.nets, self.facts.charged, strict=True):
            found.setdefault(line.tax, []).append((net, line))
        return found

    def _payments(self) -> None:
        """The stages in which it is paid: deposit and balance, or those of a plan, each share in a cell of its own."""
        facts, page = self.facts, self.page
        staged = any(each.stage for each in facts.payments)
        first, last = page.row, page.row + len(facts.payments) - 1
        for payment in facts.payments:
            label = with_due(stage_words(payment.stage, payment.called, facts.words), self._due(payment), facts.words)
            if not staged and payment is facts.payments[-1]:
                if len(facts.payments) == 1:
                    self.settled["deposit"] = 0.0
                self._amount(payments.balance, label)
                continue
            self._rate("deposit_share", payment.share)
            if not staged:
                self._amount(totals.deposit, label)
                continue
            self._label(label, "working", PIECE)
            formula = self._shared(page.cell(PRICE), f"{page.cell(PRICE, first)}:{page.cell(PRICE, last)}")
            page.formula(formula, payment.amount, NET, "working", self.money)
            page.need(16.5)
            page.next_row()

    def _shared(self, share: str, all_shares: str) -> str:
        """The formula of one stage, to the coin, over the amount to pay and the shares."""
        settled = {**self.settled, "one_unit_of_money": 1.0}
        whole, left = dict[str, str](), dict[str, str]()
        for of in (share, all_shares):
            cells = {"amount_to_share": self.cells["payable"], "share": of}
            whole[of] = live_formula(shares.whole_part, cells, settled).removeprefix("=")
            left[of] = live_formula(shares.remainder, {**cells, "whole_part": whole[of]}, settled).removeprefix("=")
        larger, equal = (f"{left[all_shares]}{sign}{left[share]}" for sign in (">", "="))
        cells = {
            "whole_part": whole[share], "amount_to_share": self.cells["payable"], "whole_parts": f"SUMPRODUCT({whole[all_shares]})",
            "remainder_rank": f"SUMPRODUCT(({larger})+({equal})*(ROW({all_shares})<ROW({share})))",
        }
        return live_formula(shares.shared_amount, cells, settled)

    def _due(self, payment: Payment) -> str:
        """When a stage falls due, in words."""
        return due_words(payment.when, payment.days, self.facts.collected, self.facts.words)

    def _of_tax(self, place: int) -> dict[str, str]:
        """Formulas of one category and rate over cells of the page: its lines, the discount on them, and what is left."""
        nets = [net for net, _ in self._lines_of_tax.get(place, [])]
        cells = {**self.cells, "tax_line_net_sum": summed(nets), "tax_discountable_sum": self._discountable(place)}
        if not self.facts.totals["discount"]:
            return {"tax_goods_net": live_formula(taxes.tax_lines_net, cells, self.settled)}
        for rule in (taxes.tax_lines_net, taxes.tax_discount, taxes.tax_goods_net):
            cells[rule.__name__] = live_formula(rule, cells, self.settled).removeprefix("=")
        return cells

    def _discount(self) -> None:
        """The discount on all lines; where there are several taxes, the sum of that on the lines of each."""
        if len(self.facts.taxes) == 1:
            self._amount(totals.discount, self.label("discount"))
            return
        self.cells["tax_discount_sum"] = "+".join(self._of_tax(place)["tax_discount"] for place in range(len(self.facts.taxes)))
        self._amount(taxes.discount, self.label("discount"))

    def _taxes(self) -> None:
        """A row for each category and rate: the goods, their share of what is charged besides, the base, the rate, the tax."""
        page, facts = self.page, self.facts
        charged = any(each.charges for each in facts.taxes)
        small = {"font_size": SMALL, "top": 0, "bottom": 0}
        for name, column in zip(TAX_COLUMNS, (PIECE_TOO, WEIGHT, QUANTITY, PRICE), strict=True):
            if charged or name not in ("goods", "charges"):
                page.text(self.label(name), column, column, "note", align="right", text_wrap=True, valign="bottom")
        page.next_row()
        first = page.row
        for place, tax in enumerate(facts.taxes):
            cells = self._of_tax(place)
            page.text(tax_label(facts.tax_name, tax), NUMBER, PIECE, "working", align="right", text_wrap=True)
            formula = cells["tax_goods_net"]
            base: dict[str, str] = {"tax_goods_net": formula.removeprefix("=")}
            if charged:
                base["tax_goods_net"] = page.formula(f"={formula.removeprefix('=')}", tax.goods, PIECE_TOO, "working", self.money, **small)
                page.number(tax.charges, WEIGHT, "working", self.money, **small)
                base["shared_amount"] = page.cell(WEIGHT)
            page.number(tax.rate, QUANTITY, "working", percent_format(tax.rate, facts.words.before_percent), **small)
            settled = {**self.settled, **({} if charged else {"shared_amount": 0.0})}
            based = page.formula(live_formula(taxes.tax_base, base, settled), tax.base, PRICE, "working", self.money, **small)
            over = {"tax_base": based, "tax_rate": page.cell(QUANTITY)}
            page.formula(live_formula(taxes.tax_of_base, over, self.settled), tax.amount, NET, "working", self.money)
            page.need(18.0)
            page.next_row()
        self.cells["tax_sum"] = f"SUM({page.cell(NET, first)}:{page.cell(NET, page.row - 1)})"
        self._amount(taxes.tax, self.label("tax in all", tax=self.tax))

    def _reasons(self) -> None:
        """Why no tax is charged, where that is so and there is something to say."""
        for tax in self.facts.taxes:
            reasons = tax.reasons or self._usual_reasons(tax)
            for reason in reasons:
                self.page.gap(2.0)
                text = reason if fold(reason).startswith(fold(tax.tax)) else f"{tax.tax}: {reason}"
                self.page.paragraph(text, NUMBER, LAST, "note wrapped")

    def _usual_reasons(self, tax: TaxAmount) -> tuple[str, ...]:
        return (self.facts.words.say(REASONS[tax.category]),) if tax.category in REASONS else ()

    def label(self, name: str, **values: object) -> str:
        """A label, in the language of the page."""
        return self.facts.words.say(LABELS[name], **values)

    def _payable(self) -> None:
        facts, label = self.facts, self.label("payable", currency=self.facts.currency)
        if not facts.cash_step:
            self._amount(totals.gross, label, role="grand total")
            self.cells["payable"] = self.cells["gross"]
            return
        self._amount(totals.gross, self.label("total", tax=self.tax), role="total")
        self._rate("cash_step", facts.cash_step, self.money)
        self.cells["cash_divisor"] = self.cells["cash_step"]
        self.cells["payable"] = self.page.cell(NET, self.page.row + 1)
        self._amount(totals.rounding, self.label("rounding"))
        self._amount(totals.payable, label, role="grand total")

    def _rate(self, name: str, value: float, number: str = "") -> None:
        """The rate of the amount that comes next, in its own cell."""
        self.page.number(value, PRICE, "working", number or percent_format(value, self.facts.words.before_percent))
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

    def _label(self, label: str, role: str, first: int = PIECE_TOO) -> None:
        rated = self.page.cell(PRICE) in self.cells.values()
        self.page.text(label, first, QUANTITY if rated else PRICE, role, align="right", text_wrap=True)
