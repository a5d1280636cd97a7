"""What the workshop is told, followed by hand: batch sheets, cut list, steps, calendar, shopping list."""

from __future__ import annotations

import datetime
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from books import DAY, set_cell, small_book, write_book
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.method.standard_usage import MATERIAL, allowances
from pricing.costing.moulds.numbers import start_of
from pricing.costing.run import cost_quotes
from pricing.costing.time.lead_time import lead_time_days, working_week
from pricing.costing.time.schedule import MOULD, WAIT, WORK
from pricing.costing.workshop.batch_sheets import Ingredient, batch_sheets, loads_of, weigh
from pricing.costing.workshop.cut_list import cut_list
from pricing.costing.workshop.steps import REFIT, work_calendar, work_steps
from pricing.costing.workshop.work import alone, prepare, shopping_for
from pricing.problems import Problems

Sheets = dict[str, list[list[Any]]]


def costed(folder: Path, sheets: Sheets, quote: str = "Q-1", **changes: Any) -> Costing:
    for setting, value in changes.items():
        sheets["Workshop"].append([setting.replace("_", " "), value, None])
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)), [quote])


def with_column(sheets: Sheets, heading: str, **values: Any) -> Sheets:
    """A further column of Materials."""
    sheets["Materials"][0].append(heading)
    for row in sheets["Materials"][1:]:
        row.append(values.get(row[0].replace(" ", "_")))
    return sheets


# batch sheets


@given(litres=st.floats(0.001, 1e5), load=st.floats(0.5, 1e4))
def test_loads_make_up_what_is_wanted(litres: float, load: float) -> None:
    """The loads of a day are of one size, as few as the mixer allows, and together what is wanted, however it divides."""
    ((each, count, days),) = loads_of([litres], load)
    assert each * count == pytest.approx(litres, rel=1e-12)
    assert 0 < each <= load * (1 + 1e-6)
    assert (count - 1) * load < litres * (1 + 1e-6)
    assert days == (1,)


def test_a_batch_sheet_by_hand(tmp_path: Path) -> None:
    """Four slabs in one mould are cast on four days, each from a load of its own of 22 litres of Grey with the allowance, by hand."""
    (grey, dark) = batch_sheets(costed(tmp_path, small_book(), Scale_step="0.1 kg"))
    litres = 4 * 20 * 1.1
    assert (grey.mix, dark.mix) == ("Grey", "Dark")
    assert grey.litres == pytest.approx(litres, rel=1e-12)
    assert [(load.litres, load.count, load.days) for load in grey.loads] == [(pytest.approx(22.0, rel=1e-9), 4, (1, 2, 3, 4))]
    parts = 0.98 / (1 / 3150 + 2 / 2650 + 0.4 / 1000)
    masses = [parts * 0.022, 2 * parts * 0.022, 0.4 * parts * 0.022, 0.0]
    full = grey.loads[0]
    assert [each.mass_as_it_lies for each in full.weighings] == pytest.approx(masses, rel=1e-12)
    assert [each.weighed_mass for each in full.weighings] == pytest.approx([14.6, 29.3, 5.9, 0.0], abs=1e-9)
    assert full.yield_litres == pytest.approx(14.6 / 3.15 + 29.3 / 2.65 + 5.9 + 0.02 * 22, rel=1e-12)
    assert full.water_binder == pytest.approx(5.9 / 14.6, rel=1e-12)
    assert full.mass == pytest.approx(14.6 + 29.3 + 5.9, rel=1e-12)


def test_liquids_are_measured_and_buckets_counted(tmp_path: Path) -> None:
    """An admixture sold by the litre is measured in whole millilitres; parts by volume are given in loose litres."""
    (tmp_path / "b").mkdir()
    dark = batch_sheets(costed(tmp_path, small_book()))[1]
    flow = dict(zip([each.material for each in dark.ingredients], dark.loads[0].weighings, strict=True))["Flow"]
    assert flow.millilitres == round(dark.litres / 1000 * 500 * 8)
    assert flow.weighed_mass == pytest.approx(flow.millilitres * 1.08e-3, rel=1e-12)
    bucket, _ = batch_sheets(costed(tmp_path / "b", small_book(), "Q-2"))
    cement, sand, water = bucket.loads[0].weighings
    assert (bucket.mix, bucket.loads[0].count) == ("Bucket", 3)  # twelve blocks of 8 litres and the allowance, on one day: 105.6 litres
    assert bucket.loads[0].litres == pytest.approx(105.6 / 3, rel=1e-12)
    assert sand.loose_litres == pytest.approx(2 * cement.loose_litres, rel=1e-12)
    assert water.loose_litres == pytest.approx(0.6 * cement.loose_litres, rel=1e-12)
    assert [each.millilitres for each in bucket.loads[0].weighings] == [None, None, None]


def test_what_the_loads_take_is_what_is_costed(tmp_path: Path) -> None:
    """Where nothing fails, all loads of all mixes together hold the concrete that the price pays for, ingredient by ingredient."""
    sheets = small_book()
    set_cell(sheets, "Products", "Slab 1000", "Rejects", "0 %")
    costing = costed(tmp_path, sheets)
    dry: dict[str, float] = {}
    for sheet in batch_sheets(costing):
        for load in sheet.loads:
            for each, weighing in zip(sheet.ingredients, load.weighings, strict=True):
                dry[each.material] = dry.get(each.material, 0.0) + load.count * weighing.dry_mass
    allowed: dict[str, float] = {}
    for each in allowances(costing.model, costing.values):
        if each.source == "mix":
            allowed[each.item] = allowed.get(each.item, 0.0) + each.quantity * (1.08 if each.item == "Flow" else 1.0)
    assert {name: mass for name, mass in dry.items() if mass} == pytest.approx(allowed, rel=1e-9)


@given(
    moisture=st.floats(0, 0.15), absorption=st.floats(0, 0.05), litres=st.floats(1, 500), step=st.sampled_from([1e-6, 0.001, 0.01, 0.05]),
    solids=st.floats(0, 1),
)
def test_moisture_changes_weights_and_not_the_concrete(
    moisture: float, absorption: float, litres: float, step: float, solids: float
) -> None:
    """However damp the sand: each weight is within half a step, and yield and water over binder are the recipe's."""

    def made(damp: float, soaked: float, scale: float) -> tuple[Ingredient, ...]:
        common = {"is_liquid": False, "bulk_density": 0.0, "place": ""}
        return (
            Ingredient("Cement", "binder", 500, 3150, 0, 0, scale, water_share=0, air_share=0, takes_free_water=0, **common),
            Ingredient("Sand", "aggregate", 1300, 2650, damp, soaked, scale, water_share=0, air_share=0, takes_free_water=0, **common),
            Ingredient("Water", "water", 250, 1000, 0, 0, scale, water_share=1, air_share=0, takes_free_water=1, **common),
            Ingredient("Flow", "admixture", 5, 1080, 0, 0, scale, water_share=1 - solids, air_share=0, takes_free_water=0, **common),
            Ingredient("Air", "air", 0, 1, 0, 0, scale, water_share=0, air_share=0.02, takes_free_water=0, **common),
        )

    dry, damp = weigh(made(0, 0, 1e-9), litres), weigh(made(moisture, absorption, step), litres)
    for weighing in damp.weighings:
        assert abs(weighing.weighed_mass - weighing.mass_as_it_lies) <= step / 2 + 1e-6 * step + 1e-9
    # a water that is taken from the sand was weighed with it: what is left on the scale is the same but for absorption
    assert damp.yield_litres == pytest.approx(dry.yield_litres, abs=4 * step + 1e-6)
    binder = damp.weighings[0].weighed_mass
    assert damp.water_binder == pytest.approx(dry.water_binder, abs=4 * step / binder + 1e-6)


def test_limits_are_told(tmp_path: Path) -> None:
    """Pigment, water over binder, a coarse scale, wet sand, an odd yield: each is told in a sentence."""

    def limits(name: str, sheets: Sheets, **changes: Any) -> str:
        (tmp_path / name).mkdir()
        return " ".join(sentence for sheet in batch_sheets(costed(tmp_path / name, sheets, **changes)) for sentence in sheet.limits)

    sheets = small_book()
    assert limits("fine", sheets) == "The recipe fills 0.934 m³ where it says one; the loads yield accordingly."
    for row in (sheets := small_book())["Mixes"]:
        row[2] = "12 %" if row[1] == "Black" else row[2]
    assert "12.0% of the binder" in limits("pigment", sheets)
    for row in (sheets := small_book())["Mixes"]:
        row[2] = 0.7 if row[:2] == ["Grey", "Water"] else row[2]
    assert "Water / binder is 0.70" in limits("water", sheets)
    coarse = limits("coarse", small_book(), Scale_step="10 kg")
    assert "changes the yield" in coarse
    assert "Black: " in coarse  # 0.4 kg is weighed as nothing
    assert "more water than" in limits("wet", with_column(small_book(), "Moisture", Sand="40 %"))


