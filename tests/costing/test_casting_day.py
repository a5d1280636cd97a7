"""The casting day: moulds, rounds, loads and rejects, by tables and by properties over drawn books."""

from __future__ import annotations

import datetime
import math
import re
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import set_cell, small_book, write_book
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.lines.order_lines import with_quantities
from pricing.costing.method.costing import Costing
from pricing.costing.moulds.costed import costed as costed_lines
from pricing.costing.moulds.price_rises import NOT_LISTED, dearer_than_fewer, price_rises
from pricing.costing.run import cost_quotes
from pricing.costing.time.lead_time import working_week
from pricing.costing.workshop.batch_sheets import batch_sheets, litres_by_day, loads_of

_DRAWN = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])

Sheets = dict[str, list[list[Any]]]


def costed(folder: Path, sheets: Sheets) -> Costing:
    """A price book, read and costed."""
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


def with_column(sheets: Sheets, sheet: str, heading: str, values: dict[str, Any]) -> Sheets:
    """A sheet with a further column, filled in the rows whose first cell is named."""
    sheets[sheet][0].append(heading)
    for row in sheets[sheet][1:]:
        row.append(values.get(row[0]))
    return sheets


def one_line(quantity: int, product: str = "Slab 1000", **settings_of: Any) -> Sheets:
    """The small workshop with one enquiry, its weight allowed by a wide band of delivery."""
    sheets = small_book()
    sheets["Delivery"].append(["Near", 1e6, 60])
    sheets["Enquiries"] = [sheets["Enquiries"][0], sheets["Enquiries"][1]]
    sheets["Enquiries"][1][3:5] = [product, quantity]
    sheets["Workshop"] += [[name.replace("_", " "), value, None] for name, value in settings_of.items()]
    return sheets


def with_rejects(sheets: Sheets, rejects: float, product: str = "Slab 1000") -> Sheets:
    """The same with so many rejects."""
    set_cell(sheets, "Products", product, "Rejects", f"{rejects:.12g} %")
    return sheets


@pytest.mark.parametrize("quantity", [1, 2, 3, 4, 10, 11])
def test_a_trace_of_rejects_adds_a_trace_of_cost(tmp_path: Path, quantity: int) -> None:
    """Between no rejects and a thousandth of a per cent of them the cost moves by less than a thousandth of a per cent or so."""
    none, trace = (
        costed(tmp_path, with_rejects(one_line(quantity), share)).line("unit_cost")[0] for share in (0.0, 0.001)
    )
    assert none <= trace <= none * (1 + 1e-4)


@_DRAWN
@given(st.integers(1, 60), st.floats(0, 20), st.integers(1, 12))
def test_cost_is_continuous_in_the_share_of_rejects(tmp_path: Path, quantity: int, rejects: float, casts: int) -> None:
    """A hair more rejects is a hair more cost: no whole mould, load or day hangs on it."""
    books = [one_line(quantity), one_line(quantity)]
    found = []
    for sheets, share in zip(books, (rejects, rejects + 1e-6), strict=True):
        set_cell(sheets, "Moulds", "Melamine", "Lasts", casts)
        found.append(costed(tmp_path, with_rejects(sheets, share)).line("line_cost")[0])
    assert found[1] >= found[0] - 1e-9
    assert found[1] == pytest.approx(found[0], rel=1e-5)


def counted_whole(costing: Costing, row: int) -> dict[str, float]:
    """What a line has of each thing that is counted whole, for its good pieces."""
    quantity, board = costing.lines.quantity[row], costing.line("sheet_board")[row] * costing.line("moulds_charged")[row]
    loads = math.floor(costing.line("per_batch")[row] * quantity + 1e-9)
    return {
        "mould": costing.line("moulds_built")[row] + costing.line("moulds_kept")[row], "mixer load": loads, "day of casting": loads,
        "sheet of board": round(float(board), 9),
    }


def at_each(costing: Costing, most: int) -> Costing:
    """The only line of a costing at each number of pieces from 1, as an order of its own."""
    return costed_lines(costing.book, with_quantities(costing.lines, [float(number) for number in range(1, most + 1)]), costing.problems)


@_DRAWN
@given(
    st.sampled_from(["Slab 1000", "Shelf 800", "Block"]), st.integers(1, 12), st.integers(0, 20), st.sampled_from([15, 30, 60, 120]),
    st.integers(0, 3), st.booleans(), st.booleans(), st.booleans(), st.booleans())
