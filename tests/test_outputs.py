"""Whatever a maker types stays text: in every workbook that is written, on the terminal, and in what programs read.

A workshop in which everything is called by one hostile text after another is taken through every command, and so is the
same workshop with plain names. What is written has to be sound part by part, and to do no more than with the plain names.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest
import xlsxwriter
from books import small_book, write_book
from click.testing import CliRunner, Result
from hostile_texts import FOLDERS, HOSTILE, note_of, tame, write_workshop
from referee import recalculated_all
from written_parts import LONGEST_FOOT, MAIN, Package, faults_of, foot_texts, units

from pricing.book.reading.cells import LONGEST_NAME
from pricing.book.reading.read import load_price_book
from pricing.cli import COMMANDS, main
from pricing.reports.quote.file_names import quote_file_name
from pricing.reports.shared.styles import set_page
from pricing.xlsx.writing.safe_text import one_line

#: What the workshop says of itself, from its name to the name of its tax.
BUSINESS = "7 Smith & Sons <b> &P ]]> =1"

#: What the papers to an order are called.
PAPERS = ("order confirmation", "payment request", "delivery note", "statement")

Arguments = Callable[[Path, Path, Sequence[str]], list[Path | str]]


def choice(names: Sequence[str]) -> list[str]:
    """Options that choose every third quote."""
    return [part for name in names[::3] for part in ("--quote", name)]


#: Every command that writes or prints something, in the order of the work: a label, and what is typed behind ``pricing``.
#: They are made of the price book, a folder for what is written, and the names of the workshop.
RUNS: dict[str, Arguments] = {
    "start": lambda book, out, names: ["start", out / "starter.xlsx"],
    "check": lambda book, out, names: ["check", book],
    "check --json": lambda book, out, names: ["check", book, "--json"],
    "quote": lambda book, out, names: ["quote", book, "--out", out / "quotes", "--breaks", "1,5"],
    "quote --json": lambda book, out, names: ["quote", book, "--quote", names[1], "--quote", names[12], "--out", out / "again", "--json"],
    "workshop": lambda book, out, names: ["workshop", book, *choice(names), "--out", out / "work"],
    "catalogue": lambda book, out, names: ["catalogue", book, "--format", "xlsx", "--date", "2026-03-02", "--out", out],
    "explain": lambda book, out, names: ["explain", book, "--quote", "Q-1"],
    "explain --json": lambda book, out, names: ["explain", book, "--quote", "Q-1", "--json"],
    "register": lambda book, out, names: ["register", book],
    "register --export": lambda book, out, names: ["register", book, "--json", "--export", out / "register.xlsx"],
    "register --mark": lambda book, out, names: [
        "register", book, *(part for name in (names[1], names[27], "Q-1") for part in ("--mark", f"{name}=ordered")), "--late",
    ],
    "papers": lambda book, out, names: ["papers", book, "--quote", names[1], "--out", out / "papers"],
    "papers --paper": lambda book, out, names: [
        "papers", book, "--quote", names[27], "--paper", "confirmation", "--paper", "statement", "--out", out / "papers",
    ],
    "review": lambda book, out, names: ["review", book, "--out", out],
    "review --json": lambda book, out, names: ["review", book, "--out", out / "again", "--json"],
    "reprice": lambda book, out, names: ["reprice", book, "--set", "Cement=+12%", "--out", out],
    "reprice --json": lambda book, out, names: ["reprice", book, "--set", "Sand=+5%", "--out", out / "again", "--json"],
    "publish --show": lambda book, out, names: ["publish", book, "--show"],
}

#: The same for what shows all products to one customer: there the customers of the workshop have plain names.
RUNS_FOR_ALL: dict[str, Arguments] = {
    "publish --list": lambda book, out, names: ["publish", book, "--list", "--out", out],
}

#: Commands that write and print nothing of their own.
OTHERS = {"watch": "runs pricing quote again and again"}


@dataclass
class Made:
    """What all commands gave for one workshop."""

    folder: Path
    names: list[str]
    results: dict[str, Result] = field(default_factory=dict)
    written_into: list[str] = field(default_factory=list)

    @property
    def workbooks(self) -> list[Path]:
        """Every workbook of ours, in order; the price books and their backups are the maker's."""
        return sorted(path for path in self.folder.rglob("*.xlsx") if "book" not in path.name)

    def kind(self, path: Path) -> str:
        """What a workbook is, whoever it is for."""
        return next((kind for kind in ("quote", "margin", "workshop", *PAPERS) if path.name.endswith(f" {kind}.xlsx")), path.name)


