"""Margin workbooks in parts: nothing is lost, each part adds up by itself, and together they are the whole."""

from __future__ import annotations

import datetime
import json
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import DAY, set_cell, small_book, write_book
from click.testing import CliRunner
from referee import differences, recalculated_all, stored

from pricing.api import price_quotes
from pricing.api.quoting import MARGIN_FILE
from pricing.book.reading.read import load_price_book
from pricing.cli import main
from pricing.costing.engine.columns import Input, Text
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.glossary import GLOSSARY
from pricing.reports.margin import parts as parts_module
from pricing.reports.margin.parts import costing_of, margin_parts, part_file_name, remove_earlier_parts, write_margin_part
from pricing.reports.margin.sheet_limits import ROWS_OF_A_SHEET, RowsError, WholeWorksheet, rows_of_quotes
from pricing.reports.margin.workbook import write_margin
from pricing.reports.quote.many import QuoteRun, Task, finished_quotes
from pricing.xlsx.writing.workbook import new_workbook

Sheets = dict[str, list[list[Any]]]

LATER = datetime.date(2026, 3, 20)

#: Quote, day, customer, product, quantity, wanted by: loads shared within a quote, stock and order, two days, hurry.
LINES = (
    ("Q-1", DAY, "Ada Field", "Slab 1000", 4, None), ("Q-1", DAY, "Ada Field", "Shelf 800", 3, None),
    ("Q-2", LATER, "Brook House", "Block", 12, None), ("Q-2", LATER, "Brook House", "Slab 1000", 1, None),
    ("Q-3", DAY, "Ada Field", "Slab 1000", 6, datetime.date(2026, 3, 16)), ("Q-3", DAY, "Ada Field", "Slab 1000", 2, None),
    ("Q-4", DAY, "Brook House", "Shelf 800", 25, None), ("Q-5", LATER, "Ada Field", "Block", 1, None),
    ("Q-6", DAY, "Ada Field", "Slab 1000", 30, datetime.date(2026, 4, 10)), ("Q-7", DAY, "Brook House", "Slab 1000", 2, None),
)


def busy_book() -> Sheets:
    """The small workshop with seven quotes, and cement that grows dearer between their days."""
    sheets = small_book()
    sheets["Enquiries"] = [["Quote", "Date", "Customer", "Product", "Quantity", "Wanted by"], *map(list, LINES)]
    dearer = [*next(row for row in sheets["Materials"] if row[0] == "Cement")]
    dearer[4], dearer[-1] = 11.2, datetime.date(2026, 3, 10)
    sheets["Materials"].append(dearer)
    sheets["Delivery"].append(["Near", 5000, 90])
    return sheets


def by_sheets(sheets: Sheets) -> None:
    sheets["Workshop"].append(["Board bought by", "sheets", None])


def learning(sheets: Sheets) -> None:
    sheets["Labour"] = [[*row, "Learning" if number == 0 else "90 %"] for number, row in enumerate(sheets["Labour"])]


def crowded(sheets: Sheets) -> None:
    sheets["Workshop"] += [["Mould places", 2, None], ["People", 1, None]]


def yearly_overhead(sheets: Sheets) -> None:
    sheets["Workshop"] = [row for row in sheets["Workshop"] if row[0] != "Overhead per labour hour"]
    sheets["Workshop"] += [["Overhead per year", 18_000, None], ["Productive hours per year", 1_500, None]]


def unsure(sheets: Sheets) -> None:
    sheets["Materials"] = [
        [*row, *(("Low", "High") if number == 0 else (9, 14) if row[0] == "Cement" else (None, None))]
        for number, row in enumerate(sheets["Materials"])
    ]


def as_it_is(sheets: Sheets) -> None:
    pass


def costed(folder: Path, sheets: Sheets) -> Costing:
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    return costed(tmp_path_factory.mktemp("parts"), busy_book())


#: What only numbers the rows of a workbook, or names the prices of several days.
NUMBERING = {"line", "quote_number", "batch", "moulds_at_once"}


