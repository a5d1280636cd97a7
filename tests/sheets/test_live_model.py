"""The margin workbook is a model: an input changed in it does what the same change in the price book does.

Single inputs are changed by random factors, in the margin workbook (and recalculated by a spreadsheet program) and in the
price book (and costed by the engine); every line and every total must agree.
"""

from __future__ import annotations

import math
import re
import subprocess
import zipfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import SMALL, write_book
from referee import PROFILE, need_office, without_results

from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.problems import Problems
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.workbook import write_sheets
from pricing.xlsx.reading.workbook import read_workbook

#: How many single changes are tried; the longer run changes every input.
CHANGES = (20, pytest.param(200, marks=pytest.mark.slow))
SEED = 20260302

#: Columns whose figures are whole numbers.
WHOLE = re.compile(r"Enquiries!E\d+|Moulds!C\d+|Products!P\d+")

LINES = ("cast_volume", "mass", "unit_cost", "unit_price", "line_net", "line_cost", "discounted_margin", "contribution", "labour_hours")
QUOTES = ("discount", "carriage", "net", "tax", "payable", "deposit", "quote_cost", "quote_margin")
MONEY = {"unit_price", "line_net", "discount", "carriage", "net", "tax", "payable", "deposit"}


@dataclass(frozen=True)
class Change:
    """One input changed: its cell in the price book, its cell in the margin workbook, and the factor."""

    place: str
    sheet: str
    cell: str
    figure: float
    in_book: float
    factor: float


def plain_book() -> dict[str, list[list[object]]]:
    """The small workshop with its shares as numbers under a heading in per cent, so that a cell can be multiplied."""
    sheets: dict[str, list[list[object]]] = {}
    for name, rows in SMALL.items():
        made = []
        for row in rows:
            made.append([float(c.removesuffix(" %")) / 100 if isinstance(c, str) and re.fullmatch(r"\d+ %", c) else c for c in row])
        sheets[name] = made
    return sheets


def write_plain(path: Path) -> Path:
    """The book on disk, shares in a percentage format."""
    write_book(path, plain_book())
    book = openpyxl.load_workbook(path)
    for name, rows in SMALL.items():
        for number, row in enumerate(rows, 1):
            for column, cell in enumerate(row, 1):
                if isinstance(cell, str) and re.fullmatch(r"\d+ %", cell):
                    book[name].cell(number, column).number_format = "0.00%"
    book.save(path)
    return path


def replaced(source: Path, out: Path, part: str, cell: str, figure: float) -> None:
    """A copy of a workbook in which one typed number is another."""
    typed = re.compile(rf'(<c r="{cell}"[^>]*>)<v>[^<]*</v>')
    with zipfile.ZipFile(source) as given, zipfile.ZipFile(out, "w") as target:
        for member in given.infolist():
            content = given.read(member)
            if member.filename == part:
                text, count = typed.subn(rf"\g<1><v>{float(f'{figure:.15g}')!r}</v>", content.decode())
                assert count == 1, f"{part} has no typed number in {cell}"
                content = text.encode()
            target.writestr(member.filename, content)


def parts_of(path: Path) -> dict[str, str]:
    """The part of each sheet."""
    names = openpyxl.load_workbook(path, read_only=True).sheetnames
    return {name: f"xl/worksheets/sheet{number}.xml" for number, name in enumerate(names, 1)}


def changed_in_price_book(source: Path, parts: dict[str, str], change: Change, out: Path, at_once: Any) -> Costing | None:
    """The price book with one cell changed, costed by the engine with as many moulds at once as stand in the workbook; None where
    the book no longer makes sense."""
    sheet, _, cell = change.place.partition("!")
    replaced(source, out, parts[sheet], cell, change.in_book * change.factor)
    read, problems = read_price_book(out)
    assert read is not None, [str(problem) for problem in problems.errors]
    costing = cost_lines(read, enquired(read), problems)
    if problems.errors:
        return None
    model = costing.model.with_given("lines", {"moulds_at_once": at_once})
    return replace(costing, model=model, values=evaluate(model))


