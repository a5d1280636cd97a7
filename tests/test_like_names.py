"""Things that are called alike are kept apart: in the figures of the engine, and where a spreadsheet looks them up by name."""

from __future__ import annotations

from pathlib import Path

import pytest
from hostile_texts import workshop
from openpyxl.workbook import Workbook
from referee import recalculated_all, stored
from typed_book import Sheets, write_typed

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.problems import BookError
from pricing.reports.margin.workbook import write_margin

#: Longer than what a spreadsheet looks up.
LONG = "L" * 300

#: Two names that a maker may give to two things.
ALIKE: dict[str, tuple[str, str]] = {
    "a wild card": ("Slab *", "Slab 600"), "a wild card of one letter": ("Slab ?", "Slab 6"),
    "the mark before wild cards": ("Slab ~*", "Slab *"),
    "figures": ("1", "01"), "figures and words": ("1E5", "100000"), "a truth": ("TRUE", "1.0"), "an operator": (">5", "6"),
    "an equals sign": ("=6", "6"), "an accent": ("Cafe", "Café"), "a hyphen": ("Co-op", "Coop"), "a dash": ("A-1", "A–1"),
    "an apostrophe": ("'Slab", "Slab"), "long names of other lengths": (LONG, LONG + "b"),
    "long names with other ends": (LONG + "a", LONG + "b"), "a wild card and what stands for it": ("Slab *", "Slab ∗"),
}

def two_of_everything(first: str, second: str) -> Sheets:
    """A workshop with one of everything under each name, of which the second costs far more."""
    sheets = workshop([first, second])
    for name, column, times in (("Materials", 4, 50), ("Trades", 1, 5), ("Machines", 1, 20), ("Delivery", 2, 3)):
        for row in sheets[name]:
            if row[0] == second:
                row[column] *= times
    return sheets


def costed(folder: Path, sheets: Sheets) -> Costing:
    """The quotes of a workshop."""
    folder.mkdir(parents=True, exist_ok=True)
    return cost_quotes(load_price_book(write_typed(folder / "book.xlsx", sheets)))


def figures(costing: Costing) -> list[float]:
    """What the two last quotes cost and come to."""
    return [value for name in ("quote_cost", "carriage", "payable") for value in costing.quote(name).tolist()[-2:]]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """The same workshop with two names that have nothing in common."""
    return costed(tmp_path_factory.mktemp("plain"), two_of_everything("Ash", "Oak"))


@pytest.fixture(scope="module")
def alike(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Costing]:
    """The workshop with each pair of names."""
    folder = tmp_path_factory.mktemp("alike")
    return {called: costed(folder / str(number), two_of_everything(*names)) for number, (called, names) in enumerate(ALIKE.items())}


@pytest.mark.parametrize("called", ALIKE)
def test_things_with_like_names_are_priced_apart(called: str, alike: dict[str, Costing], plain: Costing) -> None:
    """The second of everything costs far more, and the first nothing more, than where the names have nothing in common."""
    assert figures(alike[called]) == figures(plain)
    assert figures(plain)[1] > 2 * figures(plain)[0]


@pytest.fixture(scope="module")
def computed(alike: dict[str, Costing], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Workbook]:
    """The margin workbook of each pair of names, computed afresh."""
    folder = tmp_path_factory.mktemp("margins")
    paths = [folder / f"{number}.xlsx" for number in range(len(alike))]
    for path, costing in zip(paths, alike.values(), strict=True):
        write_margin(costing, path)
    return dict(zip(alike, recalculated_all(paths), strict=True))


@pytest.mark.usefixtures("requires_office")
@pytest.mark.parametrize("called", ALIKE)
def test_things_with_like_names_are_looked_up_apart(
    called: str, computed: dict[str, Workbook], plain: Costing, tmp_path: Path
) -> None:
    """Every figure of the margin workbook is what it is where the names have nothing in common, when a spreadsheet looks them up."""
    write_margin(plain, tmp_path / "plain.xlsx")
    checked = 0
    for name, last in (("Build-up", None), ("Totals", 5 + len(plain.quotes))):  # further tables stand in the order of the names
        for row in stored(tmp_path / "plain.xlsx")[name].iter_rows(max_row=last):
            for cell in row:
                if isinstance(cell.value, int | float):
                    found = computed[called][name][cell.coordinate].value
                    assert found == pytest.approx(cell.value, rel=1e-9, abs=1e-9), (name, cell.coordinate)
                    checked += 1
    assert checked > 300


@pytest.mark.parametrize("name", ["none", "None", "NONE "])
def test_the_word_for_what_is_not_there_names_nothing(name: str, tmp_path: Path) -> None:
    """A thing that is called none is asked for another name, wherever it would be looked up."""
    with pytest.raises(BookError) as refused:
        load_price_book(write_typed(tmp_path / "book.xlsx", two_of_everything(name, "some")))
    sheets = {problem.sheet for problem in refused.value.problems if problem.code == "kept-name"}
    assert sheets == {"Materials", "Mixes", "Trades", "Machines", "Moulds", "Delivery"}
