"""How sure a costing is: percentiles against the distributions they come from, and the same answer for the same seed."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import DAY, set_cell, small_book, write_book

from pricing.book.reading.read import load_price_book
from pricing.costing.analysis.estimates import draw_pert
from pricing.costing.analysis.simulation import SHARES, simulate
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes

Sheets = dict[str, list[list[Any]]]

RANGES: tuple[tuple[str, str, float | str, float | str], ...] = (
    ("Materials", "Cement", 8, 20), ("Materials", "Sealer", 90, 150), ("Labour", "Cast", 8, 30), ("Labour", "Mix", 10, 25),
    ("Products", "Slab 1000", "1 %", "20 %"),
)


def with_ranges(*ranges: tuple[str, str, float | str | None, float | str | None]) -> Sheets:
    """The small workshop with a Low and a High for some rows: sheet, key of the row (or its step), low, high."""
    sheets = small_book()
    for sheet in dict.fromkeys(sheet for sheet, *_ in ranges):
        sheets[sheet][0] += ["Low", "High"]
        for row in sheets[sheet][1:]:
            row += [None, None]
    for sheet, key, low, high in ranges:
        place = 1 if sheet == "Labour" else 0
        row = next(row for row in sheets[sheet][1:] if row[place] == key)
        row[-2:] = [low, high]
    return sheets


def cost(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


def beta_pert(low: float, mode: float, high: float) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Figures, density and cumulative share of the beta-PERT distribution, by summing the density finely."""
    alpha, beta = 1 + 4 * (mode - low) / (high - low), 1 + 4 * (high - mode) / (high - low)
    edges = np.linspace(0, 1, 400_001)
    middle = (edges[1:] + edges[:-1]) / 2
    weight = middle ** (alpha - 1) * (1 - middle) ** (beta - 1)
    share = np.cumsum(weight) / weight.sum()
    return low + (high - low) * middle, weight / weight.sum() * len(middle) / (high - low), share


def triangle_quantile(low: float, mode: float, high: float, share: float) -> tuple[float, float]:
    """The figure below which a share of the triangular distribution lies, and the density there."""
    turn = (mode - low) / (high - low)
    if share < turn:
        figure = low + np.sqrt(share * (high - low) * (mode - low))
        return figure, 2 * (figure - low) / ((high - low) * (mode - low))
    figure = high - np.sqrt((1 - share) * (high - low) * (high - mode))
    return figure, 2 * (high - figure) / ((high - low) * (high - mode))


def cost_of_cement(folder: Path, price: float) -> np.ndarray[Any, Any]:
    sheets = small_book()
    set_cell(sheets, "Materials", "Cement", "Pack price", price)
    return cost(folder, sheets).line("unit_cost")


def test_the_quantiles_here_are_the_published_ones() -> None:
    """The summed density gives 2.90435, 4.38259 and 6.27270 for (2, 4, 9), as the references of the project have them."""
    figures, _, share = beta_pert(2, 4, 9)
    assert [figures[np.searchsorted(share, each)] for each in SHARES] == pytest.approx([2.90435, 4.38259, 6.27270], abs=2e-4)


@pytest.mark.parametrize("form", ["pert", "triangular"])
@pytest.mark.parametrize(("low", "high"), [(9.0, 14.0), (5.0, 22.5), (10.0, 16.0), (4.0, 10.0)])
def test_percentiles_of_one_uncertain_price(form: str, low: float, high: float, tmp_path: Path) -> None:
    """Cost is a straight line in the price of cement, so its percentiles are those of the price, within the error of the draws."""
    costing = cost(tmp_path, with_ranges(("Materials", "Cement", low, high)))
    draws = 20_000
    made = simulate(costing, draws=draws, seed=7, form=form)
    assert [(each.name, each.low, each.likeliest, each.high) for each in made.uncertain] == [("Cement", low, 10, high)]
    at_low, at_high = cost_of_cement(tmp_path, low), cost_of_cement(tmp_path, high)
    slope = (at_high - at_low) / (high - low)
    for place, share in enumerate(SHARES):
        if form == "pert":
            figures, densities, shares = beta_pert(low, 10, high)
            where = np.searchsorted(shares, share)
            figure, density = float(figures[where]), float(densities[where])
        else:
            figure, density = triangle_quantile(low, 10, high, share)
        error = 4.5 * np.sqrt(share * (1 - share) / draws) / density
        assert (np.abs(made.unit_cost[:, place] - (at_low + slope * (figure - low))) <= slope * error + 1e-9).all()


def test_the_chance_of_missing_is_that_of_the_price(tmp_path: Path) -> None:
    """A line misses the lowest margin as often as the price of cement exceeds the one at which it just earns it."""
    sheets = with_ranges(("Materials", "Cement", 5, 40))
    sheets["Enquiries"] = [sheets["Enquiries"][0], ["Q-1", DAY, "Ada Field", "Slab 1000", 4, None, None, 95.0, None]]
    costing = cost(tmp_path, sheets)
    made = simulate(costing, draws=20_000, seed=3)
    sheets = small_book()
    sheets["Enquiries"] = [sheets["Enquiries"][0], ["Q-1", DAY, "Ada Field", "Slab 1000", 4, None, None, 95.0, None]]
    dear = small_book() | {"Enquiries": sheets["Enquiries"]}
    set_cell(dear, "Materials", "Cement", "Pack price", 40)
    base, top = cost(tmp_path, sheets).line("unit_cost")[0], cost(tmp_path, dear).line("unit_cost")[0]
    turning = 10 + (95.0 * 0.75 - base) / (top - base) * 30
    assert 10 < turning < 40
    figures, _, share = beta_pert(5, 10, 40)
    expected = 1 - share[np.searchsorted(figures, turning)]
    assert 0.02 < expected < 0.98
    assert made.chance_below[0] == pytest.approx(expected, abs=4.5 * np.sqrt(expected * (1 - expected) / 20_000))


def test_margins_mirror_costs(tmp_path: Path) -> None:
    """Prices are held: a line's P10 of margin is what its P90 of cost leaves, and the other way round."""
    costing = cost(tmp_path, with_ranges(RANGES[0], RANGES[2], RANGES[4]))
    made = simulate(costing, draws=999)
    net, quantity = costing.line("discounted_net"), costing.line("quantity")
    for margin, price in ((0, 2), (1, 1), (2, 0)):
        assert made.margin[:, margin] == pytest.approx(1 - made.unit_cost[:, price] * quantity / net, abs=1e-12)
    assert (made.unit_cost[:, 0] <= made.unit_cost[:, 2]).all()


def test_every_draw_is_a_costing(tmp_path: Path) -> None:
    """One draw is what the book costs with the drawn figures in it: price, minutes and rejects."""
    ranges = (RANGES[0], RANGES[2], RANGES[4])
    made = simulate(cost(tmp_path, with_ranges(*ranges)), draws=1, seed=11)
    drawn = {each.quantity: float(each.draws(1, 11)[0]) for each in made.uncertain}
    sheets = small_book()
    set_cell(sheets, "Materials", "Cement", "Pack price", drawn["pack_price"])
    next(row for row in sheets["Labour"] if row[1] == "Cast")[3] = drawn["minutes"]
    set_cell(sheets, "Products", "Slab 1000", "Rejects", f"{drawn['rejects'] * 100!r} %")
    there = cost(tmp_path, sheets)
    for place in range(3):
        assert made.unit_cost[:, place] == pytest.approx(there.line("unit_cost"), rel=1e-9)


