"""The small workshop costed a second time, by plain arithmetic written for this test: line by line, no shared code."""

from __future__ import annotations

import datetime
import math
from pathlib import Path

import pytest
from books import SMALL, set_cell, small_book, write_book

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import at_quantities, cost_quotes

CEMENT, SAND, WATER, BLACK, FLOW = 10 / 25, 2.5 / 25, 2 / 1000, 30 / 5, 40 / 5
MAKER, HELPER = 24 / 60, 18 / 60
MIXER = (2000 - 200) / 3000 + 0.4 + 1.6 * 0.25
BOARD = 50 / (2.5 * 2.0) * 1.2
JOINT = (1 - math.pi / 4) * 0.005**2 * 1000 * 6 / 0.3 + 8 / 200 / 0.15 + 5 / 50
WAX = 10 / 10


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """The small workshop, by the engine."""
    return cost_quotes(load_price_book(write_book(tmp_path_factory.mktemp("hand") / "small.xlsx", SMALL)))


def grey() -> tuple[float, float]:
    """Density and price of a cubic metre of Grey: 1 : 2 : 0.4 by mass with 2 % air."""
    parts = 0.98 / (1 / 3150 + 2 / 2650 + 0.4 / 1000)
    return 3.4 * parts, parts * (CEMENT + 2 * SAND + 0.4 * WATER)


def dark() -> tuple[float, float]:
    """Density and price of a cubic metre of Dark: as stated, pigment 4 % and 8 mL of admixture for a kg of cement."""
    flow_litres = 500 * 8 / 1000
    density = 500 + 1450 + 220 + 20 + flow_litres * 1.08
    return density, 500 * CEMENT + 1450 * SAND + 220 * WATER + 20 * BLACK + flow_litres * FLOW


def bucket() -> tuple[float, float]:
    """Density and price of a cubic metre of Bucket: 1 : 2 : 0.6 by loose volume."""
    masses = (1500, 2 * 1600, 0.6 * 1000)
    volume = masses[0] / 3150 + masses[1] / 2650 + masses[2] / 1000
    return sum(masses) / volume, (masses[0] * CEMENT + masses[1] * SAND + masses[2] * WATER) / volume


def test_slab_made_for_the_order(costing: Costing) -> None:
    """Four slabs of 1000 x 500 x 40 at 5 % rejects, by hand: volume, mould, minutes, overhead, price."""
    density, price = grey()
    good, casts, volume = 4, 4 / 0.95, 1.0 * 0.5 * 0.04
    loads = casts / 1  # one mould, so a day and a load for each piece that is cast
    face, arris = 0.5 + 3.0 * 0.04, 3.0 + 4 * 0.04
    board = 0.5 + 2 * (1.036 * 0.058) + 2 * (0.5 * 0.058)
    joint = 3.0 + 4 * 0.04
    minutes_maker = 30 / good + 60 / good + 12 * casts / good + (20 * 0.5 + 6 * arris) / 0.95
    minutes_helper = 10 * board / good + 15 * loads / good + 10 * face + 5
    refit = 6 * (casts - 1) / good
    build = (60 * MAKER + 10 * board * HELPER) / good
    mould = (board * BOARD + joint * JOINT) / good + build + refit * MAKER + casts / good * face * WAX
    hours = (minutes_maker + minutes_helper + refit) / 60
    parts = {
        "concrete_cost": volume * 1.1 * price / 0.95,
        "mould_cost": mould,
        "labour_cost": minutes_maker * MAKER + minutes_helper * HELPER - build,
        "machine_cost": 15 * loads / good / 60 * MIXER,
        "finish_cost": face * 2 / 8 * 22,
        "extras_cost": 0.0,
        "overhead_cost": hours * 10,
    }
    assert costing.line("cast_volume")[0] == pytest.approx(volume, rel=1e-12)
    assert costing.line("mass")[0] == pytest.approx(volume * density, rel=1e-12)
    assert costing.line("loads")[0] == loads
    for name, value in parts.items():
        assert costing.line(name)[0] == pytest.approx(value, rel=1e-12, abs=1e-12), name
    cost = sum(parts.values())
    assert costing.line("unit_cost")[0] == pytest.approx(cost, rel=1e-12)
    assert costing.line("unit_price")[0] == math.ceil(cost / 0.6)
    assert costing.line("labour_hours")[0] == pytest.approx(hours, rel=1e-12)


