"""The settings and the prices of everything that the lines use."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

from pricing import money
from pricing.book.price_book import AIR, NONE, row_on
from pricing.costing.engine.columns import TableSpec
from pricing.costing.engine.model import Rows
from pricing.costing.lines.order_lines import place_of
from pricing.costing.method import declared
from pricing.costing.method.piece_declared import in_forms
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rows_builder import RowsBuilder, number_or
from pricing.costing.method.work_rows import Expanded

#: What the setting *List price holds* says where a list price is for the usual run alone.
AT_USUAL_RUN = "at the usual run"

#: What it says where a list price is for the usual run and any larger number.
FROM_USUAL_RUN = "from the usual run"

#: The price table that each material of a mould plan stands in.
ROLES = (("board", "board"), ("sealant", "liquid"), ("release", "liquid"), ("fixing", "other"), ("tape", "other"))


def setting_place(context: PricingContext, name: str) -> str:
    """Where a setting stands: ``Workshop!B7``."""
    cell = context.book.setting_cells.get(name, "")
    return f"Workshop!{cell}" if cell and "!" not in cell else cell


#: How recipes may state their aggregates, other than dry.
SATURATED = "saturated"

#: The setting by which mixer loads are counted by volume alone.
BY_VOLUME = "by volume"


def settings_rows(context: PricingContext) -> Rows:
    """The one row of settings."""
    settings, number, word = context.book.settings, context.book.number, context.book.word
    digits = money.minor_units(word("currency"))
    typed: dict[str, tuple[float, str]] = {
        "target_margin": (number("target_margin"), "target_margin"),
        "lowest_margin": (number("lowest_margin"), "lowest_margin"),
        "price_step": (number("price_step") or 10.0**-digits, "price_step"),
        "round_up": (float(settings["price_rounding"] == "up"), "price_rounding"),
        "list_at_usual_run": (float(word("list_price_holds") == AT_USUAL_RUN), "list_price_holds"),
        "list_from_usual_run": (float(word("list_price_holds") == FROM_USUAL_RUN), "list_price_holds"),
        "taken_share": (number("taken_from_the_price"), "taken_from_the_price"),
        "minor_digits": (float(digits), ""),
        "smallest_order": (number("smallest_order"), "smallest_order"),
        "deposit_share": (number("deposit"), "deposit"),
        "tax_down": (float(settings["tax_rounding"] == "down"), "tax_rounding"),
        "cash_step": (number("cash_step"), "cash_step"),
        "standard_tax_rate": (number("tax_rate"), "tax_rate"),
        "mix_allowance": (number("mix_allowance"), "mix_allowance"),
        "mixer_load": (number("mixer_load"), "mixer_load"),
        "aggregates_saturated": (float(context.book.word("aggregates_in_recipes") == SATURATED), "aggregates_in_recipes"),
        "loads_by_day": (float(context.book.word("mixer_loads") != BY_VOLUME), "mixer_loads"),
        "release_covers": (number("release_covers"), "release_covers"),
        "one_person_lift": (number("one_person_lift"), "one_person_lift"),
        "board_by_sheets": (float(word("board_bought_by") == "sheets"), "board_bought_by"),
        "cumulative_average": (float(word("learning_form") == "cumulative average"), "learning_form"),
        "one_cubic_metre": (1.0, ""),
        "one_unit_of_money": (1.0, ""),
    }
    builder = RowsBuilder(context.by_day(declared.SETTINGS))
    cells: dict[str, Any] = {name: (value, setting_place(context, origin)) for name, (value, origin) in typed.items()}
    builder.add(setting="", **rate_cells(context, context.rate_labels[0] if context.rate_labels else ""), **cells)
    return builder.rows()


def price_rows(
    context: PricingContext, mixes: Sequence[tuple[str, str]], plans: Sequence[tuple[str, str]], finishes: Expanded, extras: Expanded
) -> list[Rows]:
    """The price of everything used, in four tables by the unit in which it is used.

    Parameters
    ----------
    mixes, plans : mixes and mould plans in use, each with the label of its set of prices
    finishes, extras : the rows of their sheets in use
    """
    tables = context.book.tables
    roles: dict[str, dict[tuple[str, str], None]] = {name: {} for name in ("mix", "board", "liquid", "other")}
    recipe, plan_table = tables["Mixes"], tables["Moulds"]
    wanted_mixes: dict[str, list[str]] = {}
    for mix, price_set in mixes:
        wanted_mixes.setdefault(mix, []).append(price_set)
    for mix, material in zip(recipe.columns["mix"].tolist(), recipe.columns["material"].tolist(), strict=True):
        for price_set in wanted_mixes.get(mix, ()):
            roles["mix"][material, price_set] = None
    for plan, price_set in plans:
        for row in np.flatnonzero(plan_table.columns["mould_plan"] == plan):
            for column, role in ROLES:
                roles[role][plan_table.columns[column][row] or NONE, price_set] = None
        if not plan:
            for role in ("board", "liquid", "other"):
                roles[role][NONE, price_set] = None
    for used in (finishes, extras):
        roles["other"].update(dict.fromkeys(used.materials()))
    specs = (declared.MIX_PRICES, declared.BOARD_PRICES, declared.LIQUID_PRICES, in_forms(declared.OTHER_PRICES, context.forms))
    return [_price_table(context, spec, names) for spec, names in zip(specs, roles.values(), strict=True)]


def _price_table(context: PricingContext, spec: TableSpec, names: Iterable[tuple[str, str]]) -> Rows:
    builder = RowsBuilder(spec)
    done = set()
    for material, price_set in names:
        key = context.keyed(material, price_set)
        if key in done:
            continue
        done.add(key)
        if material == NONE or material.casefold() == AIR:
            builder.add(material=key, kind="", supplier="", priced_on="", price_place="", pack_unit="", pack_size=1.0,
                        density=1.0 if material == NONE else 0.0, kilograms_per_pack_unit=1.0, square_metres_per_pack_unit=1.0)
            continue
        row = context.price_row(material, context.day_of(price_set))
        if row is None:
            _no_price(context, material, price_set)
            row = int(np.flatnonzero(context.book.tables["Materials"].columns["material"] == material)[0])
        _price_row(context, builder, key, row)
    return builder.rows()


def _price_row(context: PricingContext, builder: RowsBuilder, key: str, row: int) -> None:
    table = context.book.tables["Materials"]
    cell: Callable[[str], float] = lambda name: float(table.columns[name][row])  # noqa: E731
    place: Callable[[str], str] = lambda name: place_of(table, name, row)  # noqa: E731
    unit = table.columns["pack_unit"][row]
    density = number_or(cell("density"), 0.0)
    bulk = number_or(cell("bulk_density"), 0.0)
    dated = table.columns["priced_on"][row]
    builder.add(
        material=key, kind=table.columns["kind"][row], supplier=table.columns["supplier"][row],
        priced_on="" if np.isnat(dated) else str(dated), price_place=place("pack_price"), pack_unit=unit,
        pack_size=(cell("pack_size"), place("pack_size")), pack_price=(cell("pack_price"), place("pack_price")),
        carriage_in=(number_or(cell("carriage"), 0.0), place("carriage")),
        wastage=(number_or(cell("wastage"), 0.0), place("wastage")),
        kilograms_per_pack_unit=float(unit == "kg"), litres_per_pack_unit=float(unit == "L"),
        square_metres_per_pack_unit=float(unit == "m2"), sheets_per_pack_unit=float(unit == "sheet"),
        density=(density, place("density")) if density else 1.0,
        bulk_density=(bulk, place("bulk_density")) if bulk else 0.0,
        sheet_length=(number_or(cell("sheet_length"), 0.0), place("sheet_length")),
        sheet_width=(number_or(cell("sheet_width"), 0.0), place("sheet_width")),
        board=(number_or(cell("sheet_thickness"), 0.0), place("sheet_thickness")),
        unit_mass=(1.0, "") if unit == "kg" else (number_or(cell("unit_mass"), 0.0), place("unit_mass")),
    )


def _no_price(context: PricingContext, material: str, price_set: str) -> None:
    table = context.book.tables["Materials"]
    rows = np.flatnonzero(table.columns["material"] == material)
    earliest = int(rows[np.argmin(table.columns["priced_on"][rows])])
    place = place_of(table, "priced_on", earliest)
    first = f"its first price holds from {table.columns['priced_on'][earliest]} ({place})"
    context.not_yet(context.day_of(price_set), f'"{material}" has no price yet', first, place, code="no-price-yet")


#: The figures of the model that follow from settings which may hold from a day on: the setting, and what stands for none.
_OF_SETTINGS = {
    "electricity_price": ("electricity_price", 0.0), "overhead_per_labour_hour": ("overhead_per_labour_hour", 0.0),
    "overhead_per_year": ("overhead_per_year", 0.0), "productive_hours": ("productive_hours_per_year", 1.0),
}


def rate_cells(context: PricingContext, price_set: str) -> dict[str, Any]:
    """Overhead, electricity price and the trade that refits moulds, as they hold at a set of prices."""
    book, day = context.book, context.day_of(price_set)
    cells: dict[str, Any] = {"refit_trade": context.rate_keyed(_refit_trade(context), price_set)}
    for name, (setting, none) in _OF_SETTINGS.items():
        found = book.setting_on(setting, day) or book.histories[setting][0]
        cells[name] = (number_or(found.value, 0.0) or none, f"Workshop!{found.cell}" if found.cell else "")
    return cells


def _refit_trade(context: PricingContext) -> str:
    """Who makes moulds ready again: the first trade where nobody is named."""
    trades = context.book.tables["Trades"].columns["trade"].tolist()
    return context.book.word("refit_trade") or (trades[0] if trades else NONE)


def rates_rows(context: PricingContext) -> Rows:
    """The rates of each set of prices, in a model in which they differ."""
    builder = RowsBuilder(declared.RATES)
    for label in context.labels:
        builder.add(rates=label, **rate_cells(context, label))
    return builder.rows()


def check_rates(context: PricingContext, steps: Expanded) -> None:
    """Report the lines of a day on which a wage, overhead or the electricity price that they need does not hold yet.

    Parameters
    ----------
    steps : the steps of the lines

    Problems: no-rate-yet.
    """
    book = context.book
    rows, lines, _ = steps.parts
    labour, machines = steps.table.columns, book.tables["Machines"].columns
    drawing = set(machines["machine"][np.nan_to_num(machines["power"]) > 0].tolist())
    refitted = set(book.tables["Moulds"].columns["mould_plan"][book.tables["Moulds"].columns["refit_minutes"] > 0].tolist())
    wanted = {(str(trade), context.lines.day[line]) for trade, line in zip(labour["trade"][rows].tolist(), lines.tolist(), strict=True)}
    wanted |= {(_refit_trade(context), context.day_of(label)) for plan, label in context.used("mould_plan") if plan in refitted}
    for trade, day in sorted(wanted):
        if trade not in ("", NONE) and row_on(book, "Trades", trade, day) is None:
            table = book.tables["Trades"]
            own = np.flatnonzero(table["trade"] == trade)
            earliest = int(own[np.argmin(table["from"][own])])
            place = place_of(table, "from", earliest)
            first = f"the first holds from {table['from'][earliest]} ({place})"
            context.not_yet(day, f'the wage of "{trade}" is not known yet', first, place)
    powered = {context.lines.day[line] for row, line in zip(rows, lines, strict=True) if labour["machine"][row] in drawing}
    for name, history in book.histories.items():
        days = powered if name == "electricity_price" else {context.day_of(label) for label in context.labels}
        for day in sorted(day for day in days if book.setting_on(name, day) is None):
            place, words = f"Workshop!{history[0].cell}", name.replace("_", " ")
            context.not_yet(day, f"the {words} is not known yet", f"the first holds from {history[0].since} ({place})", place)
