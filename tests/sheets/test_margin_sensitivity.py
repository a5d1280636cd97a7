"""The sheets of sensitivities and of risk, with the engine and a spreadsheet program as referees."""

from __future__ import annotations

import copy
import math
import re
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import SMALL, book_in_time, small_book, write_book
from openpyxl.workbook import Workbook
from referee import formulas_of, recalculated, recalculated_all, stored

from pricing.book.reading.read import load_price_book
from pricing.costing.analysis.goal_seek import lowest_price
from pricing.costing.analysis.sensitivity import sensitivity
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.risk import write_risk
from pricing.reports.margin.sensitivity import MOST_BARS
from pricing.reports.margin.workbook import write_sheets

Sheets = dict[str, list[list[Any]]]


def write(costing: Costing, path: Path) -> MarginBook:
    """A margin workbook, written."""
    margin = MarginBook(costing, path)
    write_sheets(margin)
    return margin


def cost(path: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(path, sheets)))


def uncertain() -> Sheets:
    """The small workshop with a low and a high for a price, a time and a share of rejects."""
    sheets = small_book()
    for sheet in ("Materials", "Labour", "Products"):
        sheets[sheet][0] += ["Low", "High"]
    sheets["Materials"][1] += [8, 20]
    sheets["Labour"][5] += [8, 30]
    sheets["Products"][1] += ["1 %", "20 %"]
    return sheets


def odd_names() -> Sheets:
    """Materials, trades and plans whose names a spreadsheet could take for something else."""
    names = {"Cement": "<>Cement", "Sand": ">0 sand*", "Sealer": "<>sealer?", "Melamine": "~board", "Tape": "'tape", "Maker": ">=1",
             "Helper": "TRUE", "Grey": ">=grey", "Screws": "5"}
    sheets = small_book()
    return {name: [[names.get(c, c) if isinstance(c, str) else c for c in row] for row in rows] for name, rows in sheets.items()}


def without_labour() -> Sheets:
    """One product that is neither finished nor worked on, as an order of its own."""
    sheets = small_book()
    for row in sheets["Products"][1:]:
        row[11] = row[12] = None
    sheets["Extras"] = sheets["Extras"][:1]
    sheets["Enquiries"] = sheets["Enquiries"][:2]
    return sheets


BOOKS = {"small": small_book, "in time": book_in_time, "uncertain": uncertain, "odd names": odd_names, "without labour": without_labour}


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Costing, Path]:
    folder = tmp_path_factory.mktemp("sensitivity")
    sheets = copy.deepcopy(SMALL)
    sheets["Enquiries"][-1][7] = 160  # a typed price below the lowest margin
    costing = cost(folder / "book.xlsx", sheets)
    write(costing, folder / "margin.xlsx")
    return costing, folder / "margin.xlsx"


def table(book: Workbook, title: str, sheet: str = "Sensitivity") -> list[dict[str, Any]]:
    """The rows below a title, by the first line of their headings."""
    rows = list(book[sheet].iter_rows(values_only=True))
    start = next(number for number, row in enumerate(rows) if str(row[0]).startswith(title))
    headings = [str(heading).replace("\n", " ") for heading in rows[start + 1]]
    found = []
    for row in rows[start + 2 :]:
        if all(cell is None for cell in row):
            break
        found.append(dict(zip(headings, row, strict=True)))
    return found


@pytest.mark.usefixtures("requires_office")
def test_every_live_figure_is_what_a_spreadsheet_makes_of_it(tmp_path: Path) -> None:
    """Computed from blank stored results, the sheet has the figures that were stored in it, whatever the book.

    All sheets of the small workshop's book and of the demo's are computed in the tests of the margin workbook.
    """
    costings = {name: cost(tmp_path / "book.xlsx", sheets()) for name, sheets in BOOKS.items() if name != "small"}
    paths = [tmp_path / f"{name}.xlsx" for name in costings]
    for path, costing in zip(paths, costings.values(), strict=True):
        write(costing, path)
    wrong = []
    for path, computed in zip(paths, recalculated_all(paths), strict=True):
        formulas = [place for place in formulas_of(path) if place[0] in ("Sensitivity", "Workings")]
        assert len(formulas) > 60
        kept = stored(path)
        for sheet, cell in formulas:
            mine, theirs = kept[sheet][cell].value, computed[sheet][cell].value
            numbers = isinstance(mine, int | float) and isinstance(theirs, int | float)
            if not (math.isclose(mine, theirs, rel_tol=1e-10, abs_tol=1e-11) if numbers else mine == theirs):
                wrong.append(f"{path.name} {sheet}!{cell}: {mine!r} is not {theirs!r}")
    assert wrong == []