def test_a_mix_without_water_keeps_its_sum(tmp_path: Path) -> None:
    """Where a mix names no water, the free water cannot be taken from it, and the maker is told."""
    sheets = with_column(small_book(), "Moisture", Sand="5 %")
    sheets["Mixes"] = [row for row in sheets["Mixes"] if row[:2] != ["Grey", "Water"]]
    grey = batch_sheets(costed(tmp_path, sheets))[0]
    assert any("names no water" in limit for limit in grey.limits)
    assert all(weighing.mass_as_it_lies >= weighing.dry_mass for weighing in grey.loads[0].weighings)


# cut list


def test_every_panel_of_every_mould_is_cut_once(tmp_path: Path) -> None:
    """The list's area is the moulds' boards; each panel lies once on a sheet, within it and a kerf from the others."""
    sheets = small_book()
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 1)
    costing = costed(tmp_path, sheets)
    cuts = cut_list(costing)
    moulds = costing.line("moulds_built")
    assert moulds.tolist() == [4, 3]  # one for each good piece; for a slab that may fail none is cut beforehand
    assert sum(row.area for row in cuts.rows) == pytest.approx(float((costing.line("mould_board") * moulds).sum()), rel=1e-12)
    (plan,) = cuts.boards
    assert plan.nest is not None
    placed = [place.panel for place in plan.nest.placements]
    assert {row.mark: placed.count(row.mark) for row in cuts.rows} == {row.mark: row.count for row in cuts.rows}
    assert cuts.sheets() == {"Melamine": plan.nest.sheets}
    assert plan.nest.kerf == 0.003
    for place in plan.nest.placements:
        assert place.x + place.length <= 2.5 + 1e-9
        assert place.y + place.width <= 2.0 + 1e-9
    assert [row.for_stock for row in cuts.rows] == [False] * 3 + [True] * 5


def test_the_kerf_is_the_settings(tmp_path: Path) -> None:
    """Panels keep the kerf of the book's saw between them."""
    (plan,) = cut_list(costed(tmp_path, small_book(), Saw_kerf="5 mm")).boards
    assert plan.nest is not None
    assert plan.nest.kerf == 0.005


def test_what_cannot_be_nested_is_told(tmp_path: Path) -> None:
    """A panel that no sheet holds is named, and a sheet bought for it; board by the metre is listed only; a solid has no panels."""
    for name in ("small", "area", "solid"):
        (tmp_path / name).mkdir()
    sheets = small_book()
    set_cell(sheets, "Materials", "Melamine", "Sheet length", 900)
    set_cell(sheets, "Materials", "Melamine", "Sheet width", 600)
    cuts = cut_list(costed(tmp_path / "small", sheets))
    (plan,) = cuts.boards
    assert plan.nest is not None
    assert [row.mark for row in plan.joined] == ["1", "2"]
    assert 'Panel 1 ("base" of Slab 1000) is larger than a sheet' in plan.sentence
    assert {place.panel for place in plan.nest.placements} == {"3", "4", "5", "6", "7", "8"}
    assert cuts.sheets() == {"Melamine": plan.nest.sheets + math.ceil((0.5 + 2 * 1.036 * 0.058) / (0.9 * 0.6))}
    sheets = small_book()
    set_cell(sheets, "Materials", "Melamine", "Pack unit", "m2")
    (plan,) = cut_list(costed(tmp_path / "area", sheets)).boards
    assert plan.nest is None
    assert len(plan.rows) == 8
    sheets = small_book()
    set_cell(sheets, "Products", "Block", "Mould plan", "Melamine")
    cuts = cut_list(costed(tmp_path / "solid", sheets, "Q-2"))  # made for stock: one load of 50 litres fills five of 8.8 litres
    assert ["Block: 5 moulds" in sentence for sentence in cuts.without] == [True]


