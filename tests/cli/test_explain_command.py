"""``pricing explain``: the tree of a figure on the terminal, and the sentences where there is none."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

import pytest
from books import small_book, write_book
from click.testing import CliRunner, Result

from pricing.api import price_quotes
from pricing.cli import main


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_book(tmp_path_factory.mktemp("explain") / "small.xlsx", small_book())


@pytest.fixture(autouse=True)
def screen(monkeypatch: pytest.MonkeyPatch) -> None:
    """A screen of a size of its own, whatever the tests themselves run in."""
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("LINES", "40")


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["explain", *map(str, arguments)])


def test_the_tree_goes_from_the_price_to_the_cells(book: Path) -> None:
    """The price first; each figure with its value and unit, its formula in words and with figures; inputs with their cells."""
    result = run(book, "--quote", "Q-1", "--line", 1, "--depth", 99)
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0].startswith("Unit price (Slab 1000)")
    costing = price_quotes(book).costing
    assert costing is not None
    assert lines[0].endswith(f"{costing.line('unit_price')[0]:.2f} EUR")
    assert "= unit cost ÷ (1 − wanted margin)" in result.stdout
    assert "= volume × (1 + mix allowance) × price of a m³" in result.stdout
    assert "= 0.02000 m³ × (1 + 10 %) × 399.94" in result.stdout
    cells = [line.split()[-1] for line in lines]
    assert {"Materials!E2", "Workshop!B6", "Products!D2", "Labour!D2", "Enquiries!E2"} <= set(cells)


def test_a_line_is_the_first_unless_it_is_named(book: Path) -> None:
    """Without --line the first line is explained; the second is another tree."""
    assert run(book, "--quote", "Q-1").stdout == run(book, "--quote", "q-1", "--line", "1").stdout
    assert run(book, "--quote", "Q-1", "--line", 2).stdout.startswith("Unit price (Shelf 800)")


@pytest.mark.parametrize(("figure", "first"), [
    ("concrete", "Concrete (Slab 1000)"), ("Payable", "Payable (quote Q-1)"), ("margin", "Margin of the quote (quote Q-1)"),
])
def test_other_figures_can_be_explained(book: Path, figure: str, first: str) -> None:
    """By name, by label, or by the name in the JSON object."""
    assert run(book, "--quote", "Q-1", "--figure", figure).stdout.startswith(first)


def test_a_price_that_was_typed_or_listed_goes_on_to_what_the_piece_costs(book: Path) -> None:
    """A price of one cell has no tree of its own: what the price would be follows at once, and with it the cost; other figures stop."""
    for line, cell in ((1, "Products!Q4"), (2, "Enquiries!H5")):
        told = run(book, "--quote", "Q-2", "--line", line).stdout.splitlines()
        assert told[0].endswith(cell)
        assert told[1].startswith("This price stands in the price book. What the piece costs")
        assert any("Unit cost" in each for each in told)
        assert told[2:] == run(book, "--quote", "Q-2", "--line", line, "--figure", "rounded_price").stdout.splitlines() or len(told) < 45
        tree = json.loads(run(book, "--quote", "Q-2", "--line", line, "--json").stdout)
        assert tree["otherwise"]["figure"] == "rounded_price"
    assert len(run(book, "--quote", "Q-2", "--figure", "quantity").stdout.splitlines()) == 1


def test_a_tree_fits_a_screen_and_says_how_to_open_it(book: Path) -> None:
    """Without --depth no more rows than a screen has; what is folded is named, and each remedy that is offered opens more."""
    told = run(book, "--quote", "Q-1", "--line", 1).stdout
    assert 5 < len(told.splitlines()) <= 40
    last = " ".join(told[told.index("Folded here"):].split())
    assert "Concrete" in last
    whole = run(book, "--quote", "Q-1", "--line", 1, "--depth", 99).stdout
    assert "Folded here" not in whole
    assert len(whole.splitlines()) > len(told.splitlines())
    deeper = last.split("--depth ")[1].split(";")[0]
    assert len(run(book, "--quote", "Q-1", "--line", 1, "--depth", deeper).stdout.splitlines()) > 40
    figure = last.split("--figure ")[1].split(";")[0]
    assert run(book, "--quote", "Q-1", "--line", 1, "--figure", figure).exit_code == 0


def test_depth_ends_the_tree(book: Path) -> None:
    """Depth 0 is the figure alone, depth 1 its parts."""
    assert len(run(book, "--quote", "Q-1", "--figure", "unit_cost", "--depth", 0).stdout.splitlines()) == 1
    shown = run(book, "--quote", "Q-1", "--figure", "unit_cost", "--depth", 1).stdout
    assert shown.count("goes deeper") == 6
    assert "Extras" in shown


def test_prices_of_another_day_give_another_tree(tmp_path: Path) -> None:
    """A dearer cement from April on: --date tells which price is meant, and its cell."""
    sheets = small_book()
    cement: list[Any] = list(sheets["Materials"][1])
    cement[4], cement[-1] = 20, datetime.date(2026, 4, 1)
    sheets["Materials"].append(cement)
    book = write_book(tmp_path / "two.xlsx", sheets)
    before = run(book, "--quote", "Q-1", "--figure", "concrete", "--depth", 99).stdout
    after = run(book, "--quote", "Q-1", "--figure", "concrete", "--date", "2026-05-01", "--depth", 99).stdout
    assert "Materials!E2" in before.split()
    assert "Materials!E14" not in before.split()
    assert "Materials!E14" in after.split()
    assert "Materials!E2" not in after.split()


def test_json_is_the_same_tree_for_programs(book: Path) -> None:
    """Value, unit, both formulas, kind, cell and children of each figure."""
    result = run(book, "--quote", "q-1", "--line", 1, "--figure", "cast_volume", "--json")
    tree = json.loads(result.stdout)
    assert result.exit_code == 0
    assert (tree["quote"], tree["line"], tree["figure"], tree["value"], tree["unit"]) == ("Q-1", 1, "cast_volume", 0.02, "m³")
    made = tree["children"][0]
    assert (made["kind"], made["formula"], made["formula_with_numbers"]) == (
        "worked out", "length × width × thickness", "1.000 m × 0.500 m × 0.040 m")
    assert [(child["figure"], child["value"], child["place"]) for child in made["children"]] == [
        ("length", 1.0, "Products!D2"), ("width", 0.5, "Products!E2"), ("thickness", 0.04, "Products!F2")]


UNKNOWN: list[tuple[list[str], list[str]]] = [
    (["--quote", "Q-7"], ['there is no quote "Q-7"', "Q-1, Q-2"]),
    (["--quote", "Q-1", "--line", "5"], ["quote Q-1 has no line 5; its lines are 1 and 2"]),
    (["--quote", "Q-1", "--line", "0"], ["no line 0"]),
    (["--quote", "Q-1", "--figure", "unit prise"], ['no figure "unit prise"', "unit_price"]),
    (["--quote", "Q-1", "--figure", "mix"], ['"mix" is a word']),
]


@pytest.mark.parametrize(("arguments", "said"), UNKNOWN)
def test_what_is_not_there_gives_one_sentence(book: Path, arguments: list[str], said: list[str]) -> None:
    """Exit code 1, nothing on standard output, one line that names the book and what is there."""
    result = run(book, *arguments)
    assert (result.exit_code, result.stdout) == (1, "")
    assert len(result.stderr.splitlines()) == 1
    assert result.stderr.startswith("small.xlsx  ")
    assert all(word in result.stderr for word in said), result.stderr


@pytest.mark.parametrize("arguments", [
    [], ["--quote"], ["--quote", "Q-1", "--line", "two"], ["--quote", "Q-1", "--depth", "-1"], ["--quote", "Q-1", "--date", "tomorrow"],
    ["--quote", "Q-1", "--colour"],
])
def test_a_command_that_cannot_be_meant_is_a_usage_error(book: Path, arguments: list[str]) -> None:
    """Exit code 2, as with every command."""
    assert run(book, *arguments).exit_code == 2


def test_a_book_that_cannot_be_used_is_told_with_its_cells(tmp_path: Path) -> None:
    """No tree from a book with errors: they are printed with their places; no file, one sentence."""
    sheets = small_book()
    sheets["Materials"][1][4] = "much"
    result = run(write_book(tmp_path / "odd.xlsx", sheets), "--quote", "Q-1")
    assert (result.exit_code, result.stdout) == (1, "")
    assert "Materials!E2" in result.stderr
    missing = run(tmp_path / "none.xlsx", "--quote", "Q-1")
    assert missing.exit_code == 1
    assert len(missing.stderr.splitlines()) == 1


def test_another_quote_that_cannot_be_priced_is_no_hindrance(tmp_path: Path) -> None:
    """Only the quote asked for is costed: a delivery that no band holds stops its own quote alone."""
    sheets = small_book()
    for row in sheets["Customers"][1:]:
        row[4] = "Near"
    sheets["Enquiries"][3][4] = 400
    book = write_book(tmp_path / "heavy.xlsx", sheets)
    assert run(book, "--quote", "Q-1").exit_code == 0
    heavy = run(book, "--quote", "Q-2")
    assert heavy.exit_code == 1
    assert "Near" in heavy.stderr


HOSTILE = "Slab \x9b31m\u202e\u2028red"


def test_nothing_in_a_book_steers_the_terminal(tmp_path: Path) -> None:
    """Control characters and marks of direction in names, or in what is asked for, never reach the terminal."""
    sheets = small_book()
    for sheet in ("Products", "Enquiries"):
        for row in sheets[sheet][1:]:
            row[:] = [HOSTILE if cell == "Slab 1000" else cell for cell in row]
    book = write_book(tmp_path / "hostile.xlsx", sheets)
    results = [run(book, "--quote", "Q-1"), run(book, "--quote", "Q\x1b[2J"), run(book, "--quote", "Q-1", "--figure", "x\x1b[2J")]
    for result in results:
        assert result.stdout + result.stderr
        assert all(letter.isprintable() or letter == "\n" for letter in result.stdout + result.stderr)


def test_help_names_what_can_be_asked(book: Path) -> None:
    """Each option with one line of help; the command stands in the list of commands."""
    text = run("--help").stdout
    assert all(option in text for option in ("--quote", "--line", "--figure", "--date", "--depth", "--json"))
    assert "explain" in CliRunner().invoke(main, ["--help"]).stdout
