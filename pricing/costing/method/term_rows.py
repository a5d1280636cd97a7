"""The rows of the model that say on what terms is sold."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

import numpy as np

from pricing.book.declared.terms import AFTER_DELIVERY, ON_DELIVERY, WITH_ORDER
from pricing.costing.engine.model import Rows
from pricing.costing.lines.order_lines import place_of
from pricing.costing.method import terms_declared as declared
from pricing.costing.method.price_rows import setting_place
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rows_builder import RowsBuilder, number_or, safe_key


def term_tables(context: PricingContext) -> list[Rows]:
    """The tables that the model has besides."""
    return [
        *(tax_rows(context) if context.terms.taxed else []), *([payment_rows(context)] if context.terms.staged else []),
        *(set_rows(context) if context.terms.in_sets else []),
    ]


def tax_rows(context: PricingContext) -> list[Rows]:
    """The taxes of the quotes, and the categories and rates of each quote."""
    taxes, quote_taxes = RowsBuilder(declared.TAXES), RowsBuilder(declared.QUOTE_TAXES)
    keys: dict[int, str] = {}
    names = context.lines.quote[context.quote_numbers[0]].tolist()
    for each in context.taxes.quote_taxes:
        tax = each.tax
        if id(tax) not in keys:
            keys[id(tax)] = _apart(safe_key(tax.key or tax.name), keys.values())
            taxes.add(named_tax=keys[id(tax)], category=tax.category, tax_rate=(tax.rate, tax.place))
        quote_taxes.add(
            quote_tax=quote_taxes.count + 1, quote_number=each.quote + 1, named_tax=keys[id(tax)], first_tax=float(each.first),
            quote=names[each.quote], tax_name=tax.name, category=tax.category, reason="\n".join(each.reasons),
        )
    return [taxes.rows(), quote_taxes.rows()]


def set_rows(context: PricingContext) -> list[Rows]:
    """The sets that lines are parts of, and their parts."""
    lines, sheet, products = context.lines, context.book.tables["Sets"], context.product_keys.array()
    made, parts = RowsBuilder(declared.SETS), RowsBuilder(declared.SET_PARTS)
    row_of = {key: row for row, key in enumerate(zip(sheet["set"].tolist(), sheet["product"].tolist(), strict=True))}
    sets, asked = lines.sets, context.book.tables["Enquiries"]
    for of in (sets.groups() if sets is not None else {}).values():
        assert sets is not None
        first, name = of[0], str(sets.name[of[0]])
        row = int(lines.enquiry[first])
        price, discount = sets.price[first], asked["discount"][row]
        made.add(
            set_number=made.count + 1, quote=str(lines.quote[first]), set=name,
            sets_ordered=(float(sets.count[first]), place_of(asked, "quantity", row)),
            set_price=0.0 if np.isnan(price) or np.isnan(lines.given_price[first]) else (float(price), place_of(asked, "unit_price", row)),
            set_discount=0.0 if np.isnan(discount) else (float(discount), place_of(asked, "discount", row)),
        )
        for line in of:
            place = row_of.get((name, str(context.book.tables["Products"]["product"][lines.product[line]])))
            at = "" if place is None else place_of(sheet, "quantity", place)
            parts.add(set_part=parts.count + 1, set_number=made.count, line=line + 1, product=str(products[line]),
                      pieces_of_set=(float(sets.pieces[line]), at), first_part=float(line == first))
    return [made.rows(), parts.rows()]


def own_terms_of_quotes(context: PricingContext) -> tuple[dict[str, Any], dict[str, list[str]]]:
    """Discount and deposit of each quote, and where each stands: with the quote, with its customer, or among the settings."""
    found: dict[str, list[tuple[float, str]]] = {"discount_rate": [], "deposit_share": []}
    for quote, customer in _quotes(context):
        found["discount_rate"].append(
            _first(_cell(context, "Quotes", context.own_terms.row(quote), "discount"),
                   _cell(context, "Customers", context.own_terms.customers.get(customer), "discount")))
        found["deposit_share"].append(_deposit(context, quote))
    return (
        {name: np.array([value for value, _ in cells]) for name, cells in found.items()},
        {name: [place for _, place in cells] for name, cells in found.items()},
    )


def _deposit(context: PricingContext, quote: str) -> tuple[float, str]:
    setting = (context.book.number("deposit"), setting_place(context, "deposit"))
    return _first(_cell(context, "Quotes", context.own_terms.row(quote), "deposit"), setting)


def payment_rows(context: PricingContext) -> Rows:
    """The stages of the quotes: of the plan of each, or its deposit and what is left."""
    table, builder = context.book.tables["Payments"], RowsBuilder(declared.PAYMENTS)
    plans: dict[str, list[int]] = {}
    for row, plan in enumerate(table["payments"].tolist()):
        plans.setdefault(plan, []).append(row)
    for number, (quote, customer) in enumerate(_quotes(context), 1):
        days = context.own_terms.days(customer)
        stages = plans.get(context.own_terms.plan(quote, customer), [])
        for row in stages:
            share, when = float(table["share"][row]), str(table["when"][row])
            own = float(table["days"][row])
            stated = own if not np.isnan(own) or when != AFTER_DELIVERY else days
            builder.add(
                payment=builder.count + 1, quote_number=number, quote=quote, stage=str(table["stage"][row]), when=when,
                stated_share=(0.0 if np.isnan(share) else share, place_of(table, "share", row)), takes_rest=float(np.isnan(share)),
                payment_days=number_or(stated, 0.0), is_deposit=float(when == WITH_ORDER),
            )
        if not stages:
            builder.add(payment=builder.count + 1, quote_number=number, quote=quote, when=WITH_ORDER,
                        stated_share=_deposit(context, quote), is_deposit=1.0)
            builder.add(payment=builder.count + 1, quote_number=number, quote=quote, takes_rest=1.0,
                        when=ON_DELIVERY if np.isnan(days) else AFTER_DELIVERY, payment_days=number_or(days, 0.0))
    return builder.rows()


def _quotes(context: PricingContext) -> Iterator[tuple[str, str]]:
    """Number and customer of each quote."""
    opening, _ = context.quote_numbers
    return zip(context.lines.quote[opening].tolist(), context.lines.customer[opening].tolist(), strict=True)


def _cell(context: PricingContext, sheet: str, row: int | None, column: str) -> tuple[float, str]:
    """A figure of a sheet and where it stands; not a number where there is none."""
    if row is None:
        return np.nan, ""
    table = context.book.tables[sheet]
    return float(table[column][row]), place_of(table, column, row)


def _first(one: tuple[float, str], other: tuple[float, str]) -> tuple[float, str]:
    """The first of two figures that there is; 0 where there is none."""
    figure, place = one if not np.isnan(one[0]) else other
    return number_or(figure, 0.0), place


def _apart(key: str, others: Collection[str]) -> str:
    """A key that no other row has."""
    taken = set(others)
    return next(each for each in (key, *(f"{key} ({number})" for number in range(2, len(taken) + 3))) if each not in taken)