def recalculate(paths: list[Path], folder: Path) -> list[Path]:
    """All workbooks recalculated by two runs of the spreadsheet program side by side."""
    office = need_office()

    def run(number: int) -> None:
        profile = folder / f"profile {number}"
        profile.joinpath("user").mkdir(parents=True)
        profile.joinpath("user", "registrymodifications.xcu").write_text(PROFILE, encoding="utf-8")
        subprocess.run(
            [office, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML",
             "--outdir", str(folder / "computed"), *map(str, paths[number::2])],
            capture_output=True, timeout=900, check=True,
        )

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(run, range(min(2, len(paths)))))
    return [folder / "computed" / path.name for path in paths]


def figures(path: Path, margin: MarginBook) -> dict[str, list[Any]]:
    """The computed columns of lines and quotes, and what the checks come to."""
    problems = Problems(path.name)
    read = read_workbook(path, problems, wanted={"build-up", "totals", "checks"})
    assert read is not None, list(map(str, problems))
    sheets = {sheet.name: {cell.address: cell.value for cell in sheet.cells.values()} for sheet in read.sheets}
    found: dict[str, list[Any]] = {"checks": [sheets["Checks"]["D4"]]}
    for table, names in (("lines", LINES), ("quotes", QUOTES)):
        block = margin.layout.blocks[table]
        rows = range(margin.model.tables[table].count)
        for name in names:
            found[f"{table}.{name}"] = [sheets[block.sheet][f"{block.letters[name]}{block.first + row}"] for row in rows]
    return found


def disagreements(computed: dict[str, list[Any]], costing: Costing) -> list[str]:
    """Where the workbook and the engine differ: money at all, other figures beyond 1e-12 relative, among them the price of one piece that
    is a share of the price of a set."""
    wrong = []
    for table, names in (("lines", LINES), ("quotes", QUOTES)):
        for name in names:
            ours = costing.values.value(table, name).tolist()
            theirs = computed[f"{table}.{name}"]
            for row, (one, other) in enumerate(zip(ours, theirs, strict=True)):
                rounded = name in MONEY and one == round(one, 6)
                same = one == other if rounded else math.isclose(one, other, rel_tol=1e-12, abs_tol=1e-13)
                if not same:
                    wrong.append(f"{table}.{name}[{row}]: engine {one!r}, workbook {other!r}")
    if computed["checks"] != [0]:
        wrong.append(f"checks: {computed['checks']}")
    return wrong


@dataclass
class Outcome:
    """What came of changes: those that disagree, and how many were compared, moved a cost, or made a book that is refused."""

    wrong: dict[str, list[str]]
    compared: int = 0
    moved: int = 0
    refused: int = 0


@dataclass(frozen=True)
class LiveWorkbook:
    """The margin workbook of a price book whose inputs are changed one by one, with its stored results taken out in *blank*."""

    folder: Path
    source: Path
    costing: Costing
    margin: MarginBook
    path: Path
    blank: Path
    inputs: dict[str, tuple[str, str, float, float]]

    def outcome_of(self, changes: Sequence[Change], *, may_be_refused: bool = False, beside: Sequence[Path] = ()) -> Outcome:
        """Change the workbook and have it recalculated, change the price book and cost it, and compare.

        Parameters
        ----------
        may_be_refused : whether a changed book that is refused is counted, rather than a failure
        beside : workbooks that are recalculated in the same run
        """
        in_book, in_margin = parts_of(self.source), parts_of(self.path)
        copies = [self.folder / f"{number}.xlsx" for number in range(len(changes))]
        for change, copy in zip(changes, copies, strict=True):
            replaced(self.blank, copy, in_margin[change.sheet], change.cell, change.figure * change.factor)
        outcome, at_once = Outcome({}), self.costing.model.tables["lines"].given["moulds_at_once"]
        for change, result in zip(changes, recalculate([*copies, *beside], self.folder)[: len(copies)], strict=True):
            try:
                expected = changed_in_price_book(self.source, in_book, change, self.folder / "changed.xlsx", at_once)
            except AssertionError:
                if not may_be_refused:
                    raise
                expected = None
            if expected is None:
                outcome.refused += 1
                continue
            outcome.compared += 1
            outcome.moved += bool((expected.line("unit_cost") != self.costing.line("unit_cost")).any())
            found = disagreements(figures(result, self.margin), expected)
            if found:
                outcome.wrong[f"{change.place} ({change.sheet}!{change.cell}) x {change.factor:.4f}"] = found[:3]
        return outcome


