"""Batch sheets: for each mix the full load and the last one, with every weight as a live formula of the load's litres."""

from __future__ import annotations

import re
from typing import Any

from pricing.algebra.expressions import expression_of
from pricing.book.shown_units import GALLON, POUND
from pricing.book.typed.conversion import fifteen_digits
from pricing.costing.method.shown_measures import said_in_american
from pricing.costing.workshop.batch_sheets import BatchSheet, Ingredient, Load, Weighing
from pricing.costing.workshop.work import Work
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY
from pricing.reports.quote.wording import listed
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.workshop.cautions import BATCH_CAUTION
from pricing.reports.workshop.page import WorkPage, decimals_of
from pricing.rules import mixes, moisture
from pricing.xlsx.writing.safe_text import one_line

#: The columns of the three that the mixer needs, first and last of each, and the size of their type [points].
_LARGE, _LARGE_TYPE = ((0, 2), (3, 5), (6, 8)), 14

NOTE = "Tinted: may be changed, such as the load or today's moisture of the sand; everything else follows."


@dataclass(frozen=True, slots=True)
class Units:
    """In what a mix is weighed and measured; a load is told in *volume*, small measures of a liquid in *little*.

    Parameters
    ----------
    kilogram, litre, millilitre : how many of each unit shown one of these is
    content : in a cubic yard or metre placed, how many of the unit shown a kilogram in a cubic metre is; density likewise
    in_content, in_density : litres or gallons in a cubic metre or yard, and in what densities are by, as a formula writes them
    """

    mass: str
    volume: str
    little: str
    dense: str
    placed: str
    kilogram: float
    litre: float
    millilitre: float
    content: float
    density: float
    in_content: str
    in_density: str


_FOOT, _YARD = 0.3048**3, 0.9144**3
METRIC = Units("kg", "L", "mL", "kg/m³", "m³", 1.0, 1.0, 1.0, 1.0, 1.0, "1000", "1000")
AMERICAN = Units("lb", "gal", "fl oz", "lb/ft³", "yd³", 1 / POUND, 1 / GALLON, 128 / GALLON / 1000, _YARD / POUND, _FOOT / POUND,
                 "(46656/231)", "(1728/231)")


def units_of(mass_unit: str) -> Units:
    """The units of a workshop that weighs in ``kg`` or ``lb``."""
    return AMERICAN if mass_unit == "lb" else METRIC


def columns(scale: float, unit: str) -> dict[str, TableColumn]:
    """The columns of a load's table by name; those of the rules are called as the rules are.

    Parameters
    ----------
    scale : its smallest step [kg]
    unit : in which weights are read, ``kg`` or ``lb``
    """
    known = units_of(unit)
    mass, volume, finer = known.mass, known.volume, "" if known is METRIC else "0"

    def column(width: int, name: str, heading: str, number: str, role: str = "working") -> tuple[str, TableColumn]:
        meaning = GLOSSARY[name].meaning if known is METRIC else said_in_american(GLOSSARY[name].meaning)
        return name, TableColumn(heading, number, role, meaning, width)

    placed = f"Dry, in a cubic {'metre' if known is METRIC else 'yard'} placed."
    weighed = decimals_of(float(f"{scale * known.kilogram:.6g}"))
    return dict([
        ("name", TableColumn("Ingredient", width=160)),
        ("content", TableColumn(f"In a {known.placed}\n{mass}", "#,##0.0", note=placed, width=62)),
        column(66, "dry_mass", f"Dry\n{mass}", "#,##0.000"), column(62, "moisture", "Moisture", "0.0%", "input"),
        column(60, "absorption", "Absorbed", "0.0%", "input"), column(66, "free_water", f"Free water\n{mass}", "#,##0.000"),
        column(70, "mass_as_it_lies", f"As it lies\n{mass}", "#,##0.000"), column(62, "weighing_step", f"Step\n{mass}", "#,##0.0####"),
        column(80, "weighed_mass", f"WEIGH OUT\n{mass}", weighed, "result"),
        ("millilitres", TableColumn(
            f"or measure\n{known.little}", f"#,##0{'.0' if finer else ''}{finer}", "result", "Of a liquid, instead of weighing it.", 70)),
        column(62, "loose_litres", f"or bucket\n{volume}", "#,##0.00"),
        column(64, "volume_in_load", f"Volume\n{volume}", f"#,##0.000{finer}"),
        column(46, "air_share", "Air", "0.0%"), column(52, "water_share", "Water\nin it", "0%"),
        column(54, "takes_free_water", "Less free\nwater", "0.00"), column(56, "density", f"Density\n{known.dense}", "#,##0"),
        column(56, "bulk_density", f"Loose\n{known.dense}", "#,##0"),
    ])


