"""Things that are called alike are kept apart: in the figures of the engine, and where a spreadsheet looks them up by name."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest
from hostile_texts import workshop
from referee import recalculated_all, stored
from typed_book import Sheets, write_typed

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.problems import BookError
from pricing.reports.margin.workbook import write_margin

#: Longer than what a spreadsheet looks up.
LONG = "L" * 300

#: Two names that a maker may give to two things; no name stands in two pairs.
ALIKE: dict[str, tuple[str, str]] = {
    "a wild card": ("Slab *", "Slab 600"), "a wild card of one letter": ("Slab ?", "Slab 6"),
    "the mark before wild cards": ("Sill ~*", "Sill *"),
    "figures": ("1", "01"), "figures and words": ("1E5", "100000"), "a truth": ("TRUE", "1.0"), "an operator": (">5", "5"),
    "an equals sign": ("=6", "6"), "an accent": ("Cafe", "Café"), "a hyphen": ("Co-op", "Coop"), "a dash": ("A-1", "A–1"),
    "an apostrophe": ("'Step", "Step"), "long names of other lengths": (LONG, LONG + "b"),
    "long names with other ends": (LONG + "a", LONG + "c"), "a wild card and what stands for it": ("Tread *", "Tread ∗"),
}

#: As many pairs of names that have nothing in common.
PLAIN = {called: (f"Ash{place}x", f"Oak{place}y") for place, called in enumerate(ALIKE)}


def two_of_everything(pairs: Iterable[tuple[str, str]]) -> Sheets:
    """A workshop with one of everything under each name, of which the second of each pair costs far more."""
    pairs = list(pairs)
    sheets = workshop([name for pair in pairs for name in pair])
    dear = {second for _, second in pairs}
    for name, column, times in (("Materials", 4, 50), ("Trades", 1, 5), ("Machines", 1, 20), ("Delivery", 2, 3)):
        for row in sheets[name]:
            if row[0] in dear:
                row[column] *= times
    return sheets


def costed(folder: Path, names: dict[str, tuple[str, str]]) -> Costing:
    """The quotes of a workshop with two of everything under each pair of names."""
    return cost_quotes(load_price_book(write_typed(folder / "book.xlsx", two_of_everything(names.values()))))


def figures(costing: Costing, called: str) -> list[float]:
    """What the two quotes of a pair cost and come to."""
    first = len(costing.quotes) - 2 * len(ALIKE) + 2 * list(ALIKE).index(called)
    return [value for name in ("quote_cost", "carriage", "payable") for value in costing.quote(name).tolist()[first : first + 2]]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """The same workshop with names that have nothing in common."""
    return costed(tmp_path_factory.mktemp("plain"), PLAIN)


@pytest.fixture(scope="module")
def alike(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """The workshop with every pair of names."""
    return costed(tmp_path_factory.mktemp("alike"), ALIKE)


def test_no_name_stands_in_two_pairs() -> None:
    """All pairs stand in one book, in which each name is one thing."""
    assert len({name for pair in ALIKE.values() for name in pair}) == 2 * len(ALIKE)


@pytest.mark.parametrize("called", ALIKE)
def test_things_with_like_names_are_priced_apart(called: str, alike: Costing, plain: Costing) -> None:
    """The second of everything costs far more, and the first nothing more, than where the names have nothing in common."""
    assert figures(alike, called) == figures(plain, called)
    assert figures(plain, called)[1] > 2 * figures(plain, called)[0]


@pytest.mark.usefixtures("requires_office")
def test_things_with_like_names_are_looked_up_apart(alike: Costing, plain: Costing, tmp_path: Path) -> None:
    """Every figure of the margin workbook is what it is where the names have nothing in common, when a spreadsheet looks them up."""
    write_margin(plain, tmp_path / "plain.xlsx")
    write_margin(alike, tmp_path / "alike.xlsx")
    [computed] = recalculated_all([tmp_path / "alike.xlsx"])
    kept, checked, wrong = stored(tmp_path / "plain.xlsx"), 0, []
    for name, last in (("Build-up", None), ("Totals", 5 + len(plain.quotes))):  # further tables stand in the order of the names
        for row in kept[name].iter_rows(max_row=last):
            for cell in row:
                if isinstance(cell.value, int | float):
                    found = computed[name][cell.coordinate].value
                    checked += 1
                    if found != pytest.approx(cell.value, rel=1e-9, abs=1e-9):
                        wrong.append((name, cell.coordinate, computed[name].cell(cell.row, 1).value, cell.value, found))
    assert wrong == []
    assert checked > 300 * len(ALIKE) // 2


@pytest.mark.parametrize("name", ["none", "None", "NONE "])
def test_the_word_for_what_is_not_there_names_nothing(name: str, tmp_path: Path) -> None:
    """A thing that is called none is asked for another name, wherever it would be looked up."""
    with pytest.raises(BookError) as refused:
        load_price_book(write_typed(tmp_path / "book.xlsx", two_of_everything([(name, "some")])))
    sheets = {problem.sheet for problem in refused.value.problems if problem.code == "kept-name"}
    assert sheets == {"Materials", "Mixes", "Trades", "Machines", "Moulds", "Delivery"}
