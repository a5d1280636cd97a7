"""Batch sheets: for each mix the full load and the last one, with every weight as a live formula of the load's litres."""

from __future__ import annotations

import re
from typing import Any

from pricing.algebra import expression_of
from pricing.costing.batch_sheets import BatchSheet, Ingredient, Load, Weighing
from pricing.costing.workshop import Work
from pricing.glossary import GLOSSARY
from pricing.rules import moisture
from pricing.sheets.workshop_page import Cell, Column, Formula, WorkPage, decimals_of

#: Widths of the page [pixels].
WIDTHS = (170, 62, 66, 62, 60, 66, 70, 60, 80, 70, 62, 64, 50, 56, 56, 56)

CAUTION = (
    "Usual caution: cement, wet or dry, is caustic, and tipping it and dry sand makes dust with respirable crystalline silica. Gloves, eye "
    "protection, respiratory protection that fits; local rules and the makers' instructions come first."
)

#: Columns of a load's table; the names are those of the rules.
(_NAME, _CONTENT, _DRY, _MOISTURE, _ABSORPTION, _FREE, _LIES, _STEP, _WEIGH, _LIQUID, _BUCKET, _VOLUME, _AIR, _TAKES, _DENSITY, _BULK) = (
    range(16)
)


def columns(scale: float) -> tuple[Column, ...]:
    """The columns of a load's table."""
    kilograms = decimals_of(scale)

    def meaning(name: str) -> str:
        return GLOSSARY[name].meaning

    return (
        Column("Ingredient"), Column("In a m³\nkg", "#,##0.0", note="Dry, in a cubic metre placed."),
        Column("Dry\nkg", "#,##0.000", note=meaning("dry_mass")), Column("Moisture\n", "0.0%", "input", meaning("moisture")),
        Column("Absorbed\n", "0.0%", "input", meaning("absorption")), Column("Free water\nkg", "#,##0.000", note=meaning("free_water")),
        Column("As it lies\nkg", "#,##0.000", note=meaning("mass_as_it_lies")),
        Column("Step\nkg", "#,##0.0####", note=meaning("weighing_step")),
        Column("WEIGH OUT\nkg", kilograms, "result", meaning("weighed_mass")),
        Column("or measure\nmL", "#,##0", "result", "Of a liquid, instead of weighing it."),
        Column("or bucket\nL", "#,##0.00", note=meaning("loose_litres")), Column("Volume\nL", "#,##0.000", note=meaning("volume_in_load")),
        Column("Air\n", "0.0%", note=meaning("air_share")), Column("Less free\nwater", "0.00", note=meaning("takes_free_water")),
        Column("Density\nkg/m³", "#,##0", note=meaning("density")), Column("Loose\nkg/m³", "#,##0", note=meaning("bulk_density")),
    )  # fmt: skip


def write_batches(page: WorkPage, work: Work, scale: float) -> None:
    """Write the page.

    Parameters
    ----------
    scale : its smallest step [kg]
    """
    loads = sum(load.count for sheet in work.batches for load in sheet.loads)
    mixes = len(work.batches)
    opening = f"{loads} mixer {'load' if loads == 1 else 'loads'} of {mixes} {'mix' if mixes == 1 else 'mixes'}."
    limits = [f"{sheet.mix}: {limit}" for sheet in work.batches for limit in sheet.limits]
    page.opening(f"Batch sheets for quote {work.quote}", " ".join([opening, *(["Look at:"] if limits else []), *limits]), CAUTION,
                 "Tinted: may be changed, such as the load or today's moisture of the sand; everything else follows.")  # fmt: skip
    head = columns(scale)
    starts = []
    for sheet in work.batches:
        starts.append(page.row)
        page.section(f"{sheet.mix}: {sheet.litres:,.1f} L in all, with what stays in the mixer")
        for place, load in enumerate(sheet.loads):
            _load(page, head, sheet, load, place)
            page.gap(10)
    page.sheet.set_h_pagebreaks(starts[1:])


