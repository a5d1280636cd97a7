"""The lines that are priced together and what they hang together by: take-off, batches, customers, deliveries and quotes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pricing.book.declared.choices import twin_of
from pricing.book.price_book import NONE
from pricing.book.services import service_rows
from pricing.costing.engine.model import Rows
from pricing.costing.engine.packed_columns import Codes, DictionaryColumn, TextColumn, first_seen, taken_places
from pricing.costing.lines.order_lines import place_of, usual_runs
from pricing.costing.method import declared
from pricing.costing.method.piece_declared import PLAIN, in_forms
from pricing.costing.method.piece_rows import layer_mix_keys, more_of_sizes
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rows_builder import RowsBuilder, number_or, safe_key
from pricing.costing.method.shown_measures import between
from pricing.costing.method.term_rows import own_terms_of_quotes
from pricing.costing.method.terms_declared import of_terms
from pricing.rules.shapes import SHAPES


def take_off_rows(context: PricingContext) -> list[Rows]:
    """The take-off of the lines, a table for each shape in use."""
    lines = context.lines
    shapes, plans = context.shapes, context.plan_keys("mould_plan")
    made = []
    for name, shape in SHAPES.items():
        codes = [code for code, word in enumerate(shapes.words) if word == name]
        chosen = np.flatnonzero(shapes.codes == codes[0]) if codes else np.zeros(0, dtype=np.intp)
        if not len(chosen):
            continue
        spec = declared.TAKE_OFFS[name] if context.forms == PLAIN else declared.take_off_table(shape, context.forms)
        given = {"line": chosen + 1, **lines.sizes(shape, chosen), **more_of_sizes(context, spec, shape, chosen)}
        places = {each: taken_places(lines.places[each], chosen) for each in given if each in lines.places}
        text = {"product": context.product_keys.taken(chosen), "mould_plan": plans.taken(chosen)}
        if shape.measured:
            outlines = context.plans["outline"]
            text["outline"] = DictionaryColumn(outlines.codes[chosen], [safe_key(word) for word in outlines.words])
        made.append(Rows(spec, len(chosen), given, text, places))
    return made


def batch_rows(context: PricingContext) -> tuple[Rows, NDArray[np.intp]]:
    """The pooled batches, one for each mix of a quote; and for each line, then for each layer, the number of its batch, counted from 0."""
    mixes, of = context.plan_keys("mix"), np.arange(len(context.lines))
    opening, quotes = context.quote_numbers
    if context.pieces.layers:
        mixes, of = mixes.followed_by(layer_mix_keys(context)), np.concatenate([of, context.pieces.layers.lines])
        quotes = quotes[of]
    if len(opening) == len(quotes):
        first, number = opening, quotes
    else:
        kinds = max(len(mixes.words), 1)
        _, first, number = first_seen(quotes * kinds + mixes.codes, len(opening) * kinds)
    text: dict[str, TextColumn] = {"quote": context.lines.quote[of[first]], "mix": mixes.taken(first)}
    return Rows(in_forms(declared.BATCHES, context.forms), len(first), {"batch": np.arange(1, len(first) + 1)}, text), number


def line_rows(context: PricingContext, batches: Codes) -> Rows:
    """The lines.

    Parameters
    ----------
    batches : for each line the number of its batch, counted from 0
    """
    lines, count = context.lines, len(context.lines)
    products = context.book.tables["Products"].columns
    plan = context.plans["mould_plan"]
    has_mould = np.array([word != "" for word in plan.words], dtype=np.float64)[plan.codes]
    stands, terms = ~np.isnan(lines.given_price), lines.terms
    typed = terms.has_price | (service_rows(context.book, lines.product) > 0)  # a service has no usual run: its price stands at any number
    given = {
        "line": np.arange(1, count + 1),
        "quote_number": context.quote_numbers[1] + 1,
        "batch": batches + 1,
        "quantity": lines.quantity,
        "rejects": np.nan_to_num(products["rejects"][lines.product]),
        "made_for_stock": (products["made_for"][lines.product] == "stock"),
        "has_mould": has_mould,
        "moulds_at_once": has_mould,
        "moulds_kept": np.nan_to_num(products["moulds_kept"][lines.product]) if "moulds_kept" in products else np.zeros(count),
        "sheet_board": np.zeros(count),
        "per_piece": np.broadcast_to(1.0, count),
        "usual_run": np.trunc(usual_runs(context.book))[lines.product],
        "price_is_listed": (stands & ~typed),
        "price_is_typed": (stands & typed),
        "given_price": np.nan_to_num(lines.given_price),
        "has_own_margin": terms.has_margin,
        "own_margin": np.nan_to_num(terms.margin),
        "discount_is_own": terms.keeps_discount,
        "own_discount": np.nan_to_num(terms.discount),
    }
    text: dict[str, TextColumn] = {
        "quote": lines.quote, "product": context.product_keys,
        "mix": context.plan_keys("mix"), "mould_plan": context.plan_keys("mould_plan"),
        "moulds_because": DictionaryColumn(np.zeros(count, dtype=np.int8), [""]),
    }
    if context.forms.services:
        given['is_service'] = service_rows(context.book, lines.product) > 0
    if context.forms.priced_by_measure:
        text["price_per"], given["measure_size"] = priced_by(context)
    named = ("rejects", "given_price", "usual_run", "own_margin", "own_discount")
    places: dict[str, Sequence[str]] = {name: lines.places[name] for name in named if name in lines.places}
    places["made_for_stock"] = lines.places["made_for"]
    if "quantity" in lines.places:
        places["quantity"] = lines.places["quantity"]
    spec = context.by_day(of_terms(in_forms(declared.LINES, context.forms), context.terms))
    if context.rates_differ:
        text["rates"] = DictionaryColumn(context.set_of_line, context.labels)
    if context.terms.in_sets and lines.sets is not None:
        part, shares = lines.sets.number >= 0, stands & lines.sets.has_price
        given |= {
            "is_part": part, "typed_quantity": np.where(part, 0.0, given.pop("quantity")), "shares_set_price": shares,
            "stated_price": np.where(shares, 0.0, given.pop("given_price")),
        }
        text["set"] = lines.sets.name
        for name, own, aside in (("typed_quantity", "quantity", part), ("stated_price", "given_price", shares)):
            if own in places:
                places[name] = ["" if nowhere else place for nowhere, place in zip(aside.tolist(), places.pop(own), strict=True)]
    if context.terms.taxed:
        given["quote_tax"] = np.array(context.taxes.of_line) + 1
    return Rows(spec, count, given, text, places)


#: The driver that counts what a product is priced by.
_MEASURES = {"piece": "piece", "m2": "m2 underside", "m": "m length", "kg": "kg"}


def priced_by(context: PricingContext) -> tuple[DictionaryColumn, NDArray[np.float64]]:
    """The driver that counts what each line is priced by, and how much of that its price is for."""
    per = context.book.tables["Products"].words("price_per").taken(context.lines.product)
    own = {**{word: word for word in _MEASURES}, **{twin_of(word): word for word in _MEASURES if twin_of(word)}, "": "piece"}
    sizes = [between(word, own[word]) if own[word] not in (word, "piece") else 1.0 for word in per.words]
    return DictionaryColumn(per.codes, [_MEASURES[own[word]] for word in per.words]), np.array(sizes)[per.codes]


def band_rows(context: PricingContext) -> Rows:
    """The bands of delivery, by zone and limit."""
    table = context.book.tables["Delivery"]
    builder = RowsBuilder(declared.BANDS)
    builder.add(band=1, zone=NONE, up_to=1e9, charge=0.0)
    order = sorted(range(len(table)), key=lambda row: (table.columns["zone"][row], table.columns["up_to"][row]))
    for row in order:
        builder.add(band=builder.count + 1, zone=safe_key(table.columns["zone"][row]),
                    up_to=(float(table.columns["up_to"][row]), place_of(table, "up_to", row)),
                    charge=(float(table.columns["charge"][row]), place_of(table, "charge", row)))
    return builder.rows()


def customer_rows(context: PricingContext) -> Rows:
    """The customers of the lines."""
    table = context.book.tables["Customers"]
    rows = {name: row for row, name in enumerate(table.columns["customer"].tolist())}
    builder = RowsBuilder(declared.CUSTOMERS)
    for customer in context.customers.words:
        row = rows.get(customer)
        if row is None:
            builder.add(customer=safe_key(customer) or NONE)
            continue
        own = float(table.columns["tax_rate"][row])
        builder.add(
            customer=safe_key(customer), has_own_tax_rate=float(not np.isnan(own)),
            discount_rate=(number_or(float(table.columns["discount"][row]), 0.0), place_of(table, "discount", row)),
            own_tax_rate=(number_or(own, 0.0), "" if np.isnan(own) else place_of(table, "tax_rate", row)),
        )
    return builder.rows()


def quote_rows(context: PricingContext) -> Rows:
    """The quotes."""
    table = context.book.tables["Customers"]
    zones = dict(zip(table.columns["customer"].tolist(), table.columns["delivery_zone"].tolist(), strict=True))
    opening, _ = context.quote_numbers
    customers = context.customers.taken(opening)
    names = DictionaryColumn(customers.codes, [safe_key(name) or NONE for name in customers.words])
    text: dict[str, TextColumn] = {
        "quote": context.lines.quote[opening], "customer": names,
        "zone": DictionaryColumn(customers.codes, [safe_key(zones.get(name, "") or NONE) for name in customers.words]),
    }
    given, places = own_terms_of_quotes(context) if context.terms.own else ({}, {})
    given["quote_number"] = np.arange(1, len(opening) + 1)
    return Rows(of_terms(declared.QUOTES, context.terms), len(opening), given, text, places)
