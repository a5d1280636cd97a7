"""The lines of a run and what they hang together by: take-off, batches, customers, deliveries and quotes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pricing.costing.engine.model import Rows
from pricing.costing.engine.packed_columns import Codes, Floats, TextColumn, Words, first_seen, smallest, taken_places
from pricing.costing.lines.order_lines import place_of, usual_runs
from pricing.costing.method import declared
from pricing.costing.method.price_sets import Run
from pricing.costing.method.rows_builder import NONE, RowsBuilder, number_or, safe_key
from pricing.costing.nesting.whole_sheets import KERF, Sheet, sheet_share
from pricing.rules import moulds
from pricing.rules.shapes import SHAPES


def take_off_rows(run: Run) -> list[Rows]:
    """The take-off of the lines, a table for each shape in use."""
    lines = run.lines
    shapes = Words.of(run.book.tables["Products"].columns["shape"]).taken(lines.product)
    plans = run.plan_keys("mould_plan")
    made = []
    for name, shape in SHAPES.items():
        codes = [code for code, word in enumerate(shapes.words) if word == name]
        chosen = np.flatnonzero(shapes.codes == codes[0]) if codes else np.zeros(0, dtype=np.intp)
        if not len(chosen):
            continue
        given: dict[str, NDArray[np.generic]] = {"line": smallest(chosen + 1)}
        places: dict[str, Sequence[str]] = {}
        for dimension in shape.dimensions:
            values = lines.dimensions[dimension][chosen]
            given[dimension] = np.where(np.isnan(values), shape.defaults.get(dimension, 0.0), values)
            places[dimension] = taken_places(lines.places[dimension], chosen)
        text = {"product": run.pieces.taken(chosen), "mould_plan": plans.taken(chosen)}
        made.append(Rows(declared.TAKE_OFFS[name], len(chosen), given, text, places))
    return made


def batch_rows(run: Run) -> tuple[Rows, NDArray[np.intp]]:
    """The pooled batches, one for each mix of a quote, and for each line the number of its batch, counted from 0."""
    mixes = run.plan_keys("mix")
    opening, quotes = run.quote_numbers
    if len(opening) == len(quotes):
        first, number = opening, quotes
    else:
        kinds = max(len(mixes.words), 1)
        _, first, number = first_seen(quotes * kinds + mixes.codes, len(opening) * kinds)
    text: dict[str, TextColumn] = {"quote": run.lines.quote[first], "mix": mixes.taken(first)}
    return Rows(declared.BATCHES, len(first), {"batch": np.arange(1, len(first) + 1, dtype=np.int32)}, text), number


def line_rows(run: Run, take_offs: Sequence[Rows], batches: Codes) -> Rows:
    """The lines.

    Parameters
    ----------
    take_offs : the take-off of the lines by shape
    batches : for each line the number of its batch, counted from 0
    """
    lines, count = run.lines, len(run.lines)
    products = run.book.tables["Products"].columns
    plan = run.plans["mould_plan"]
    has_mould = np.array([word != "" for word in plan.words], dtype=np.int8)[plan.codes]
    stands, typed = ~np.isnan(lines.given_price), price_typed(run)
    given = {
        "line": np.arange(1, count + 1, dtype=np.int32),
        "quote_number": smallest(run.quote_numbers[1] + 1),
        "batch": smallest(batches + 1),
        "quantity": lines.quantity,
        "rejects": np.nan_to_num(products["rejects"][lines.product]),
        "made_for_stock": (products["made_for"][lines.product] == "stock").astype(np.int8),
        "has_mould": has_mould,
        "moulds_at_once": has_mould,
        "sheet_board": sheet_board(run, take_offs),
        "per_piece": np.broadcast_to(1.0, count),
        "usual_run": smallest(usual_runs(run.book).astype(np.intp)[lines.product]),
        "price_is_listed": (stands & ~typed).astype(np.int8),
        "price_is_typed": (stands & typed).astype(np.int8),
        "given_price": np.nan_to_num(lines.given_price),
    }
    text: dict[str, TextColumn] = {
        "quote": lines.quote, "product": run.pieces, "mix": run.plan_keys("mix"), "mould_plan": run.plan_keys("mould_plan"),
    }
    places = {name: lines.places[name] for name in ("rejects", "given_price", "usual_run")}
    places["made_for_stock"] = lines.places["made_for"]
    if "quantity" in lines.places:
        places["quantity"] = lines.places["quantity"]
    return Rows(declared.LINES, count, given, text, places)


def price_typed(run: Run) -> NDArray[np.bool_]:
    """The lines whose price is typed in the enquiry."""
    enquiry, prices = run.lines.enquiry, run.book.tables["Enquiries"].columns["unit_price"]
    if not len(prices):
        return np.zeros(len(enquiry), dtype=np.bool_)
    typed: NDArray[np.bool_] = (enquiry >= 0) & ~np.isnan(prices[np.maximum(enquiry, 0)])
    return typed


def sheet_board(run: Run, take_offs: Sequence[Rows]) -> Floats:
    """Each line's share of whole sheets [m²/mould]; zero where board is charged by what is cut."""
    if run.book.settings.get("board_bought_by") != "sheets":
        return np.broadcast_to(0.0, len(run.lines))
    shares = np.zeros(len(run.lines))
    plans, boards = run.book.tables["Moulds"].columns, run.book.tables["Materials"].columns
    kerf = run.setting("saw_kerf") or KERF
    known: dict[tuple[float | int | str, ...], float] = {}
    for rows in take_offs:
        shape = SHAPES[rows.spec.name.partition(": ")[2]]
        columns = [rows.given[name].tolist() for name in shape.dimensions]
        for row, line in enumerate((rows.given["line"] - 1).astype(int).tolist()):
            plan = np.flatnonzero(plans["mould_plan"] == run.lines.plans["mould_plan"][line])
            price = run.price_row(plans["board"][plan[0]], run.lines.day[line]) if len(plan) and plans["board"][plan[0]] else None
            if price is None:
                continue
            dimensions = {name: column[row] for name, column in zip(shape.dimensions, columns, strict=True)}
            cut = whole_moulds(run, line, float(plans["casts"][plan[0]]))
            alike = (shape.name, *dimensions.values(), price, cut)
            if alike not in known:
                values = shape.take_off(dimensions, boards["sheet_thickness"][price])
                known[alike] = float(values["mould_area"])
                if boards["pack_unit"][price] == "sheet" and shape.panels:
                    sheet = Sheet(float(boards["sheet_length"][price]), float(boards["sheet_width"][price]))
                    known[alike] = sheet_share(shape, values, cut, sheet, kerf)
            shares[line] = known[alike]
    return shares


