"""Registers written by an earlier version: they are read and compared with causes, whatever has been added since.

The registers in ``kept`` were written by the first version that costs by the casting day, each beside its price book: ``plain``
with what every book has, ``learning`` with what a book may ask for besides (learning, interest on machines, board by whole sheets).
``columns.json`` lists the inputs and words of every table of that version. ``words`` is of the last version that called a quote sent,
accepted or declined: a quote in each state, one revised and one that a draft was made of again.
"""

from __future__ import annotations

import contextlib
import datetime
import json
import shutil
import sqlite3
from dataclasses import replace
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.costing.engine.columns import Computed, Input, Lookup, Sum, TableSpec, Text
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.model import Model, Rows
from pricing.costing.lines.order_lines import OrderLines
from pricing.costing.method import declared
from pricing.costing.moulds import costed
from pricing.glossary import GLOSSARY, Quantity
from pricing.problems import Problems
from pricing.register.backups import backups_of
from pricing.register.recorded_quote import EARLIER, STATES, RecordedQuote
from pricing.register.register import Register, RegisterError
from pricing.repricing.reprice import reprice

KEPT = Path(__file__).parent / "kept"
BOOKS = ("plain", "learning")
DAY = datetime.date(2026, 3, 2)


def laid_out(name: str, folder: Path, cement: float = 10.0) -> PriceBook:
    """A kept price book and its register, in a folder of their own; with another price of a bag of cement."""
    shutil.copy(KEPT / f"{name}.register.sqlite", folder)
    workbook = openpyxl.load_workbook(KEPT / f"{name}.xlsx")
    workbook["Materials"]["E2"] = cement
    workbook.save(folder / f"{name}.xlsx")
    return load_price_book(folder / f"{name}.xlsx")


def recorded_figures(register: Register, quote: RecordedQuote) -> dict[str, tuple[float, float]]:
    """The amounts of a quote as they were recorded, and as its restored model gives them."""
    model = register.model(quote)
    assert model is not None, f"the record of {quote.name} cannot be read: state not_kept= on the input that it does not have"
    values = evaluate(model)
    return {name: (quote.totals[name], float(values.value("quotes", name)[0])) for name in ("net", "payable", "quote_cost", "quote_margin")}


@pytest.mark.parametrize("name", BOOKS)
def test_a_kept_quote_comes_to_what_was_promised(name: str, tmp_path: Path) -> None:
    """Costed again from its record alone, a quote has the amounts that it was made with."""
    laid_out(name, tmp_path)
    with Register.open(tmp_path / f"{name}.xlsx") as register:
        assert [quote.number for quote in register.quotes()] == ["Q-1", "Q-2"]
        for quote in register.quotes():
            for figure, (then, now) in recorded_figures(register, quote).items():
                assert now == pytest.approx(then, rel=1e-12), figure


@pytest.mark.parametrize("name", BOOKS)
def test_a_kept_quote_is_compared_with_causes(name: str, tmp_path: Path) -> None:
    """A dearer bag of cement is the one cause of what the kept quotes would cost more today; that a customer's discount is no longer taken
    off a price that was typed changes what they would come to."""
    book = laid_out(name, tmp_path, cement=12.5)
    with Register.open(book.path) as register:
        found = reprice(book, max(quote.day for quote in register.quotes()), register=register)
    assert [quote.reason for quote in found.quotes] == ["", ""]
    assert list(found.causes) == [("material", "Cement"), ("piece", "Discounts of lines")]
    for quote in found.quotes:
        assert quote.cost.parts == {("material", "Cement"): pytest.approx(quote.cost.change, abs=1e-9)}
        assert quote.cost.change > 0


@pytest.mark.parametrize("more", [False, True], ids=["plain", "learning and interest"])
def test_what_was_added_says_what_it_was_before(more: bool) -> None:
    """Every input and word is one that the kept records have, under its name or an earlier one, or says what it was without."""
    content = json.loads((KEPT / "columns.json").read_text(encoding="utf-8"))
    kept_columns: dict[str, list[str]] = content["plain"] | (content["with learning and interest"] if more else {})
    for spec in declared.tables(learning=more, interest=more):
        kept = next((set(kept_columns[name]) for name in (spec.name, *spec.formerly) if name in kept_columns), None)
        for column in spec.columns if kept is not None else ():
            if isinstance(column, Input | Text):
                known = kept is not None and not kept.isdisjoint((column.name, *column.formerly))
                assert known or column.not_kept is not None, f"state not_kept= on {column.name} of {spec.name}"