def run_all(folder: Path, names: Sequence[str], business: str, *, printed: bool = True) -> Made:
    """Take a workshop through every command, or through those that write a workbook."""
    made = Made(folder, list(names))
    for runs, customers in ((RUNS, True), (RUNS_FOR_ALL, False)):
        book = write_workshop(folder / f"book {customers}.xlsx", names, business, customers=customers)
        (folder / str(customers)).mkdir()
        for label, arguments in runs.items():
            if not printed and label != "quote --json" and label.endswith(("check", "explain", "--json", "--show")):
                continue
            before = book.read_bytes()
            made.results[label] = CliRunner().invoke(main, [str(each) for each in arguments(book, folder / str(customers), names)])
            made.written_into += [label] * (book.read_bytes() != before)
    return made


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Everything that comes of hostile names."""
    return run_all(tmp_path_factory.mktemp("hostile"), list(HOSTILE.values()), BUSINESS)


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Everything that comes of plain names, as many as there are hostile ones."""
    return run_all(tmp_path_factory.mktemp("plain"), tame(len(HOSTILE)), "Test Castings", printed=False)


@pytest.fixture(scope="module")
def packages(hostile: Made) -> dict[Path, Package]:
    """The workbooks of hostile names, part by part."""
    return {path: Package(path) for path in hostile.workbooks}


def test_every_command_is_looked_at() -> None:
    """Each command of the program is among those that are run here: a new one is added to RUNS."""
    looked_at = {label.split()[0] for label in (*RUNS, *RUNS_FOR_ALL)} | set(OTHERS)
    assert set(COMMANDS) == looked_at


def test_every_command_does_its_work(hostile: Made, plain: Made) -> None:
    """No name keeps a command from its work, and no workbook is missing or doubled."""
    for made in (hostile, plain):
        for label, result in made.results.items():
            assert result.exception is None, (label, result.exception, result.stderr[-400:])
        names = [path.name for path in (made.folder / "True" / "quotes").iterdir()]
        assert len(names) == len({name.casefold() for name in names}) == len(made.names) + 3  # two quotes more, and the margins
    assert {hostile.kind(path) for path in hostile.workbooks} == {plain.kind(path) for path in plain.workbooks}
    assert {"starter.xlsx", "margin summary.xlsx", "quote", "register.xlsx", "repricing.xlsx", "review.xlsx",
            "price list.xlsx", "workshop", "shopping list.xlsx", "catalogue.xlsx", *PAPERS} <= {
        hostile.kind(path) for path in hostile.workbooks
    }


def test_only_what_publishes_writes_into_the_price_book(hostile: Made, plain: Made) -> None:
    """Whatever else is run, the price book stays as it is, byte for byte; ``review --accept`` and ``start --add`` are not run here."""
    assert set(hostile.written_into + plain.written_into) <= {"publish --list"}
    assert plain.written_into


def test_every_workbook_is_sound(packages: dict[Path, Package]) -> None:
    """Each part is well formed and in order, reached, typed and used; no link, no code, no control character, no cell twice."""
    found = {path.name: package.all_faults()[:5] for path, package in packages.items() if package.all_faults()}
    assert not found


def test_no_formula_comes_from_a_name(hostile: Made, plain: Made, packages: dict[Path, Package]) -> None:
    """The formulas do and say what they do and say with plain names, and nothing besides."""
    ours: dict[str, set[str]] = {}
    for path in plain.workbooks:
        ours.setdefault(plain.kind(path), set()).update(Package(path).formulas())
    for path, package in packages.items():
        assert package.formulas() <= ours[hostile.kind(path)], path.name
    assert len(ours["margin summary.xlsx"]) > 30
    assert len(ours["quote"]) > 3


def test_names_stand_as_they_were_typed(hostile: Made, packages: dict[Path, Package]) -> None:
    """Each name is read on the margin workbook and on its quote as it was typed, but for what no one sees."""
    book = load_price_book(hostile.folder / "book True.xlsx")
    names = book.tables["Customers"].columns["customer"].tolist()[2:]
    assert len(names) == len(HOSTILE)
    folder = hostile.folder / "True" / "quotes"
    margin = {one_line(text) for text in packages[folder / "margin summary.xlsx"].strings}
    for name in names:
        seen = " ".join("\n".join(packages[folder / quote_file_name(name)].shown_strings()).split())
        if len(name) < LONGEST_NAME:
            assert one_line(name) in margin
            assert seen.count(one_line(name)) >= 4  # customer, address, quote, piece
        else:  # broken into lines
            shown_there = "".join(packages[folder / quote_file_name(name)].shown_strings())
            letters = [text.count(name[1]) for text in (name, note_of(name))]
            assert shown_there.count(name[1]) >= 2 * letters[0] + 3 * letters[1]  # customer, quote; address, piece, note


