"""The register of quotes: what is recorded, how revisions and states follow, and that the inputs suffice to cost again."""

from __future__ import annotations

import dataclasses
import datetime
import hashlib
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from books import set_cell, small_book, write_book
from kept_files import fingerprints

from pricing.book.reading.read import load_price_book
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.register.database import RegisterError, register_path
from pricing.register.kept.quote_snapshot import QuoteSnapshot, snapshot_of
from pricing.register.recorded_quote import STATES, state_on
from pricing.register.register import Register

Sheets = dict[str, list[list[Any]]]
DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"
DAY = datetime.date(2026, 3, 2)
LATE = datetime.date(2026, 5, 1)


def costed(folder: Path, edit: Callable[[Sheets], None] = lambda sheets: None) -> Costing:
    """The small workshop's quotes after an edit."""
    sheets = small_book()
    edit(sheets)
    return cost_quotes(load_price_book(write_book(folder / "book.xlsx", sheets)))


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Where the price book of a test lies."""
    return tmp_path / "book.xlsx"


@pytest.fixture
def register(book: Path) -> Iterator[Register]:
    """An empty register."""
    with Register.open(book) as opened:
        yield opened


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """The small workshop's two quotes."""
    return costed(tmp_path_factory.mktemp("register"))


def writes(text: str) -> Callable[[Path], None]:
    """A stand-in for a workbook: what is written, and nothing else."""
    return lambda path: path.write_bytes(text.encode()) and None


def issue(register: Register, offer: QuoteSnapshot, text: str = "workbook", **more: Any) -> Any:
    """Issue an offer into the out folder, each workbook under a name of its own, drafts under one name."""
    ending = " draft" if more.get("state") == "draft" else "" if text == "workbook" else f" {text}"
    return register.issue(offer, register.home / "out" / f"{offer.number}{ending}.xlsx", writes(text), today=DAY, **more)


def changed(offer: QuoteSnapshot, price: float) -> QuoteSnapshot:
    """The same quote at another net."""
    return dataclasses.replace(offer, totals={**offer.totals, "net": price})


def test_what_is_recorded(register: Register, costing: Costing) -> None:
    """Number, revision, customer, dates, lines, prices, totals and the fingerprint of the workbook stand in the register."""
    entry = issue(register, snapshot_of(costing, "Q-1"), "the workbook").quote
    assert (entry.number, entry.revision, entry.customer, entry.currency) == ("Q-1", 1, "Ada Field", "EUR")
    assert (entry.day, entry.valid_until) == (DAY, DAY + datetime.timedelta(days=30))
    assert [entry.totals[name] for name in ("net", "tax", "payable")] == [costing.quote(name)[0] for name in ("net", "tax", "payable")]
    assert entry.fingerprint == hashlib.sha256(b"the workbook").hexdigest()
    assert (register.home / entry.file).read_bytes() == b"the workbook"
    lines = register.lines(entry)
    assert [(line.product, line.quantity, line.unit_price) for line in lines] == [
        ("Slab 1000", 4.0, costing.line("unit_price")[0]), ("Shelf 800", 3.0, costing.line("unit_price")[1])]
    assert lines[1].asked["note"] == "by the window"
    assert (lines[0].asked["mix"], lines[0].asked["length"]) == ("Grey", 1.0)
    assert register.histories()[entry.key] == [("issued", DAY)]


def test_every_typed_input_with_its_cell(register: Register, costing: Costing) -> None:
    """The inputs that a quote rests on stand in the register cell by cell, and a plain SQL reader finds them."""
    issue(register, snapshot_of(costing, "Q-1"))
    with sqlite3.connect(register.path) as connection:
        rows = connection.execute("SELECT part, key, quantity, value, place FROM input_cells").fetchall()
    connection.close()
    cells = {(part, key, quantity): (value, place) for part, key, quantity, value, place in rows}
    assert cells["mix prices", "Cement", "pack_price"] == (10.0, "Materials!E2")
    assert cells["trades", "Maker", "hourly_cost"] == (24.0, "Trades!B2")
    assert cells["settings", "", "target_margin"] == (0.4, "Workshop!B6")
    assert all(place for _, place in cells.values())


def with_learning(sheets: Sheets) -> None:
    """A book that asks for every way of costing there is: learning, interest, whole sheets."""
    sheets["Labour"][0].append("Learning")
    for row in sheets["Labour"][1:]:
        row.append("90 %" if row[1] == "Cast" else None)
    sheets["Workshop"] += [["Interest rate", "6 %", None], ["Board bought by", "sheets", None]]
    sheets["Machines"][0].append("Hours per year")
    sheets["Machines"][1].append(500)