HANDLING = Quantity("handling_rate", "Handling", "currency/kilogram", "money per kg", 3, "What handling a kilogram costs.")
FRAGILE = Quantity("fragility", "Fragility", "dimensionless", "", 1, "How much more care a piece takes than a plain one.")
CRATE = Quantity("crate_price", "Crate", "currency/piece", "money", 2, "What the crate of a piece costs.")
CRATES = Quantity("crates_cost", "Crates", "currency/piece", "money", 2, "What is paid for crates.")
COST = Quantity("handling_cost", "Handling of a piece", "currency/piece", "money", 2, "What handling a piece costs.")


def handling_cost(mass: float, handling_rate: float, fragility: float, crate_price: float, crates_cost: float) -> float:
    """Handling of a piece, crate included [currency/piece]."""
    return mass * handling_rate * fragility + crate_price + crates_cost


def unit_cost(
    concrete_cost: float, mould_cost: float, labour_cost: float, machine_cost: float, finish_cost: float, extras_cost: float,
    overhead_cost: float, handling_cost: float,
) -> float:
    """What a good piece costs, handling included [currency/piece]."""
    return concrete_cost + mould_cost + labour_cost + machine_cost + finish_cost + extras_cost + overhead_cost + handling_cost


@pytest.fixture
def later_method(monkeypatch: pytest.MonkeyPatch) -> None:
    """A later costing method: a setting, an input of the lines that means 1 where it was not kept, a word, two tables.

    Handling costs 0.5 a kilogram, a piece of today is twice as fragile; crates are looked up by their word in a table with a
    row for none; a table of crates that are paid besides is summed by line.
    """
    for quantity in (HANDLING, FRAGILE, CRATE, CRATES, COST):
        monkeypatch.setitem(GLOSSARY, quantity.name, quantity)
    settings = replace(declared.SETTINGS, columns=(Input("handling_rate", not_kept=0.0), *declared.SETTINGS.columns))
    kinds = TableSpec("crates", "crate", (Text("crate"), Input("crate_price")), cause=("crate", "{crate}"), nothing="crate")
    paid = TableSpec("crates paid", "crate_number", (Input("crate_number"), Input("line"), Input("crates_cost")), scope="work")
    added = (
        Input("fragility", not_kept=1.0), Text("crate", not_kept="none"), Lookup("crate_price", "crates", "crate_price", "crate"),
        Sum("crates_cost", "crates paid", "crates_cost", "line"), Computed(handling_cost, part="handling"),
    )
    before = [Computed(unit_cost) if column.name == "unit_cost" else column for column in declared.LINES.columns]
    at = [column.name for column in before].index("unit_cost")
    lines = replace(declared.LINES, columns=(*before[:at], *added, *before[at:]))
    specs = declared.tables
    monkeypatch.setattr(declared, "SETTINGS", settings)
    monkeypatch.setattr(declared, "LINES", lines)
    monkeypatch.setattr(declared, "tables", lambda **options: [*specs(**options), kinds, paid])
    build = costed.build_model

    def build_later(book: PriceBook, lines: OrderLines, problems: Problems) -> Model:
        model = build(book, lines, problems)
        count = len(lines)
        model.tables["settings"].given["handling_rate"] = np.array([0.5])
        model.tables["lines"].given["fragility"] = np.full(count, 2.0)
        model.tables["lines"].text.kept["crate"] = np.array(["none"] * count, dtype=object)
        words = {"crate": np.array(["none", "wooden"], dtype=object)}
        return Model([
            *model.tables.values(), Rows(kinds, 2, {"crate_price": np.array([0.0, 7.0])}, words),
            Rows(paid, 1, {"crate_number": np.array([1.0]), "line": np.array([1.0]), "crates_cost": np.array([3.0])}),
        ])

    monkeypatch.setattr(costed, "build_model", build_later)