@pytest.mark.parametrize("change", [as_it_is, by_sheets, learning, crowded, yearly_overhead], ids=lambda change: change.__name__)
def test_a_quote_comes_to_the_same_alone_and_among_others(change: Any, tmp_path: Path) -> None:
    """No figure of a quote hangs on another quote: loads, moulds made for stock, for an order or a date, discount, delivery."""
    sheets = busy_book()
    change(sheets)
    whole = costed(tmp_path, sheets)
    assert len(whole.quotes) == 7
    for number, quote in enumerate(whole.quotes):
        alone = costing_of(whole, [quote])
        assert alone.quotes == [quote]
        for table, rows in (("lines", whole.lines_of(quote)), ("quotes", [number])):
            for column in whole.model.tables[table].spec.columns:
                if not isinstance(column, Text) and column.name not in NUMBERING:
                    here, there = alone.values.value(table, column.name), whole.values.value(table, column.name)[rows]
                    np.testing.assert_allclose(here, there, rtol=1e-12, err_msg=f"{quote}: {column.name}")
        for column in ("net", "tax", "payable", "quote_cost"):
            assert alone.quote(column).tolist() == whole.quote(column)[[number]].tolist()


def test_moulds_for_a_date_are_chosen_within_a_quote(costing: Costing) -> None:
    """The book above does put moulds to the test: a line in a hurry has more of them than wear out."""
    hurried = costing.lines_of("Q-3")[0]
    assert costing.line("moulds_at_once")[hurried] > costing.line("moulds_needed")[hurried]
    assert costing_of(costing, ["Q-3"]).line("moulds_at_once")[0] == costing.line("moulds_at_once")[hurried]


@pytest.mark.parametrize(
    ("most_lines", "most_rows", "held"),
    [
        (10, 1000, ["Q-1 Q-2 Q-3 Q-4 Q-5 Q-6 Q-7"]),
        (4, 1000, ["Q-1 Q-2", "Q-3 Q-4 Q-5", "Q-6 Q-7"]),
        (1, 1000, ["Q-1", "Q-2", "Q-3", "Q-4", "Q-5", "Q-6", "Q-7"]),
        (10, 36, ["Q-1 Q-2", "Q-3 Q-4 Q-5", "Q-6 Q-7"]),  # nine steps a line: four lines to a sheet of 36 rows
        (10, 1, ["Q-1", "Q-2", "Q-3", "Q-4", "Q-5", "Q-6", "Q-7"]),
    ],
)
def test_quotes_are_divided_by_lines_and_by_rows_and_none_is_cut(
    most_lines: int, most_rows: int, held: list[str], costing: Costing
) -> None:
    """A quote that no longer fits begins the next part; one that is larger than a part has one of its own."""
    parts = margin_parts(costing, most_lines, most_rows)
    assert [" ".join(part.quotes) for part in parts] == held
    assert [(part.number, part.of) for part in parts] == [(number, len(held)) for number in range(1, len(held) + 1)]


def test_an_ordinary_run_has_one_margin_workbook(costing: Costing, tmp_path: Path) -> None:
    """It is the same file, byte for byte, as that of the costing, and says nothing of parts."""
    (part,) = margin_parts(costing)
    write_margin_part(costing, part, tmp_path / "part.xlsx")
    write_margin(costing, tmp_path / "whole.xlsx")
    assert (tmp_path / "part.xlsx").read_bytes() == (tmp_path / "whole.xlsx").read_bytes()
    assert b"part" not in zipfile.ZipFile(tmp_path / "part.xlsx").read("docProps/core.xml")