EDITS: dict[str, Callable[[Sheets], None]] = {"small": lambda sheets: None, "every way": with_learning}


@pytest.mark.parametrize("which", ["small", "every way", "demo"])
def test_the_inputs_suffice_to_cost_again(which: str, register: Register, tmp_path: Path) -> None:
    """From the register alone, without the price book, every figure of every quote comes out as it was made."""
    made = cost_quotes(load_price_book(DEMO)) if which == "demo" else costed(tmp_path, EDITS[which])
    for number, quote in enumerate(made.quotes):
        model = register.model(issue(register, snapshot_of(made, quote)).quote)
        assert model is not None
        values = evaluate(model)
        rows = made.lines_of(quote)
        for name in ("unit_cost", "unit_price", "mass", "labour_hours", "contribution"):
            assert values.value("lines", name).tolist() == pytest.approx(made.line(name)[rows].tolist(), rel=1e-12)
        for name in ("net", "tax", "payable", "deposit", "quote_cost"):
            assert values.value("quotes", name)[0] == pytest.approx(made.quote(name)[number], rel=1e-12)


def test_inputs_of_another_method_are_told_apart(register: Register, costing: Costing) -> None:
    """A record whose inputs this version does not know is not costed wrongly: it is not costed at all."""
    entry = issue(register, snapshot_of(costing, "Q-1")).quote
    with sqlite3.connect(register.path) as connection:
        connection.execute("UPDATE inputs SET numbers = json_set(numbers, '$.moon_phase', 1) WHERE part = 'lines'")
    connection.close()
    assert register.model(entry) is None


def test_the_same_promise_again_changes_nothing(register: Register, costing: Costing) -> None:
    """Issued again, an unchanged quote is the same revision, with the same history and the same workbook."""
    first = issue(register, snapshot_of(costing, "Q-1"))
    again = issue(register, snapshot_of(costing, "Q-1"))
    assert (first.fresh, again.fresh) == (True, False)
    assert again.quote == first.quote
    assert len(register.quotes(every_revision=True)) == 1


def test_what_it_costs_the_maker_is_no_part_of_the_promise(register: Register, costing: Costing, tmp_path: Path) -> None:
    """A quote whose prices were typed is the same promise when only the wages rose."""
    dearer = costed(tmp_path, lambda sheets: set_cell(sheets, "Trades", "Maker", "Hourly cost", 26))
    one, other = snapshot_of(costing, "Q-2"), snapshot_of(dearer, "Q-2")
    assert one.totals["quote_cost"] != other.totals["quote_cost"]
    assert one.content == other.content
    assert snapshot_of(costing, "Q-1").content != snapshot_of(dearer, "Q-1").content


def test_revisions_count_up_and_old_ones_stay(register: Register, costing: Costing) -> None:
    """Another promise under the same number is the next revision; the earlier ones stay on record, and can be met again."""
    offer = snapshot_of(costing, "Q-1")
    for number, net in enumerate((767.0, 750.0, 760.0), 1):
        assert issue(register, changed(offer, net), f"workbook {net}").quote.revision == number
    again = issue(register, changed(offer, 750.0), "workbook 750.0")
    assert (again.quote.revision, again.fresh, again.latest) == (2, False, 3)
    assert [entry.totals["net"] for entry in register.quotes(every_revision=True)] == [767.0, 750.0, 760.0]
    assert [entry.revision for entry in register.quotes()] == [3]


def test_a_draft_takes_the_place_of_the_last(register: Register, costing: Costing) -> None:
    """Drafts do not use up revisions; sending one keeps it, and the next draft is a new revision."""
    offer = snapshot_of(costing, "Q-1")
    for net in (700.0, 710.0, 720.0):
        assert issue(register, changed(offer, net), f"draft {net}", state="draft").quote.revision == 1
    assert [entry.totals["net"] for entry in register.quotes(every_revision=True)] == [720.0]
    sent = issue(register, changed(offer, 720.0), "draft 720.0")
    assert (sent.quote.state, sent.quote.revision, sent.fresh) == ("issued", 1, True)
    assert register.histories()[sent.quote.key] == [("draft", DAY), ("issued", DAY)]
    assert issue(register, changed(offer, 730.0), state="draft").quote.revision == 2
    written = fingerprints(register, sent.quote)
    assert {file: len(found) for file, found in written.items()} == {"out/Q-1 draft.xlsx": 3, "out/Q-1 draft 720.0.xlsx": 1}