def test_nothing_steers_the_terminal(hostile: Made) -> None:
    """What is printed holds printable characters, spaces and line ends; no name fills the screen."""
    for label, result in hostile.results.items():
        odd = {letter for letter in result.output if not letter.isprintable() and letter != "\n"}
        assert not odd, label
        if "--json" not in label and "--export" not in label:
            assert max(map(len, result.output.splitlines())) < 1200, label


def test_programs_read_the_names_as_they_were_typed(hostile: Made) -> None:
    """What is printed for programs gives back every name, character for character."""
    book = load_price_book(hostile.folder / "book True.xlsx")
    names = set(book.tables["Enquiries"].columns["quote"].tolist())
    assert len(names) == len(HOSTILE) + 2
    assert {quote["quote"] for quote in json.loads(hostile.results["quote --json"].stdout)["quotes"]} == {"=1+1", "a_x0041_b"}
    assert {quote["number"] for quote in json.loads(hostile.results["register --export"].stdout)["quotes"]} == names
    for label in ("check --json", "explain --json", "reprice --json", "review --json"):
        assert json.loads(hostile.results[label].stdout)


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "utf-8"])
def test_a_terminal_that_lacks_letters_gets_them_described(tmp_path: Path, encoding: str) -> None:
    """Where the terminal cannot show a letter, its code point is printed, and the command does its work."""
    sheets = small_book()
    sheets["Enquiries"][1][3] = "Slab 石 🪨"
    book = write_book(tmp_path / "book.xlsx", sheets)
    for ending in ([], ["--json"]):
        command = [sys.executable, "-c", "from pricing.cli import main; main()", "check", str(book), *ending]
        done = subprocess.run(command, capture_output=True, env={**os.environ, "PYTHONIOENCODING": encoding}, timeout=60, check=False)
        assert done.returncode == 1
        assert b"Traceback" not in done.stderr
        if ending:
            assert any("石 🪨" in problem["message"] for problem in json.loads(done.stdout.decode(encoding))["problems"])


FEET = {
    "an ordinary name": "Quillbeck Castworks", "a digit first": "7 Oaks", "digits only": "1841", "an ampersand": "Smith & Sons",
    "codes": "&P &N &D &8 &\"Arial\"", "an ampersand last": "A" * 179 + "&", "ampersands": "&" * 300, "emoji": "🪨" * 200,
    "lines": "two\nlines", "a long name": "L" * 32_000, "control characters": "a\x07b\x1b", "markup": "<r>&amp;</r>",
}


@pytest.mark.parametrize("name", FEET.values(), ids=FEET.keys())
def test_the_foot_of_a_page_shows_the_name(tmp_path: Path, name: str) -> None:
    """The name stands in the foot as typed, cut where it is too long, and none of its letters is a code."""
    path = tmp_path / "foot.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        set_page(book.add_worksheet(), paper="A4", business=name)
    package = Package(path)
    assert not package.all_faults()
    foot = next(package.sheets["xl/worksheets/sheet1.xml"].iter(f"{MAIN}oddFooter")).text or ""
    assert units(foot) <= LONGEST_FOOT
    left, right = foot_texts(foot)["L"], foot_texts(foot)["R"]
    assert right == "# of #"
    typed = one_line(name)
    assert left.strip() == typed.strip() or (left.endswith("…") and typed.startswith(left[:-1]) and len(left) > 80)


@pytest.mark.parametrize("name", FOLDERS)
def test_a_quote_that_names_a_folder_is_not_delivered(tmp_path: Path, name: str) -> None:
    """A note that reads like a place on a machine is found, and a sentence says so; the folder stays without the quote."""
    sheets = small_book()
    sheets["Enquiries"][1][8] = name
    book = write_book(tmp_path / "book.xlsx", sheets)
    result = CliRunner().invoke(main, ["quote", str(book), "--quote", "Q-1", "--out", str(tmp_path / "out")])
    assert result.exit_code == 1
    assert "names a folder" in result.stderr
    assert not list(tmp_path.joinpath("out").glob("*quote.xlsx"))