def write_batches(page: WorkPage, work: Work, scale: float, unit: str) -> None:
    """Write the page.

    Parameters
    ----------
    scale : its smallest step [kg]
    unit : in which weights are read, ``kg`` or ``lb``
    """
    loads = sum(load.count for sheet in work.batches for load in sheet.loads)
    kinds = len(work.batches)
    opening = f"{loads} mixer {'load' if loads == 1 else 'loads'} of {kinds} {'mix' if kinds == 1 else 'mixes'}."
    limits = [f"{sheet.mix}: {limit}" for sheet in work.batches for limit in sheet.limits]
    page.opening(f"Batch sheets for quote {work.quote}", " ".join([opening, *(["Mind:"] if limits else []), *limits]), BATCH_CAUTION, NOTE)
    known = units_of(unit)
    pages = _Batches(page, list(columns(scale, unit)), known)
    for number, sheet in enumerate(work.batches):
        start = page.row
        if number:  # each mix has a page of its own
            page.begin_page()
        page.section(f"{sheet.mix}: {sheet.litres * known.litre:,.1f} {known.volume} in all, with what stays in the mixer")
        for place, load in enumerate(sheet.loads):
            if place:  # it may be the first of a page
                page.section(sheet.mix)
            pages.load(sheet, load)
            page.keep_together(start, page.row, page.room)
            page.gap(10)
            start = page.row


def mixed(load: Load) -> str:
    """How often a load is mixed, and on which casting days.

    >>> mixed(Load(30.0, 4, (), 0.4, 0.0, (1, 2))), mixed(Load(20.0, 1, (), 0.4, 0.0, (3,))), mixed(Load(20.0, 2, (), 0.4, 0.0))
    ('2 loads on each of casting days 1 to 2', '1 load on casting day 3', '2 loads')
    """
    if not load.days:
        return f"{load.count} {'load' if load.count == 1 else 'loads'}"
    first, last = load.days[0], load.days[-1]
    each = load.count // len(load.days)
    of_day = f"{each} {'load' if each == 1 else 'loads'} on"
    if len(load.days) == 1:
        return f"{of_day} casting day {first}"
    running = last - first + 1 == len(load.days)
    return f"{of_day} each of casting days {f'{first} to {last}' if running else listed([str(day) for day in load.days])}"