def test_a_draft_does_not_hide_what_was_sent(register: Register, costing: Costing) -> None:
    """The quote that the customer has in hand stands, though the price book has moved on and a draft says so; it is the one marked."""
    offer = snapshot_of(costing, "Q-1")
    issue(register, changed(offer, 700.0))
    draft = issue(register, changed(offer, 730.0), state="draft").quote
    assert [(entry.revision, entry.state) for entry in register.quotes(day=DAY)] == [(1, "issued")]
    assert [entry.revision for entry in register.quotes(day=DAY, state="draft")] == [draft.revision] == [2]
    assert register.mark(offer.number, "ordered", DAY).revision == 1
    other = snapshot_of(costing, "Q-2")
    issue(register, other)
    register.mark(other.number, "refused", DAY)
    issue(register, changed(other, 730.0), state="draft")
    assert register.quotes(day=DAY, number=other.number)[0].state == "refused", "a draft does not hide a refusal either"


def test_what_was_ordered_is_not_replaced(register: Register, costing: Costing) -> None:
    """Once ordered, a quote that would read differently is refused; one that reads the same is written again."""
    offer = snapshot_of(costing, "Q-1")
    issue(register, offer)
    register.mark("q-1", "ordered", DAY)
    with pytest.raises(RegisterError, match="ordered and stands"):
        issue(register, changed(offer, 800.0), "another")
    assert (register.home / "out" / "Q-1.xlsx").read_bytes() == b"workbook"
    assert not issue(register, offer).fresh
    assert [entry.totals["net"] for entry in register.quotes(every_revision=True)] == [offer.totals["net"]]


#: From state, to state, whether that can be.
TURNS = [
    ("issued", "ordered", True), ("issued", "refused", True), ("issued", "lapsed", True), ("ordered", "refused", True),
    ("ordered", "lapsed", False), ("ordered", "issued", True), ("refused", "ordered", True), ("refused", "issued", True),
    ("lapsed", "ordered", True), ("lapsed", "issued", True), ("issued", "issued", True),
]


@pytest.mark.parametrize(("before", "after", "can"), TURNS, ids=[f"{one} to {other}" for one, other, _ in TURNS])
def test_states_follow_each_other(before: str, after: str, can: bool, register: Register, costing: Costing) -> None:
    """A late acceptance and an order called off are possible; what was ordered does not lapse."""
    issue(register, snapshot_of(costing, "Q-1"))
    if before != "issued":
        register.mark("Q-1", before, DAY)
    if can:
        assert register.mark("Q-1", after, LATE, late=True).marked == after
    else:
        with pytest.raises(RegisterError, match=f"cannot become {after}"):
            register.mark("Q-1", after, LATE)


def test_marks_are_refused_in_a_sentence(register: Register, costing: Costing) -> None:
    """An unknown quote, an unknown state, an unknown revision: each is refused and names what there is."""
    with pytest.raises(RegisterError, match="still empty"):
        register.mark("Q-1", "ordered")
    issue(register, snapshot_of(costing, "Q-1"))
    with pytest.raises(RegisterError, match="it holds Q-1"):
        register.mark("Q-7", "ordered")
    with pytest.raises(RegisterError, match="only 1"):
        register.mark("Q-1", "ordered", revision=4)
    for state in ("draft", "paid"):
        with pytest.raises(RegisterError, match="cannot be marked"):
            register.mark("Q-1", state)


def test_one_revision_is_ordered_at_most(register: Register, costing: Costing) -> None:
    """A customer may take an earlier revision; then no other can be ordered, and the ordered one stands."""
    offer = snapshot_of(costing, "Q-1")
    issue(register, offer)
    issue(register, changed(offer, 760.0))
    register.mark("Q-1", "ordered", DAY, revision=1)
    with pytest.raises(RegisterError, match="ordered already"):
        register.mark("Q-1", "ordered", DAY, revision=2)
    assert [(entry.revision, entry.state) for entry in register.quotes(day=LATE)] == [(1, "ordered")]


def test_quotes_lapse_by_their_validity(register: Register, costing: Costing) -> None:
    """On the last day a quote is still open, on the next it has lapsed; one that was ordered never lapses."""
    issue(register, snapshot_of(costing, "Q-1"))
    issue(register, snapshot_of(costing, "Q-2"))
    register.mark("Q-2", "ordered", DAY)
    last = DAY + datetime.timedelta(days=30)
    assert [entry.state for entry in register.quotes(day=last)] == ["issued", "ordered"]
    assert [entry.state for entry in register.quotes(day=last + datetime.timedelta(days=1))] == ["lapsed", "ordered"]
    assert [entry.number for entry in register.quotes(day=LATE, state="lapsed")] == ["Q-1"]
    assert [state_on(state, last, LATE) for state in STATES] == [
        "lapsed", "lapsed", "ordered", "refused", "lapsed", "made", "delivered", "settled"]


