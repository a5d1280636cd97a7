"""What the contract says of blanks, of words and of what programs are told: each sentence by a book of two figures."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from books import small_book, write_book
from click.testing import CliRunner

from pricing.book.price_index import read_price_index
from pricing.book.reading.read import load_price_book
from pricing.cli import main
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines


def costed(folder: Path, sheets: dict[str, list[list[Any]]]) -> Costing:
    """The small workshop, changed, and its enquiries costed."""
    book = load_price_book(write_book(folder / "book.xlsx", sheets))
    return cost_lines(book, enquired(book))


@pytest.mark.parametrize(("long_lips", "short_lips", "lips"), [(None, None, 0.8), (None, 1, 0.25), (1, None, 0.8), (0, 1, 0.25)])
def test_a_lip_is_there_where_none_is_told(long_lips: int | None, short_lips: int | None, lips: float, tmp_path: Path) -> None:
    """Blank *Long lips* is 1 only where *Short lips* is blank too: a shelf of 800 by 250 mm has one long lip, or one short one."""
    sheets = small_book()
    products = sheets["Products"]
    products[0] += ["Long lips", "Short lips"]
    for row in products[1:]:
        row += [long_lips, short_lips] if row[0] == "Shelf 800" else [None, None]
    costing = costed(tmp_path, sheets)
    # the slab of 25 mm, and under it a lip 25 mm thick that drops 40 mm
    assert costing.line("cast_volume")[1] == pytest.approx(0.8 * 0.25 * 0.025 + lips * 0.025 * 0.04, rel=1e-12)


def test_saturated_aggregates_hold_their_water(tmp_path: Path) -> None:
    """Where recipes state aggregates saturated, 2 % of water in them is no sand: sand is bought for a mass 1.02 times smaller."""
    bought = []
    for words in ("dry", "saturated"):
        sheets = small_book()
        sheets["Materials"][0].append("Absorption")
        for row in sheets["Materials"][1:]:
            row.append("2 %" if row[0] == "Sand" else None)
        sheets["Workshop"].append(["Aggregates in recipes", words, None])
        costing = costed(tmp_path, sheets)
        texts = costing.model.tables["ingredients"].text
        row = list(zip(texts["mix"].tolist(), texts["material"].tolist(), strict=True)).index(("Dark", "Sand"))
        bought.append(costing.values.value("ingredients", "dry_content")[row])
    assert bought[0] == pytest.approx(bought[1] * 1.02, rel=1e-12)


def test_programs_are_told_how_severe_a_problem_is(tmp_path: Path) -> None:
    """``check --json`` says of each problem whether it stops the work."""
    sheets = small_book()
    sheets["Enquiries"][1][3] = "Slab 10000"
    path = write_book(tmp_path / "book.xlsx", sheets)
    result = CliRunner().invoke(main, ["check", str(path), "--json"])
    assert result.exit_code == 1
    told = json.loads(result.stdout)["problems"]
    assert {problem["severity"] for problem in told} == {"error", "warning"}
    assert [problem["cell"] for problem in told if problem["severity"] == "error"] == ["D2"]


def test_an_index_by_year_is_read(tmp_path: Path) -> None:
    """A published index may have a row for each year; its ratio is that of two years."""
    path = tmp_path / "index.csv"
    path.write_text("year,cement\n2019,110.5\n2020,112.71\n", encoding="utf-8")
    assert read_price_index(path).ratio("cement", "2019", "2020") == pytest.approx(1.02, rel=1e-12)