# steps and calendar


def test_steps_take_the_hours_that_are_paid(tmp_path: Path) -> None:
    """All minutes of a line are its labour hours; each step's are its minutes times what they are counted by."""
    costing = costed(tmp_path, small_book())
    steps = work_steps(costing)
    hours = costing.line("labour_hours") * costing.line("quantity")
    for line in (0, 1):
        assert sum(step.total for step in steps if step.line == line) == pytest.approx(float(hours[line]) * 60, rel=1e-12)
    slab = {step.step: step for step in steps if step.line == 0}
    assert list(slab)[:6] == ["Set out", "Build mould", "Cut board", "Mix", "Cast", REFIT]
    assert (slab["Set out"].times, slab["Mix"].times) == (1.0, 4 / 0.95)  # one mould: a load for every day of casting
    assert slab["Cast"].total == pytest.approx(12 * 4 / 0.95, rel=1e-12)
    assert slab["Grind"].total == pytest.approx(20 * 0.5 * 4 / 0.95, rel=1e-12)
    assert (slab["Mix"].machine, slab["Mix"].trade, slab["Cast"].wait, slab["Cast"].repeats) == ("Mixer", "Helper", 48.0, True)
    assert slab[REFIT].total == pytest.approx(6 * (4 / 0.95 - 1), rel=1e-12)  # a new mould needs none


def plan(**steps: tuple[float, str, float]) -> Sheets:
    """The small workshop with one slab in Q-1, made by these steps: minutes, what they are per, wait."""
    sheets = small_book()
    rows = [["Plan", name.replace("_", " "), "Maker", minutes, per, None, wait, "no"] for name, (minutes, per, wait) in steps.items()]
    sheets["Labour"] = [sheets["Labour"][0], *rows]
    for product in ("Slab 1000", "Shelf 800", "Block"):
        set_cell(sheets, "Products", product, "Labour plan", "Plan")
        set_cell(sheets, "Products", product, "Rejects", "0 %")
    set_cell(sheets, "Moulds", "Melamine", "Refit every", None)
    set_cell(sheets, "Moulds", "Melamine", "Refit minutes", None)
    sheets["Enquiries"] = [sheets["Enquiries"][0], ["Q-1", DAY, "Ada Field", "Slab 1000", 2, None, None, None, None]]
    sheets["Workshop"] += [["Start within", 3, None]]
    return sheets


def test_a_calendar_by_hand(tmp_path: Path) -> None:
    """Two slabs in one mould, from Thursday 5 March 2026: built and sealed on the 5th, cast on the 6th and 9th, packed on the 11th.

    The sealant cures overnight; each slab is two days in the mould, the first over the weekend (6th to 9th, since the 8th
    is a Sunday), the second until Wednesday the 11th; sealer dries four hours of that day.
    """
    before, after = {"Draw": (60, "order", 0), "Build": (120, "mould", 12)}, {"Seal": (30, "piece", 4), "Pack": (10, "piece", 0)}
    costing = costed(tmp_path, plan(**before, Cast=(10, "cast", 48), **after))
    calendar = work_calendar(costing, work_steps(costing))
    shown = [(bar.name, bar.kind, bar.begins.day, bar.ends.day) for bar in calendar.bars]
    assert shown == [
        ("Draw, Build", WORK, 5, 5), ("Wait: build", WAIT, 5, 6),
        ("Cast, then in the mould: round 1 of 2", MOULD, 6, 9), ("Cast, then in the mould: round 2 of 2", MOULD, 9, 11),
        ("Seal", WORK, 11, 11), ("Wait: seal", WAIT, 11, 11), ("Pack", WORK, 11, 11),
    ]
    assert calendar.last == datetime.date(2026, 3, 11)


def test_one_pair_of_hands(tmp_path: Path) -> None:
    """Two lines of a day and a half of drawing each: the second is drawn after the first, cast later, and finished after it."""
    sheets = plan(Draw=(720, "order", 0), Cast=(10, "cast", 24), Polish=(480, "order", 0))
    sheets["Enquiries"] += [["Q-1", DAY, "Ada Field", "Shelf 800", 2, None, None, None, None]]
    calendar = work_calendar(costing := costed(tmp_path, sheets), work_steps(costing))
    bars = {(bar.line, bar.name.split(",")[0]): (bar.begins.day, bar.ends.day) for bar in calendar.bars}
    assert bars[0, "Draw"] == (5, 6)
    assert bars[1, "Draw"] == (6, 9)
    assert bars[0, "Polish"][1] <= bars[1, "Polish"][1]


