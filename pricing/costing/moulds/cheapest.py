"""How many moulds of each line stand at once, where no wanted date decides it: the number that makes the quote cheapest.

A further mould costs board and work, and saves days of casting; a mix that is poured on fewer days takes fewer mixer loads.
Of the lines that share a mix in a quote only the slowest decides how many days it is poured, so that all that is to be
chosen is that number of days: each line then takes the cheapest number of moulds that keeps up. Made for stock, a mould is
paid by the casts, and those that stand in the rack are used.

Lines that share no load with another, as the products of a catalogue, are looked at all at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import distinct
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.packed_columns import DictionaryColumn, Floats
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.mould_costs import MouldCosts, boards_of_sheets
from pricing.costing.moulds.options import MOST_MOULDS, useful_moulds
from pricing.money import whole_down, whole_up

#: Why so many moulds stand at once, as the margin workbook says it.
REASONS = WEAR, CHEAPEST, FEWEST, RACK, LOAD_FILLS, NO_MOULD, ROOM = (
    "as its wear needs", "makes the quote cheapest", "the fewest", "those in the rack", "as many as one mixer load fills", "no mould plan",
    "as many as have a place")

#: So many moulds beyond the fewest are all looked at; further ones where they save a whole day.
_ALL_UP_TO = 40

#: A saving below this is noise of the arithmetic [currency].
_NOTHING = 1e-9


def with_cheapest_moulds(costing: Costing) -> Costing:
    """The costing, each line with the moulds at once that make its quote cheapest, and the reason in words.

    With *Moulds chosen* at ``fewest`` each line has the fewest that its wear allows.
    """
    least, reasons = fewest_moulds(costing)
    if costing.book.word("moulds_chosen") == "fewest" or not costing.setting("loads_by_day"):
        return with_moulds(costing, least, _words(reasons))
    fewest = with_moulds(costing, least, _words(reasons))
    chosen = _cheapest(fewest, least)
    if not (chosen > least).any():
        return fewest
    cheaper = with_moulds(fewest, chosen, _words(np.where(chosen > least, REASONS.index(CHEAPEST), reasons)))
    layers = costing.model.tables.get("layers")
    if layers is None or not layers.count:
        return cheaper
    quotes = np.asarray(costing.model.tables["lines"].given["quote_number"], dtype=np.intp) - 1
    dearer = (cheaper.quote("line_cost_sum") > fewest.quote("line_cost_sum"))[quotes]
    if dearer.any():  # what layers share is looked at mix by mix: where that misleads, the fewest stand
        chosen = np.where(dearer, least, chosen)
        cheaper = with_moulds(fewest, chosen, _words(np.where(chosen > least, REASONS.index(CHEAPEST), reasons)))
    return cheaper


def cheapest_numbers(costing: Costing, load_weights: Sequence[float]) -> list[Floats]:
    """The numbers of moulds at once that make each quote cheapest, were a mixer load so many times as dear [moulds].

    Parameters
    ----------
    load_weights : what the price of a load is multiplied by [1], one after another
    """
    least, reasons = fewest_moulds(costing)
    if costing.book.word("moulds_chosen") == "fewest" or not costing.setting("loads_by_day"):
        return [least for _ in load_weights]
    fewest = with_moulds(costing, least, _words(reasons))
    return [_cheapest(fewest, least, weight) for weight in load_weights]


def _words(reasons: NDArray[np.intp]) -> DictionaryColumn:
    return DictionaryColumn(reasons.astype(np.int8), REASONS)


def with_moulds(costing: Costing, at_once: Floats, reasons: DictionaryColumn) -> Costing:
    """The costing with so many moulds at once of each line, evaluated anew where a number changes."""
    given = {"moulds_at_once": at_once, "sheet_board": boards_of_sheets(costing, at_once)}
    model = costing.model.with_given("lines", given, text={"moulds_because": reasons})
    return replace(costing, model=model, values=evaluate(model, base=costing.values))


def fewest_moulds(costing: Costing) -> tuple[Floats, NDArray[np.intp]]:
    """The fewest moulds that each line has at once, and why so many, as a place in :data:`REASONS` [moulds].

    Those that its good pieces wear out stand ready together, as far as they have places, and those of the rack cost nothing; made for
    stock there are as many as stand in the rack or, where that is not said, as many as one mixer load fills.
    """
    line = costing.line
    products, chosen = costing.book.tables["Products"].columns, costing.lines.product
    typed = products.get("moulds_kept", np.full(len(products["product"]), np.nan))[chosen]
    kept, stock, has_mould = np.nan_to_num(typed), line("made_for_stock") > 0, line("has_mould") > 0
    places = costing.book.number("mould_places")
    fillings = whole_up(line("quantity") / line("pieces_per_mould"))
    litres = line("cast_volume") * (1 + costing.setting("mix_allowance")) * line("pieces_per_mould") * 1000
    with np.errstate(divide="ignore", invalid="ignore"):
        load_fills = np.where(litres > 0, whole_down(costing.setting("mixer_load") / litres), 1.0)
    most = np.clip(fillings, 1.0, min(places or MOST_MOULDS, MOST_MOULDS))
    of_load = np.clip(load_fills, 1.0, most)
    of_order = np.clip(np.maximum(line("moulds_needed"), np.minimum(kept, most)), 1.0, places or np.inf)
    of_stock = np.where(np.isnan(typed) | (typed < 1), of_load, np.minimum(kept, most))
    least = np.where(has_mould, np.where(stock, of_stock, of_order), 0.0)
    wear, fewest, in_rack, load, none, room = (REASONS.index(word) for word in (WEAR, FEWEST, RACK, LOAD_FILLS, NO_MOULD, ROOM))
    rack = np.where(np.isnan(typed) | (typed < 1), load, in_rack)
    order = np.where(kept >= np.maximum(line("moulds_needed"), 1.0), in_rack, np.where(line("moulds_needed") > 1, wear, fewest))
    order = np.where(line("moulds_needed") > of_order, room, order)
    return least, np.where(has_mould, np.where(stock, rack, order), none)


def _cheapest(costing: Costing, least: Floats, load_weight: float = 1.0) -> Floats:
    """The numbers that make each quote cheapest, none below *least* [moulds]."""
    batches = np.asarray(costing.model.tables["lines"].given["batch"], dtype=np.intp) - 1
    costs = MouldCosts(costing)
    by_volume = costs.loads_by_volume
    beyond = (costing.values.value("batches", "rounds_of_mix") - by_volume).clip(0)
    lines = np.flatnonzero((beyond > 0)[batches])
    movable = (costing.line("has_mould") > 0) & (costing.line("made_for_stock") == 0)
    lines = lines[movable[lines]]
    if not len(lines):
        return least
    load_price = costs.load_price(batches) * load_weight
    saving = beyond * load_price
    lines = lines[saving[batches[lines]] > _NOTHING]
    fewest, one_more = costs.of(lines, least[lines], least[lines] + 1)
    lines = lines[one_more - fewest < saving[batches[lines]] - _NOTHING]
    if not len(lines):
        return least
    most = np.maximum(least, np.minimum(costs.fillings(slice(None)), min(costing.book.number("mould_places") or MOST_MOULDS, MOST_MOULDS)))
    alone = np.bincount(batches, minlength=len(by_volume)) == 1
    chosen = least.copy()
    single, shared = lines[alone[batches[lines]]], lines[~alone[batches[lines]]]
    if len(single):
        batch = batches[single]
        chosen[single] = _cheapest_alone(costs, single, least[single], most[single], by_volume[batch], load_price[batch])
    if len(shared):
        opened = distinct(batches[shared])
        of_batch: dict[int, list[int]] = {int(batch): [] for batch in opened.tolist()}
        for line in np.flatnonzero(np.isin(batches, opened)).tolist():
            of_batch[int(batches[line])].append(line)
        every = [line for together in of_batch.values() for line in together]
        options = {line: _options(float(costs.fillings(line)), least[line], most[line], bool(movable[line])) for line in every}
        found = _costs_of_options(costs, least, options)
        for number, together in of_batch.items():
            _choose(together, {line: (options[line], *found[line]) for line in together}, by_volume[number], load_price[number], chosen)
    return chosen


def _cheapest_alone(
    costs: MouldCosts, lines: NDArray[np.intp], least: Floats, most: Floats, by_volume: Floats, load_price: Floats
) -> Floats:
    """The cheapest numbers of lines of which none shares a load with another: all numbers tried, one after another, while a further
    mould may still pay [moulds]."""
    chosen, best, number = least.copy(), np.full(len(lines), np.inf), least.copy()
    left, before, fillings = np.arange(len(lines)), np.full(len(lines), -np.inf), costs.fillings(lines)
    for tried in range(2 * MOST_MOULDS):
        (cost,), rounds = costs.of(lines[left], number), costs.rounds(lines[left], number)
        total = cost + np.maximum(by_volume[left], rounds) * load_price[left]
        better = total < best[left] - _NOTHING
        best[left] = np.where(better, total, best[left])
        chosen[left] = np.where(better, number, chosen[left])
        may_pay = (cost + by_volume[left] * load_price[left] < best[left]) | (cost <= before)
        further = number + 1
        if tried >= _ALL_UP_TO:
            further = np.maximum(further, np.ceil(fillings[left] / np.maximum(np.ceil(fillings[left] / number) - 1, 1.0)))
        kept = may_pay & (rounds > by_volume[left]) & (further <= most[left])
        if not kept.any():
            break
        left, number, before = left[kept], further[kept], cost[kept]
    return chosen


def _choose(
    together: Sequence[int], found: dict[int, tuple[Floats, Floats, Floats]], by_volume: float, load_price: float, chosen: Floats
) -> None:
    """Give lines that share loads the numbers that cost least together.

    Parameters
    ----------
    found : of each line its numbers of moulds, what they cost, and its days of casting with them
    """
    best = (np.inf, 0.0)
    for days in sorted({float(each) for _, _, rounds in found.values() for each in rounds}, reverse=True):
        made = [np.where(rounds <= days + _NOTHING, costs, np.inf).min() for _, costs, rounds in found.values()]
        total = sum(made) + max(by_volume, days) * load_price
        if total < best[0] - _NOTHING:
            best = (total, days)
    for line in together:
        options, costs, rounds = found[line]
        chosen[line] = options[int(np.where(rounds <= best[1] + _NOTHING, costs, np.inf).argmin())]


def _options(fillings: float, least: float, most: float, movable: bool) -> Floats:
    """Numbers of moulds worth looking at [moulds]."""
    if not movable:
        return np.array([least])
    useful = {*range(int(least), min(int(most), int(least) + _ALL_UP_TO) + 1), *useful_moulds(fillings, int(least), int(most))}
    return np.array(sorted(useful), dtype=np.float64)


def _costs_of_options(costs: MouldCosts, least: Floats, options: dict[int, Floats]) -> dict[int, tuple[Floats, Floats]]:
    """What each of these lines costs with each of its numbers of moulds, and its days of casting [currency, rounds]."""
    lines = np.array(list(options), dtype=np.intp)
    rows = range(max(len(each) for each in options.values()))
    at_once = [np.array([each[min(row, len(each) - 1)] for each in options.values()]) for row in rows]
    made = list(zip(costs.of(lines, *at_once), [costs.rounds(lines, each) for each in at_once], strict=True))
    return {
        line: (np.array([made[row][0][place] for row in range(len(each))]), np.array([made[row][1][place] for row in range(len(each))]))
        for place, (line, each) in enumerate(options.items())
    }


__all__ = [
    "CHEAPEST", "FEWEST", "LOAD_FILLS", "NO_MOULD", "RACK", "ROOM", "WEAR", "cheapest_numbers", "fewest_moulds", "with_cheapest_moulds",
    "with_moulds",
]