@pytest.mark.usefixtures("later_method")
@pytest.mark.parametrize("name", BOOKS)
def test_a_later_method_reads_what_it_was_promised(name: str, tmp_path: Path) -> None:
    """Inputs that were not kept are what their declarations say, tables that were not kept are empty: the amounts are the same."""
    laid_out(name, tmp_path)
    with Register.open(tmp_path / f"{name}.xlsx") as register:
        for quote in register.quotes():
            model = register.model(quote)
            assert model is not None
            assert set(model.tables["lines"].given["fragility"].tolist()) == {1.0}
            assert model.tables["crates"].text["crate"].tolist() == ["none"]
            assert model.tables["crates paid"].count == 0
            for figure, (then, now) in recorded_figures(register, quote).items():
                assert now == pytest.approx(then, rel=1e-12), figure


@pytest.mark.usefixtures("later_method")
@pytest.mark.parametrize("name", BOOKS)
def test_a_later_method_compares_with_causes(name: str, tmp_path: Path) -> None:
    """What was added since is told among the causes, beside the bag of cement, and all of them add up to the change."""
    book = laid_out(name, tmp_path, cement=12.5)
    with Register.open(book.path) as register:
        found = reprice(book, max(quote.day for quote in register.quotes()), register=register)
        masses = [quote.totals["quote_mass"] for quote in register.quotes()]
    assert {("material", "Cement"), ("setting", "Handling"), ("piece", "Fragility")} < set(found.causes)
    assert [kind for kind, _ in found.causes if kind == "make-up"] == ["make-up"]
    for quote, mass in zip(found.quotes, masses, strict=True):
        assert quote.reason == ""
        assert sum(quote.cost.parts.values()) == pytest.approx(quote.cost.change, abs=1e-9)
        handling = quote.cost.parts["setting", "Handling"] + quote.cost.parts["piece", "Fragility"]
        assert handling == pytest.approx(mass * 0.5 * 2, rel=1e-5)
        assert quote.cost.parts["setting", "Handling"] == pytest.approx(mass * 0.5 * 1.5, rel=1e-5)  # and half of what both do


