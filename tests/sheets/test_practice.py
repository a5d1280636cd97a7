"""Every workbook that is written is held to published good practice for spreadsheets.

Sources: ICAEW, Twenty principles for good spreadsheet practice (numbers 7, 10 to 15 and 19); FAST Standard (3.03-01 short
formulas, 3.03-07 no nested IF, 3.04-01 no constants but universal ones; no OFFSET, no INDIRECT, no links between workbooks).
"""

from __future__ import annotations

import re
import shutil
import zipfile
from pathlib import Path

import openpyxl
import pytest
from books import SMALL, write_book
from click.testing import CliRunner

from pricing.book.reading.read import load_price_book
from pricing.book.shown_units import GALLON, POUND
from pricing.cli import main
from pricing.costing.run import at_quantities, cost_quotes
from pricing.reports.margin.workbook import write_margin
from pricing.reports.quote.workbook import write_quote

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"

#: Numbers that are the same everywhere and always: none, one, halves and doubles, the edges, corners and faces of a shape,
#: ten, on whose powers coins rest,
#: and what a unit holds: inches, feet and yards and their squares and cubes, cubic inches in a gallon, fluid ounces in a millilitre.
UNIVERSAL = {"0", "1", "2", "3", "4", "5", "8", "10", "12", "24", "60", "100", "1000", "1000000", f"{POUND:.15g}",
             "9", "27", "36", "144", "231", "1296", "1728", "46656", f"{128 / GALLON / 1000:.15g}"}
VOLATILE = re.compile(r"\b(NOW|TODAY|RAND|RANDBETWEEN|OFFSET|INDIRECT|CELL|INFO)\(")
LATE = re.compile(r"\b(XLOOKUP|XMATCH|LET|LAMBDA|FILTER|UNIQUE|SORT|SEQUENCE)\(|\[@|\[#")
TEXT = re.compile(r'"[^"]*"')
SHEET_NAME = re.compile(r"'[^']*'!")
ROUNDING = {"ROUND", "ROUNDUP", "ROUNDDOWN"}
TOKEN = re.compile(r"[A-Z]+\(|\$?[A-Z]{1,3}\$?\d+|\$?\d+:\$?\d+|\d+(?:\.\d+)?|[(),]")
NUMBER = re.compile(r"\d+(?:\.\d+)?")
LONGEST = 260


def bare(formula: str) -> str:
    """A formula without its texts and the names of its sheets."""
    return SHEET_NAME.sub("", TEXT.sub('""', formula))


def numbers_in(formula: str) -> list[str]:
    """Numbers written in a formula, but for the places of a rounding function: the last argument of a ROUND."""
    found: list[str] = []
    opened: list[tuple[str, int]] = []  # each function that is open, and how many numbers stood before its last argument
    for match in TOKEN.finditer(bare(formula)):
        token = match.group()
        if token.endswith("("):
            opened.append((token[:-1], len(found)))
        elif token == ",":
            opened[-1] = (opened[-1][0], len(found))
        elif token == ")":
            name, before = opened.pop()
            if name in ROUNDING:
                del found[before:]
        elif NUMBER.fullmatch(token):
            found.append(token)
    return found


def nested_if(formula: str) -> bool:
    """True where an IF stands inside an IF."""
    depth, inside = 0, []
    for match in re.finditer(r"IF\(|[A-Z]*\(|\)", bare(formula)):
        if match.group() == ")":
            depth -= 1
            inside = [level for level in inside if level < depth + 1]
        else:
            depth += 1
            if match.group() == "IF(":
                if inside:
                    return True
                inside.append(depth)
    return False


def faults(path: Path) -> list[str]:
    """Everything in a workbook that good practice forbids."""
    found = []
    book = openpyxl.load_workbook(path)
    for sheet in book.worksheets:
        if sheet.sheet_state != "visible":
            found.append(f"{sheet.title} is hidden")
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "e":
                    found.append(f"{sheet.title}!{cell.coordinate} holds an error")
                if not isinstance(cell.value, str) or cell.data_type != "f":
                    continue
                formula, place = cell.value, f"{sheet.title}!{cell.coordinate} {cell.value}"
                if VOLATILE.search(bare(formula)):
                    found.append(f"volatile: {place}")
                if LATE.search(bare(formula)):
                    found.append(f"not in every program: {place}")
                if nested_if(formula):
                    found.append(f"IF in IF: {place}")
                if len(formula) > LONGEST:
                    found.append(f"long: {place}")
                found += [f"number {number}: {place}" for number in numbers_in(formula) if number not in UNIVERSAL]
    for name in book.defined_names:
        if re.fullmatch(r"[A-Za-z]{1,3}\d+", name):
            found.append(f"the name {name} looks like a cell")
    with zipfile.ZipFile(path) as package:
        found += [f"link to another workbook: {name}" for name in package.namelist() if "externalLink" in name]
    return found