class _Batches:
    """The tables of the loads while they are written."""

    def __init__(self, page: WorkPage, names: list[str], units: Units) -> None:
        self.page, self.units = page, units
        self.place = {name: place for place, name in enumerate(names)}

    def load(self, sheet: BatchSheet, load: Load) -> None:
        """One kind of load: its litres, its table, its sums and its ratios."""
        page = self.page
        page.text(mixed(load), 0, 2, "text bold", text_wrap=True, valign="top")
        known = self.units
        page.text(f"Load ({known.volume})", 3, 3, "text", align="right")
        litres = _fixed(page.at(4, page.row + 1))
        page.number(fifteen_digits(load.litres * known.litre), 4, "input", "#,##0.0" if known is METRIC else "#,##0.00", align="right")
        page.need(18)
        page.next_row()
        self._mixer(sheet, load)
        first = page.headings()
        last = first + len(sheet.ingredients) - 1
        free = f"SUM({_fixed(page.down(self.place['free_water'], first, last))})"
        for ingredient, weighing in zip(sheet.ingredients, load.weighings, strict=True):
            page.cells(self._ingredient(ingredient, weighing, litres, free))
        totals: list[Cell] = ["Load, and its yield", *[None] * (len(self.place) - 1)]
        sums = {
            "dry_mass": sum(each.dry_mass for each in load.weighings), "free_water": sum(each.free_water for each in load.weighings),
            "mass_as_it_lies": sum(each.mass_as_it_lies for each in load.weighings), "weighed_mass": load.mass,
            "volume_in_load": load.yield_litres,
        }
        for name, figure in sums.items():
            shown = figure * (known.litre if name == "volume_in_load" else known.kilogram)
            totals[self.place[name]] = Formula(f"SUM({page.down(self.place[name], first, last)})", shown)
        page.cells(totals, role="total")
        self._ratios(sheet, load, first, last, free)

    def _mixer(self, sheet: BatchSheet, load: Load) -> None:
        """What whoever stands at the mixer needs, large: the ingredient, its weight, and its measure where it may be measured.

        The figures are those of the table below, which says how they are worked out.
        """
        page = self.page
        known = self.units
        number, little = page.columns[self.place["weighed_mass"]].number, page.columns[self.place["millilitres"]].number
        for (first, last), heading in zip(_LARGE, ("Into the mixer", f"WEIGH OUT {known.mass}", "or measure"), strict=True):
            page.text(heading, first, last, "heading right" if first else "heading")
        page.next_row()
        rows = [(row, *each) for row, each in enumerate(zip(sheet.ingredients, load.weighings, strict=True)) if each[0].kind != "air"]
        below = page.row + len(rows) + 3  # the row of the first ingredient in the table below, counted from 1
        for row, ingredient, weighing in rows:
            figure = weighing.weighed_mass * known.kilogram
            page.text(one_line(ingredient.material), *_LARGE[0], "row", font_size=_LARGE_TYPE, align="left")
            cell = page.at(self.place["weighed_mass"], below + row)
            large: dict[str, Any] = {"font_size": _LARGE_TYPE, "align": "right"}
            page.formula(f"={cell}", figure, _LARGE[1][1], "row", number, first=_LARGE[1][0], bold=True, **large)
            measured = next((
                (name, float(amount) * factor, shown) for name, amount, factor, shown in (
                    ("millilitres", weighing.millilitres, known.millilitre, f'{little}" {known.little}"'),
                    ("loose_litres", weighing.loose_litres, known.litre, f'#,##0.0" {known.volume}, loose"'))
                if amount is not None), None)
            if measured is None:
                page.empty(*_LARGE[2], "row")
            else:
                name, amount, shown = measured
                cell = page.at(self.place[name], below + row)
                page.formula(f"={cell}", amount, _LARGE[2][1], "row", shown, first=_LARGE[2][0], **large)
            page.need(22)
            page.next_row()
        page.text("How it is worked out", 0, page.last, "note", valign="bottom")
        page.need(18)
        page.next_row()

    def _ingredient(self, ingredient: Ingredient, weighing: Weighing, litres: str, free: str) -> list[Cell]:
        """An ingredient's row: what is typed of it, and the formulas of the rules; a blank counts as nought."""
        row = self.page.row + 1
        at = {name: self.page.at(column, row) for name, column in self.place.items()} | {"load_litres": litres, "free_water_sum": free}

        known = self.units
        at["litres_per_cubic_metre"] = known.in_density

        def formula(rule: Any, figure: float, factor: float = known.kilogram) -> Formula:
            return Formula(expression_of(rule, named=True).formula(at), figure * factor)

        cells: dict[str, Cell] = {
            "name": ingredient.material, "air_share": ingredient.air_share or None, "takes_free_water": ingredient.takes_free_water or None,
            "water_share": ingredient.water_share or None,
        }
        if ingredient.kind == "air":
            cells["volume_in_load"] = Formula(f"{at['air_share']}*{litres}", weighing.volume_in_load * known.litre)
            return [cells.get(name) for name in self.place]
        if ingredient.kind == "aggregate":
            cells |= {"moisture": ingredient.moisture, "absorption": ingredient.absorption}
            cells["free_water"] = formula(moisture.free_water, weighing.free_water)
        cells |= {
            "content": ingredient.content * known.content, "weighing_step": fifteen_digits(ingredient.step * known.kilogram),
            "density": fifteen_digits(ingredient.density * known.density),
            "dry_mass": Formula(f"{at['content']}*{litres}/{known.in_content}", weighing.dry_mass * known.kilogram),
            "mass_as_it_lies": formula(moisture.mass_as_it_lies, weighing.mass_as_it_lies),
            "weighed_mass": formula(moisture.weighed_mass, weighing.weighed_mass),
            "volume_in_load": formula(moisture.volume_in_load, weighing.volume_in_load, known.litre),
        }
        if weighing.millilitres is not None:
            count = f"{at['weighed_mass']}/{at['weighing_step']}"
            little = count if known is METRIC else f"{count}*{known.millilitre:.15g}"
            cells["millilitres"] = Formula(little, float(weighing.millilitres) * known.millilitre)
        if weighing.loose_litres is not None:
            cells["bulk_density"] = fifteen_digits(ingredient.bulk_density * known.density)
            cells["loose_litres"] = formula(moisture.loose_litres, weighing.loose_litres, known.litre)
        return [cells.get(name) for name in self.place]

    def _ratios(self, sheet: BatchSheet, load: Load, first: int, last: int, free: str) -> None:
        """Water over binder and pigment over binder, as weighed out."""

        def weighed(kind: str) -> str:
            rows = [first + row for row, each in enumerate(sheet.ingredients) if each.kind == kind]
            return "+".join(self.page.at(self.place["weighed_mass"], row) for row in rows)

        binder, pigment = weighed("binder"), weighed("pigment")
        if not binder:
            return
        water = f"SUMPRODUCT({','.join(self.page.down(self.place[name], first, last) for name in ('weighed_mass', 'water_share'))})"
        if any(each.takes_free_water for each in sheet.ingredients):
            water = f"{water}+{free}"
        self._ratio(mixes.water_binder_ratio.__name__, f"({water})/({binder})", load.water_binder, "0.00")
        if pigment:
            self._ratio(mixes.pigment_share.__name__, f"({pigment})/({binder})", load.pigment_share, "0.0%")

    def _ratio(self, name: str, formula: str, figure: float, number: str) -> None:
        self.page.text(GLOSSARY[name].label, 0, 0, "text")
        self.page.formula(f"={formula}", figure, 1, "result", number, align="right")
        self.page.next_row()


def _fixed(cells: str) -> str:
    """A cell or a range, fixed."""
    return re.sub(r"([A-Z]+)(\d+)", r"$\1$\2", cells)
