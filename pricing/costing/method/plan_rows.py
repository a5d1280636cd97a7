"""What the lines are made by: recipes, mould plans, trades and machines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from pricing.book.price_book import AIR, NONE, row_on
from pricing.costing.engine.model import Rows
from pricing.costing.lines.order_lines import place_of
from pricing.costing.method import declared
from pricing.costing.method.price_rows import ROLES, setting_place
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rows_builder import RowsBuilder, number_or

#: By basis: amount is a mass, amount is a loose volume, volume of one of the amount [m³], what drives it.
BASES: dict[str, tuple[float, float, float, str]] = {
    "parts by mass": (1.0, 0.0, 0.0, "by_parts"),
    "parts by volume": (0.0, 1.0, 0.0, "by_parts"),
    "kg/m3": (1.0, 0.0, 0.0, "by_cubic_metre"),
    "L/m3": (0.0, 0.0, 1e-3, "by_cubic_metre"),
    "% of binder": (1.0, 0.0, 0.0, "by_binder"),
    "mL/kg binder": (0.0, 0.0, 1e-6, "by_binder"),
    "% of volume": (0.0, 0.0, 1.0, "by_cubic_metre"),
}

#: Columns of the Machines sheet by their names in the model.
MACHINE_COLUMNS = (("machine_price", "price"), ("resale", "resale"), ("life_hours", "life"), ("upkeep", "upkeep"), ("power", "power"))

#: Figures of a mould plan: name in the model, column of the sheet, what a blank stands for.
_MOULD_FIGURES = (
    ("casts_per_mould", "lasts", 1.0), ("sealant_radius", "sealant_radius", 0.0), ("fixing_spacing", "fixing_spacing", 1.0),
    ("refit_every", "refit_every", 0.0), ("refit_minutes", "refit_minutes", 0.0), ("pieces_per_mould", "pieces_per_mould", 1.0),
    ("mould_price", "price", 0.0), ("mould_resale", "resale", 0.0), ("pattern_price", "pattern_price", 0.0),
    ("moulds_of_pattern", "moulds_of_a_pattern", 1.0),
)


def ingredient_rows(context: PricingContext, mixes: Sequence[tuple[str, str]]) -> Rows:
    """The ingredients of the mixes in use, each mix with the label of its set of prices."""
    table, materials = context.book.tables["Mixes"], context.book.tables["Materials"].columns
    kinds = dict(zip(materials["material"].tolist(), materials["kind"].tolist(), strict=True))
    builder = RowsBuilder(declared.INGREDIENTS)
    for mix, price_set in mixes:
        for row in np.flatnonzero(table.columns["mix"] == mix).tolist():
            material, basis = table.columns["material"][row], table.columns["basis"][row]
            plain, bulk, volume, driver = BASES[basis]
            kind = kinds.get(material, AIR)
            damp = _damp(context, material, kind)
            builder.add(
                ingredient=builder.count + 1, mix=context.keyed(mix, price_set), material=context.keyed(material, price_set),
                basis=basis, amount=(float(table.columns["amount"][row]), place_of(table, "amount", row)),
                plain_amount=plain, bulk_amount=bulk, volume_of_amount=volume,
                by_parts=float(driver == "by_parts"), by_cubic_metre=float(driver == "by_cubic_metre"),
                by_binder=float(driver == "by_binder"), is_binder=float(kind == "binder"),
                water_share=_water_share(context, material, kind), is_pigment=float(kind == "pigment"), is_air=float(kind == AIR), **damp,
            )
    return builder.rows()


def _damp(context: PricingContext, material: str, kind: str) -> dict[str, tuple[float, str]]:
    """Moisture and absorption of an aggregate by its price that holds last; none of anything else."""
    table = context.book.tables["Materials"]
    if kind != "aggregate":
        return {"moisture": (0.0, ""), "absorption": (0.0, "")}
    row = int(np.flatnonzero(table.columns["material"] == material)[-1])
    return {
        name: (number_or(float(table.columns[name][row]), 0.0) if name in table.columns else 0.0, place_of(table, name, row))
        for name in ("moisture", "absorption")
    }


def _water_share(context: PricingContext, material: str, kind: str) -> float:
    """All of the water; of an admixture whose solids are given, the rest."""
    columns = context.book.tables["Materials"].columns
    if kind == "water":
        return 1.0
    if kind != "admixture" or "solids" not in columns:
        return 0.0
    solids = columns["solids"][np.flatnonzero(columns["material"] == material)[-1]]
    return 0.0 if np.isnan(solids) else 1.0 - float(solids)


def mix_rows(context: PricingContext, mixes: Sequence[tuple[str, str]]) -> Rows:
    """The mixes in use."""
    table = context.book.tables["Mixes"]
    builder = RowsBuilder(declared.MIXES)
    for mix, price_set in mixes:
        bases = table.columns["basis"][table.columns["mix"] == mix].tolist()
        parts = float(any(BASES[basis][3] == "by_parts" for basis in bases))
        builder.add(mix=context.keyed(mix or NONE, price_set), has_parts=parts, no_parts=1.0 - parts)
    return builder.rows()


def mould_rows(context: PricingContext, plans: Sequence[tuple[str, str]]) -> Rows:
    """The mould plans in use, and the one that stands for none."""
    table = context.book.tables["Moulds"]
    builder = RowsBuilder(declared.MOULDS)
    for plan, price_set in plans:
        rows = np.flatnonzero(table.columns["mould_plan"] == plan)
        if not plan or not len(rows):
            nothing = {f"{column}_material": NONE for column, _ in ROLES}
            builder.add(mould_plan=context.keyed(plan or NONE, price_set), casts_per_mould=1.0, fixing_spacing=1.0, pieces_per_mould=1.0,
                        moulds_of_pattern=1.0, **nothing)
            continue
        row = int(rows[0])
        given: dict[str, Any] = {
            name: (number_or(float(table.columns[column][row]), blank), place_of(table, column, row))
            for name, column, blank in _MOULD_FIGURES if column in table.columns
        } | {"is_bought": float(not table.columns["board"][row])}
        given.setdefault("pieces_per_mould", 1.0)
        given.setdefault("moulds_of_pattern", 1.0)
        for name, _ in ROLES:
            given[f"{name}_material"] = context.keyed(table.columns[name][row] or NONE, price_set)
        builder.add(mould_plan=context.keyed(plan, price_set), **given)
    return builder.rows()


def trade_rows(context: PricingContext) -> Rows:
    """All trades, each at the wage of the day."""
    table = context.book.tables["Trades"]
    builder = RowsBuilder(declared.TRADES)
    builder.add(trade=NONE, hourly_cost=0.0)
    trades = table.columns["trade"].tolist()
    for trade in dict.fromkeys(trades):
        for label in context.rate_labels:
            row = row_on(context.book, "Trades", trade, context.day_of(label))
            row = trades.index(trade) if row is None else row
            since = table.columns["from"][row]
            cost = float(table.columns["hourly_cost"][row]), place_of(table, "hourly_cost", row)
            builder.add(trade=context.rate_keyed(trade, label), holds_from="" if np.isnat(since) else str(since), hourly_cost=cost)
    return builder.rows()


def machine_rows(context: PricingContext) -> Rows:
    """All machines."""
    table = context.book.tables["Machines"]
    interest = context.book.number("interest_rate")
    rate = (interest, setting_place(context, "interest_rate"))
    builder = RowsBuilder(context.by_day(declared.MACHINES_WITH_INTEREST if interest else declared.MACHINES))
    # Nothing is lost in worth by the machine that is not there: it is sold for what it cost.
    builder.add(machine=NONE, machine_price=1.0, resale=1.0, life_hours=1.0, upkeep=0.0, power=0.0, hours_used_per_year=1.0,
                rates=context.rate_labels[0] if context.rate_labels else "")
    yearly = table.columns.get("hours_per_year", np.full(len(table), np.nan))
    for row, machine in enumerate(table.columns["machine"].tolist()):
        given: dict[str, Any] = {
            name: (number_or(float(table.columns[column][row]), 0.0), place_of(table, column, row)) for name, column in MACHINE_COLUMNS
        }
        used = (number_or(float(yearly[row]), given["life_hours"][0]), place_of(table, "hours_per_year", row))
        for label in context.rate_labels:
            key = context.rate_keyed(machine, label)
            builder.add(machine=key, **given, hours_used_per_year=used, interest_rate=rate, rates=label)
    return builder.rows()
