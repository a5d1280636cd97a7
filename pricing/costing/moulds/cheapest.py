"""How many moulds of each line stand at once, where no wanted date decides it: the number that makes the quote cheapest.

A further mould costs board and work, and saves days of casting; a mix that is poured on fewer days takes fewer mixer loads.
Of the lines that share a mix in a quote only the slowest decides how many days it is poured, so that all that is to be
chosen is that number of days: each line then takes the cheapest number of moulds that keeps up. Made for stock, a mould is
paid by the casts, and those that stand in the rack are used.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from pricing.costing.engine.columns import SETTINGS
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.packed_columns import Floats
from pricing.costing.method.costing import Costing
from pricing.costing.method.mould_boards import share_of_sheets
from pricing.costing.moulds.options import MOST_MOULDS, useful_moulds
from pricing.money import whole_down, whole_up

#: Why so many moulds stand at once, as the margin workbook says it.
WEAR, CHEAPEST, FEWEST, RACK, LOAD_FILLS, NO_MOULD = (
    "as its wear needs", "makes the quote cheapest", "the fewest", "those in the rack", "as many as one mixer load fills", "no mould plan")

#: So many moulds beyond the fewest are all looked at; further ones where they save a whole day.
_ALL_UP_TO = 40

#: A saving below this is noise of the arithmetic [currency].
_NOTHING = 1e-9


def with_cheapest_moulds(costing: Costing) -> Costing:
    """The costing, each line with the moulds at once that make its quote cheapest, and the reason in words.

    With *Moulds chosen* at ``fewest`` each line has the fewest that its wear allows.
    """
    least, reasons = fewest_moulds(costing)
    costing = with_moulds(costing, least, reasons)
    if costing.book.word("moulds_chosen") == "fewest" or not costing.setting("loads_by_day"):
        return costing
    chosen = _cheapest(costing, least)
    if not (chosen > least).any():
        return costing
    cheaper = with_moulds(costing, chosen, np.where(chosen > least, CHEAPEST, reasons).astype(object))
    quotes = np.asarray(costing.model.tables["lines"].given["quote_number"], dtype=np.intp) - 1
    dearer = (cheaper.quote("line_cost_sum") > costing.quote("line_cost_sum"))[quotes]
    if dearer.any():  # what layers share is looked at mix by mix: where that misleads, the fewest stand
        chosen = np.where(dearer, least, chosen)
        cheaper = with_moulds(costing, chosen, np.where(chosen > least, CHEAPEST, reasons).astype(object))
    return cheaper


def with_moulds(costing: Costing, at_once: Floats, reasons: NDArray[np.object_]) -> Costing:
    """The costing with so many moulds at once of each line, evaluated anew where a number changes."""
    given = {"moulds_at_once": at_once, "sheet_board": boards_of_sheets(costing, at_once)}
    model = costing.model.with_given("lines", given, text={"moulds_because": reasons})
    return replace(costing, model=model, values=evaluate(model))


def boards_of_sheets(costing: Costing, at_once: Floats) -> Floats:
    """What each of a line's moulds pays of the whole sheets that they are cut from together; 0 where board is charged by the
    share that is cut [m²/mould]."""
    boards = np.zeros(len(costing.lines))
    if costing.book.word("board_bought_by") == "sheets":
        needed, kept, pieces = (costing.line(name) for name in ("moulds_needed", "moulds_kept", "pieces_per_mould"))
        cut = np.maximum(np.maximum(at_once, needed) - kept, 1.0) * pieces
        for line in np.flatnonzero(costing.line("has_mould")).tolist():
            boards[line] = share_of_sheets(costing.book, costing.lines, line, int(cut[line])) * pieces[line]
    return boards


def fewest_moulds(costing: Costing) -> tuple[Floats, NDArray[np.object_]]:
    """The fewest moulds that each line has at once, and why so many [moulds].

    Those that its good pieces wear out stand ready together, and those of the rack cost nothing; made for stock there are as
    many as stand in the rack or, where that is not said, as many as one mixer load fills.
    """
    line = costing.line
    products, chosen = costing.book.tables["Products"].columns, costing.lines.product
    typed = products.get("moulds_kept", np.full(len(products["product"]), np.nan))[chosen]
    kept, stock, has_mould = np.nan_to_num(typed), line("made_for_stock") > 0, line("has_mould") > 0
    room = (costing.book.number("mould_places") or MOST_MOULDS)
    fillings = whole_up(line("quantity") / line("pieces_per_mould"))
    litres = line("cast_volume") * (1 + costing.setting("mix_allowance")) * line("pieces_per_mould") * 1000
    with np.errstate(divide="ignore", invalid="ignore"):
        load_fills = np.where(litres > 0, whole_down(costing.setting("mixer_load") / litres), 1.0)
    most = np.clip(fillings, 1.0, min(room, MOST_MOULDS))
    of_load = np.clip(load_fills, 1.0, most)
    of_order = np.maximum(np.maximum(line("moulds_needed"), np.minimum(kept, most)), 1.0)
    of_stock = np.where(np.isnan(typed) | (typed < 1), of_load, np.minimum(kept, most))
    least = np.where(has_mould, np.where(stock, of_stock, of_order), 0.0)
    rack = np.where(np.isnan(typed) | (typed < 1), LOAD_FILLS, RACK)
    order = np.where(kept >= np.maximum(line("moulds_needed"), 1.0), RACK, np.where(line("moulds_needed") > 1, WEAR, FEWEST))
    return least, np.where(has_mould, np.where(stock, rack, order), NO_MOULD).astype(object)


def _cheapest(costing: Costing, least: Floats) -> Floats:
    """The numbers that make each quote cheapest, none below *least* [moulds]."""
    batches = np.asarray(costing.model.tables["lines"].given["batch"], dtype=np.intp) - 1
    by_volume, load_cost = _loads(costing, batches)
    mould_cost = _further_mould(costing, least)
    saving = (costing.values.value("batches", "rounds_of_mix") - by_volume).clip(0) * load_cost
    movable = (costing.line("has_mould") > 0) & (costing.line("made_for_stock") == 0)
    open_batch = np.bincount(batches[movable & (mould_cost < saving[batches] - _NOTHING)], minlength=len(by_volume)) > 0
    lines = np.flatnonzero(open_batch[batches])
    if not len(lines):
        return least
    options = {number: _options(costing, number, least[number], bool(movable[number])) for number in lines.tolist()}
    costs = _costs_of_options(costing, least, options)
    chosen = least.copy()
    quantity, casts, pieces = (costing.line(name) for name in ("quantity", "casts", "pieces_per_mould"))
    for batch in np.flatnonzero(open_batch).tolist():
        of_batch = [number for number in lines.tolist() if batches[number] == batch]
        rounds = {
            number: np.array([max(float(whole_up(quantity[number] / place)), float(casts[number] / place))
                              for place in (options[number] * pieces[number] if movable[number] or least[number] else [quantity[number]])])
            for number in of_batch
        }
        best = (np.inf, 0.0)
        for days in sorted({float(each) for found in rounds.values() for each in found}, reverse=True):
            made = [np.where(rounds[number] <= days + _NOTHING, costs[number], np.inf).min() for number in of_batch]
            total = sum(made) + max(by_volume[batch], days) * load_cost[batch]
            if total < best[0] - _NOTHING:
                best = (total, days)
        for number in of_batch:
            if movable[number]:
                keeping_up = np.where(rounds[number] <= best[1] + _NOTHING, costs[number], np.inf)
                chosen[number] = options[number][int(keeping_up.argmin())]
    return chosen


def _options(costing: Costing, line: int, least: float, movable: bool) -> Floats:
    """Numbers of moulds worth looking at [moulds]."""
    if not movable:
        return np.array([least])
    fillings = float(whole_up(costing.line("quantity")[line] / costing.line("pieces_per_mould")[line]))
    room = int(min((costing.book.number("mould_places") or MOST_MOULDS), MOST_MOULDS))
    most = max(int(least), min(room, int(fillings)))
    useful = {*range(int(least), min(most, int(least) + _ALL_UP_TO) + 1), *useful_moulds(fillings, int(least), most)}
    return np.array(sorted(useful), dtype=np.float64)


def _loads(costing: Costing, batches: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """Of each mix of a quote: mixer loads by volume alone, and what one load more costs [loads, currency/load]."""
    alone = evaluate(costing.model, {(SETTINGS, "loads_by_day"): np.zeros(1)})
    loads = alone.value("batches", "loads")
    more = evaluate(costing.model, {("batches", "loads"): loads + 1})
    gained = more.value("lines", "line_cost") - alone.value("lines", "line_cost")
    price: Floats = np.bincount(batches, weights=gained, minlength=len(loads)).astype(np.float64)
    return loads, price


def _further_mould(costing: Costing, least: Floats) -> Floats:
    """What one mould more of each line costs, mixer loads left as they are [currency]."""
    one, other = (_line_costs(costing, least + number) for number in (0, 1))
    return other - one


def _line_costs(costing: Costing, at_once: Floats) -> Floats:
    """Cost of each line with so many moulds, mixer loads counted by volume alone [currency]."""
    changes = {(SETTINGS, "loads_by_day"): np.zeros(1), ("lines", "moulds_at_once"): at_once}
    changes["lines", "sheet_board"] = boards_of_sheets(costing, at_once)
    return evaluate(costing.model, changes).value("lines", "line_cost")


def _costs_of_options(costing: Costing, least: Floats, options: dict[int, Floats]) -> dict[int, Floats]:
    """Cost of each of these lines with each of its numbers of moulds, mixer loads counted by volume alone [currency]."""
    costs: dict[int, list[float]] = {number: [] for number in options}
    for row in range(max(len(each) for each in options.values())):
        at_once = least.copy()
        for number, each in options.items():
            at_once[number] = each[min(row, len(each) - 1)]
        made = _line_costs(costing, at_once)
        for number, each in options.items():
            if row < len(each):
                costs[number].append(float(made[number]))
    return {number: np.array(each) for number, each in costs.items()}


__all__ = ["CHEAPEST", "FEWEST", "LOAD_FILLS", "NO_MOULD", "RACK", "WEAR", "fewest_moulds", "with_cheapest_moulds", "with_moulds"]
