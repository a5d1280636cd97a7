"""A register with nonsense in it: a sentence names the record, everything else goes on, and nothing is deleted."""

from __future__ import annotations

import contextlib
import datetime
import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from books import small_book, write_book
from click.testing import CliRunner, Result

import pricing
from pricing.cli import main
from pricing.register import backups
from pricing.register.backups import backups_of, keep_backup
from pricing.register.database import register_path
from pricing.register.layout import SHOWN
from pricing.register.reading import read_quotes
from pricing.register.recorded_quote import RecordedQuote

#: What is put into a column of a record of Q-1: table, column, value.
NONSENSE: list[tuple[str, str, Any]] = [
    *((("quotes", column, value)) for column, value in (
        ("number", b"\xff\xfe"), ("revision", "first"), ("customer", b"\xc3"), ("date", "yesterday"),
        ("valid_until", ""), ("valid_until", "2026-02-30"), ("currency", b"\x80"), ("totals", "{"), ("totals", "[]"), ("totals", "{}"),
        ("totals", '{"net": "much"}'), ("totals", b"\x00\xff"),
        ("totals", '{"net": null, "tax": 1, "payable": 1, "quote_cost": 1, "quote_margin": 1}'),
        ("totals", '{"net": NaN, "tax": 1, "payable": 1, "quote_cost": 1, "quote_margin": 1}'),
        ("totals", f'{{"net": 1{"0" * 400}, "tax": 1, "payable": 1, "quote_cost": 1, "quote_margin": 1}}'),
    )),
    *((("lines", column, value)) for column, value in (
        ("product", b"\xff"), ("quantity", "four"), ("unit_cost", b""), ("unit_price", "dear"), ("net", "all"), ("asked", "not json"),
        ("asked", "[1, 2]"), ("asked", "{}"), ("asked", '{"product": "Slab 1000", "quantity": 4, "length": "long"}'),
        ("asked", '{"product": 7, "quantity": 4}'), ("asked", '{"product": "Slab 1000", "quantity": 4, "wanted_by": "soon"}'),
    )),
    *((("inputs", column, value)) for column, value in (
        ("numbers", "{"), ("numbers", "[1]"), ("words", "7"), ("places", "x"), ("numbers", b"\xff"),
    )),
    ("states", "day", "long ago"), ("states", "state", "lost"), ("workbooks", "file", b"\xff\xff"), ("workbooks", "fingerprint", "short"),
]

#: Damage that only a look through the whole register finds: nothing else needs what is damaged.
FOUND_BY_CHECK = {("states", "state"), ("workbooks", "fingerprint"), ("lines", "unit_cost")}

KEY = "SELECT id FROM quotes ORDER BY id LIMIT 1"