def test_many_rounds_are_one_bar(tmp_path: Path) -> None:
    """Twenty casts in one mould are one bar and not twenty."""
    sheets = plan(Cast=(10, "cast", 24))
    sheets["Enquiries"][1][4] = 7
    sheets["Delivery"].append(["Near", 5000, 90])
    calendar = work_calendar(costing := costed(tmp_path, sheets), work_steps(costing))
    assert [bar.name for bar in calendar.bars] == ["Cast, then in the mould: 7 rounds"]


FULL_DAY_THEN_NOTHING = [(0.0, "batch", 0.0), (480.0, "piece", 0.0), (0.0, "piece", 0.0)]

STEPS = st.lists(
    st.tuples(st.sampled_from([0.0, 1.0, 55.0, 240.0, 480.0, 700.0]), st.sampled_from(["order", "mould", "batch", "cast", "cast", "piece"]),
              st.sampled_from([0.0, 0.0, 4.0, 12.0, 24.0, 30.0, 48.0])),
    min_size=1, max_size=6,
)


@settings(max_examples=40, deadline=None)
@example(steps=FULL_DAY_THEN_NOTHING, quantities=[1], within=0, week=False)
@given(steps=STEPS, quantities=st.lists(st.integers(1, 5), min_size=1, max_size=3), within=st.integers(0, 4), week=st.booleans())
def test_the_calendar_keeps_the_promise(
    tmp_path_factory: pytest.TempPathFactory, steps: list[tuple[float, str, float]], quantities: list[int], within: int, week: bool
) -> None:
    """Whatever the plan and the lines: no line is ready later than the lead time of the quote says."""
    order = {"order": 0, "mould": 1, "batch": 2, "cast": 3, "piece": 4}
    rows = sorted(steps, key=lambda step: order[step[1]])
    sheets = plan(**{f"step_{number}": step for number, step in enumerate(rows)})
    products = ("Slab 1000", "Shelf 800", "Block")
    sheets["Enquiries"] = [sheets["Enquiries"][0], *(["Q-1", DAY, "Ada Field", product, quantity, None, None, None, None]
                                                     for product, quantity in zip(products, quantities, strict=False))]
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] != "Start within"]
    sheets["Workshop"] += [["Start within", within, None], ["Working week", "Monday to Saturday" if week else "Monday to Friday", None]]
    costing = costed(tmp_path_factory.mktemp("promise"), sheets)
    calendar = work_calendar(costing, work_steps(costing))
    promised = working_week(costing.book).add(DAY, lead_time_days(costing, "Q-1"))
    assert calendar.last <= promised
    for line, ready in calendar.ready.items():
        assert ready >= start_of(costing, line)
        bars = [bar for bar in calendar.bars if bar.line == line]
        assert all(one.begins <= other.begins for one, other in pairwise(bars))


def test_what_is_wanted_is_ready_by_the_calendar_too(tmp_path: Path) -> None:
    """Moulds for a wanted day are enough on the calendar that the workshop works by."""
    sheets = plan(Build=(120, "mould", 12), Cast=(10, "cast", 48), Seal=(30, "piece", 4), Pack=(10, "piece", 0))
    sheets["Enquiries"] = [["Quote", "Date", "Customer", "Product", "Quantity", "Wanted by"],
                           ["Q-1", DAY, "Ada Field", "Slab 1000", 6, datetime.date(2026, 3, 16)],
                           ["Q-1", DAY, "Ada Field", "Shelf 800", 6, datetime.date(2026, 3, 18)]]
    work = prepare(costed(tmp_path, sheets), "Q-1")
    assert work.costing.line("moulds_at_once").tolist() != [1, 1]
    assert [ready <= wanted for ready, wanted in zip(work.calendar.ready.values(), work.wanted, strict=True) if wanted] == [True, True]


# shopping


def bought(costing: Costing, **_: Any) -> dict[str, tuple[float, float, list[int], float]]:
    """Need, stock, packs and cost of each material."""
    rows = prepare(costing, costing.quotes[0]).shopping.rows
    return {row.material: (row.need, row.in_stock, list(row.purchase.counts), row.purchase.cost) for row in rows}