def test_a_clock_that_goes_backwards(register: Register, costing: Costing) -> None:
    """When the clock falls back, order and states hold: they follow what was noted last, not what bears the latest date."""
    offer = snapshot_of(costing, "Q-1")
    path = register.home / "out" / "Q-1.xlsx"
    register.issue(offer, path, writes("one"), today=LATE)
    register.issue(changed(offer, 760.0), path.with_name("Q-1 revision 2.xlsx"), writes("two"), today=datetime.date(2001, 1, 1))
    register.mark("Q-1", "ordered", datetime.date(1999, 1, 1))
    entry = register.quotes(day=datetime.date(1998, 1, 1))[0]
    assert (entry.revision, entry.state, entry.since) == (2, "ordered", datetime.date(1999, 1, 1))
    assert [state for state, _ in register.histories()[entry.key]] == ["issued", "ordered"]
    assert register.quotes(day=datetime.date(2090, 1, 1))[0].state == "ordered"


def test_filters(register: Register, costing: Costing) -> None:
    """By customer, in any letter case and in part; by number; by state."""
    for quote in costing.quotes:
        issue(register, snapshot_of(costing, quote))
    assert [entry.number for entry in register.quotes(customer="brook")] == ["Q-2"]
    assert [entry.number for entry in register.quotes(number="q-1")] == ["Q-1"]
    assert register.quotes(state="refused") == []


def test_numbers_go_on_from_what_is_there(register: Register, costing: Costing) -> None:
    """A free number follows the highest of its kind, in the register or elsewhere, with as many digits."""
    issue(register, snapshot_of(costing, "Q-1"))
    assert [register.next_number("Q-") for _ in range(3)] == ["Q-2", "Q-3", "Q-4"]
    assert register.next_number("2026-", ["2026-007", "2026-draft", "2025-999"]) == "2026-008"
    assert register.next_number("2026-", ["2026-007"]) == "2026-009"
    assert register.next_number("q-") == "q-5"


EIGHT = """
import sys
from pathlib import Path
from pricing.register.register import Register
with Register.open(Path(sys.argv[1])) as register:
    print(*(register.next_number("Q-") for _ in range(25)))
"""


def test_numbers_are_unique_under_eight_processes(book: Path) -> None:
    """Eight processes, starting together on a register that is not there yet, are given two hundred different numbers."""
    running = [subprocess.Popen([sys.executable, "-c", EIGHT, str(book)], stdout=subprocess.PIPE, text=True) for _ in range(8)]
    numbers = [number for each in running for number in each.communicate(timeout=120)[0].split()]
    assert all(each.returncode == 0 for each in running)
    assert sorted(numbers) == sorted(f"Q-{number}" for number in range(1, 201))


def test_a_workbook_that_cannot_be_written_is_not_recorded(register: Register, costing: Costing) -> None:
    """Where the writing fails, there is no record, no workbook, and nothing left over."""

    def fails(path: Path) -> None:
        path.write_bytes(b"half")
        raise ValueError("leak")

    with pytest.raises(ValueError, match="leak"):
        register.issue(snapshot_of(costing, "Q-1"), register.home / "out" / "Q-1.xlsx", fails)
    assert register.quotes() == []
    assert list((register.home / "out").iterdir()) == []


def test_a_place_that_is_taken_by_a_folder(register: Register, costing: Costing) -> None:
    """Where the workbook cannot be moved into its place, the record is taken back, and an earlier one of it stays."""
    place = register.home / "out" / "Q-1.xlsx"
    place.mkdir(parents=True)
    with pytest.raises(OSError, match=r"."):
        issue(register, snapshot_of(costing, "Q-1"))
    assert register.quotes() == []
    place.rmdir()
    entry = issue(register, snapshot_of(costing, "Q-1")).quote
    place.unlink()
    place.mkdir()
    with pytest.raises(OSError, match=r"."):
        issue(register, snapshot_of(costing, "Q-1"))
    assert register.quotes(day=DAY) == [entry]
    assert [each.name for each in place.parent.iterdir()] == ["Q-1.xlsx"]


def test_the_register_moves_with_its_folder(book: Path, costing: Costing) -> None:
    """Price book, register and workbooks moved together are found again: places are kept from the folder of the book."""
    with Register.open(book) as register:
        issue(register, snapshot_of(costing, "Q-1"))
    moved = book.parent / "moved"
    moved.mkdir()
    for name in (register_path(book).name, "out"):
        shutil.move(book.parent / name, moved / name)
    with Register.open(moved / book.name) as register:
        entry = register.quotes()[0]
        assert (moved / entry.file).exists()
