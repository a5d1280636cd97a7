"""What changed between two states of a price book, and what each change does to costs and prices."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from books import set_cell, small_book, write_book
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.costing.comparison.compare import MAKE_UP, Comparison, cost_of_lines, cost_of_quotes, net_of_quotes, price_of_lines
from pricing.costing.comparison.what_if import with_changes
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_catalogue, cost_quotes

Sheets = dict[str, list[list[Any]]]
DAY = datetime.date(2026, 3, 2)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for the module's books."""
    return tmp_path_factory.mktemp("compare")


@pytest.fixture(scope="module")
def small(folder: Path) -> PriceBook:
    """The small workshop."""
    return load_price_book(write_book(folder / "small.xlsx", small_book()))


def listed(book: PriceBook) -> Costing:
    """The catalogue: Slab 1000, Shelf 800, Block."""
    return cost_catalogue(book, DAY)


def edited(folder: Path, edit: Callable[[Sheets], None]) -> PriceBook:
    """The small workshop after an edit."""
    sheets = small_book()
    edit(sheets)
    return load_price_book(write_book(folder / "edited.xlsx", sheets))


def test_a_dearer_cement_by_hand(small: PriceBook) -> None:
    """Cement from 10 to 11.20 a bag moves each piece by its own kilograms of cement, and nothing else moves."""
    comparison = Comparison(listed(small).model, listed(with_changes(small, ["Cement=11.20"])).model)
    assert [(cause.kind, cause.name) for cause in comparison.causes] == [("material", "Cement")]
    assert [(c.quantity, c.old, c.new, c.place) for c in comparison.causes[0].cells] == [("pack_price", 10.0, 11.2, "Materials!E2")]
    grey = 0.98 / (1 / 3150 + 2 / 2650 + 0.4 / 1000)
    bucket = 1500 / (1500 / 3150 + 3200 / 2650 + 600 / 1000)
    per_kilogram = 1.20 / 25
    expected = [0.02 * 1.1 * grey / 0.95 * per_kilogram, None, 0.008 * 1.1 * bucket * per_kilogram]
    split = comparison.split({"cost": cost_of_lines})["cost"]
    for line, part in enumerate(expected):
        if part is not None:
            assert split.parts[0, line] == pytest.approx(part, rel=1e-12)
    shelf_volume = listed(small).line("cast_volume")[1]
    assert split.parts[0, 1] == pytest.approx(shelf_volume * 1.1 * 500 * per_kilogram, rel=1e-12)


def test_two_changes_that_meet_share_what_they_do_together(small: PriceBook) -> None:
    """Cement dearer and more mixed, within the same mixer loads: each gets its own effect at the average of the other."""
    new = with_changes(small, ["Cement=11.20", "Mix allowance=12 %"])
    comparison = Comparison(listed(small).model, listed(new).model)
    assert [cause.name for cause in comparison.causes] == ["Cement", "Mix allowance"]
    parts = comparison.split({"cost": cost_of_lines})["cost"].parts
    grey = 0.98 / (1 / 3150 + 2 / 2650 + 0.4 / 1000)
    cement, rest = grey / 25, grey * (2 * 0.1 + 0.4 * 0.002)
    good = 0.02 / 0.95
    assert parts[0, 0] == pytest.approx(good * 1.11 * cement * 1.2, rel=1e-12)
    assert parts[1, 0] == pytest.approx(good * 0.02 * (cement * 10.6 + rest), rel=1e-12)


def test_what_a_piece_does_not_use_has_exactly_no_part(small: PriceBook) -> None:
    """Dearer brackets are for the shelf alone; the slab and the block get zero, to the last bit."""
    parts = Comparison(listed(small).model, listed(with_changes(small, ["Brackets=+10%", "Sand=+5%"])).model).split({"cost": cost_of_lines})
    assert parts["cost"].parts[0].tolist() == [0.0, pytest.approx(0.7, rel=1e-12), 0.0]
    assert (parts["cost"].parts[1] > 0).all()


def test_a_book_compared_with_itself_has_no_causes(small: PriceBook) -> None:
    """Nothing changed, nothing moved."""
    comparison = Comparison(listed(small).model, listed(small).model)
    assert comparison.causes == ()
    split = comparison.split({"cost": cost_of_lines})["cost"]
    assert (split.new - split.old).tolist() == [0.0, 0.0, 0.0]


def test_rows_in_another_order_are_no_change(small: PriceBook, folder: Path) -> None:
    """A maker who sorts the sheets has changed nothing."""

    def sort(sheets: Sheets) -> None:
        for name in ("Materials", "Labour", "Finishes", "Customers"):
            sheets[name][1:] = sheets[name][:0:-1]

    comparison = Comparison(listed(small).model, listed(edited(folder, sort)).model)
    assert comparison.causes == ()