def test_shelf_made_for_stock(costing: Costing) -> None:
    """Three lipped shelves, made for stock: their wear of a mould is charged, a tenth for each cast."""
    density, price = dark()
    volume = 0.8 * 0.25 * 0.025 + 0.8 * 0.025 * 0.04
    board = (
        0.8 * 0.25  # base, under slab and lip
        + 0.836 * 0.083 + 0.836 * 0.043  # side at the lip, side opposite
        + 2 * 0.25 * 0.083  # ends, before the step is cut
        + 0.8 * 0.04  # shutter
    )
    assert costing.line("cast_volume")[1] == pytest.approx(volume, rel=1e-12)
    assert costing.line("mass")[1] == pytest.approx(volume * density, rel=1e-12)
    assert costing.line("concrete_cost")[1] == pytest.approx(volume * 1.1 * price, rel=1e-12)
    assert costing.line("mould_board")[1] == pytest.approx(board, rel=1e-12)
    assert costing.line("moulds_charged")[1] == pytest.approx(0.3, rel=1e-12)
    assert costing.line("mould_labour_cost")[1] == pytest.approx((60 * MAKER + 10 * board * HELPER) * 0.1, rel=1e-12)
    assert costing.line("extras_cost")[1] == pytest.approx(2 * 3.5, rel=1e-12)
    assert costing.line("loads")[1] == math.ceil(3 * volume * 1.1 * 1000 / 50)


def test_block_at_its_list_price(costing: Costing) -> None:
    """A solid without a mould plan carries no mould, and sells at its list price."""
    density, price = bucket()
    assert costing.line("mould_cost")[2] == 0
    assert costing.line("mass")[2] == pytest.approx(0.008 * density, rel=1e-12)
    assert costing.line("concrete_cost")[2] == pytest.approx(0.008 * 1.1 * price, rel=1e-12)
    assert costing.line("unit_price")[2] == 95


def test_typed_price_stands(costing: Costing) -> None:
    """A price typed in the enquiry stands, whatever the piece costs; this line is longer than the catalogue's."""
    assert costing.line("unit_price")[3] == 180
    assert costing.line("cast_volume")[3] == pytest.approx(1.2 * 0.5 * 0.04)


def test_totals(costing: Costing) -> None:
    """Net, carriage by weight, discount (on the block alone: the price of the slab is typed), the customer's own tax rate, deposit: by
    hand, to the cent."""
    lines = costing.line("line_net")
    mass = costing.line("quantity") * costing.line("mass")
    assert 50 < mass[0] + mass[1] < 500
    assert costing.quote("net")[0] == lines[0] + lines[1] + 45
    assert costing.quote("tax")[0] == round((lines[0] + lines[1] + 45) * 0.2, 2)
    assert costing.quote("discount")[1] == 114.00
    assert costing.quote("net")[1] == 1206.00
    assert costing.quote("tax")[1] == 120.60
    assert costing.quote("payable")[1] == 1326.60
    assert costing.quote("deposit")[1] == 663.30
    assert costing.quote("quote_cost")[0] == pytest.approx(float(costing.line("line_cost")[:2].sum()) + 45, rel=1e-12)


def changed(tmp_path: Path, *changes: tuple[str, str, str, object]) -> Costing:
    """The small workshop with some cells changed, costed."""
    sheets = small_book()
    for sheet, key, column, value in changes:
        set_cell(sheets, sheet, key, column, value)
    return cost_quotes(load_price_book(write_book(tmp_path / "changed.xlsx", sheets)))