def test_price_falls_with_the_number_ordered_or_says_why(
    tmp_path: Path, product: str, casts: int, rejects: int, mixer: int, kept: int, fewest: bool, by_volume: bool, by_sheets: bool,
    stock: bool,
) -> None:
    """A piece is never dearer where more are ordered, unless one thing more that is counted whole is needed for the good pieces: then
    that thing is named with its number, and the piece from which it is needed is the first that has so much of it. Rejects alone make
    none dearer, but where they wear out the moulds of the rack; that is named too."""
    sheets = with_rejects(one_line(1, product), rejects, product)
    set_cell(sheets, "Moulds", "Melamine", "Lasts", casts)
    with_column(sheets, "Products", "Moulds kept", {product: kept})
    set_cell(sheets, "Products", product, "Made for", "stock" if stock else "order")
    set_cell(sheets, "Workshop", "Mixer load", "Value", mixer)
    sheets["Workshop"] += [["Moulds chosen", "fewest" if fewest else "cheapest", None],
                           ["Mixer loads", "by volume" if by_volume else "each casting day", None],
                           ["Board bought by", "sheets" if by_sheets else "share", None]]
    at = at_each(costed(tmp_path, sheets), 16)
    price = at.line("unit_price")
    rises = {rise.place: rise for rise in price_rises(at, 16)}
    assert set(rises) == {place for place in range(1, 16) if price[place] > price[:place].min() * (1 + 1e-9)}
    for place, rise in rises.items():
        for reason in rise.because.split(" and "):
            if share := re.fullmatch(r"a share of an? (\w+) mould for pieces that may fail", reason):
                built, charged = (at.line(name) for name in ("moulds_built", "moulds_charged"))
                assert min(kept, rejects) > 0
                assert built[place] + kept == ORDINALS.index(share[1])
                assert charged[place] > built[place]
                continue
            things = "mould|mixer load|day of casting|sheet of board"
            named = re.fullmatch(rf"(?:(?:an?|the) (\w+)|another) ({things}) from (\d+) pieces", reason)
            assert named is not None, reason
            number, what, start = named[1], named[2], int(named[3])
            now, before = (counted_whole(at, row)[what] for row in (place, start - 2))
            assert rise.fewer < start <= rise.quantity
            assert now > before
            assert counted_whole(at, start - 1)[what] >= now
            assert number is None or now == (ORDINALS.index(number) + 1 if number in ORDINALS else int(number[:-2]))


ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")


@pytest.mark.parametrize(("more", "because"), [
    ({}, "a second mould from 4 pieces"),
    ({"Mixer load": 30}, "a second mould from 4 pieces"),
])
def test_the_next_mould_is_named_as_the_reason(tmp_path: Path, more: dict[str, Any], because: str) -> None:
    """A mould that lasts three casts: the fourth piece is dearer than the third, and its reason is the second mould."""
    sheets = with_rejects(one_line(4), 0)
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 3)
    for name, value in more.items():
        set_cell(sheets, "Workshop", name, "Value", value)
    costing = costed(tmp_path, sheets)
    assert [rise.because for rise in price_rises(at_each(costing, 4), 4)] == [because]
    told = dearer_than_fewer(costing, 0)
    assert told is not None
    assert told.sentence == f"dearer each at 4 than at 3: {because}"


def test_a_list_price_that_does_not_hold_is_named_as_the_reason(tmp_path: Path) -> None:
    """A list price below cost that holds for the usual run alone: one piece more is dearer because it does not hold there."""
    sheets = one_line(2)
    set_cell(sheets, "Products", "Slab 1000", "List price", 1)
    set_cell(sheets, "Products", "Slab 1000", "Usual run", 2)
    sheets["Workshop"].append(["List price holds", "at the usual run", None])
    rises = price_rises(at_each(costed(tmp_path, sheets), 3), 3)
    assert [(rise.quantity, rise.fewer, rise.because) for rise in rises] == [(3, 2, NOT_LISTED)]


@_DRAWN
@given(st.lists(st.tuples(st.sampled_from(["Slab 1000", "Shelf 800", "Block"]), st.integers(1, 30)), min_size=1, max_size=5), st.booleans())
def test_loads_are_never_fewer_than_the_days_of_a_mix(tmp_path: Path, lines: list[tuple[str, int]], one_mix: bool) -> None:
    """Of every mix of a quote there are at least as many loads as days of casting, and enough for what is cast."""
    sheets = small_book()
    sheets["Delivery"].append(["Near", 1e6, 60])
    heading, first = sheets["Enquiries"][:2]
    sheets["Enquiries"] = [heading, *([*first[:3], product, number, None, "Grey" if one_mix else None, None, None]
                                      for product, number in lines)]
    costing = costed(tmp_path, sheets)
    loads, days = costing.values.value("batches", "loads"), litres_by_day(costing)
    batches = costing.line("batch").astype(int) - 1
    for batch, poured in enumerate(days):
        own = batches == batch
        assert loads[batch] >= costing.line("rounds")[own].max() - 1e-12
        assert loads[batch] >= len(poured) - 1e-12
        assert loads[batch] * 50 >= costing.line("mixed_volume")[own].sum() * 1000 - 1e-9
        assert sum(poured) == pytest.approx(costing.line("good_volume")[own].sum() * 1000, rel=1e-12)


