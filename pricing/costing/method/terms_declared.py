"""What the model has besides where the price book says more of its terms: taxes by category and rate, a discount or
a deposit of a quote's own, payment in stages, sets.

A price book with one tax has none of these tables. The quotes are declared in ``declared`` as they are without; here stands
what takes the place of some of their columns.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import replace

from pricing.costing.engine.columns import Column, Computed, Input, Lookup, Rank, Sum, TableSpec, Text
from pricing.costing.method.vocabulary import PRODUCT, inputs, lookups, texts, with_columns
from pricing.dataclass import dataclass
from pricing.rules import payments, shares, taxes
from pricing.rules import sets_and_services as sets


@dataclass(frozen=True, slots=True)
class TermForms:
    """What a price book says of its terms.

    Parameters
    ----------
    taxed : products or customers name taxes of their own
    own : quotes have a discount or a deposit of their own
    staged : quotes are paid by plans
    in_sets : some lines are parts of sets
    """

    taxed: bool = False
    own: bool = False
    staged: bool = False
    in_sets: bool = False


#: A price book that says nothing but its settings.
PLAIN_TERMS = TermForms()

TAXES = TableSpec("taxes", "named_tax", (
    *texts("named_tax"),
    *texts("category", remark=True),
    Input("tax_rate"),
), cause=("tax", "Taxes"), subject="{named_tax}", called=("tax", "taxes"))

QUOTE_TAXES = TableSpec("quote taxes", "quote_tax", (
    *inputs("quote_tax", "quote_number"),
    *texts("named_tax"),
    *texts("quote", "tax_name", "category", "reason", remark=True),
    Input("first_tax", follows="1 for the first tax of its quote", steers=True),
    *lookups("taxes", "named_tax", "tax_rate"),
    *lookups("quotes", "quote_number", "discount_rate"),
    Sum("tax_line_net_sum", "lines", "line_net", "quote_tax", seen_by="customer"),
    Sum("tax_discountable_sum", "lines", "discountable_net", "quote_tax", seen_by="customer"),
    *(Computed(rule, seen_by="customer") for rule in (taxes.tax_lines_net, taxes.tax_discount, taxes.tax_goods_net)),
    *lookups("quotes", "quote_number", "goods_net", "small_order_charge", "carriage", seen_by="customer"),
    *(Computed(rule, seen_by="customer") for rule in (taxes.amount_to_share, taxes.share, shares.whole_part, shares.remainder)),
    Rank("remainder_rank", "remainder", "quote_number"),
    Lookup("whole_parts", "quotes", "whole_charges", "quote_number", seen_by="customer"),
    Computed(shares.shared_amount, seen_by="customer"),
    *(Computed(rule, seen_by="customer", result=True) for rule in (taxes.tax_base, taxes.tax_of_base)),
), scope="order", subject="{tax_name} in quote {quote}", called=("tax", "taxes"))

PAYMENTS = TableSpec("payments", "payment", (
    *inputs("payment", "quote_number"),
    *texts("quote", "stage", "when", remark=True),
    Input("stated_share"),
    Input("takes_rest", follows="its share is left blank", steers=True),
    Input("payment_days"),
    Input("is_deposit", follows="when", steers=True),
    *lookups("quotes", "quote_number", "stated_shares"),
    Computed(payments.share),
    Lookup("amount_to_share", "quotes", "payable", "quote_number", seen_by="customer"),
    *(Computed(rule, seen_by="customer") for rule in (shares.whole_part, shares.remainder)),
    Rank("remainder_rank", "remainder", "quote_number"),
    Lookup("whole_parts", "quotes", "whole_payments", "quote_number", seen_by="customer"),
    Computed(shares.shared_amount, seen_by="customer", result=True),
    Computed(payments.due_with_order, seen_by="customer"),
), scope="order", cause=("customer", "Payments"), subject="{stage} of quote {quote}", called=("stage", "stages"))

SETS = TableSpec("sets", "set_number", (
    *inputs("set_number"),
    *texts("quote", "set", remark=True),
    Input("sets_ordered", settles=True),
    Input("set_price", seen_by="customer", cause="List and typed prices", follows="no price is typed"),
    Input("set_discount", cause="Discounts of lines", follows="no discount of the line", steers=True),
    Computed(sets.amount_to_share, seen_by="customer"),
    Sum("set_cost", "set parts", "line_cost", "set_number", result=True),
    Sum("whole_parts", "set parts", "whole_part", "set_number", seen_by="customer"),
    Sum("set_net", "set parts", "line_net", "set_number", seen_by="customer", result=True),
), scope="order", subject="{set} in quote {quote}", called=("set", "sets"))

SET_PARTS = TableSpec("set parts", "set_part", (
    *inputs("set_part", "set_number", "line"),
    PRODUCT,
    Input("pieces_of_set", settles=True),
    Input("first_part", follows="1 for the first part of its set", steers=True),
    *lookups("sets", "set_number", "sets_ordered"),
    Computed(sets.pieces_of_part, result=True),
    *lookups("lines", "line", "line_cost"),
    *lookups("sets", "set_number", "set_cost"),
    *lookups("sets", "set_number", "amount_to_share", seen_by="customer"),
    Computed(sets.share),
    *(Computed(rule, seen_by="customer") for rule in (shares.whole_part, shares.remainder)),
    Rank("remainder_rank", "remainder", "set_number"),
    *lookups("sets", "set_number", "whole_parts", seen_by="customer"),
    Computed(shares.shared_amount, seen_by="customer", result=True),
    *lookups("lines", "line", "line_net", seen_by="customer"),
), scope="order", subject="{product}", called=("part", "parts"))

#: What a line has where some are parts of sets: how many are in the sets, and what of the price that is typed for one is its own.
_IN_SETS: Mapping[str, tuple[Column, ...]] = {
    "quantity": (
        Text("set", remark=True), Input("is_part", follows="its enquiry names a set", steers=True),
        Sum("set_pieces", "set parts", "pieces_of_part", "line"), Input("typed_quantity", settles=True), Computed(sets.quantity),
    ),
    "given_price": (
        Input("shares_set_price", cause="List and typed prices", follows="1 where the enquiry states the price of the set", steers=True),
        Sum("set_share", "set parts", "shared_amount", "line", seen_by="customer"),
        Input("stated_price", seen_by="customer", cause="List and typed prices", follows="no price is typed"),
        Computed(sets.left_of_price), Computed(sets.given_price),
    ),
}


@functools.cache
def of_terms(spec: TableSpec, terms: TermForms) -> TableSpec:
    """A table as it is in a model of these terms; itself where it does not differ."""
    if spec.name == "lines":
        made = with_columns(spec, _IN_SETS) if terms.in_sets else spec
        taxed = Input("quote_tax", follows="the tax of the customer or of the product", steers=True)
        return replace(made, columns=(*made.columns, taxed)) if terms.taxed else made
    return _of_quotes(spec, terms) if spec.name == "quotes" else spec


def _of_quotes(spec: TableSpec, terms: TermForms) -> TableSpec:
    made = spec
    if terms.own:
        own = [Input(name, cause="Terms of the quote", follows="the terms of the quote or of the customer") for name in _OWN]
        made = with_columns(made, {"discount_rate": tuple(own)})
    if terms.staged:
        stated = Sum("stated_shares", "payments", "stated_share", "quote_number")
        whole, due = (
            Sum(name, "payments", column, "quote_number", seen_by="customer")
            for name, column in (("whole_payments", "whole_part"), ("deposit_sum", "due_with_order"))
        )
        made = with_columns(made, {"deposit": (stated, whole, due, Computed(payments.deposit))})
    if not terms.taxed:
        return made
    summed = {name: Sum(name, "quote taxes", column, "quote_number", seen_by="customer") for name, column in (
        ("tax_discount_sum", "tax_discount"), ("whole_charges", "whole_part"), ("tax_sum", "tax_of_base"))}
    return with_columns(made, {
        "tax_rate": (),
        "discount": (summed["tax_discount_sum"], Computed(taxes.discount)),
        "carriage": (*(column for column in spec.columns if column.name == "carriage"), summed["whole_charges"]),
        "tax": (summed["tax_sum"], Computed(taxes.tax)),
    })


def tables_of_terms(terms: TermForms) -> list[TableSpec]:
    """The tables that a model has besides."""
    return [
        *([TAXES, QUOTE_TAXES] if terms.taxed else []), *([PAYMENTS] if terms.staged else []),
        *([SETS, SET_PARTS] if terms.in_sets else []),
    ]


#: What a quote may have of its own, instead of its customer or of the workshop.
_OWN = ("discount_rate", "deposit_share")