def _load(page: WorkPage, head: tuple[Column, ...], sheet: BatchSheet, load: Load, place: int) -> None:
    """One kind of load: its litres, its table, its sums and its limits."""
    times = "once" if load.count == 1 else "twice" if load.count == 2 else f"{load.count} times"
    title = "The last load" if place else "Full load" if len(sheet.loads) > 1 or load.count > 1 else "One load"
    page.text(f"{title}, mixed {times}", 0, 1, "text bold")
    page.text("Load (L)", 2, 2, "text")
    litres = page.at(3, page.row + 1)
    page.number(load.litres, 3, "input", "#,##0.0", align="right")
    page.need(18)
    page.next_row()
    first = page.headings(head)
    last = first + len(sheet.ingredients) - 1
    for ingredient, weighing in zip(sheet.ingredients, load.weighings, strict=True):
        page.cells(head, _cells(page, ingredient, weighing, litres, page.down(_FREE, first, last)))
    totals: list[Cell] = ["Load, and its yield", *[None] * (len(head) - 1)]
    sums = {
        _DRY: sum(each.dry_mass for each in load.weighings), _FREE: sum(each.free_water for each in load.weighings),
        _LIES: sum(each.mass_as_it_lies for each in load.weighings), _WEIGH: load.mass, _VOLUME: load.yield_litres,
    }  # fmt: skip
    for column, figure in sums.items():
        totals[column] = Formula(f"SUM({page.down(column, first, last)})", figure)
    page.cells(head, totals, role="total")
    _ratios(page, sheet, load, first)


def _cells(page: WorkPage, ingredient: Ingredient, weighing: Weighing, litres: str, free: str) -> list[Cell]:
    """An ingredient's row: what is typed of it, and the formulas of the rules."""
    row = page.row + 1
    at = {name: page.at(column, row) for name, column in (
        ("dry_mass", _DRY), ("moisture", _MOISTURE), ("absorption", _ABSORPTION), ("free_water", _FREE), ("mass_as_it_lies", _LIES),
        ("weighing_step", _STEP), ("weighed_mass", _WEIGH), ("air_share", _AIR), ("takes_free_water", _TAKES),
        ("density", _DENSITY), ("bulk_density", _BULK))}  # fmt: skip
    at |= {"load_litres": _fixed(litres), "free_water_sum": f"SUM({_fixed(free)})"}

    def formula(rule: Any, figure: float) -> Formula:
        return Formula(expression_of(rule).formula(at), figure)

    row_of: list[Cell] = [ingredient.material, *[None] * (_BULK)]
    row_of[_AIR], row_of[_TAKES] = ingredient.air_share or None, ingredient.takes_free_water or None  # a blank counts as nought
    if ingredient.kind == "air":
        row_of[_VOLUME] = Formula(f"{at['air_share']}*{at['load_litres']}", weighing.volume_in_load)
        return row_of
    if ingredient.kind == "aggregate":
        row_of[_MOISTURE], row_of[_ABSORPTION] = ingredient.moisture, ingredient.absorption
        row_of[_FREE] = formula(moisture.free_water, weighing.free_water)
    row_of[_CONTENT], row_of[_STEP], row_of[_DENSITY] = ingredient.content, ingredient.step, ingredient.density
    row_of[_DRY] = Formula(f"{page.at(_CONTENT, row)}*{at['load_litres']}/1000", weighing.dry_mass)
    row_of[_LIES] = formula(moisture.mass_as_it_lies, weighing.mass_as_it_lies)
    row_of[_WEIGH] = formula(moisture.weighed_mass, weighing.weighed_mass)
    row_of[_VOLUME] = formula(moisture.volume_in_load, weighing.volume_in_load)
    if weighing.millilitres is not None:
        row_of[_LIQUID] = Formula(f"{at['weighed_mass']}/{at['weighing_step']}", float(weighing.millilitres))
    if weighing.loose_litres is not None:
        row_of[_BULK], row_of[_BUCKET] = ingredient.bulk_density, formula(moisture.loose_litres, weighing.loose_litres)
    return row_of


def _ratios(page: WorkPage, sheet: BatchSheet, load: Load, first: int) -> None:
    """Water over binder and pigment over binder, as weighed out."""

    def cells(kind: str, column: int = _WEIGH) -> list[str]:
        return [page.at(column, first + row) for row, each in enumerate(sheet.ingredients) if each.kind == kind]

    binder = "+".join(cells("binder"))
    if not binder:
        return
    water = [f"{page.at(_WEIGH, first + row)}*{each.water_share:.15g}" if each.water_share < 1 else page.at(_WEIGH, first + row)
             for row, each in enumerate(sheet.ingredients) if each.water_share]  # fmt: skip
    if any(each.takes_free_water for each in sheet.ingredients):
        water.append(f"SUM({page.down(_FREE, first, first + len(sheet.ingredients) - 1)})")
    figures = (
        ("Water / binder", "+".join(water), load.water_binder, "0.00"),
        ("Pigment / binder", "+".join(cells("pigment")), load.pigment_share, "0.0%"),
    )
    for label, above, figure, number in figures:
        if above:
            page.text(label, 0, 0, "text")
            page.formula(f"=({above})/({binder})", figure, 1, "result", number, align="right")
            page.next_row()


def _fixed(cells: str) -> str:
    """A cell or a range, fixed."""
    return re.sub(r"([A-Z]+)(\d+)", r"$\1$\2", cells)