@_DRAWN
@given(st.lists(st.floats(0.5, 400), min_size=1, max_size=12), st.floats(5, 200))
def test_loads_of_a_day_are_equal_and_fill_no_more_than_the_mixer(poured: list[float], mixer: float) -> None:
    """The loads of all days sum to what is poured; none is larger than the mixer, none of a day differs from another of it."""
    found = loads_of(poured, mixer)
    assert sum(litres * count for litres, count, _ in found) == pytest.approx(sum(poured), rel=1e-9)
    assert all(litres <= mixer * (1 + 1e-9) for litres, _, _ in found)
    assert sorted(day for _, _, days in found for day in days) == list(range(1, len(poured) + 1))
    for litres, count, days in found:
        assert count % len(days) == 0
        assert all(litres * count / len(days) == pytest.approx(poured[day - 1], rel=1e-9) for day in days)


def test_batch_sheets_go_by_casting_day(tmp_path: Path) -> None:
    """Five slabs in two moulds are poured on three days: two loads of two slabs' concrete, then one of one."""
    costing = costed(tmp_path, with_column(one_line(5), "Products", "Moulds kept", {"Slab 1000": 2}))
    (grey,) = batch_sheets(costing)
    assert [(round(load.litres, 9), load.count, load.days) for load in grey.loads] == [(44.0, 2, (1, 2)), (22.0, 1, (3,))]


def test_a_mould_in_the_rack_is_not_built_again(tmp_path: Path) -> None:
    """Two moulds kept: nothing is built, both are filled on a day, and the order pays for no mould."""
    costing = costed(tmp_path, with_rejects(with_column(one_line(4), "Products", "Moulds kept", {"Slab 1000": 2}), 0))
    assert [costing.line(name)[0] for name in ("moulds_built", "moulds_charged", "places", "rounds")] == [0, 0, 2, 2]
    assert costing.line("mould_labour_cost")[0] == 0
    assert costing.model.tables["lines"].text["moulds_because"].tolist() == ["those in the rack"]


def test_a_mould_with_several_places(tmp_path: Path) -> None:
    """Two hundred pieces, ten to a mould: twenty days with one mould, board for ten pieces, a life of ten times as many."""
    sheets = with_column(one_line(200, Moulds_chosen="fewest"), "Moulds", "Pieces per mould", {"Melamine": 10})
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 50)
    costing = costed(tmp_path, with_rejects(sheets, 0))
    assert [costing.line(name)[0] for name in ("places", "rounds", "mould_life", "moulds_built")] == [10, 20, 500, 1]
    assert costing.line("board_charged")[0] == pytest.approx(10 * costing.line("mould_board")[0], rel=1e-12)


def test_a_bought_mould_costs_its_price_and_its_share_of_the_pattern(tmp_path: Path) -> None:
    """80 less 20 of resale, and a sixth of a pattern of 300; nothing is cut, screwed together or sealed."""
    sheets = one_line(4)
    set_cell(sheets, "Moulds", "Melamine", "Board", None)
    for heading, value in (("Price", 80), ("Resale", 20), ("Pattern price", 300), ("Moulds of a pattern", 6)):
        with_column(sheets, "Moulds", heading, {"Melamine": value})
    costing = costed(tmp_path, with_rejects(sheets, 0))
    assert costing.line("mould_materials")[0] == 80 - 20 + 300 / 6
    assert costing.line("mould_material_cost")[0] == 110 / 4
    assert costing.line("mould_labour_cost")[0] == 0


def test_release_is_used_at_every_cast_and_a_first_cast_is_not_refitted(tmp_path: Path) -> None:
    """One slab: its face of 0.62 m² is oiled once, at 1 a square metre, and the mould is not made ready again."""
    costing = costed(tmp_path, with_rejects(one_line(1), 0))
    assert costing.line("refits")[0] == 0
    assert costing.line("release_per_piece")[0] == pytest.approx(0.62, rel=1e-12)