def uneven_columns(path: Path, sheet: str, heading: int) -> list[str]:
    """Columns of a table whose formulas differ by more than the row they stand in, references to a sole input aside."""
    found = []
    for column in openpyxl.load_workbook(path)[sheet].iter_cols(min_row=heading + 1):
        formulas = [str(cell.value) for cell in column if str(cell.value).startswith("=") and cell.row]
        shapes = {re.sub(r"(?<=[A-Z])\d+\b", "#", text) for text in formulas if not re.fullmatch(r"='?[^!]*'?!?\$?[A-Z]+\$?\d+", text)}
        if len(shapes) > 1:
            found.append(f"{sheet}!{column[0].column_letter}: {sorted(shapes)[:2]}")
    return found


NAMES = (
    "small margin", "small quote", "demo margin", "demo quote", "price list", "repricing", "register", "review", "workshop",
    "shopping list",
)


def by_command(folder: Path) -> dict[str, Path]:
    """The other workbooks, as the commands write them from the demo price book."""
    book = folder / "book.xlsx"
    shutil.copy(DEMO, book)
    for arguments in (
        ["quote", book], ["reprice", book, "--set", "Grey cement=+12%"], ["register", book, "--export", folder / "out" / "register.xlsx"],
        ["review", book], ["workshop", book, "--quote", "Q-1042", "--quote", "Q-1043"], ["publish", book, "--list"],
    ):
        place = [] if arguments[0] == "register" else ["--out", folder / "out"]
        result = CliRunner().invoke(main, [str(each) for each in (*arguments, *place)], catch_exceptions=False)
        assert result.exit_code == 0, result.output
    made = {name: folder / "out" / f"{name}.xlsx" for name in ("price list", "repricing", "register", "review", "shopping list")}
    return made | {"workshop": folder / "out" / "Q-1042 workshop.xlsx"}


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A margin workbook and a quote of each of the two workshops, and one of every other kind."""
    folder = tmp_path_factory.mktemp("practice")
    made = by_command(folder)
    for name, source in (("small", write_book(folder / "small.xlsx", SMALL)), ("demo", DEMO)):
        costing = cost_quotes(load_price_book(source))
        made[f"{name} margin"] = folder / f"{name} margin.xlsx"
        write_margin(costing, made[f"{name} margin"])
        made[f"{name} quote"] = folder / f"{name} quote.xlsx"
        write_quote(costing, costing.quotes[0], made[f"{name} quote"], breaks=at_quantities(costing))
    return made


@pytest.mark.parametrize("name", NAMES)
def test_workbooks_keep_good_practice(written: dict[str, Path], name: str) -> None:
    """No constants in formulas but universal ones, no IF in IF, no volatile or late functions, nothing hidden, no errors, no links."""
    assert faults(written[name]) == []


@pytest.mark.parametrize("name", ["small margin", "demo margin"])
@pytest.mark.parametrize(("sheet", "heading"), [("Build-up", 6), ("Labour", 5)])
def test_one_formula_down_a_column(written: dict[str, Path], name: str, sheet: str, heading: int) -> None:
    """Down a column of a working sheet the formula is the same."""
    assert uneven_columns(written[name], sheet, heading) == []


@pytest.mark.parametrize("name", ["small margin", "demo margin"])
def test_inputs_are_open_and_the_rest_is_protected(written: dict[str, Path], name: str) -> None:
    """Only typed figures may be changed; no password stands in the way of who means it."""
    book = openpyxl.load_workbook(written[name])
    opened = 0
    for sheet in book.worksheets:
        if sheet.title == "Why":
            continue
        assert sheet.protection.sheet
        assert not sheet.protection.password
        for row in sheet.iter_rows():
            for cell in row:
                if not cell.protection.locked:
                    opened += 1
                    assert isinstance(cell.value, int | float), f"{sheet.title}!{cell.coordinate}"
    assert opened > 100


@pytest.mark.parametrize(
    ("formula", "fault"),
    [("=A1*1.17", "1.17"), ("=A1+7", "7"), ("=ROUND(A1*7,2)", "7"), ("=ROUND(ROUND(A1/B2,6),0)*9", "9")],
)
def test_the_lint_finds_constants(formula: str, fault: str) -> None:
    """The lint is not blind: a constant is found, inside a rounding function too."""
    assert numbers_in(formula) == [fault]


def test_the_lint_knows_what_is_allowed() -> None:
    """Places of a rounding, cells, ranges and texts are no constants; IF in IF is seen and IF beside IF is not."""
    assert numbers_in("=ROUND(A1*$B$12,2)+'Prices used'!$C$5+SUMIF(A7:A99,B3,'x 7'!C7:C99)&\"9\"") == []
    assert nested_if("=IF(A1,IF(B1,2,3),4)")
    assert nested_if("=IF(A1>0,ROUND(IF(B1,2,3),1),4)")
    assert not nested_if("=IF(A1,2,3)+IF(B1,2,3)")
