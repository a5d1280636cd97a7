"""Batch sheets: what is weighed out for the mixer loads of a mix, casting day by casting day.

Concrete is mixed on the day on which it is cast; the loads of a day are of equal size. What is planned are the good pieces.

Aggregates are weighed as they lie, with their moisture; the water that they bring is taken from the water that is
added. Every weight is rounded to the workshop's scale, liquids to whole millilitres, and the sheet says what the load
then yields. Recipes in parts by volume also give the loose litres of each part; a damp aggregate lies looser, so the
scale is the better measure.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pricing.algebra.expressions import evaluate
from pricing.book.price_book import NONE, is_air, price_row_on
from pricing.book.shown_units import GALLON, POUND, mass_unit
from pricing.costing.method.costing import Costing
from pricing.costing.method.rows_builder import number_or, safe_key
from pricing.costing.warnings import MOST_PIGMENT
from pricing.dataclass import dataclass
from pricing.money import whole_down, whole_up
from pricing.rules import moisture

#: Water over binder beyond which a mix is worth another look: common practice, no source.
USUAL_WATER_BINDER = (0.25, 0.60)

#: What rounding may change of a load's yield before the scale is too coarse for it: common practice, no source.
MOST_ROUNDING = 0.01

#: Mass of a millilitre of what has a density of one kilogram in a cubic metre [kg].
_MILLILITRE = 1e-6

#: A load below this share of the mixer's is pointed at: a mixer mixes badly what barely covers its blades (common practice,
#: no source).
SMALL_LOAD = 0.1


@dataclass(frozen=True, slots=True)
class Ingredient:
    """An ingredient of a mix, as it is weighed out.

    Parameters
    ----------
    material, kind : as the price book has them; air is of the kind ``air``
    content : in a cubic metre placed, dry [kg/m³]
    density : [kg/m³]
    moisture, absorption : of an aggregate [1]
    step : the scale's; of a liquid that is measured, the mass of a millilitre [kg]
    is_liquid : True where it is measured in millilitres
    bulk_density : [kg/m³]; 0 where the recipe is not in parts by volume
    water_share : what of it counts as water in the water / binder ratio [1]
    air_share : of air, its share of the volume [1]
    takes_free_water : what part of the aggregates' free water is taken from it [1]
    place : of its moisture in the price book; empty where there is none
    """

    material: str
    kind: str
    content: float
    density: float
    moisture: float
    absorption: float
    step: float
    is_liquid: bool
    bulk_density: float
    water_share: float
    air_share: float
    takes_free_water: float
    place: str


@dataclass(frozen=True, slots=True)
class Weighing:
    """What one load takes of an ingredient: dry, free water, as it lies, weighed out [kg]; volume in the load [L];
    millilitres of a liquid [mL]; loose litres where the recipe is in parts by volume [L]."""

    dry_mass: float
    free_water: float
    mass_as_it_lies: float
    weighed_mass: float
    volume_in_load: float
    millilitres: float | None
    loose_litres: float | None


@dataclass(frozen=True, slots=True)
class Load:
    """A mixer load.

    Parameters
    ----------
    litres : fresh concrete that it is meant to give [L]
    count : how many such loads there are on all of its days
    days : the casting days on which it is mixed, counted from 1; none where loads are counted by volume
    weighings : for each ingredient of the sheet
    water_binder : mass of water over mass of binder as weighed out [1]; nan without a binder
    pigment_share : mass of pigment over mass of binder as weighed out [1]; nan without a binder
    """

    litres: float
    count: int
    weighings: tuple[Weighing, ...]
    water_binder: float
    pigment_share: float
    days: tuple[int, ...] = ()

    @property
    def yield_litres(self) -> float:
        """Fresh concrete that it gives as weighed out [L]."""
        return sum(weighing.volume_in_load for weighing in self.weighings)

    @property
    def mass(self) -> float:
        """Mass of everything in the load, free water counted once [kg]."""
        return sum(weighing.weighed_mass for weighing in self.weighings)


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """The loads of one mix for a quote.

    Parameters
    ----------
    mix : its name
    litres : fresh concrete for the good pieces, with the allowance for what stays in the mixer [L]
    ingredients : in the order of the recipe
    loads : of each size, in the order of their days
    limits : sentences on what should be looked at
    """

    mix: str
    litres: float
    ingredients: tuple[Ingredient, ...]
    loads: tuple[Load, ...]
    limits: tuple[str, ...]


def batch_sheets(costing: Costing) -> tuple[BatchSheet, ...]:
    """A batch sheet for each mix of a quote.

    Parameters
    ----------
    costing : of one quote
    """
    mixes = {safe_key(name): name for name in costing.book.tables["Mixes"].columns["mix"].tolist()}
    mixes |= dict(zip(costing.model.tables["lines"].text["mix"].tolist(), costing.lines.plans["mix"].tolist(), strict=True))
    keys = costing.model.tables["batches"].text["mix"].tolist()
    sheets = zip(keys, litres_by_day(costing), strict=True)
    return tuple(_sheet(costing, str(mixes[key]), str(key), poured) for key, poured in sheets if key != NONE)


def litres_by_day(costing: Costing) -> list[list[float]]:
    """Fresh concrete that each mix of a quote takes on each of its casting days, for the good pieces [L].

    The moulds of every line are filled from the first day on, each day once; where loads are counted by volume, all is one day.
    """
    by_day = costing.setting("loads_by_day") > 0
    quantities, places = costing.line("quantity").tolist(), costing.line("places").tolist()
    found: list[list[float]] = [[] for _ in range(costing.model.tables["batches"].count)]
    for line, batch, volume in _poured(costing):
        quantity = quantities[line]
        at_once = max(float(whole_down(places[line])), 1.0) if by_day else quantity
        poured = found[batch]
        days = int(whole_up(quantity / at_once))
        poured.extend([0.0] * (days - len(poured)))
        for day in range(days):
            poured[day] += volume * 1000 / quantity * min(at_once, quantity - day * at_once)
    return found


def _poured(costing: Costing) -> list[tuple[int, int, float]]:
    """What is poured for the good pieces: line, mix of the quote, both counted from 0, and volume with the allowance [m³]."""
    tables, value = costing.model.tables, costing.values.value
    own = "backing_good_volume" if tables["lines"].spec.column("backing_good_volume") is not None else "good_volume"
    batches, volumes = tables["lines"].given["batch"].tolist(), costing.line(own).tolist()
    found = [(line, int(batch) - 1, volume) for line, (batch, volume) in enumerate(zip(batches, volumes, strict=True))]
    if "layers" in tables:
        columns = (value("layers", name).tolist() for name in ("line", "batch", "layer_good_volume"))
        found += [(int(line) - 1, int(batch) - 1, volume) for line, batch, volume in zip(*columns, strict=True)]
    return found


def loads_of(poured: Sequence[float], mixer_load: float) -> tuple[tuple[float, int, tuple[int, ...]], ...]:
    """The mixer loads of some casting days, those of a day of equal size: litres of each, how many, and on which days.

    Parameters
    ----------
    poured : what each day takes [L]
    mixer_load : the most that a load gives [L]

    >>> loads_of([150.0], 60.0), loads_of([60.0, 60.0, 20.0], 60.0)
    (((50.0, 3, (1,)),), ((60.0, 2, (1, 2)), (20.0, 1, (3,))))
    """
    kinds: dict[float, tuple[float, list[int], list[int]]] = {}
    for day, litres in enumerate(poured, 1):
        if litres <= 0:
            continue
        count = max(int(whole_up(litres / mixer_load)), 1)
        _, counts, days = kinds.setdefault(float(f"{litres / count:.12g}"), (litres / count, [], []))
        counts.append(count)
        days.append(day)
    return tuple((each, sum(counts), tuple(days)) for each, counts, days in kinds.values())


def weigh(ingredients: tuple[Ingredient, ...], litres: float, count: int = 1, days: tuple[int, ...] = ()) -> Load:
    """What a load of so many litres takes of each ingredient, rounded to the scale.

    Parameters
    ----------
    ingredients : of the mix
    litres : fresh concrete that the load is meant to give [L]
    count, days : how many such loads there are, and on which casting days
    """
    dry = [each.content * litres / 1000 for each in ingredients]
    free = [moisture.free_water(mass, each.moisture, each.absorption) for each, mass in zip(ingredients, dry, strict=True)]
    weighings = []
    for each, mass, water in zip(ingredients, dry, free, strict=True):
        values = {
            "dry_mass": mass, "moisture": each.moisture, "takes_free_water": each.takes_free_water, "free_water_sum": sum(free),
            "weighing_step": each.step, "density": each.density, "air_share": each.air_share, "load_litres": litres,
            "bulk_density": each.bulk_density,
        }
        for rule in (moisture.mass_as_it_lies, moisture.weighed_mass, moisture.volume_in_load):
            values[rule.__name__] = float(evaluate(rule, values))
        loose = float(evaluate(moisture.loose_litres, values)) if each.bulk_density else None
        millilitres = round(values["weighed_mass"] / each.step) if each.is_liquid else None
        lies, weighed, volume = (values[name] for name in ("mass_as_it_lies", "weighed_mass", "volume_in_load"))
        weighings.append(Weighing(mass, water, lies, weighed, volume, millilitres, loose))
    return Load(litres, count, tuple(weighings), *_ratios(ingredients, weighings, sum(free)), days)


def _ratios(ingredients: tuple[Ingredient, ...], weighings: list[Weighing], free: float) -> tuple[float, float]:
    """Water over binder and pigment over binder as weighed out."""
    masses = [weighing.weighed_mass for weighing in weighings]
    pairs = list(zip(ingredients, masses, strict=True))
    binder = sum(mass for each, mass in pairs if each.kind == "binder")
    water = sum(mass * each.water_share for each, mass in pairs) + (free if any(each.takes_free_water for each in ingredients) else 0.0)
    pigment = sum(mass for each, mass in pairs if each.kind == "pigment")
    return (water / binder, pigment / binder) if binder else (float("nan"), float("nan"))


def _sheet(costing: Costing, mix: str, key: str, poured: list[float]) -> BatchSheet:
    ingredients = _ingredients(costing, mix, key)
    mixer_load = costing.book.number("mixer_load") or sum(poured)
    by_day = costing.setting("loads_by_day") > 0
    loads = tuple(
        weigh(ingredients, litres, count, days if by_day else ()) for litres, count, days in loads_of(poured, mixer_load))
    limits = _limits(costing, key, ingredients, loads)
    limits += [
        f"A load of {_volume(costing, load.litres)} is less than a tenth of the mixer's {_volume(costing, mixer_load)}: it mixes badly, "
        "and clings to the drum; pour it with another job of the same mix, or by hand."
        for load in loads if load.litres < SMALL_LOAD * mixer_load
    ]
    return BatchSheet(mix, sum(poured), ingredients, loads, tuple(limits))


def _ingredients(costing: Costing, mix: str, key: str) -> tuple[Ingredient, ...]:
    """The ingredients of a mix; the model has them in the order of the recipe."""
    book, day = costing.book, costing.lines.day[0]
    recipe, materials = book.tables["Mixes"].columns, book.tables["Materials"]
    rows = np.flatnonzero(recipe["mix"] == mix).tolist()
    of_model = np.flatnonzero(costing.model.tables["ingredients"].text["mix"] == key).tolist()
    mass, volume, share = (costing.values.value("ingredients", name) for name in ("dry_content", "ingredient_volume", "water_share"))
    scale = costing.book.number("scale_step")
    water = sum(float(mass[at]) for row, at in zip(rows, of_model, strict=True) if _kind(costing, recipe["material"][row]) == "water")
    found = []
    for row, at in zip(rows, of_model, strict=True):
        material = str(recipe["material"][row])
        if is_air(material):
            found.append(Ingredient(material, "air", 0.0, 1.0, 0.0, 0.0, scale, False, 0.0, 0.0, float(volume[at]), 0.0, ""))
            continue
        price = price_row_on(book, material, day)
        assert price is not None  # a material without a price on the day is an error of the costing
        cell = {name: _figure(costing, name, price) for name in ("density", "bulk_density", "moisture", "absorption")}
        kind = str(materials.columns["kind"][price])
        damp = kind == "aggregate" and (cell["moisture"] > 0 or cell["absorption"] > 0)
        liquid = materials.columns["pack_unit"][price] == "L" and kind != "water"
        found.append(Ingredient(
            material, kind, float(mass[at]), cell["density"], cell["moisture"] if damp else 0.0, cell["absorption"] if damp else 0.0,
            cell["density"] * _MILLILITRE if liquid else scale, bool(liquid),
            cell["bulk_density"] if recipe["basis"][row] == "parts by volume" else 0.0, float(share[at]), 0.0,
            float(mass[at]) / water if kind == "water" and water else 0.0,
            f"Materials!{materials.cell('moisture', price)}" if damp else "",
        ))
    return tuple(found)


def _kind(costing: Costing, material: str) -> str:
    row = price_row_on(costing.book, material, costing.lines.day[0])
    return "air" if row is None else str(costing.book.tables["Materials"].columns["kind"][row])


def _figure(costing: Costing, column: str, row: int) -> float:
    columns = costing.book.tables["Materials"].columns
    return number_or(float(columns[column][row]), 0.0) if column in columns else 0.0


def _limits(costing: Costing, key: str, ingredients: tuple[Ingredient, ...], loads: tuple[Load, ...]) -> list[str]:
    """What should be looked at before mixing."""
    found: dict[str, None] = {}
    pounds = mass_unit(costing.book) == "lb"
    rows = costing.model.tables["mixes"]
    row = rows.text["mix"].tolist().index(key)
    placed = float(costing.values.value("mixes", "placed_volume")[row])
    for load in loads:
        name = f"a load of {_volume(costing, load.litres)}"
        if load.pigment_share > MOST_PIGMENT + 1e-9:
            colour = "color" if pounds else "colour"
            found[f"Pigment is {load.pigment_share:.1%} of the binder in {name}; above 10 % {colour} gains nothing and strength suffers "
                  "(ASTM C979)."] = None
        low, high = USUAL_WATER_BINDER
        if load.water_binder < low or load.water_binder > high:
            found[f"Water / binder is {load.water_binder:.2f} in {name}; {low:.2f} to {high:.2f} is usual (common practice); check the "
                  "recipe and the moisture."] = None
        change = load.yield_litres / (load.litres * placed) - 1
        if abs(change) > MOST_ROUNDING:
            found[f"The step of the scale changes the yield of {name} by {change:+.1%}; weigh it on a finer scale."] = None
        for each, weighing in zip(ingredients, load.weighings, strict=True):
            if weighing.mass_as_it_lies < 0:
                found[f"The aggregates bring more water than {name} takes; dry them, or check their moisture."] = None
            elif weighing.mass_as_it_lies > 0 and weighing.weighed_mass == 0:
                little = f"{weighing.mass_as_it_lies / POUND * 16:.2f} oz" if pounds else f"{weighing.mass_as_it_lies * 1000:.1f} g"
                found[f"{each.material}: {little} in {name} is less than the scale's step; "
                      "weigh it on a finer scale."] = None
    if any(each.moisture for each in ingredients) and not any(each.takes_free_water for each in ingredients):
        found["The mix names no water from which the aggregates' free water could be taken; check the recipe."] = None
    if abs(placed - 1) > MOST_ROUNDING:
        found[f"The recipe fills {placed:.3f} {'yd³' if pounds else 'm³'} where it says one; the loads yield accordingly."] = None
    return list(found)


def _volume(costing: Costing, litres: float) -> str:
    """A volume of concrete as it is told: ``22.0 L``, ``5.8 gal``."""
    return f"{litres / GALLON:.1f} gal" if mass_unit(costing.book) == "lb" else f"{litres:.1f} L"