def test_what_is_cast_in_is_lost_with_a_reject(tmp_path: Path) -> None:
    """Mesh by the square metre is bought again for a piece that fails, brackets that are screwed on later are not."""
    sheets = with_rejects(one_line(4), 20)
    price = ["Mesh", "reinforcement", 1, "m2", 10, 0, "0 %", None, None, None, None, None, "Iron Shed", sheets["Materials"][1][13]]
    sheets["Materials"][0].append("Unit mass")
    for row in sheets["Materials"][1:]:
        row.append(None)
    sheets["Materials"].append([*price, 2])
    sheets["Extras"] += [["Slab 1000", "Mesh", 1, "m2 underside"], ["Slab 1000", "Brackets", 2, "piece"]]
    costing = costed(tmp_path, sheets)
    assert costing.line("extras_cost")[0] == pytest.approx(10 * 0.5 / 0.8 + 2 * 3.5, rel=1e-12)


def test_a_machine_that_runs_alone_carries_no_overhead(tmp_path: Path) -> None:
    """A step without a trade costs its machine, and neither labour hours nor overhead."""
    sheets = one_line(4)
    sheets["Labour"].append(["Plain", "Heat", None, 60, "piece", "Mixer", None, "no"])
    plain, alone = costed(tmp_path, one_line(4)), costed(tmp_path, sheets)
    assert alone.line("labour_hours")[0] == plain.line("labour_hours")[0]
    assert alone.line("overhead_cost")[0] == plain.line("overhead_cost")[0]
    assert alone.line("machine_cost")[0] == pytest.approx(plain.line("machine_cost")[0] + 1800 / 3000 + 0.4 + 1.6 * 0.25, rel=1e-12)


@_DRAWN
@given(st.integers(2, 40), st.floats(1, 400), st.floats(0, 200), st.floats(0, 8))
def test_the_moulds_chosen_make_the_quote_cheapest(tmp_path: Path, quantity: int, mix_minutes: float, build: float, rejects: float) -> None:
    """No number of moulds of the line would make its quote cheaper."""
    sheets = with_rejects(one_line(quantity), rejects)
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 100)
    rows = {row[1]: row for row in sheets["Labour"][1:]}
    rows["Mix"][3], rows["Build mould"][3] = mix_minutes, build
    costing = costed(tmp_path, sheets)
    numbers = np.arange(1.0, quantity + 1)[:, None]
    costs = evaluate(costing.model, {("lines", "moulds_at_once"): numbers}).value("quotes", "line_cost_sum")[:, 0]
    assert costing.quote("line_cost_sum")[0] == pytest.approx(costs.min(), rel=1e-12)
    said = costing.model.tables["lines"].text["moulds_because"][0]
    assert (said == "makes the quote cheapest") == (costing.line("moulds_at_once")[0] > 1)


def test_closed_days_and_public_holidays_are_not_worked(tmp_path: Path) -> None:
    """A workshop in Bavaria that closes from 21 to 23 December works on the 28th after the 18th, a Friday."""
    sheets = one_line(1, Holidays="DE-BY")
    sheets["Closed"] = [["From", "To", "Why"], [datetime.date(2026, 12, 21), datetime.date(2026, 12, 23), "before Christmas"],
                        [datetime.date(2026, 12, 24), None, None]]
    week = working_week(costed(tmp_path, sheets).book)
    assert week.add(datetime.date(2026, 12, 18), 1) == datetime.date(2026, 12, 28)


def test_holidays_that_nobody_knows_are_asked_about(tmp_path: Path) -> None:
    """A code of no country, and a closure that ends before it begins, each with its cell."""
    sheets = one_line(1, Holidays="XX-1")
    sheets["Closed"] = [["From", "To", "Why"], [datetime.date(2026, 12, 23), datetime.date(2026, 12, 21), None]]
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    assert [(problem.code, problem.place) for problem in problems.errors] == [
        ("closed-backwards", "Closed!B2"), ("unknown-holidays", "Workshop!B20")]


@pytest.mark.slow
def test_the_loads_of_many_days_take_work_by_the_day_and_not_by_its_square() -> None:
    """Sixteen times the days take at most three times sixteen times the work of the processor: each day is noted once."""

    def work(days: int) -> float:
        start = time.process_time()
        ((_, count, noted),) = loads_of([60.0] * days, 60.0)
        assert (count, noted) == (days, tuple(range(1, days + 1)))
        return time.process_time() - start

    assert work(80_000) < 3 * 16 * min(work(5_000) for _ in range(3))