def test_needs_at_their_prices_are_what_is_costed(tmp_path: Path) -> None:
    """Where every mould is made for the order, all needs but whole sheets cost what the price has for materials."""
    sheets = small_book()
    set_cell(sheets, "Products", "Shelf 800", "Made for", "order")
    set_cell(sheets, "Materials", "Melamine", "Pack unit", "m2")
    costing = costed(tmp_path, sheets)
    shopping = prepare(costing, "Q-1").shopping
    spent = sum(row.need * row.packs[0].price / row.packs[0].size for row in shopping.rows) + shopping.water * 2 / 1000
    allowed = sum(each.quantity * each.price for each in allowances(costing.model, costing.values) if each.kind == MATERIAL)
    assert spent == pytest.approx(allowed, rel=1e-12)
    parts = ("concrete_cost", "finish_cost", "extras_cost", "mould_material_cost")
    release = costing.line("casts") / costing.line("quantity") * costing.line("release_face") * costing.line("release_cost")
    per_piece = sum(costing.line(name) for name in parts) + release
    assert spent == pytest.approx(float((per_piece * costing.line("quantity")).sum()), rel=1e-12)


def test_a_shopping_list_by_hand(tmp_path: Path) -> None:
    """Four slabs and three shelves: one sheet, 84 fixings in a box of 200, and 70 kg of cement in three bags of 25."""
    found = bought(costed(tmp_path, small_book()))
    grey = 0.98 / (1 / 3150 + 2 / 2650 + 0.4 / 1000)
    volume = 4 / 0.95 * 0.02 * 1.1
    shelf = 3 * (0.8 * 0.25 * 0.025 + 0.8 * 0.025 * 0.04) * 1.1
    cement = grey * volume + 500 * shelf
    assert found["Cement"][0] == pytest.approx(cement, rel=1e-12)
    assert found["Cement"][2:] == ([math.ceil(cement / 25)], 10.0 * math.ceil(cement / 25))
    assert found["Melamine"] == (1.0, 0.0, [1], 50.0)
    assert found["Brackets"] == (6.0, 0.0, [1], 35.0)
    assert found["Sealer"][0] == pytest.approx((4 * 0.62 + 3 * face_of_shelf()) * 2 / 8 * 1.1, rel=1e-12)
    assert "Water" not in found


def face_of_shelf() -> float:
    """Top, front with its drop, back and ends of a shelf of 800 x 250 x 25 with a drop of 40, as the take-off has it."""
    from pricing.rules.shapes import SHAPES

    given = {"length": 0.8, "width": 0.25, "thickness": 0.025, "drop": 0.04}
    return float(SHAPES["slab with a lip"].take_off(given)["face_area"])


def test_what_is_in_stock_is_not_bought(tmp_path: Path) -> None:
    """Stock is taken from the need; more stock than need buys nothing; the latest row that says it counts."""
    sheets = with_column(small_book(), "In stock", Cement=50, Melamine=3)
    older = list(sheets["Materials"][1])
    older[4], older[-2], older[-1] = 9, datetime.date(2025, 1, 1), 500
    sheets["Materials"].insert(1, older)
    found = bought(costed(tmp_path, sheets))
    need = found["Cement"][0]
    assert found["Cement"][1:3] == (50.0, [math.ceil((need - 50) / 25)])
    assert found["Melamine"][1:] == (3.0, [0], 0.0)


def test_the_cheapest_mix_of_packs(tmp_path: Path) -> None:
    """A bag of 5 kg that is the same cement: bought where it is cheaper than another bag of 25 kg; its stock counts too."""
    sheets = with_column(with_column(small_book(), "In stock", Cement=10), "Same as")
    small = list(sheets["Materials"][1])
    small[0], small[2], small[4], small[-2], small[-1] = "Cement 5 kg", 5, 2.5, 5, "cement"
    sheets["Materials"].append(small)
    costing = costed(tmp_path, sheets)
    row = next(row for row in prepare(costing, "Q-1").shopping.rows if row.material == "Cement")
    assert row.in_stock == 15.0
    assert [pack.material for pack in row.packs] == ["Cement", "Cement 5 kg"]
    best = min((10 * large + 2.5 * few, 25 * large + 5 * few, large, few) for large in range(6) for few in range(40)
               if 25 * large + 5 * few >= row.missing)
    assert row.purchase.cost == best[0]
    assert row.purchase.bought >= row.missing
    assert row.purchase.counts[1] > 0