def test_a_mix_takes_a_load_for_each_of_its_days(tmp_path: Path) -> None:
    """Two lines of one mix share its loads by volume; there are as many as the slower line has days of casting."""
    costing = changed(tmp_path, ("Products", "Shelf 800", "Mix", "Grey"), ("Workshop", "Mixer load", "Value", 60))
    mixed = costing.line("mixed_volume")
    assert costing.line("rounds").tolist()[:2] == [4 / 0.95, 1.0]
    assert costing.line("loads")[0] == 4 / 0.95
    assert costing.line("loads_of_line")[0] == pytest.approx(costing.line("loads")[0] * mixed[0] / (mixed[0] + mixed[1]))
    assert costing.line("loads_of_line")[0] + costing.line("loads_of_line")[1] == pytest.approx(costing.line("loads")[0])


def test_loads_by_volume(tmp_path: Path) -> None:
    """For who pours several jobs from one load, whole loads of the good pieces; those that fail add their share."""
    sheets = small_book()
    sheets["Workshop"].append(["Mixer loads", "by volume", None])
    costing = cost_quotes(load_price_book(write_book(tmp_path / "volume.xlsx", sheets)))
    assert costing.line("loads")[0] == math.ceil(4 * 0.02 * 1.1 * 1000 / 50) == 2


@pytest.mark.parametrize(("casts", "built"), [(1, 4), (2, 2), (4, 1), (5, 1), (10, 1)])
def test_moulds_for_an_order(tmp_path: Path, casts: int, built: int) -> None:
    """Whole moulds are built for four good pieces; the 4 / 0.95 that are cast on average add their share of the wear, no whole mould."""
    costing = changed(tmp_path, ("Moulds", "Melamine", "Lasts", casts))
    assert costing.line("moulds_built")[0] == built
    assert costing.line("moulds_charged")[0] == pytest.approx(max(built, 4 / 0.95 / casts), rel=1e-12)


@pytest.mark.parametrize(
    ("step", "way", "price"),
    [(1, "up", 116), (1, "nearest", 116), (5, "up", 120), (5, "nearest", 115), (0.5, "up", 116), (None, "up", 115.67)],
)
def test_price_step(tmp_path: Path, step: float | None, way: str, price: float) -> None:
    """The target price of about 115.67 on each step, up and to the nearest; no step is the smallest coin."""
    costing = changed(tmp_path, ("Workshop", "Price step", "Value", step), ("Workshop", "Price rounding", "Value", way))
    assert costing.line("target_price")[0] == pytest.approx(115.67, abs=0.01)
    assert costing.line("unit_price")[0] == price


def test_smallest_order(tmp_path: Path) -> None:
    """An order below the smallest one is charged up to it; one above is not."""
    costing = changed(tmp_path, ("Workshop", "Smallest order", "Value", 800))
    assert costing.quote("small_order_charge").tolist() == [800 - costing.quote("goods_net")[0], 0.0]
    assert costing.quote("net")[0] == 845


def test_overhead_by_the_year(tmp_path: Path) -> None:
    """Without a rate of its own, overhead per hour is a year's overhead over its productive hours."""
    sheets = small_book()
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] != "Overhead per labour hour"]
    sheets["Workshop"] += [["Overhead per year", 24000, None], ["Productive hours per year", 1600, None]]
    costing = cost_quotes(load_price_book(write_book(tmp_path / "year.xlsx", sheets)))
    assert costing.setting("applied_overhead_rate") == 15
    assert costing.line("overhead_cost")[0] == pytest.approx(15 * costing.line("labour_hours")[0])


def dearer_cement() -> dict[str, list[list[object]]]:
    """The small workshop with a second row for cement, at twice the price from June on."""
    sheets = small_book()
    later = [*sheets["Materials"][1]]
    later[4], later[13] = 20, datetime.date(2026, 6, 1)
    sheets["Materials"].append(later)
    return sheets


