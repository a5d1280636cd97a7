"""What the margin hangs on, against the book costed again with one input changed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import set_cell, small_book, write_book

from pricing.book.reading.read import load_price_book
from pricing.costing.analysis.sensitivity import Sensitivity, sensitivity
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes

Sheets = dict[str, list[list[Any]]]


def base_book() -> Sheets:
    """The small workshop with runs that a tenth can be taken from, and a colour that is sold on as well as mixed in."""
    sheets = small_book()
    for row, quantity in zip(sheets["Enquiries"][1:], (20, 10, 30, 10), strict=True):
        row[4] = quantity
    sheets["Extras"].append(["Slab 1000", "Black", 0.1, "piece"])
    sheets["Delivery"].append(["Near", 5000, 90])
    return sheets


def cost(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


def held(costing: Costing, sheets: Sheets) -> Sheets:
    """The same book with today's unit prices and discounts typed into its enquiries."""
    sheets["Enquiries"][0].append("Discount")
    terms = zip(costing.line("unit_price").tolist(), costing.line("discount_rate").tolist(), strict=True)
    for row, (price, discount) in zip(sheets["Enquiries"][1:], terms, strict=True):
        row[7] = price
        row.append(f"{discount:.0%}")
    return sheets


def times(sheet: str, key: str, column: str) -> Callable[[Sheets, float], None]:
    """Multiply one cell; a share written in per cent stays one."""

    def change(sheets: Sheets, factor: float) -> None:
        headings = [str(heading).partition(" (")[0] for heading in sheets[sheet][0]]
        row = next(row for row in sheets[sheet][1:] if row[0] == key)
        now = row[headings.index(column)]
        new = f"{float(now[:-2]) * factor:.12g} %" if isinstance(now, str) else now * factor
        set_cell(sheets, sheet, key, column, new)

    return change


def every(sheet: str, column: str) -> Callable[[Sheets, float], None]:
    """Multiply a column, row by row."""

    def change(sheets: Sheets, factor: float) -> None:
        place = [str(heading).partition(" (")[0] for heading in sheets[sheet][0]].index(column)
        for row in sheets[sheet][1:]:
            now = row[place]
            row[place] = f"{float(now[:-2]) * factor:.12g} %" if isinstance(now, str) else now * factor

    return change


CASES = {
    "Cement": times("Materials", "Cement", "Pack price"),
    "Black": times("Materials", "Black", "Pack price"),
    "Melamine": times("Materials", "Melamine", "Pack price"),
    "Silicone": times("Materials", "Silicone", "Pack price"),
    "Screws": times("Materials", "Screws", "Pack price"),
    "Tape": times("Materials", "Tape", "Pack price"),
    "Wax": times("Materials", "Wax", "Pack price"),
    "Sealer": times("Materials", "Sealer", "Pack price"),
    "Brackets": times("Materials", "Brackets", "Pack price"),
    "Maker": times("Trades", "Maker", "Hourly cost"),
    "Helper": times("Trades", "Helper", "Hourly cost"),
    "Overhead rate": times("Workshop", "Overhead per labour hour", "Value"),
    "Electricity price": times("Workshop", "Electricity price", "Value"),
    "Mix allowance": times("Workshop", "Mix allowance", "Value"),
    "Rejects": every("Products", "Rejects"),
    "Casts of a mould": times("Moulds", "Melamine", "Lasts"),
    "Run length": every("Enquiries", "Quantity"),
}


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> tuple[Costing, Sensitivity]:
    costing = cost(tmp_path_factory.mktemp("base"), base_book())
    return costing, sensitivity(costing)


def whole(costing: Costing) -> tuple[float, float]:
    """Cost and margin of all quotes together."""
    net, spent = costing.quote("net").sum(), costing.quote("quote_cost").sum()
    return float(spent), float((net - spent) / net)


@pytest.mark.parametrize("name", CASES)
def test_every_effect_is_that_of_a_changed_book(name: str, found: tuple[Costing, Sensitivity], tmp_path: Path) -> None:
    """A tenth less and a tenth more of an input do what the same change in the price book does, prices held and the moulds chosen anew;
    where that is another number of them, it is named."""
    base, result = found
    place = result.of(name)
    for side, factor in enumerate((0.9, 1.1)):
        sheets = base_book()
        CASES[name](sheets, factor)
        fixed = cost(tmp_path, held(base, sheets))
        now, then = (each.line("moulds_at_once") for each in (base, fixed))
        side_said = f"10 % {('less', 'more')[side]}: "
        assert (side_said in result.moulds[place]) == bool((now != then).any())
        assert all(f"{now[line]:.0f} → {then[line]:.0f} moulds" in result.moulds[place] for line in np.flatnonzero(now != then)[:2])
        assert result.unit_cost[place, side] == pytest.approx(fixed.line("unit_cost") - base.line("unit_cost"), abs=1e-11)
        change = fixed.line("discounted_margin") - base.line("discounted_margin")
        assert result.margin[place, side] == pytest.approx(change, abs=1e-12)
        spent, earned = whole(fixed)
        assert result.whole_cost[place, side] == pytest.approx(spent - whole(base)[0], abs=1e-9)
        assert result.whole_margin[place, side] == pytest.approx(earned - whole(base)[1], abs=1e-12)


