"""The engine against a plain calculator that shares no code with it, over random books that use many features at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from books import write_book
from plain_calculator import Calculator
from varied_books import rows_of, varied_book

import pricing
from pricing.costing.method.costing import Costing

PARTS = ("concrete", "mould", "labour", "machine", "finish", "extras", "overhead")
TOTALS = ("discount", "small_order_charge", "carriage", "net", "tax", "gross", "payable")


def lent(costing: Costing, line: int) -> dict[str, Any]:
    """What the price book's page does not say of a shape: boards and joints of its mould, lips and arms of an L, layers on edges."""
    columns = {column.name for column in costing.model.tables["lines"].spec.columns}

    def of(name: str) -> float:
        return float(costing.line(name if name in columns else name.removeprefix("whole_"))[line])

    found: dict[str, Any] = {name: of(f"whole_{column}") for name, column in (
        ("face", "face"), ("underside", "underside"), ("arris", "arris"), ("open", "open_side"), ("joint", "joint"),
        ("release", "release_face"))}
    found |= {"mould": of("mould_board"), "layers": {}, "volume": of("whole_volume" if "whole_volume" in columns else "cast_volume")}
    if "layers" in costing.model.tables:
        layers, value = costing.model.tables["layers"].text, costing.values.value
        for row, of_line in enumerate(value("layers", "line").tolist()):
            if int(of_line) == line + 1:
                mix = str(layers["mix"][row]).partition(" [")[0].casefold()
                found["layers"][mix, str(layers["on"][row])] = float(value("layers", "layer_volume")[row])
    return found


def compared(costing: Costing, sheets: dict[str, list[Any]]) -> int:
    """Every figure of a costing against the calculator's; returns how many there were."""
    calculator, told, count = Calculator(sheets), {quote["quote"]: quote for quote in costing.as_json()["quotes"]}, 0
    for number, quote in enumerate(costing.quotes):
        rows = costing.lines_of(quote)
        moulds = [float(costing.line("moulds_at_once")[row]) for row in rows]
        lines, totals = calculator.quote(quote, moulds, [lent(costing, row) for row in rows])
        for row, line in zip(rows, lines, strict=True):
            found = {f"{part}_cost": line["cost"][part] for part in PARTS}
            found |= {"cast_volume": line["off"]["volume"], "face": line["off"]["face"], "mass": line["mass"],
                      "unit_cost": line["unit_cost"], "labour_hours": line["hours"], "rounds": line["rounds"],
                      "loads_of_line": line["loads"], "moulds_charged": line["charged"]}
            for name, value in found.items():
                assert costing.line(name)[row] == pytest.approx(value, rel=1e-11, abs=1e-12), (quote, line["name"], name)
            assert costing.line("line_net")[row] == line["net"], (quote, line["name"])
            count += len(found) + 1
        for name in TOTALS:
            assert costing.quote(name)[number] == totals[name], (quote, name)
        assert [stage["amount"] for stage in told[quote]["payments"]] == totals["stages"], quote
        assert {mix.casefold(): loads for mix, loads in told[quote]["loads"].items()} == pytest.approx(totals["loads"], rel=1e-11), quote
        assert costing.quote("quote_cost")[number] == pytest.approx(totals["quote_cost"], rel=1e-11, abs=1e-11)
        count += len(TOTALS) + len(totals["stages"]) + len(totals["loads"]) + 1
    return count


def reckoned(folder: Path, seed: int) -> int:
    """One varied book."""
    sheets = varied_book(seed)
    return compared(pricing.cost(write_book(folder / f"{seed}.xlsx", sheets)), rows_of(sheets))


@pytest.mark.parametrize("seed", [3, 8])
def test_the_engine_agrees_with_a_plain_calculator(tmp_path: Path, seed: int) -> None:
    """Costs part by part, loads, prices, taxes and stages: money is equal, all else agrees."""
    assert reckoned(tmp_path, seed) > 30


@pytest.mark.slow
def test_the_engine_agrees_over_many_books(tmp_path: Path) -> None:
    """The same over two hundred books."""
    assert sum(reckoned(tmp_path, seed) for seed in range(1000, 1200)) > 10_000