def test_all_together(tmp_path: Path) -> None:
    """Lines that hang on one uncertain figure move together: the whole is then as uncertain as the sum of its lines."""
    costing = cost(tmp_path, with_ranges(("Materials", "Cement", 5, 30)))
    made = simulate(costing, draws=5_000)
    carriage = costing.quote("carriage").sum()
    assert made.whole_cost == pytest.approx(costing.line("quantity") @ made.unit_cost + carriage, rel=1e-12)
    net = costing.quote("net").sum()
    assert made.whole_margin == pytest.approx((net - made.whole_cost[::-1]) / net, abs=1e-12)


def test_the_same_seed_gives_the_same_result(tmp_path: Path) -> None:
    """Twice the same seed, twice the same figures; another seed, others."""
    costing = cost(tmp_path, with_ranges(*RANGES))
    first, again, other = (simulate(costing, draws=500, seed=seed) for seed in (5, 5, 6))
    for name in ("unit_cost", "margin", "chance_below", "whole_cost", "whole_margin"):
        assert np.array_equal(getattr(first, name), getattr(again, name))
    assert not np.array_equal(first.unit_cost, other.unit_cost)


@pytest.mark.parametrize("at_once", [1, 7, 64, 5000])
def test_the_result_does_not_depend_on_the_slices(at_once: int, tmp_path: Path) -> None:
    """However many draws are worked out together, every figure is the same to the last bit."""
    costing = cost(tmp_path, with_ranges(*RANGES))
    whole, sliced = simulate(costing, draws=700), simulate(costing, draws=700, at_once=at_once)
    for name in ("unit_cost", "margin", "chance_below", "whole_cost", "whole_margin"):
        assert np.array_equal(getattr(whole, name), getattr(sliced, name)), name


def test_a_figure_is_drawn_alike_whatever_else_is_uncertain(tmp_path: Path) -> None:
    """A second uncertain figure does not change the draws of the first, so that two books can be compared."""
    one = simulate(cost(tmp_path, with_ranges(RANGES[0])), draws=50)
    two = simulate(cost(tmp_path, with_ranges(*RANGES[:2])), draws=50)
    assert np.array_equal(one.uncertain[0].draws(50, 1), two.uncertain[0].draws(50, 1))
    assert not np.array_equal(two.uncertain[0].draws(50, 1), two.uncertain[1].draws(50, 1))


def test_nothing_uncertain_is_said(tmp_path: Path) -> None:
    """A book without Low and High gives its own figures back, and says that nothing is uncertain."""
    costing = cost(tmp_path, small_book())
    made = simulate(costing)
    assert made.uncertain == ()
    assert made.sentence.startswith("Nothing uncertain is given")
    for place in range(3):
        assert np.array_equal(made.unit_cost[:, place], costing.line("unit_cost"))
        assert made.margin[:, place] == pytest.approx(costing.line("discounted_margin"), abs=1e-15)
    assert np.array_equal(made.chance_below, costing.line("below_lowest"))


@pytest.mark.parametrize(
    ("sheet", "key", "low", "high", "code", "words"),
    [
        ("Materials", "Cement", 8, None, "half-a-range", ("Cement", "Low is given", "fill in High")),
        ("Labour", "Cast", None, 30, "half-a-range", ("High is given", "fill in Low")),
        ("Materials", "Cement", 11, 20, "range-misses", ("pack price is 10", "11", "20", "correct one")),
        ("Products", "Slab 1000", "1 %", "2 %", "range-misses", ("rejects", "0.05")),
        ("Labour", "Cast", 30, 8, "range-misses", ("time of the step is 12",)),
    ],
)
def test_bounds_that_do_not_hold_together(
    sheet: str, key: str, low: Any, high: Any, code: str, words: tuple[str, ...], tmp_path: Path
) -> None:
    """Bounds that are half given, or that miss the figure between them, are reported at their cell and not guessed at."""
    made = simulate(cost(tmp_path, with_ranges((sheet, key, low, high))), draws=10)
    assert made.uncertain == ()
    (problem,) = made.problems
    assert (problem.code, problem.sheet, problem.warning) == (code, sheet, True)
    assert problem.cell
    for word in words:
        assert word in problem.message


