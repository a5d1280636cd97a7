"""The terms of the quotes of a costing, as pages and programs say them: tax by category and rate."""

from __future__ import annotations

from dataclasses import dataclass

from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.lines.line_taxes import STANDARD


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