def test_the_price_in_force_on_the_day(tmp_path: Path) -> None:
    """A later row of a material counts from its day on, and changes nothing before."""
    book = load_price_book(write_book(tmp_path / "dated.xlsx", dearer_cement()))
    before = cost_quotes(book)
    after = cost_quotes(book, day=datetime.date(2026, 6, 1))
    content = before.values.value("mixes", "binder_content")[0]
    assert after.values.value("mixes", "mix_price")[0] - before.values.value("mixes", "mix_price")[0] == pytest.approx(content * 0.4)
    assert cost_quotes(book, day=datetime.date(2026, 5, 31)).line("unit_cost").tolist() == before.line("unit_cost").tolist()


def test_quotes_of_several_days_keep_their_own_prices(tmp_path: Path) -> None:
    """Two quotes of different days in one run are each priced as of their own day."""
    sheets = dearer_cement()
    for row in sheets["Enquiries"][3:]:
        row[1] = datetime.date(2026, 6, 5)
    book = load_price_book(write_book(tmp_path / "days.xlsx", sheets))
    both = cost_quotes(book)
    for quote in ("Q-1", "Q-2"):
        alone = cost_quotes(book, [quote])
        assert both.line("unit_cost")[both.lines_of(quote)].tolist() == alone.line("unit_cost").tolist()


def test_quantity_table(costing: Costing) -> None:
    """At 1, 4, 5, 10 and 25 pieces a piece gets cheaper; at the line's own quantity it is the line itself."""
    table = at_quantities(costing, [1, 4, 5, 10, 25], calculated=True)
    costs = table.line("unit_cost").reshape(4, 5)
    assert costs[0][0] > costs[0][1] > costs[0][3] > costs[0][4]
    assert costs[0][1] == pytest.approx(costing.line("unit_cost")[0], rel=1e-12)
    assert not table.line("price_is_given").any()
    prices = at_quantities(costing, [1, 25]).line("unit_price").reshape(4, 2)
    assert prices[2:].tolist() == [[95, 95], [180, 180]]  # a list price, a typed one


def test_a_list_price_at_the_usual_run(tmp_path: Path) -> None:
    """The list price of the block, 95, stands for its usual run of ten, the calculated price at any other number; a typed one always."""
    sheets = small_book()
    sheets["Workshop"].append(["List price holds", "at the usual run", None])
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets)))
    calculated = costing.line("rounded_price")[2]
    assert costing.line("unit_price").tolist()[2:] == [calculated, 180]  # twelve blocks, and a slab at a typed price
    table = at_quantities(costing, [1, 10, 25])
    block, typed = table.line("unit_price").reshape(4, 3)[2:].tolist()
    own = table.line("rounded_price").reshape(4, 3)[2]
    assert block == [own[0], 95, own[2]]
    assert own[0] > own[2]
    assert typed == [180] * 3


def test_a_list_price_without_a_usual_run(tmp_path: Path) -> None:
    """Where no usual run is stated it is one piece: the list price stands for one."""
    sheets = small_book()
    sheets["Workshop"].append(["List price holds", "at the usual run", None])
    set_cell(sheets, "Products", "Block", "Usual run", None)
    costing = cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets)))
    prices = at_quantities(costing, [1, 2]).line("unit_price").reshape(4, 2)
    assert prices[2][0] == 95
    assert prices[2][1] < 95


def test_costs_add_up_in_the_object_for_programs(costing: Costing) -> None:
    """The seven costs of each line add up to its unit cost, and its cost is quantity times that."""
    result = costing.as_json()
    assert {"currency", "date", "quotes", "problems"} <= set(result)
    for quote in result["quotes"]:
        for line in quote["lines"]:
            assert set(line["costs"]) == {"concrete", "mould", "labour", "machine", "finish", "extras", "overhead"}
            assert sum(line["costs"].values()) == pytest.approx(line["unit_cost"], rel=1e-12)
            assert line["cost"] == pytest.approx(line["quantity"] * line["unit_cost"], rel=1e-12)
            assert line["margin"] == pytest.approx((line["net"] - line["cost"]) / line["net"], rel=1e-12)
        assert quote["margin"] == pytest.approx((quote["net"] - quote["cost"]) / quote["net"], rel=1e-12)