@pytest.fixture(scope="module")
def three(costing: Costing, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The margin workbooks of the seven quotes in three parts."""
    folder = tmp_path_factory.mktemp("three")
    paths = [folder / part_file_name(MARGIN_FILE, number) for number in (1, 2, 3)]
    for part, path in zip(margin_parts(costing, 4), paths, strict=True):
        assert write_margin_part(costing, part, path) == []
    return paths


def column(path: Path, sheet: str, name: str) -> list[float]:
    """The stored figures of the column of a quantity, down to the first empty cell."""
    rows = list(stored(path)[sheet].iter_rows(values_only=True))
    top = max(number for number, row in enumerate(rows[:7]) if row[0] in ("Quote no.", "Line"))
    at = [str(cell).partition("\n")[0] for cell in rows[top]].index(GLOSSARY[name].label)
    found: list[float] = []
    for row in rows[top + 1 :]:
        if row[at] is None:
            break
        found.append(row[at])
    return found


def test_the_parts_together_are_the_whole(costing: Costing, three: list[Path]) -> None:
    """Quote by quote and line by line the parts hold the figures of the run, each once and in order; so do their sums."""
    for name in ("net", "tax", "payable", "quote_cost"):
        figures = [figure for path in three for figure in column(path, "Totals", name)]
        assert figures == costing.quote(name).tolist(), name
    for name in ("unit_cost", "labour_hours", "moulds_charged", "line_net"):
        figures = [figure for path in three for figure in column(path, "Build-up", name)]
        np.testing.assert_allclose(figures, costing.line(name), rtol=1e-12, err_msg=name)
    totals = [stored(path)["Summary"] for path in three]
    for cell, name in (("A6", "net"), ("C6", "quote_cost"), ("J6", "quote_contribution")):
        assert sum(sheet[cell].value for sheet in totals) == pytest.approx(costing.quote(name).sum(), rel=1e-12)


@pytest.mark.usefixtures("requires_office")
def test_each_part_is_whole_in_itself(three: list[Path]) -> None:
    """Computed from blank stored results, every cell of every part has the engine's figure, and every check is zero."""
    for path, computed in zip(three, recalculated_all(three), strict=True):
        assert differences(stored(path), computed) == []
        checks = [row[3] for row in computed["Checks"].iter_rows(min_row=7, max_col=4, values_only=True)]
        assert len(checks) >= 10
        assert set(checks) == {0}


def test_a_part_says_that_it_is_one(costing: Costing, three: list[Path]) -> None:
    """Every sheet is headed as a part; the first says which quotes it holds and what all parts come to."""
    for number, path in enumerate(three, 1):
        book = openpyxl.load_workbook(path)
        assert all(str(sheet["A1"].value).endswith(f", part {number} of 3") for sheet in book.worksheets)
    remark = str(openpyxl.load_workbook(three[1])["Summary"]["A4"].value)
    net, cost = costing.quote("net").sum(), costing.quote("quote_cost").sum()
    assert remark.startswith("Part 2: 3 quotes, Q-3 to Q-5; every figure in this workbook is of these alone.")
    assert f"net EUR {net:,.2f}, cost {cost:,.2f}, margin {(net - cost) / net:.1%}" in remark


def rows_of_sheets(path: Path) -> dict[str, int]:
    """The last row of every sheet that anything stands in."""
    return {sheet.title: sheet.max_row for sheet in openpyxl.load_workbook(path).worksheets}


@pytest.mark.parametrize("change", [as_it_is, unsure], ids=lambda change: change.__name__)
def test_lines_take_no_more_rows_than_are_counted(change: Any, tmp_path: Path) -> None:
    """Of forty lines more, no sheet grows by more than the largest count; those that were counted grow by just that."""
    made: list[tuple[dict[str, int], dict[str, int]]] = []
    for lines in (20, 60):
        sheets = busy_book()
        products = ("Slab 1000", "Shelf 800", "Block")
        sheets["Enquiries"][1:] = [[f"Q-{line // 2}", DAY, "Ada Field", products[line % 3], 1 + line % 4, None] for line in range(lines)]
        sheets["Delivery"].append(["Near", 50_000, 900])
        change(sheets)
        (tmp_path / str(lines)).mkdir()
        costing = costed(tmp_path / str(lines), sheets)
        write_margin(costing, tmp_path / "margin.xlsx")
        made.append(({sheet: int(rows.sum()) for sheet, rows in rows_of_quotes(costing).items()}, rows_of_sheets(tmp_path / "margin.xlsx")))
    (few, small), (many, large) = made
    grown = {sheet: large[sheet] - small[sheet] for sheet in large if sheet != "Why"}
    counted = {sheet: many[sheet] - few[sheet] for sheet in many}
    assert ("How sure" in grown) == (change is unsure)
    assert {sheet: grown[sheet] for sheet in ("Labour", "Finish and extras")} == {
        sheet: counted[sheet] for sheet in ("Labour", "Finish and extras")
    }
    assert counted["Sensitivity"] <= grown["Sensitivity"] <= counted["Sensitivity"] + 20 * 4  # what would mend the twenty thinnest
    assert max(rows for sheet, rows in grown.items() if sheet not in counted) <= counted["Sensitivity"]
    assert large["Why"] < 2_100


def test_the_budget_leaves_room_on_every_sheet() -> None:
    """What the lines of a part may take is a small part of what a sheet has, and so are as many lines of twenty steps."""
    assert parts_module.MOST_ROWS * 5 < ROWS_OF_A_SHEET
    assert parts_module.MOST_LINES * 20 < ROWS_OF_A_SHEET


def test_no_row_is_dropped_without_a_word(tmp_path: Path) -> None:
    """The last cell of a sheet is written; one beyond it, below or beside, is an error that names sheet and row."""
    book = new_workbook(str(tmp_path / "book.xlsx"), {"in_memory": True})
    book.worksheet_class = WholeWorksheet
    sheet = book.add_worksheet("Labour")
    assert sheet.write_number(ROWS_OF_A_SHEET - 1, 16_383, 1.0) == 0
    for write in (
        lambda: sheet.write_number(ROWS_OF_A_SHEET, 0, 1.0), lambda: sheet.write_string(f"A{ROWS_OF_A_SHEET + 1}", "a"),
        lambda: sheet.write_formula(ROWS_OF_A_SHEET, 0, "=A1"), lambda: sheet.write_blank(ROWS_OF_A_SHEET, 0, None, book.add_format()),
        lambda: sheet.set_row(ROWS_OF_A_SHEET, 20), lambda: sheet.write_number(0, 16_384, 1.0),
    ):
        with pytest.raises(RowsError, match='"Labour"'):
            write()
    book.close()


def test_every_sheet_of_a_margin_workbook_is_of_that_kind(costing: Costing, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a sheet has too few rows for what is written into it, the margin workbook is not written at all."""
    monkeypatch.setattr(WholeWorksheet, "__init__", _short(WholeWorksheet.__init__))
    with pytest.raises(RowsError, match="name fewer quotes"):
        write_margin(costing, tmp_path / "margin.xlsx")
    assert list(tmp_path.iterdir()) == []


def _short(real: Any) -> Any:
    def begun(self: Any) -> None:
        real(self)
        self.xls_rowmax = 60

    return begun


def test_a_quote_that_no_sheet_holds_is_refused_before_anything_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One sentence that says how long the quote is and what to do; exit code 1; nothing is written or recorded."""
    monkeypatch.setattr(parts_module, "ROWS_OF_A_SHEET", 18)
    write_book(tmp_path / "book.xlsx", busy_book())
    result = CliRunner().invoke(main, ["quote", str(tmp_path / "book.xlsx"), "--out", str(tmp_path / "out"), "--json"])
    assert result.exit_code == 1
    (problem,) = (each for each in json.loads(result.stdout)["problems"] if each["code"] == "too-many-rows")
    assert "quote Q-1 has 2 lines, which would take 18 rows" in problem["message"]
    assert "divide it" in problem["message"]
    assert json.loads(result.stdout)["written"] == []
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("processes", "method"), [(1, None), (2, None), (2, "spawn")])
def test_the_parts_are_the_same_from_any_number_of_processes(
    processes: int, method: str | None, costing: Costing, three: list[Path], tmp_path: Path
) -> None:
    """One process and several, started in either way, give byte for byte the same parts, in order."""
    work = QuoteRun(costing, None, False, margin_parts(costing, 4))
    with finished_quotes(work, [Task("Q-1", "q.xlsx")], tmp_path, margin=MARGIN_FILE, processes=processes, method=method) as (_, margins):
        made = margins()
        assert [path.name for path in made] == [path.name for path in three]
        assert [path.read_bytes() for path in made] == [path.read_bytes() for path in three]


@pytest.mark.parametrize("jobs", [1, 2, None])
def test_what_a_margin_workbook_finds_is_told_from_any_process(jobs: int | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A range that is given by half is told once, whoever writes the margin workbook and in however many parts."""
    sheets = busy_book()
    unsure(sheets)
    set_cell(sheets, "Materials", "Sand", "Low", 2)
    book = write_book(tmp_path / "book.xlsx", sheets)
    for most in (100, 4):
        monkeypatch.setattr(parts_module, "MOST_LINES", most)
        priced = price_quotes(book, out=tmp_path / "out", jobs=jobs)
        assert len([problem for problem in priced.problems if problem.code == "half-a-range"]) == 1


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write_book(tmp_path / "book.xlsx", busy_book())


def run(*arguments: str | Path) -> Any:
    return CliRunner().invoke(main, [str(each) for each in arguments], catch_exceptions=False)


def margins_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name.startswith("margin"))


def test_the_command_names_every_margin_workbook(book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each part is listed as written, in the table and in ``--json``, whose other keys are as ever."""
    monkeypatch.setattr(parts_module, "MOST_LINES", 4)
    names = ["margin summary.xlsx", "margin summary 2.xlsx", "margin summary 3.xlsx"]
    shown = run("quote", book, "--out", tmp_path / "out")
    assert shown.exit_code == 0, shown.stderr
    assert [line for line in shown.stdout.splitlines() if "margin" in line and line.startswith("written")] == [
        f"written: {tmp_path / 'out' / name}" for name in names
    ]
    found = json.loads(run("quote", book, "--out", tmp_path / "out", "--json").stdout)
    assert [Path(path).name for path in found["written"]][-3:] == names
    assert set(found) == {"currency", "date", "quotes", "problems", "written", "left"}


def test_parts_of_an_earlier_run_do_not_stay(book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A run that needs fewer parts removes those of the earlier one and says so; the next has nothing to say."""
    out = tmp_path / "out"
    monkeypatch.setattr(parts_module, "MOST_LINES", 4)
    run("quote", book, "--out", out)
    assert margins_in(out) == ["margin summary 2.xlsx", "margin summary 3.xlsx", "margin summary.xlsx"]
    named = run("quote", book, "--quote", "Q-1", "--out", out)
    assert (named.exit_code, margins_in(out)) == (0, ["margin summary 2.xlsx", "margin summary 3.xlsx", "margin summary.xlsx"])
    monkeypatch.setattr(parts_module, "MOST_LINES", 6)
    fewer = run("quote", book, "--out", out)
    assert fewer.exit_code == 0
    assert '"margin summary 3.xlsx" of an earlier run was removed, because this run has 2 margin workbooks' in fewer.stderr
    assert margins_in(out) == ["margin summary 2.xlsx", "margin summary.xlsx"]
    monkeypatch.undo()
    one = run("quote", book, "--out", out)
    assert one.exit_code == 0
    assert '"margin summary 2.xlsx" of an earlier run was removed, because this run has one margin workbook' in one.stderr
    assert margins_in(out) == ["margin summary.xlsx"]
    assert "margin summary" not in run("quote", book, "--out", out).stderr


@pytest.mark.parametrize("kind", ["a copy of a whole margin workbook", "text", "no properties", "a folder", "a broken zip"])
def test_a_file_that_is_no_part_is_left_alone(kind: str, costing: Costing, tmp_path: Path) -> None:
    """A file of the maker's that only has such a name stays, byte for byte, and the maker is told of it."""
    other = tmp_path / "margin summary 2.xlsx"
    if kind == "a copy of a whole margin workbook":
        write_margin(costing, other)
    elif kind == "no properties":
        openpyxl.Workbook().save(other)
        with zipfile.ZipFile(other, "w") as package:
            package.writestr("xl/workbook.xml", "<workbook/>")
    elif kind == "a folder":
        other.mkdir()
    else:
        other.write_bytes(b"Figures of my own" if kind == "text" else b"PK\x05\x06" + bytes(17))
    before = other.read_bytes() if other.is_file() else b""
    ((code, sentence),) = remove_earlier_parts(tmp_path, MARGIN_FILE, 1)
    assert code == "foreign-margin"
    assert '"margin summary 2.xlsx" does not say that it is of an earlier run' in sentence
    assert other.exists()
    assert not other.is_file() or other.read_bytes() == before


def test_names_that_are_none_of_ours_are_not_looked_at(tmp_path: Path) -> None:
    """Only a name with a number beyond the parts of the run is that of a part; all others are not so much as opened."""
    for name in ("margin summary.xlsx", "margin summary 2.xlsx", "margin summary copy.xlsx", "margin summary 03.xlsx",
                 "margin summary 4.xls", "my margin summary 5.xlsx"):
        (tmp_path / name).write_text("mine")
    assert remove_earlier_parts(tmp_path, MARGIN_FILE, 2) == []
    assert len(list(tmp_path.iterdir())) == 6


def test_a_part_that_is_held_open_is_told(three: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the system does not let go of a part of an earlier run, the maker is told to delete it."""
    (tmp_path / "margin summary 2.xlsx").write_bytes(three[1].read_bytes())

    def held(self: Path, missing_ok: bool = False) -> None:
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(Path, "unlink", held)
    ((code, sentence),) = remove_earlier_parts(tmp_path, MARGIN_FILE, 1)
    assert code == "earlier-margin"
    assert "could not be removed (Permission denied)" in sentence


def test_given_columns_are_compared_too(costing: Costing) -> None:
    """The comparison of a quote alone and among others covers what is typed as well as what is computed."""
    kinds = {type(column) for column in costing.model.tables["lines"].spec.columns if column.name not in NUMBERING}
    assert Input in kinds
    assert len(kinds) >= 4