@pytest.mark.parametrize(
    ("unit", "same_as", "words"),
    [("L", "Cement", "sold by L"), ("kg", "Sand 5 kg", 'itself the same as "Sand"')],
)
def test_packs_that_are_not_the_same_are_told(tmp_path: Path, unit: str, same_as: str, words: str) -> None:
    """A pack in another unit, or of what is itself another pack, is left out with its cell and the reason."""
    sheets = with_column(small_book(), "Same as")
    for name, other in (("Sand 5 kg", "Sand"), ("Odd", same_as)):
        row = list(sheets["Materials"][2])
        row[0], row[-1] = name, other
        sheets["Materials"].append(row)
    sheets["Materials"][-1][3] = unit
    work = prepare(costed(tmp_path, sheets), "Q-1")
    told = [problem for problem in work.problems if problem.code == "other-pack"]
    assert [(problem.place, words in problem.message) for problem in told] == [("Materials!O15", True)]
    assert all(pack.material != "Odd" for row in work.shopping.rows for pack in row.packs)


def test_several_quotes_share_packs(tmp_path: Path) -> None:
    """Together two quotes need no more packs than each by itself, and what each needs adds up."""
    book = load_price_book(write_book(tmp_path / "book.xlsx", small_book()))
    costing = cost_quotes(book)
    works = [prepare(costing, quote) for quote in costing.quotes]
    both = shopping_for(works, Problems())
    assert both.quotes == ("Q-1", "Q-2")
    for row in both.rows:
        apart = [other for work in works for other in work.shopping.rows if other.material == row.material]
        assert row.need == pytest.approx(sum(other.need for other in apart), rel=1e-12)
        assert row.purchase.cost <= sum(other.purchase.cost for other in apart) + 1e-9
    assert both.water == pytest.approx(sum(work.shopping.water for work in works), rel=1e-12)


def test_quotes_of_several_days_keep_their_own_prices(tmp_path: Path) -> None:
    """A quote taken out of a run over several days is costed as by itself; the shopping list has the latest day's prices."""
    sheets = small_book()
    dearer = list(sheets["Materials"][1])
    dearer[4], dearer[-1] = 12, datetime.date(2026, 4, 1)
    sheets["Materials"].insert(2, dearer)
    for row in sheets["Enquiries"][3:]:
        row[1] = datetime.date(2026, 4, 10)
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets)))
    for quote in costing.quotes:
        own = alone(costing, quote)
        assert own.line("unit_cost").tolist() == pytest.approx(costing.line("unit_cost")[costing.lines_of(quote)].tolist(), rel=1e-12)
    works = [prepare(costing, quote) for quote in costing.quotes]
    cement = next(row for row in shopping_for(works, Problems()).rows if row.material == "Cement")
    assert cement.packs[0].price == 12
    apart = [row.need for work in works for row in work.shopping.rows if row.material == "Cement"]
    assert cement.need == pytest.approx(sum(apart), rel=1e-12)


def test_moulds_for_stock_are_counted_whole_and_said_so(tmp_path: Path) -> None:
    """Moulds that are kept are cut and bought whole, whatever share of them the price carries; a note says so.

    A load of 50 litres fills seven shelves of 6.4 litres; three are made, in three moulds.
    """
    sheets = small_book()
    sheets["Enquiries"] = [sheets["Enquiries"][0], sheets["Enquiries"][2]]
    work = prepare(costed(tmp_path, sheets), "Q-1")
    screws = next(row for row in work.shopping.rows if row.material == "Screws")
    joint = float(work.costing.line("joint")[0])
    assert work.costing.line("moulds_charged").tolist() == [pytest.approx(0.3)]
    assert screws.need == pytest.approx(3 * joint / 0.15, rel=1e-12)
    assert screws.for_stock
    assert not next(row for row in work.shopping.rows if row.material == "Cement").for_stock


def test_an_unknown_quote_is_refused(tmp_path: Path) -> None:
    """Work for a quote that is not there is no work."""
    with pytest.raises(KeyError):
        prepare(costed(tmp_path, small_book()), "Q-9")
