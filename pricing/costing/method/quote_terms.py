"""The terms of the quotes of a costing, as pages and programs say them: tax by category and rate, and what is paid when."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from pricing.book.declared.terms import AFTER_DELIVERY, BEFORE_DELIVERY, ON_DELIVERY, WITH_ORDER
from pricing.costing.engine.columns import SETTINGS
from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.lines.line_taxes import STANDARD
from pricing.dataclass import dataclass


@dataclass(frozen=True, slots=True)
class TaxAmount:
    """The tax of a quote in one category, at one rate.

    Parameters
    ----------
    tax : its name, as it is printed
    category : letter of UNTDID 5305; empty where nothing is charged and nobody says why
    rate : of the base [1]
    base, amount : what it is taken on, and what it is [currency]
    goods, charges : what the base is made of: lines less discount, and the share of what is charged besides [currency]
    reasons : why nothing is charged, as the price book says it
    lines : the lines that bear it, counted from 0 within the costing
    """

    tax: str
    category: str
    rate: float
    base: float
    amount: float
    goods: float
    charges: float
    reasons: tuple[str, ...] = ()
    lines: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Payment:
    """A stage in which a quote is paid.

    Parameters
    ----------
    stage : what the price book calls it; empty for the deposit and the balance
    when, days : with what it falls due, and how many days before or after
    share : of the amount to pay [1]
    amount : what is paid [currency]
    """

    stage: str
    when: str
    days: int
    share: float
    amount: float

    @property
    def called(self) -> str:
        """The stage in English."""
        return self.stage or (DEPOSIT if self.when == WITH_ORDER else BALANCE)

    @property
    def due(self) -> str:
        """When it falls due, for programs.

        >>> Payment("", "after delivery", 30, 0.5, 10.0).due, Payment("", "on delivery", 0, 0.5, 10.0).due
        ('30 days after delivery', 'on delivery')
        """
        if not self.days:
            return ON_DELIVERY if self.when == AFTER_DELIVERY else self.when
        what = {WITH_ORDER: "after the order", BEFORE_DELIVERY: BEFORE_DELIVERY}.get(self.when, AFTER_DELIVERY)
        return f"{self.days} {'day' if self.days == 1 else 'days'} {what}"


#: Stages that the price book does not name.
DEPOSIT, BALANCE = "Deposit", "Balance"


def deposit_and_balance(deposit: float, payable: float) -> list[Payment]:
    """The stages of a quote of which no more is known than its deposit and what is payable; no deposit of nothing.

    >>> [stage.amount for stage in deposit_and_balance(30.0, 100.0)], len(deposit_and_balance(0.0, 100.0))
    ([30.0, 70.0], 1)
    """
    rest = Payment("", ON_DELIVERY, 0, 1.0, payable - deposit)
    return [Payment("", WITH_ORDER, 0, 0.0, deposit), rest] if deposit else [rest]


def payments_by_quote(values: Evaluation, days: Sequence[float]) -> list[list[Payment]]:
    """In which stages every quote is paid, in the order of the quotes; what comes to nothing is left out.

    Parameters
    ----------
    values : of the model of the quotes
    days : of each quote, days after delivery until its balance is due; nan where none are stated
    """
    tables = values.model.tables
    found: list[list[Payment]] = [[] for _ in range(tables["quotes"].count)]
    if "payments" not in tables:
        home = "quotes" if values.model.column("quotes", "deposit_share") else SETTINGS
        shares = np.broadcast_to(values.value(home, "deposit_share"), len(found)).tolist()
        amounts = (values.value("quotes", name).tolist() for name in ("deposit", "balance"))
        for stages, share, deposit, balance, after in zip(found, shares, *amounts, days, strict=True):
            stages.append(Payment("", WITH_ORDER, 0, share, deposit))
            at_once = math.isnan(after)
            stages.append(Payment("", ON_DELIVERY if at_once else AFTER_DELIVERY, 0 if at_once else int(after), 1 - share, balance))
    else:
        rows = tables["payments"]
        for row, number in enumerate(rows.given["quote_number"].astype(int).tolist()):
            stage, when = str(rows.text["stage"][row]), str(rows.text["when"][row])
            after, share, amount = (float(values.value("payments", each)[row]) for each in ("payment_days", "share", "shared_amount"))
            found[number - 1].append(Payment(stage, when, int(after), share, amount))
    return [[each for each in stages if each.amount or each.stage or each.when != WITH_ORDER] for stages in found]


def taxes_by_quote(values: Evaluation, tax_name: str) -> list[list[TaxAmount]]:
    """The taxes of every quote, in the order of the quotes.

    Parameters
    ----------
    values : of the model of the quotes
    tax_name : what the workshop calls its tax
    """
    tables = values.model.tables
    if "quote taxes" not in tables:
        lines = _by_number(tables["lines"].given["quote_number"].astype(int).tolist())
        figures = (values.value("quotes", each).tolist() for each in ("tax_rate", "net", "tax", "goods_net"))
        return [
            [TaxAmount(tax_name, STANDARD if rate > 0 else "", rate, net, tax, goods, net - goods, lines=tuple(lines[number]))]
            for number, (rate, net, tax, goods) in enumerate(zip(*figures, strict=True), 1)
        ]
    rows, lines = tables["quote taxes"], _by_number(tables["lines"].given["quote_tax"].astype(int).tolist())
    found: list[list[TaxAmount]] = [[] for _ in range(tables["quotes"].count)]
    named = [values.value("quote taxes", name).tolist() for name in _FIGURES]
    said = [rows.text[name].tolist() for name in ("tax_name", "category", "reason")]
    for row, number in enumerate(rows.given["quote_number"].astype(int).tolist()):
        rate, base, amount, goods, charges = (column[row] for column in named)
        tax, category, reason = (column[row] for column in said)
        reasons = tuple(reason.split("\n")) if reason else ()
        found[number - 1].append(TaxAmount(tax, category, rate, base, amount, goods, charges, reasons, tuple(lines.get(row + 1, ()))))
    return found


_FIGURES = ("tax_rate", "tax_base", "tax_of_base", "tax_goods_net", "shared_amount")


def _by_number(numbers: list[int]) -> dict[int, list[int]]:
    """The rows of each number, counted from 0."""
    found: dict[int, list[int]] = {}
    for row, number in enumerate(numbers):
        found.setdefault(number, []).append(row)
    return found