def test_what_is_in_proportion_is_the_engines(small: tuple[Costing, Path]) -> None:
    """Each live effect on the cost and the margin of the whole is the one that the engine gets by moving the input."""
    costing, path = small
    result = sensitivity(costing)
    rows = {row["Input"]: row for row in table(stored(path), "All inputs", "Workings")}
    assert set(rows) == {each.label for each in result.inputs}
    for place, each in enumerate(result.inputs):
        row = rows[each.label]
        for side, words in enumerate(("10 % less", "10 % more")):
            cost_now = next(figure for heading, figure in row.items() if heading.startswith(f"Cost, {words}"))
            points = next(figure for heading, figure in row.items() if heading.startswith(f"Margin, {words}"))
            assert cost_now == pytest.approx(result.whole_cost[place, side], rel=1e-9, abs=1e-10), each.label
            assert points == pytest.approx(result.whole_margin[place, side] * 100, rel=1e-9, abs=1e-10), each.label
        assert (row["Carries EUR"] is not None) == each.linear


def test_the_ranking_is_the_engines(small: tuple[Costing, Path]) -> None:
    """The table behind the picture has the inputs that count most, in order, and the first line names the first."""
    costing, path = small
    names = [each.label for each in sensitivity(costing).inputs][:MOST_BARS]
    book = stored(path)
    assert [row["Input"] for row in table(book, "What 10 % less")] == names
    assert str(book["Sensitivity"]["A2"].value).startswith(f"{names[0]} counts most")


def test_lines_by_kind_of_cost(small: tuple[Costing, Path]) -> None:
    """All wages, and overhead, move each line's margin by what the engine gets from moving every wage, and overhead."""
    costing, path = small
    result = sensitivity(costing)
    wages = sum(result.margin[result.of(name, "wage"), 1] for name in ("Maker", "Helper"))
    for line, row in enumerate(table(stored(path), "Line by line")):
        assert row["All wages points"] == pytest.approx(float(wages[line]) * 100, abs=1e-9)
        assert row["Overhead points"] == pytest.approx(float(result.margin[result.of("Overhead rate"), 1, line]) * 100, abs=1e-9)
        for name in ("Rejects", "Casts of a mould", "Run length"):
            assert row[f"{name} points"] == pytest.approx(float(result.margin[result.of(name), 1, line]) * 100, abs=1e-9)


def test_break_even_and_lowest_price(small: tuple[Costing, Path]) -> None:
    """Break-even prices and the price that a thin line takes are the engine's, and live."""
    costing, path = small
    kept = 1 - costing.line("discount_rate")
    rows = table(stored(path), "Break-even")
    assert [row["Break-even price EUR"] for row in rows] == pytest.approx((costing.line("unit_cost") / kept).tolist())
    thin = table(stored(path), "What alone would bring")
    line = int(np.flatnonzero(costing.line("below_lowest"))[0])
    assert thin[0]["Price it takes EUR"] == pytest.approx(float(lowest_price(costing)[line]))
    assert any(row["Or this alone"] for row in thin)


def changed(source: Path, out: Path, changes: list[tuple[str, str, float]]) -> None:
    """A copy of a workbook with other numbers in some typed cells: sheet, cell, factor."""
    names = openpyxl.load_workbook(source, read_only=True).sheetnames
    with zipfile.ZipFile(source) as given, zipfile.ZipFile(out, "w") as target:
        for member in given.infolist():
            content = given.read(member).decode("utf-8") if member.filename.startswith("xl/worksheets/sheet") else given.read(member)
            for sheet, cell, factor in changes:
                if member.filename == f"xl/worksheets/sheet{names.index(sheet) + 1}.xml":
                    assert isinstance(content, str)
                    found = re.search(rf'(<c r="{cell}"[^>]*>)<v>([^<]*)</v>', content)
                    assert found, f"{sheet}!{cell} holds no typed number"
                    content = content.replace(found[0], f"{found[1]}<v>{float(found[2]) * factor!r}</v>")
            target.writestr(member.filename, content)


@pytest.mark.usefixtures("requires_office")
def test_the_sheet_follows_what_is_changed_in_the_workbook(tmp_path: Path) -> None:
    """Dearer cement and a higher wage, typed into the workbook, give the live figures that a changed price book gives."""
    margin = write(cost(tmp_path / "book.xlsx", SMALL), tmp_path / "margin.xlsx")
    places = {"Materials!E2": 4.0, "Trades!B3": 1.5, "Workshop!B8": 2.0}
    cells = [(*margin.blocks.origins[place][:2], factor) for place, factor in places.items()]
    changed(tmp_path / "margin.xlsx", tmp_path / "changed.xlsx", cells)
    sheets = small_book()
    sheets["Materials"][1][4] *= 4.0
    sheets["Trades"][2][1] *= 1.5
    next(row for row in sheets["Workshop"] if row[0] == "Overhead per labour hour")[1] *= 2.0
    result = sensitivity(cost(tmp_path / "dearer.xlsx", sheets))
    book = recalculated(tmp_path / "changed.xlsx")
    rows = {row["Input"]: row for row in table(book, "All inputs", "Workings")}
    linear = [each for each in result.inputs if each.linear]
    for each in linear:
        effect = rows[each.label]["Cost, 10 % more EUR"]
        assert effect == pytest.approx(result.whole_cost[result.inputs.index(each), 1], rel=1e-9), each.label
    ranked = [row["Input"] for row in table(book, "What 10 % less")]
    assert [name for name in ranked if name in {each.label for each in linear}] == [each.label for each in linear if each.label in ranked]
    before = [row["Input"] for row in table(stored(tmp_path / "margin.xlsx"), "What 10 % less")]
    assert ranked != before