@pytest.mark.parametrize("column", [
    Input("handling_rate"), Text("handled_by"), Input("handling_rate", not_kept=0.0, formerly=("price_step",)),
])
def test_an_input_that_is_not_accounted_for(column: Input | Text, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Where a declaration does not say what an input was before there was one, or two claim the same, no figure is made up."""
    monkeypatch.setattr(declared, "SETTINGS", replace(declared.SETTINGS, columns=(column, *declared.SETTINGS.columns)))
    laid_out("plain", tmp_path)
    with Register.open(tmp_path / "plain.xlsx") as register:
        assert [register.model(quote) for quote in register.quotes()] == [None, None]


def test_a_renamed_column_and_table(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What has another name today is found under the one that it had, with the cell in which it stood."""
    monkeypatch.setitem(GLOSSARY, "wage", replace(GLOSSARY["hourly_cost"], name="wage"))
    wages = replace(
        declared.TRADES, name="wages", formerly=("grades",),
        columns=(*declared.TRADES.columns[:1], Input("wage", formerly=("hourly_cost",))),
    )
    specs = declared.tables

    def renamed(spec: TableSpec) -> TableSpec:
        columns = [replace(each, table="wages") if getattr(each, "table", "") == "trades" else each for each in spec.columns]
        return wages if spec.name == "trades" else replace(spec, columns=tuple(columns))

    monkeypatch.setattr(declared, "tables", lambda **options: [renamed(spec) for spec in specs(**options)])
    laid_out("plain", tmp_path)
    with Register.open(tmp_path / "plain.xlsx") as register:
        model = register.model(register.quotes()[0])
    assert model is not None
    rows = model.tables["wages"]
    assert dict(zip(rows.text["trade"].tolist(), rows.given["wage"].tolist(), strict=True))["Maker"] == 24.0
    assert rows.place("wage", rows.text["trade"].tolist().index("Maker")) == "Grades!B2"


@pytest.mark.parametrize("name", BOOKS)
def test_a_record_of_an_earlier_method_is_compared_with_the_method_as_a_cause(name: str, tmp_path: Path) -> None:
    """A register of the first version, which pooled mixer loads and built a mould for a trace of rejects: it is read, and what its
    quotes would cost more today is split between the dearer cement and the method; the parts add up to the whole."""
    for file in ((KEPT / "first").glob(f"{name}.*")):
        shutil.copy(file, tmp_path)
    workbook = openpyxl.load_workbook(tmp_path / f"{name}.xlsx")
    workbook["Materials"]["E2"] = 12.5
    workbook.save(tmp_path / f"{name}.xlsx")
    book = load_price_book(tmp_path / f"{name}.xlsx")
    with Register.open(book.path) as register:
        recorded = {quote.number: quote.totals for quote in register.quotes()}
        found = reprice(book, max(quote.day for quote in register.quotes()), register=register)
    assert [quote.reason for quote in found.quotes] == ["", ""]
    assert {("material", "Cement"), ("method", "Costing method")} <= set(found.causes)
    for quote in found.quotes:
        assert quote.cost.old == recorded[quote.number]["quote_cost"]
        assert sum(quote.cost.parts.values()) == pytest.approx(quote.cost.change, abs=1e-9)
        assert quote.cost.parts["material", "Cement"] > 0
        assert sum(quote.net.parts.values()) + quote.net.rounding == pytest.approx(quote.net.change, abs=1e-9)


#: Number, revision and state of everything in the register of ``words``, as it is called today.
IN_WORDS = [
    ("Q-1", 1, "issued"), ("Q-2", 1, "ordered"), ("Q-3", 1, "refused"), ("Q-4", 1, "lapsed"), ("Q-5", 1, "issued"), ("Q-6", 1, "draft"),
    ("Q-5", 2, "issued"), ("Q-1", 2, "draft"),
]


def rows(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Everything that stands in a register, table by table, its states apart."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return {
            table: connection.execute(f"SELECT {columns} FROM {table} ORDER BY 1, 2, 3").fetchall() for table, columns in (
                ("quotes", "id, number, revision, customer, date, valid_until, currency, totals, content, replaces"), ("lines", "*"),
                ("inputs", "*"), ("states", "sequence, quote, day"), ("workbooks", "*"), ("numbers", "*, 1"))
        }


def layout(path: Path) -> int:
    with contextlib.closing(sqlite3.connect(path)) as connection:
        return int(connection.execute("PRAGMA user_version").fetchone()[0])


@pytest.mark.parametrize("name", [*BOOKS, "first/plain", "first/learning", "words/states"])
def test_a_register_of_an_earlier_version_is_taken_over(name: str, tmp_path: Path) -> None:
    """Looking changes nothing; the first change takes everything over, and the register as it was is kept beside it."""
    path = tmp_path / "book.register.sqlite"
    shutil.copy(KEPT / f"{name}.register.sqlite", path)
    shutil.copy(KEPT / f"{name}.xlsx", tmp_path / "book.xlsx")
    before, content = rows(path), path.read_bytes()
    with Register.open(tmp_path / "book.xlsx", to_read=True) as register:
        looked = register.quotes(every_revision=True, day=DAY)
    assert path.read_bytes() == content
    with Register.open(tmp_path / "book.xlsx") as register:
        assert register.quotes(every_revision=True, day=DAY) == looked
        found = [(quote.number, quote.revision, quote.marked) for quote in looked]
        assert found == (IN_WORDS if name == "words/states" else [("Q-1", 1, "issued"), ("Q-2", 1, "issued")])
        histories = register.histories()
    assert rows(path) == before
    assert (layout(path), {word for history in histories.values() for word, _ in history} <= set(STATES)) == (2, True)
    (backup,) = backups_of(path)
    assert (layout(backup), rows(backup)) == (1, before)


def test_a_register_that_cannot_be_taken_over_is_left(tmp_path: Path) -> None:
    """Where taking over fails half way, the register is as it was, and a sentence says so."""
    path = tmp_path / "book.register.sqlite"
    shutil.copy(KEPT / "words" / "states.register.sqlite", path)
    with contextlib.closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE taken_over (id INTEGER)")
        connection.commit()
    before = rows(path)
    with pytest.raises(RegisterError, match="put a backup of it in its place"):
        Register.open(tmp_path / "book.xlsx")
    assert (layout(path), rows(path)) == (1, before)


@pytest.mark.parametrize(("word", "state"), EARLIER.items())
def test_earlier_words_are_understood(word: str, state: str, tmp_path: Path) -> None:
    """A mark and a filter in the words of before mean what they meant."""
    for file in (KEPT / "words").iterdir():
        shutil.copy(file, tmp_path)
    book = tmp_path / "states.xlsx"
    with Register.open(book) as register:
        assert [quote.number for quote in register.quotes(state=word, day=DAY)] == [
            number for number, revision, each in IN_WORDS if each == state and (number, revision) != ("Q-5", 1)]
        assert register.mark("Q-2", word, DAY).marked == state
