"""Many rows are worked out block by block, and long tables part by part; no figure hangs on where a block ends."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from books import write_book
from pieces_book import pieces_book
from terms_book import terms_book

from pricing.book.reading.read import load_price_book
from pricing.costing.engine import evaluation
from pricing.costing.engine.columns import Text
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.lookups import RowLookup
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines

#: Of so many rows for each group none is summed with those that it is like.
NEVER = 10**9


@pytest.fixture(scope="module")
def costings(tmp_path_factory: pytest.TempPathFactory) -> list[Costing]:
    """The quotes of a workshop that has all there is of pieces, and of one that has all there is of terms."""
    folder = tmp_path_factory.mktemp("blocks")
    made = []
    for name, sheets in (("pieces", pieces_book()), ("terms", terms_book())):
        write_book(folder / f"{name}.xlsx", sheets)
        book = load_price_book(folder / f"{name}.xlsx")
        made.append(cost_lines(book, enquired(book)))
    return made


@pytest.mark.parametrize(("block", "alike"), [(1, 0), (3, NEVER), (7, 0), (40, 0)])
def test_the_figures_do_not_hang_on_the_blocks(
    costings: list[Costing], monkeypatch: pytest.MonkeyPatch, block: int, alike: int
) -> None:
    """Every column of lines, quotes and batches is the same to the last bit in blocks of so many rows, rows that are alike together or
    not."""
    for costing in costings:
        whole = evaluate(costing.model)
        wanted = [(table, column.name) for table in ("lines", "quotes", "batches")
                  for column in costing.model.tables[table].spec.columns if not isinstance(column, Text)]
        expected = {each: whole.value(*each) for each in wanted}
        monkeypatch.setattr(evaluation, "BLOCK", block)
        monkeypatch.setattr(evaluation, "LONG", block)
        monkeypatch.setattr(evaluation, "ALIKE", alike)
        again = evaluate(costing.model)
        for each in wanted:
            assert np.array_equal(again.value(*each), expected[each], equal_nan=True), each
        assert not {name for table, name in again._values if table == "steps"} & {"count", "minutes", "step_hours"}
        monkeypatch.undo()


@pytest.mark.parametrize("alike", [0, NEVER])
def test_scenarios_are_summed_part_by_part(costings: list[Costing], monkeypatch: pytest.MonkeyPatch, alike: int) -> None:
    """With leading axes, too, the sums over a long table are those over the whole."""
    costing = costings[0]
    wages = costing.values.value("trades", "hourly_cost") * np.array([[1.0], [1.25]])
    expected = evaluate(costing.model, {("trades", "hourly_cost"): wages}).value("lines", "unit_cost")
    monkeypatch.setattr(evaluation, "BLOCK", 3)
    monkeypatch.setattr(evaluation, "LONG", 3)
    monkeypatch.setattr(evaluation, "ALIKE", alike)
    found = evaluate(costing.model, {("trades", "hourly_cost"): wages}, costing.values).value("lines", "unit_cost")
    assert expected.shape == (2, len(costing.lines))
    assert (expected[1] > expected[0]).any()
    assert np.array_equal(found, expected)


def test_rows_that_name_the_same_one_stay_together() -> None:
    """A stretch ends where the next row names another one, however long that makes it; together they are all rows."""
    rows = np.array([0, 0, 0, 0, 1, 2, 2, 5, 5, 5])
    for size in range(1, 12):
        stretches = list(RowLookup(rows).stretches(size))
        assert [row for each in stretches for row in range(each.start, each.stop)] == list(range(len(rows)))
        assert all(rows[each.stop - 1] != rows[each.stop] for each in stretches[:-1])


def test_a_list_is_each_product_once(costings: list[Costing]) -> None:
    """Lines are a list only where they are the first products of the book, one after another."""
    lines = costings[0].lines
    listed = dataclasses.replace(lines, product=np.arange(len(lines)))
    assert listed.each_product_once
    assert not dataclasses.replace(lines, product=np.arange(len(lines)) + 1).each_product_once
