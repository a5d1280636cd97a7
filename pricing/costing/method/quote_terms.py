"""The terms of the quotes of a costing, as pages and programs say them: tax by category and rate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from pricing.costing.lines.line_taxes import STANDARD

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing


@dataclass(frozen=True, slots=True)
class TaxAmount:
    """The tax of a quote in one category, at one rate.

    Parameters
    ----------
    tax : its name, as it is printed
    rate : of the base [1]
    category : letter of UNTDID 5305; empty where nothing is charged and nobody says why
    base, amount : what it is taken on, and what it is [currency]
    goods, charges : what the base is made of: lines less discount, and the share of what is charged besides [currency]
    reasons : why nothing is charged, as the price book says it
    lines : the lines that bear it, counted from 0 within the costing
    """

    tax: str
    rate: float
    category: str
    base: float
    amount: float
    goods: float
    charges: float
    reasons: tuple[str, ...] = ()
    lines: tuple[int, ...] = ()


_FIGURES = ("tax_rate", "tax_base", "tax_of_base", "tax_goods_net", "shared_amount")


def taxes_by_quote(costing: Costing) -> list[list[TaxAmount]]:
    """The taxes of every quote, in the order of the quotes."""
    model, value = costing.model, costing.values.value
    if "quote taxes" not in model.tables:
        name = costing.book.word("tax_name") or "tax"
        figures = (costing.quote(each).tolist() for each in ("tax_rate", "net", "tax", "goods_net"))
        return [
            [TaxAmount(name, rate, STANDARD if rate > 0 else "", net, tax, goods, net - goods, lines=tuple(costing.lines_of(quote)))]
            for quote, rate, net, tax, goods in zip(costing.quotes, *figures, strict=True)
        ]
    rows, found = model.tables["quote taxes"], [list[TaxAmount]() for _ in costing.quotes]
    lines: dict[int, list[int]] = {}
    for line, number in enumerate(model.tables["lines"].given["quote_tax"].astype(int).tolist()):
        lines.setdefault(number, []).append(line)
    numbers, keys = (rows.given[name].astype(int).tolist() for name in ("quote_number", "quote_tax"))
    figures = zip(*(value("quote taxes", name).tolist() for name in _FIGURES), strict=True)
    words = zip(*(rows.text[name].tolist() for name in ("tax_name", "category", "reason")), strict=True)
    for number, key, (rate, *amounts), (tax, category, reason) in zip(numbers, keys, figures, words, strict=True):
        reasons = tuple(reason.split("\n")) if reason else ()
        found[number - 1].append(TaxAmount(tax, rate, category, *amounts, reasons, tuple(lines.get(key, ()))))
    return found