def whole_moulds(run: Run, line: int, casts_per_mould: float) -> int:
    """Moulds that are cut together for a line, by the rules that charge them."""
    rejects = float(np.nan_to_num(run.book.tables["Products"].columns["rejects"][run.lines.product[line]]))
    worn = moulds.moulds_worn(1.0, moulds.casts(float(run.lines.quantity[line]), rejects), number_or(casts_per_mould, 1.0))
    return int(moulds.moulds_made(worn, 1.0))


def band_rows(run: Run) -> Rows:
    """The bands of delivery, by zone and limit."""
    table = run.book.tables["Delivery"]
    builder = RowsBuilder(declared.BANDS)
    builder.add(band=1, zone=NONE, up_to=1e9, charge=0.0)
    order = sorted(range(len(table)), key=lambda row: (table.columns["zone"][row], table.columns["up_to"][row]))
    for row in order:
        builder.add(band=builder.count + 1, zone=safe_key(table.columns["zone"][row]),
                    up_to=(float(table.columns["up_to"][row]), place_of(table, "up_to", row)),
                    charge=(float(table.columns["charge"][row]), place_of(table, "charge", row)))
    return builder.rows()


def customer_rows(run: Run) -> Rows:
    """The customers of the run."""
    table = run.book.tables["Customers"]
    rows = {name: row for row, name in enumerate(table.columns["customer"].tolist())}
    builder = RowsBuilder(declared.CUSTOMERS)
    for customer in Words.of(run.lines.customer).words:
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


def quote_rows(run: Run) -> Rows:
    """The quotes."""
    table = run.book.tables["Customers"]
    zones = dict(zip(table.columns["customer"].tolist(), table.columns["delivery_zone"].tolist(), strict=True))
    opening, _ = run.quote_numbers
    customers = Words.of(run.lines.customer[opening])
    names = Words(customers.codes, [safe_key(name) or NONE for name in customers.words])
    text: dict[str, TextColumn] = {
        "quote": run.lines.quote[opening], "customer": names,
        "zone": Words(customers.codes, [safe_key(zones.get(name, "") or NONE) for name in customers.words]),
    }
    return Rows(declared.QUOTES, len(opening), {"quote_number": np.arange(1, len(opening) + 1, dtype=np.int32)}, text)