def test_bounds_alike_are_certain(tmp_path: Path) -> None:
    """A Low and a High that are both the figure itself leave nothing to draw."""
    made = simulate(cost(tmp_path, with_ranges(("Materials", "Cement", 10, 10))), draws=10)
    assert made.uncertain == ()
    assert not made.problems


@pytest.mark.parametrize(
    ("options", "words"),
    [({"draws": 0}, "tell nothing"), ({"form": "normal"}, "no form"), ({"seed": -1}, "no seed")],
)
def test_what_cannot_be_drawn_is_refused(options: dict[str, Any], words: str, tmp_path: Path) -> None:
    """No draws, an unknown form, a seed below zero: a sentence each."""
    with pytest.raises(ValueError, match=words):
        simulate(cost(tmp_path, with_ranges(RANGES[0])), **options)


def test_draws_are_those_of_the_estimates(tmp_path: Path) -> None:
    """The draws lie between low and high and have the mean of the three-point estimate."""
    (figure,) = simulate(cost(tmp_path, with_ranges(RANGES[0])), draws=1).uncertain
    drawn = figure.draws(20_000, 1)
    assert figure.low <= drawn.min() <= drawn.max() <= figure.high
    assert drawn.mean() == pytest.approx((8 + 4 * 10 + 20) / 6, abs=4.5 * drawn.std() / np.sqrt(20_000))
    assert drawn.std() == pytest.approx(draw_pert(8, 10, 20, 20_000, 99).std(), rel=0.03)


def large_book() -> Sheets:
    """A thousand lines of three hundred products with fourteen steps each, everything in it uncertain."""
    generator = np.random.default_rng(1)
    sheets = small_book()
    for sheet in ("Materials", "Labour", "Products"):
        sheets[sheet][0] += ["Low", "High"]
    for row in sheets["Materials"][1:]:
        row += [row[4] * 0.9, row[4] * 1.3]
    words = ("order", "mould", "m2 mould", "batch", "cast", "m2 open side", "m arris", "m2 face", "piece", "m2 underside")
    sheets["Labour"] = sheets["Labour"][:1] + [
        [f"Plan {plan}", f"Step {step}", ("Maker", "Helper")[step % 2], 8.0, words[step % 10], "Mixer" if step == 3 else None, None,
         ("yes", "no")[step % 2], 5.0, 15.0]
        for plan in range(20) for step in range(14)
    ]
    sheets["Products"] = sheets["Products"][:1] + [
        [f"Slab {number}", "", "slab", int(generator.integers(300, 1500)), 400, 40, None, None, None,
         ("Grey", "Dark", "Bucket")[number % 3], "Melamine", f"Plan {number % 20}", "Sealed", "4 %",
         ("order", "stock")[number % 2], 4, None, "2 %", "8 %"]
        for number in range(300)
    ]
    sheets["Extras"] = sheets["Extras"][:1]
    sheets["Enquiries"] = sheets["Enquiries"][:1] + [
        [f"Q-{line // 4}", DAY, "Brook House", f"Slab {line % 300}", int(generator.integers(1, 20)), None, None, None, None]
        for line in range(1000)
    ]
    return sheets


@pytest.mark.slow
def test_ten_thousand_draws_of_a_thousand_lines(tmp_path: Path) -> None:
    """Ten thousand draws over a book of a thousand lines take seconds, not minutes, and stay within 600 MB."""
    import tracemalloc

    costing = cost(tmp_path, large_book())
    start = time.process_time()
    made = simulate(costing, draws=10_000)
    taken = time.process_time() - start
    assert len(made.unit_cost) == 1000
    assert len(made.uncertain) > 500
    tracemalloc.start()
    simulate(costing, draws=10_000)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert taken < 40
    assert peak < 600e6
