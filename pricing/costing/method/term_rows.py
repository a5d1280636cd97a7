"""The rows of the model that say on what terms is sold."""

from __future__ import annotations

from collections.abc import Collection

from pricing.book.price_book import NONE
from pricing.costing.engine.model import Rows
from pricing.costing.method import terms_declared as declared
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rows_builder import RowsBuilder, safe_key


def term_tables(context: PricingContext) -> list[Rows]:
    """The tables that the model has besides."""
    return tax_rows(context) if context.terms.taxed else []


def tax_rows(context: PricingContext) -> list[Rows]:
    """The taxes of the quotes, and the categories and rates of each quote."""
    taxes, quote_taxes = RowsBuilder(declared.TAXES), RowsBuilder(declared.QUOTE_TAXES)
    keys: dict[int, str] = {}
    names = context.lines.quote[context.quote_numbers[0]].tolist()
    for each in context.taxes.quote_taxes:
        tax = each.tax
        if id(tax) not in keys:
            keys[id(tax)] = _apart(safe_key(tax.key or NONE), keys.values())
            taxes.add(named_tax=keys[id(tax)], category=tax.category, tax_rate=(tax.rate, tax.place))
        quote_taxes.add(
            quote_tax=quote_taxes.count + 1, quote_number=each.quote + 1, named_tax=keys[id(tax)], first_tax=float(each.first),
            quote=names[each.quote], tax_name=tax.name, category=tax.category, reason="\n".join(each.reasons),
        )
    return [taxes.rows(), quote_taxes.rows()]


def _apart(key: str, others: Collection[str]) -> str:
    """A key that no other row has."""
    taken = set(others)
    return next(each for each in (key, *(f"{key} ({number})" for number in range(2, len(taken) + 3))) if each not in taken)