def literals(formula: str) -> list[float]:
    """The numbers that stand in a formula: no part of a cell's address, a function's name, or a text."""
    bare = re.sub(r'"[^"]*"', "", formula)
    bare = re.sub(r"'[^']*'!", "", bare)
    bare = re.sub(r"\$?[A-Z]{1,3}\$?\d+", "", bare)
    return [float(number) for number in re.findall(r"(?<![A-Za-z$\d.])\d+(?:\.\d+)?", bare)]


@pytest.mark.parametrize("book", BOOKS)
def test_formulas_keep_to_good_practice(book: str, tmp_path: Path) -> None:
    """No constants but universal ones, no nested IF, nothing volatile, no formula longer than a few lines of a cell."""
    path = tmp_path / "margin.xlsx"
    write(cost(tmp_path / "book.xlsx", BOOKS[book]()), path)
    seen = 0
    for (sheet, cell), formula in formulas_of(path).items():
        if sheet in ("Sensitivity", "Workings", "How sure"):
            seen += 1
            assert set(literals(formula)) <= {0, 1, 2, 12, 24, 60, 100, 1000}, f"{sheet}!{cell} {formula}"
            assert formula.count("IF(") - formula.count("SUMIF(") <= 1, f"{sheet}!{cell} {formula}"
            assert not re.search(r"\b(OFFSET|INDIRECT|NOW|TODAY|RAND|RANDBETWEEN|CELL|INFO)\(", formula), f"{sheet}!{cell}"
            assert len(formula) <= 255, f"{sheet}!{cell} {formula}"
    assert seen > 60


def test_without_ranges_there_is_no_sheet_of_risk(small: tuple[Costing, Path]) -> None:
    """Where the price book gives no Low and High, nothing is said about how sure it is."""
    assert "How sure" not in stored(small[1]).sheetnames


def test_the_sheet_of_risk_has_the_simulation(tmp_path: Path) -> None:
    """The lines stand in the order of their chance of missing the lowest margin, with the figures of the simulation."""
    from pricing.costing.analysis.simulation import simulate

    costing = cost(tmp_path / "book.xlsx", uncertain())
    write(costing, tmp_path / "margin.xlsx")
    book = stored(tmp_path / "margin.xlsx")
    made = simulate(costing)
    rows = table(book, "Lines, those", "How sure")
    assert "10,000 draws of 3 uncertain figures" in book["How sure"]["A4"].value
    assert rows[-1]["Line"] == "All quotes together"
    chances = [row["Chance of missing lowest margin"] for row in rows[:-1]]
    assert chances == sorted(chances, reverse=True) == sorted(made.chance_below.tolist(), reverse=True)
    for row in rows[:-1]:
        line = next(
            number for number, (quote, product) in enumerate(zip(costing.lines.quote, costing.products(), strict=True))
            if f"{quote}  {product}" == row["Line"]
        )
        assert [row[f"Cost {name} EUR"] for name in ("P10", "P50", "P90")] == pytest.approx(made.unit_cost[line].tolist())
        assert [row[f"Margin {name}"] for name in ("P10", "P50", "P90")] == pytest.approx(made.margin[line].tolist())
    drawn = table(book, "What was drawn", "How sure")
    assert {row["Figure"] for row in drawn} == {"Cement", "Plain: Cast", "Slab 1000"}


def test_bounds_that_do_not_hold_together_reach_the_maker(tmp_path: Path) -> None:
    """A Low without a High becomes a warning of the costing, once, and no sheet is written for it."""
    sheets = small_book()
    sheets["Materials"][0] += ["Low", "High"]
    sheets["Materials"][1] += [8, None]
    costing = cost(tmp_path / "book.xlsx", sheets)
    margin = MarginBook(costing, tmp_path / "margin.xlsx")
    assert not write_risk(margin)
    write_sheets(margin)
    assert [problem.code for problem in costing.problems if problem.code == "half-a-range"] == ["half-a-range"]
    assert "How sure" not in stored(tmp_path / "margin.xlsx").sheetnames