def test_a_new_step_is_a_cause_of_its_own(small: PriceBook, folder: Path) -> None:
    """A step that is added costs its minutes; a price that changes as well keeps its own part."""

    def edit(sheets: Sheets) -> None:
        sheets["Labour"].append(["Plain", "Wash", "Helper", 3, "piece", None, None, "no"])
        set_cell(sheets, "Materials", "Brackets", "Pack price", 45)

    comparison = Comparison(listed(small).model, listed(edited(folder, edit)).model)
    assert [cause.name for cause in comparison.causes] == ["Brackets", MAKE_UP]
    assert comparison.causes[1].remarks == ["step: Plain, Wash, Helper, piece, new"]
    split = comparison.split({"cost": cost_of_lines})["cost"]
    assert split.parts[1] == pytest.approx([3 / 60 * (18 + 10)] * 3, rel=1e-9)
    assert split.parts[0].tolist() == [0.0, pytest.approx(2.0, rel=1e-12), 0.0]
    assert split.new == pytest.approx(listed(edited(folder, edit)).line("unit_cost").tolist(), rel=1e-12)


@pytest.mark.parametrize(
    ("edit", "named"),
    [
        (lambda s: set_cell(s, "Trades", "Maker", "Hourly cost", 25), ("wage", "Maker")),
        (lambda s: set_cell(s, "Machines", "Mixer", "Price", 2600), ("machine", "Mixer")),
        (lambda s: set_cell(s, "Workshop", "Overhead per labour hour", "Value", 12), ("setting", "Overhead")),
        (lambda s: set_cell(s, "Mixes", "Grey", "Amount", 1.1), ("recipe", "Grey")),
        (lambda s: s["Labour"][1].__setitem__(3, 40), ("labour plan", "Plain")),
        (lambda s: set_cell(s, "Moulds", "Melamine", "Lasts", 8), ("mould plan", "Melamine")),
        (lambda s: set_cell(s, "Finishes", "Sealed", "Coats", 3), ("finish", "Sealed")),
        (lambda s: set_cell(s, "Products", "Slab 1000", "Thickness", 45), ("piece", "Sizes")),
        (lambda s: set_cell(s, "Products", "Slab 1000", "Rejects", "8 %"), ("piece", "Rejects")),
        (lambda s: set_cell(s, "Products", "Block", "List price", 99), ("piece", "List and typed prices")),
        (lambda s: set_cell(s, "Extras", "Shelf 800", "Amount", 3), ("piece", "What is bought in")),
    ],
    ids=["wage", "machine", "overhead", "recipe", "minutes", "casts", "coats", "thickness", "rejects", "list price", "bought in"],
)
def test_causes_are_called_what_the_maker_calls_them(
    edit: Callable[[Sheets], None], named: tuple[str, str], small: PriceBook, folder: Path
) -> None:
    """Each kind of cell of the price book becomes the cause that a maker would name, and its part is the whole change."""
    new = listed(edited(folder, edit))
    comparison = Comparison(listed(small).model, new.model)
    assert [(cause.kind, cause.name) for cause in comparison.causes] == [named]
    split = comparison.split({"price": price_of_lines, "cost": cost_of_lines})
    for figure in split.values():
        assert figure.parts[0].tolist() == (figure.new - figure.old).tolist()
    assert any((figure.new != figure.old).any() for figure in split.values())


CHANGES = [
    "Cement=+12%", "Sand=-8%", "Melamine=+20%", "Maker=+4%", "Helper=+6%", "Mixer=+10%", "Electricity price=+30%",
    "Mix allowance=16 %", "Overhead per labour hour=11", "Target margin=45 %", "Block=101", "Hill Merchants=+1%",
]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(chosen=st.lists(st.sampled_from(CHANGES), unique=True, min_size=1))
def test_the_parts_always_add_up(chosen: list[str], small: PriceBook) -> None:
    """Whatever changes together: costs and prices of lines and quotes move by the sum of the parts, to 1e-12."""
    new = with_changes(small, chosen)
    for old_costing, new_costing in ((listed(small), listed(new)), (cost_quotes(small), cost_quotes(new))):
        comparison = Comparison(old_costing.model, new_costing.model)
        found = comparison.split({
            "cost": cost_of_lines, "price": price_of_lines, "quote cost": cost_of_quotes, "net": net_of_quotes,
        })
        for split in found.values():
            assert split.parts.sum(axis=0) == pytest.approx((split.new - split.old).tolist(), abs=1e-12 * float(np.abs(split.new).max()))
        assert found["cost"].new == pytest.approx(new_costing.line("unit_cost").tolist(), rel=1e-12)
        assert found["quote cost"].new == pytest.approx(new_costing.quote("quote_cost").tolist(), rel=1e-12)


def test_the_net_before_rounding_is_near_the_net(small: PriceBook) -> None:
    """What the net is split by differs from the promised net by roundings alone: less than a price step a piece."""
    costing = cost_quotes(small)
    pieces = [sum(costing.lines.quantity[costing.lines_of(quote)]) for quote in costing.quotes]
    apart = costing.quote("net") - net_of_quotes(costing.values)
    assert (np.abs(apart) <= np.array(pieces) * costing.setting("price_step")).all()