def live_workbook(source: Path, folder: Path) -> LiveWorkbook:
    """Cost a price book, and write its margin workbook with and without results."""
    book = load_price_book(source)
    costing = cost_lines(book, enquired(book))
    path, blank = folder / "margin.xlsx", folder / "blank.xlsx"
    margin = MarginBook(costing, path, bare=True)
    write_sheets(margin)
    without_results(path, blank)
    return LiveWorkbook(folder, source, costing, margin, path, blank, numbers_in(source, margin))


@pytest.mark.usefixtures("requires_office")
@pytest.mark.parametrize("count", CHANGES)
def test_any_single_input_may_be_changed_in_the_workbook_itself(count: int, tmp_path: Path) -> None:
    """Many random changes of single inputs: the recalculated workbook gives what the engine gives for a changed book."""
    live = live_workbook(write_plain(tmp_path / "book.xlsx"), tmp_path)
    assert len(live.inputs) > 90
    generator = np.random.default_rng(SEED)
    every = generator.permutation(list(live.inputs)).tolist()[:count]
    order = [*every, *generator.choice(list(live.inputs), count - len(every)).tolist()]
    outcome = live.outcome_of([a_change(place, *live.inputs[place], generator) for place in order])
    assert outcome.wrong == {}
    assert outcome.moved > count / 2


def numbers_in(source: Path, margin: MarginBook) -> dict[str, tuple[str, str, float, float]]:
    """By place in the price book: sheet, cell and figure in the margin workbook, and the number in the price book."""
    book = openpyxl.load_workbook(source)
    found = {}
    for place, (sheet, cell, figure) in margin.blocks.origins.items():
        home, _, address = place.partition("!")
        number = book[home][address].value
        if isinstance(number, int | float) and not isinstance(number, bool) and number:
            found[place] = (sheet, cell, figure, float(number))
    return found


def a_change(place: str, sheet: str, cell: str, figure: float, in_book: float, generator: np.random.Generator) -> Change:
    """A random factor; for what is counted in whole numbers, a few more of it."""
    factor = float(generator.uniform(0.8, 1.2))
    if WHOLE.fullmatch(place):
        factor = (figure + float(generator.integers(1, 5))) / figure
    return Change(place, sheet, cell, figure, in_book, factor)


@pytest.mark.usefixtures("requires_office")
def test_a_list_price_may_be_held_at_the_usual_run_in_the_workbook_itself(tmp_path: Path) -> None:
    """The setting turned in the workbook gives what the engine gives for a book with it: the calculated price of twelve blocks."""
    source = write_plain(tmp_path / "book.xlsx")
    book = load_price_book(source)
    costing = cost_lines(book, enquired(book))
    path, blank = tmp_path / "margin.xlsx", tmp_path / "blank.xlsx"
    margin = MarginBook(costing, path, bare=True)
    write_sheets(margin)
    without_results(path, blank)
    sheet, _, cell = margin.layout.settings["list_at_usual_run"].replace("$", "").partition("!")
    replaced(blank, tmp_path / "turned.xlsx", parts_of(path)[sheet], cell, 1.0)
    turned = replace(book, settings={**book.settings, "list_price_holds": "at the usual run"})
    expected = cost_lines(turned, enquired(turned))
    assert expected.line("unit_price")[2] != costing.line("unit_price")[2]
    left, right = recalculate([tmp_path / "turned.xlsx", blank], tmp_path)
    assert disagreements(figures(left, margin), expected) == []
    assert disagreements(figures(right, margin), costing) == []