def test_numbers_that_differ_only_in_case_are_one_quote(tmp_path: Path) -> None:
    """On a file system that does not tell capitals from small letters no quote takes another's place."""
    sheets = small_book()
    for row, number in zip(sheets["Enquiries"][1:], ("Oak", "OAK", "oak", "Ash"), strict=True):
        row[:3] = [number, sheets["Enquiries"][1][1], "Ada Field"]
    book = write_book(tmp_path / "book.xlsx", sheets)
    result = CliRunner().invoke(main, ["quote", str(book), "--out", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in (tmp_path / "out").glob("*quote.xlsx")) == ["Ash quote.xlsx", "Oak quote.xlsx"]


@pytest.mark.usefixtures("requires_office")
def test_another_program_reads_the_same_texts(hostile: Made, packages: dict[Path, Package]) -> None:
    """LibreOffice opens the workbooks, computes them, and finds in every cell the text that is written there."""
    chosen = [path for path in packages if hostile.kind(path) != "quote" and path.parent.name != "again"]
    chosen += [path for path in packages if hostile.kind(path) == "quote" and path.parent.name == "quotes"][::8]
    assert len(chosen) > 15
    for path, book in zip(chosen, recalculated_all(chosen), strict=True):
        there = {str(cell.value) for sheet in book.worksheets for row in sheet.iter_rows() for cell in row if cell.data_type == "s"}
        # That program breaks a text of several styles after 16,367 letters, whatever it is.
        read = {" ".join(text.split())[:16_000] for text in there}
        written = {" ".join(text.split())[:16_000] for text in packages[path].shown_strings()}
        assert not written - read - {""}, path.name
        errors = [cell.coordinate for sheet in book.worksheets for row in sheet.iter_rows() for cell in row if cell.data_type == "e"]
        assert not errors, path.name


def planted(path: Path, part: str, old: bytes, new: bytes) -> Path:
    """A copy of a workbook with something changed in a part."""
    import zipfile

    copy = path.with_name("planted.xlsx")
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(copy, "w") as target:
        for name in source.namelist():
            content = source.read(name)
            if name == part:
                assert old in content, (part, old)
                content = content.replace(old, new, 1)
            target.writestr(name, content)
    return copy


SHEET, TEXTS = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"

#: A part, what stands there, what is put in its place, and what the search has to say of it.
PLANTED = {
    "broken markup": (TEXTS, b"</si>", b"</so>", "not well formed"),
    "a link": (SHEET, b"<pageMargins", b'<hyperlinks><hyperlink ref="A1"/></hyperlinks><pageMargins', "hyperlink"),
    "a text that is not shown": (TEXTS, b"</sst>", b"<si><t>left</t></si></sst>", "no cell shows"),
    "an escape of a bell": (TEXTS, b"<t>one", b"<t>_x0007_one", "shows the character"),
    "a mark of direction": (TEXTS, b"<t>one", "<t>\u202eone".encode(), "shows the character"),
    "elements out of order": (SHEET, b"<sheetData>", b"<pageMargins/><sheetData>", "stand as"),
    "a cell twice": (SHEET, b'<c r="B1"', b'<c r="A1"', "twice or out of order"),
    "a row twice": (SHEET, b'<row r="2"', b'<row r="1"', "stands after"),
    "a format that is not there": (SHEET, b'<c r="A1"', b'<c r="A1" s="99"', "format"),
    "a part without a type": ("[Content_Types].xml", b'PartName="/xl/styles.xml"', b'PartName="/xl/style.xml"', "content type"),
    "a relation to nothing": ("xl/_rels/workbook.xml.rels", b"styles.xml", b"style.xml", "not there"),
    "a relation outside": ("xl/_rels/workbook.xml.rels", b'Target="styles.xml"', b'Target="styles.xml" TargetMode="External"', "outside"),
    "a formula without a result": (SHEET, b"<v>2</v>", b"<v></v>", "no result"),
    "a name": ("xl/workbook.xml", b"</sheets>", b"</sheets><definedNames><definedName name='x'>1</definedName></definedNames>", "defined"),
}


@pytest.mark.parametrize(("part", "old", "new", "words"), PLANTED.values(), ids=PLANTED.keys())
def test_what_is_planted_is_found(tmp_path: Path, part: str, old: bytes, new: bytes, words: str) -> None:
    """The search of these tests finds each kind of fault that it looks for."""
    path = tmp_path / "sound.xlsx"
    with xlsxwriter.Workbook(str(path)) as book:
        sheet = book.add_worksheet()
        sheet.write_string(0, 0, "one")
        sheet.write_string(0, 1, "two")
        sheet.write_formula(1, 0, "=1+1", None, 2)
    assert not faults_of(path)
    found = faults_of(planted(path, part, old, new))
    assert any(words in fault for fault in found), found
