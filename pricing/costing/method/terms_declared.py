"""What the model has besides where the price book says more of its terms: taxes by category and rate, a discount or
a deposit of a quote's own, payment in stages.

A price book with one tax has none of these tables. The quotes are declared in ``declared`` as they are without; here stands
what takes the place of some of their columns.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pricing.costing.engine.columns import Computed, Input, Lookup, Rank, Sum, TableSpec
from pricing.costing.method.vocabulary import inputs, lookups, texts, with_columns
from pricing.rules import payments, shares, taxes


@dataclass(frozen=True, slots=True)
class TermForms:
    """What a price book says of its terms.

    Parameters
    ----------
    taxed : products or customers name taxes of their own
    own : quotes have a discount or a deposit of their own
    staged : quotes are paid by plans
    """

    taxed: bool = False
    own: bool = False
    staged: bool = False


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


def of_terms(spec: TableSpec, terms: TermForms) -> TableSpec:
    """A table as it is in a model of these terms; itself where it does not differ."""
    if spec.name == "lines" and terms.taxed:
        return replace(spec, columns=(*spec.columns, Input("quote_tax", follows="the tax of the customer or of the product", steers=True)))
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
    return [*([TAXES, QUOTE_TAXES] if terms.taxed else []), *([PAYMENTS] if terms.staged else [])]


#: What a quote may have of its own, instead of its customer or of the workshop.
_OWN = ("discount_rate", "deposit_share")