def test_all_inputs_are_tried(found: tuple[Costing, Sensitivity]) -> None:
    """Every material in use, every wage and every rate is there, and nothing else."""
    names = {each.name for each in found[1].inputs}
    assert names == set(CASES) | {"Sand", "Water", "Flow"}


@pytest.mark.parametrize("share", [0.02, 0.2, 0.5])
def test_proportional_inputs_are_proportional(share: float, found: tuple[Costing, Sensitivity]) -> None:
    """What is said to act in proportion does: up mirrors down, and the effect grows with the share."""
    costing, tenth = found
    other = sensitivity(costing, share)
    linear = [each for each in other.inputs if each.linear]
    wages = {"Maker", "Overhead rate"} if share < 0.5 else set()  # half of a wage leads to another number of moulds, in a step
    assert {"Cement", "Electricity price", *wages} <= {each.name for each in linear}
    for each in linear:
        there, here = other.whole_cost[other.of(each.name)], tenth.whole_cost[tenth.of(each.name)]
        assert there == pytest.approx(here * share / 0.1, rel=1e-9)
        assert there[0] == pytest.approx(-there[1], rel=1e-9)


def test_the_most_telling_input_stands_first(found: tuple[Costing, Sensitivity]) -> None:
    """The ranking falls from the first to the last."""
    result = found[1]
    swing = np.abs(result.whole_margin).max(axis=1)
    assert (np.diff(swing) <= 0).all()


def test_all_dated_prices_of_a_material_move_together(tmp_path: Path) -> None:
    """Where quotes of two days use two prices of one material, moving the material moves both."""
    import datetime

    sheets = base_book()
    dearer = next(row for row in sheets["Materials"] if row[0] == "Cement").copy()
    dearer[4], dearer[13] = 14, datetime.date(2026, 3, 10)
    sheets["Materials"].append(dearer)
    for row in sheets["Enquiries"][3:]:
        row[1] = datetime.date(2026, 3, 12)
    base = cost(tmp_path, sheets)
    result = sensitivity(base)
    for row in sheets["Materials"]:
        if row[0] == "Cement":
            row[4] *= 1.1
    changed = cost(tmp_path, held(base, sheets))
    place = result.of("Cement")
    assert np.isnan(result.inputs[place].now)
    assert result.unit_cost[place, 1] == pytest.approx(changed.line("unit_cost") - base.line("unit_cost"), abs=1e-11)
    assert (result.unit_cost[place, 1] > 0).all()


def test_short_runs_stay_whole(tmp_path: Path) -> None:
    """A run of four and a mould that survives four casts are not moved by a tenth: there is no fraction of a piece."""
    sheets = small_book()
    for row in sheets["Enquiries"][1:]:
        row[4] = 4
    set_cell(sheets, "Moulds", "Melamine", "Lasts", 4)
    result = sensitivity(cost(tmp_path, sheets))
    for name in ("Run length", "Casts of a mould"):
        assert not result.unit_cost[result.of(name)].any()
    assert result.unit_cost[result.of("Maker")].any()


def test_a_heavier_delivery_keeps_its_carriage(tmp_path: Path) -> None:
    """Where a tenth more pieces would weigh more than any band holds, the effect is still a figure."""
    sheets = base_book()
    mass = cost(tmp_path, sheets).quote("quote_mass")[0]
    sheets["Delivery"] = [sheets["Delivery"][0], ["Near", float(mass) + 1, 45]]
    result = sensitivity(cost(tmp_path, sheets))
    assert np.isfinite(result.whole_margin).all()


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, float("nan")])
def test_a_share_that_cannot_be_taken_is_refused(share: float, found: tuple[Costing, Sensitivity]) -> None:
    """Nothing can be moved down by all of it."""
    with pytest.raises(ValueError, match="between 0 and 1"):
        sensitivity(found[0], share)