@pytest.fixture(scope="module")
def issued(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a price book whose two quotes were issued; the second was ordered."""
    folder = tmp_path_factory.mktemp("issued")
    book = write_book(folder / "book.xlsx", small_book())
    assert not pricing.quote(book, out=folder / "out", record="issued").problems.errors
    pricing.mark(book, "Q-2", "ordered", day=datetime.date(2026, 3, 10))
    for backup in backups_of(register_path(book)):
        backup.unlink()
    return folder


def damage(folder: Path, issued: Path, table: str, column: str, value: Any) -> Path:
    """A copy of the folder with nonsense in the records of the first quote; returns the price book."""
    shutil.copytree(issued, folder, dirs_exist_ok=True)
    with sqlite3.connect(register_path(folder / "book.xlsx")) as connection:
        where = "id" if table == "quotes" else "quote"
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute(f"UPDATE {table} SET {column} = ? WHERE {where} = ({KEY})", (value,))
    connection.close()
    return folder / "book.xlsx"


def altered(book: Path, *statements: str) -> None:
    """Do to the register of a price book what these statements say."""
    with sqlite3.connect(register_path(book)) as connection:
        for statement in statements:
            connection.execute(statement)
    connection.close()


def run(*arguments: str | Path) -> Result:
    """The command line; an exception that is no sentence fails the test."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments], catch_exceptions=False)


def records(book: Path) -> list[tuple[Any, ...]]:
    """Everything that the register holds, in an order."""
    connection = sqlite3.connect(register_path(book))
    connection.text_factory = bytes
    found = [(table, *row) for table in ("quotes", "lines", "inputs", "states", "workbooks")
             for row in connection.execute(f"SELECT * FROM {table} ORDER BY 1, 2, 3").fetchall()]
    connection.close()
    return found


@pytest.mark.parametrize(("table", "column", "value"), NONSENSE)
def test_what_is_damaged_is_named_and_all_else_goes_on(table: str, column: str, value: Any, issued: Path, tmp_path: Path) -> None:
    """The record is named by a look through the whole; the list shows the other quote, and nothing in the register is changed."""
    book = damage(tmp_path, issued, table, column, value)
    before = records(book)
    checked = run("register", book, "--check")
    assert checked.exit_code == 1
    assert "is damaged, because " in checked.stderr
    if column != "number":
        assert "quote Q-1 " in checked.stderr
    listed = run("register", book)
    assert listed.exit_code == 0
    assert "Brook House" in listed.stdout
    assert json.loads(run("register", book, "--json").stdout)["quotes"]
    assert records(book) == before


def test_every_damaged_quote_among_many_is_told_once(issued: Path, tmp_path: Path) -> None:
    """Of 50 quotes those are told that hold nonsense, each by its number, and the others are listed in their order."""
    book = damage(tmp_path, issued, "quotes", "customer", "Brook House")
    odd = {3: ("totals", "{"), 4: ("date", "yesterday"), 31: ("revision", "first"), 50: ("customer", b"\xc3")}
    with sqlite3.connect(register_path(book)) as connection:
        columns = "customer, date, valid_until, currency, totals, content, state"
        for number in range(3, 51):
            key = connection.execute(f"INSERT INTO quotes (number, revision, {columns}) SELECT 'Q-{number}', 1, {columns} FROM quotes "
                                     f"WHERE id = ({KEY})").lastrowid
            connection.execute(f"INSERT INTO states (quote, state, day) SELECT {key}, state, day FROM states WHERE quote = ({KEY})")
            connection.execute(f"INSERT INTO workbooks (quote, fingerprint, file) SELECT {key}, fingerprint, file FROM workbooks "
                               f"WHERE quote = ({KEY}) LIMIT 1")
        for number, (column, value) in odd.items():
            connection.execute(f"UPDATE quotes SET {column} = ? WHERE number = 'Q-{number}'", (value,))
    connection.close()
    found = pricing.recorded(book)
    assert [quote.number for quote in found.quotes] == [f"Q-{number}" for number in range(1, 51) if number not in odd]
    assert [f"quote Q-{number} " in str(told) for number, told in zip(odd, found.problems, strict=True)] == [True] * len(odd)


def test_a_list_reads_the_same_whether_its_index_is_there_or_damaged_or_missing(issued: Path, tmp_path: Path) -> None:
    """What a list shows is read from an index, from the table where a disk fault hit the index or there is none yet, and told alike."""
    path = register_path(damage(tmp_path, issued, "quotes", "customer", "Brook House"))

    def read(change: str = "", *, brief: bool = True) -> list[RecordedQuote]:
        with contextlib.closing(sqlite3.connect(path)) as connection:
            connection.execute(change)
            found, nonsense = read_quotes(connection, datetime.date(2026, 3, 3), brief=brief)
        assert nonsense == []
        return found

    whole, listed = read(brief=False), read()
    shown = [{name: quote.totals[name] for name in SHOWN} for quote in whole]
    assert listed == [quote._replace(totals=totals) for quote, totals in zip(whole, shown, strict=True)]
    with contextlib.closing(sqlite3.connect(path)) as connection:
        (page,), (size,) = (connection.execute(query).fetchone() for query in (
            "SELECT rootpage FROM sqlite_master WHERE name = 'listed'", "PRAGMA page_size"))
    with path.open("r+b") as file:
        file.seek((page - 1) * size)
        file.write(b"\xff" * size)
    assert read() == whole
    shutil.copy(register_path(issued / "book.xlsx"), path)
    assert [quote.customer for quote in read("DROP INDEX listed")] == ["Ada Field", "Brook House"]


#: One case for each column.
OF_EACH = list({case[:2]: case for case in NONSENSE}.values())


@pytest.mark.parametrize(("table", "column", "value"), OF_EACH)
def test_every_command_goes_on_without_what_is_damaged(table: str, column: str, value: Any, issued: Path, tmp_path: Path) -> None:
    """Every command ends without a traceback and leaves the register as it is; the other quote is repriced and reviewed."""
    book = damage(tmp_path, issued, table, column, value)
    before, out = records(book), tmp_path / "new"
    exported = run("register", book, "--export", tmp_path / "list.xlsx")
    assert exported.exit_code == 0
    repriced = run("reprice", book, "--date", "2026-03-20", "--out", out)
    assert repriced.exit_code == 0
    assert "Q-2" in repriced.stdout
    reviewed = run("review", book, "--out", out)
    assert reviewed.exit_code == 0
    assert "taken by 1 ordered" in reviewed.stdout
    assert run("workshop", book, "--out", out).exit_code == 0
    assert records(book) == before
    if (table, column) not in FOUND_BY_CHECK and table != "inputs":
        assert "is damaged, because" in exported.stderr + repriced.stderr
    assert run("reprice", book, "--date", "2026-03-20", "--reissue", "--quote", "Q-1", "--out", out).exit_code in (0, 1)
    assert run("register", book, "--mark", "Q-1=ordered").exit_code in (0, 1)


@pytest.mark.parametrize(("table", "column", "value"), [case for case in OF_EACH if case[0] != "inputs"])
def test_quotes_are_issued_beside_damaged_ones(table: str, column: str, value: Any, issued: Path, tmp_path: Path) -> None:
    """A run over both quotes issues what it can; every record that was there is there still."""
    book = damage(tmp_path, issued, table, column, value)
    before = records(book)
    result = run("quote", book, "--date", "2026-03-02", "--out", tmp_path / "out")
    assert result.exit_code in (0, 1)
    assert (tmp_path / "out" / "Q-2 quote.xlsx").exists()
    kept = {row[:2] for row in before if row[0] == "quotes"}
    assert kept <= {row[:2] for row in records(book)}


def test_a_register_without_damage_passes(issued: Path) -> None:
    """A look through a sound register counts what it holds, says so in one line, and ends with 0."""
    result = run("register", issued / "book.xlsx", "--check")
    assert result.exit_code == 0
    assert "2 quotes, 4 lines" in result.stdout
    assert "nothing is damaged" in result.stdout
    assert json.loads(run("register", issued / "book.xlsx", "--check", "--json").stdout)["problems"] == []


@pytest.mark.parametrize(("statement", "says"), [
    ("INSERT INTO accepted_standards (standard, before, after, day) VALUES ('minutes', 'few', 12, '2026-03-01')",
     'the accepted standard in place 1 in the register book.register.sqlite is damaged, because its before is "few", which is no number'),
    ("INSERT INTO accepted_standards (standard, before, after, day) VALUES ('minutes', 1, 2, 'once')",
     'its day is "once", which is no day'),
    ("INSERT INTO numbers VALUES ('Q-', 'many')", 'the range of numbers in place 1 in the register'),
    ("INSERT INTO payments (quote, amount, day, noted) VALUES (1, 'all', '2026-03-01', '2026-03-01')",
     'the row of the table payments in place 1 in the register'),
])
def test_every_table_is_looked_through(statement: str, says: str, issued: Path, tmp_path: Path) -> None:
    """What is kept besides quotes is looked through too: no text, number or day stands where another has to."""
    shutil.copytree(issued, tmp_path, dirs_exist_ok=True)
    altered(tmp_path / "book.xlsx", "DELETE FROM numbers", statement)
    result = run("register", tmp_path / "book.xlsx", "--check")
    assert result.exit_code == 1
    assert says in result.stderr


def test_lines_that_do_not_come_to_the_net_are_found(issued: Path, tmp_path: Path) -> None:
    """A figure that was altered is found where the lines no longer come to what was promised."""
    book = damage(tmp_path, issued, "lines", "net", 1.0)
    result = run("register", book, "--check")
    assert "its lines come to 2.00 and not to " in result.stderr


def test_a_quote_of_which_the_lines_are_gone_is_found(issued: Path, tmp_path: Path) -> None:
    """A quote without lines is found, and so are lines without a quote."""
    book = damage(tmp_path, issued, "states", "state", "issued")
    altered(book, f"UPDATE lines SET quote = 99 WHERE quote = ({KEY})")
    result = run("register", book, "--check")
    assert "it has no lines" in result.stderr
    assert "the quote that it belongs to is not there" in result.stderr


@pytest.mark.parametrize("statement", [
    "DELETE FROM inputs WHERE part = 'mix prices' AND row = 1",
    "UPDATE inputs SET words = json_set(words, '$.material', 'Nothing') WHERE part = 'mix prices' AND row = 1",
    "UPDATE inputs SET words = json_set(words, '$.supplier', 12) WHERE part = 'mix prices' AND row = 1",
])
def test_inputs_that_do_not_fit_each_other_are_found(statement: str, issued: Path, tmp_path: Path) -> None:
    """Where a row of the inputs is gone, or names what is not there, the quote is told as damaged, and the other goes on."""
    book = damage(tmp_path, issued, "states", "state", "issued")
    altered(book, f"{statement} AND quote = ({KEY})")
    checked = run("register", book, "--check")
    assert "quote Q-1 in the register book.register.sqlite is damaged, because what it holds cannot be read" in checked.stderr
    assert "quote Q-2" not in checked.stderr
    repriced = run("reprice", book, "--date", "2026-03-20", "--out", tmp_path / "new")
    assert repriced.exit_code == 0
    assert "damaged" in repriced.stdout + repriced.stderr
    assert "Q-2" in repriced.stdout


def test_a_damaged_accepted_standard_is_left_out(issued: Path, tmp_path: Path) -> None:
    """A standard on record whose figures are nonsense is told, and the review goes on."""
    book = damage(tmp_path, issued, "states", "state", "issued")
    altered(book, "INSERT INTO accepted_standards (standard, before, after, day) VALUES ('minutes', 'few', 12, '2026-03-01')")
    result = run("review", book, "--out", tmp_path / "new")
    assert result.exit_code == 0
    assert 'its figure before is "few", which is no number' in result.stderr


# ---- a register whose tables were never made --------------------------------------------------------------------------------


@pytest.mark.parametrize("journal", [None, "WAL"])
def test_a_register_without_tables_is_an_empty_one(journal: str | None, tmp_path: Path) -> None:
    """What a run leaves that was killed as it began the register is read as a register without quotes, and filled by the next."""
    book = write_book(tmp_path / "book.xlsx", small_book())
    register_path(book).touch()
    if journal:
        connection = sqlite3.connect(register_path(book))
        connection.execute(f"PRAGMA journal_mode = {journal}")
        connection.close()
    assert "no quote is on record" in run("register", book).stdout
    assert run("reprice", book, "--out", tmp_path / "out").exit_code == 0
    assert run("review", book, "--quote", "Q-1", "--out", tmp_path / "out").exit_code == 0
    assert run("quote", book, "--out", tmp_path / "out").exit_code == 0
    assert "Ada Field" in run("register", book, "--date", "2026-03-03").stdout


# ---- backups ----------------------------------------------------------------------------------------------------------------


def test_the_register_is_kept_as_it_was_before_the_first_change_of_a_day(issued: Path, tmp_path: Path) -> None:
    """One backup a day, whole and readable as a register, with what stood there before; reading makes none."""
    shutil.copytree(issued, tmp_path, dirs_exist_ok=True)
    book, path = tmp_path / "book.xlsx", register_path(tmp_path / "book.xlsx")
    run("register", book)
    run("reprice", book, "--out", tmp_path / "out")
    assert backups_of(path) == []
    pricing.mark(book, "Q-1", "refused")
    pricing.mark(book, "Q-1", "ordered", late=True)
    (backup,) = backups_of(path)
    stem = f"book.register backup {datetime.date.today()}"
    assert backup.name.startswith(stem)
    backup.rename(path.with_name("old.register.sqlite"))
    shutil.copy(book, tmp_path / "old.xlsx")
    assert {quote.number: quote.marked for quote in pricing.recorded(tmp_path / "old.xlsx").quotes} == {"Q-1": "issued", "Q-2": "ordered"}


def test_a_damaged_register_names_its_newest_whole_backup(issued: Path, tmp_path: Path) -> None:
    """Who is told that the register cannot be read is told of the newest backup that is whole; in its place it is read."""
    shutil.copytree(issued, tmp_path, dirs_exist_ok=True)
    book, path = tmp_path / "book.xlsx", register_path(tmp_path / "book.xlsx")
    pricing.mark(book, "Q-1", "ordered", late=True)
    (backup,) = backups_of(path)
    whole = backup.read_bytes()
    overwritten = whole[:4096] + b"\xff" * len(whole[4096:])
    for day, content in (("2999-01-01", whole[:5000]), ("2999-01-02", b"nothing"), ("2999-01-03", overwritten)):
        path.with_name(f"book.register backup {day} 000000.sqlite").write_bytes(content)
    path.write_bytes(b"SQLite format 3\0" + whole[16:200] + b"\xff" * 20_000)
    result = run("register", book)
    assert result.exit_code == 1
    assert f"the newest is {backup.name}" in result.stderr
    backup.replace(path)
    assert "Ada Field" in run("register", book, "--date", "2026-03-03").stdout


def test_backups_are_thinned_out(tmp_path: Path) -> None:
    """The newest ten stay, and the first of each month; what is named otherwise is left alone."""
    book = write_book(tmp_path / "book.xlsx", small_book())
    pricing.quote(book, out=tmp_path / "out", record="issued", quotes=["Q-1"])
    path = register_path(book)
    other = path.with_name("book.register backup by hand.sqlite")
    other.write_text("mine")
    connection = sqlite3.connect(path)
    for number in range(100):
        keep_backup(path, connection, datetime.datetime(2026, 1, 5, 9) + datetime.timedelta(days=number, minutes=number))
        assert keep_backup(path, connection, datetime.datetime(2026, 1, 5, 23) + datetime.timedelta(days=number)) is None
    connection.close()
    kept = [each.name.removeprefix("book.register backup ")[:10] for each in backups_of(path)]
    assert kept[:3] == ["2026-01-05", "2026-02-01", "2026-03-01"]
    assert len(kept) in (backups.NEWEST + 3, backups.NEWEST + 4)
    assert kept[-1] == "2026-04-14"
    assert other.read_text() == "mine"


def test_a_backup_that_cannot_be_kept_stops_nothing(issued: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is no room for a backup, what is to be recorded is recorded all the same."""
    shutil.copytree(issued, tmp_path, dirs_exist_ok=True)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pricing.register.backups.written_beside", full)
    assert pricing.mark(tmp_path / "book.xlsx", "Q-1", "refused").state == "refused"
    assert backups_of(register_path(tmp_path / "book.xlsx")) == []
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []
