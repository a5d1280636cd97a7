"""What is measured: each measure gives its figures by name, in seconds, bytes or ratios.

What is compared is measured in turn within one run, and the best of several turns counts: on a machine that does other
things besides, the best comes nearest to what the work itself takes.
"""

from __future__ import annotations

import contextlib
import datetime
import functools
import gc
import io
import os
import shutil
import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeAlias
from unittest import mock

import flat
import office
import workloads

import pricing
from pricing.book.declared.sheets import SHEETS
from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.cli import GARBAGE, main
from pricing.costing.catalogue.job import Job, prepare
from pricing.costing.engine.columns import Text
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.lines.order_lines import enquired, list_lines
from pricing.costing.method.build import build_model
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_catalogue, cost_lines
from pricing.problems import Problems
from pricing.register.database import register_path
from pricing.reports.lists.catalogue import write_catalogue
from pricing.reports.quote.facts import QuoteFacts, quote_facts
from pricing.reports.quote.file_names import quote_file_name
from pricing.reports.quote.many import Finished, QuoteRun, Task, finished_quotes
from pricing.reports.quote.sketch import _laid_out
from pricing.reports.quote.workbook import write_facts, write_quote
from pricing.reports.shared import report_book
from pricing.text import fold
from pricing.xlsx.reading.workbook import read_workbook
from pricing.xlsx.writing.workbook import new_workbook

Figures = dict[str, float]

#: A call of the writing library, as ``Recorded`` notes it.
Call: TypeAlias = tuple[int, str, tuple[Any, ...], dict[str, Any], dict[int, int], bool]

#: A bare process that does what any such program has to: import the libraries, write two workbooks.
BARE = """
import pandas, xlsxwriter
for name in ("one.xlsx", "two.xlsx"):
    with xlsxwriter.Workbook(name) as book:
        book.add_worksheet()
"""

BARE_CLICK = """
import click
@click.group()
def main(): pass
@main.command()
def only(): "The only command."
main(["--help"])
"""


def best(work: Callable[[], Any], turns: int) -> float:
    """Seconds of the best of some turns."""
    return min(_seconds(work) for _ in range(turns))


def _seconds(work: Callable[[], Any]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def cold_start(folder: Path, turns: int = 9) -> Figures:
    """A whole process, from the command to the finished files: one quote as a draft and as a promise, and the help.

    Python has compiled what it imports, as after any first run.
    """
    book = workloads.quotes_book(folder / "cold.xlsx", 1)
    program = "from pricing.cli import main; main()"
    commands = {
        "bare": [sys.executable, "-c", BARE],
        "quote": [sys.executable, "-c", program, "quote", str(book), "--out", str(folder / "drafts"), "--draft"],
        "promise": [sys.executable, "-c", program, "quote", str(book), "--out", str(folder / "promises")],
        "bare click": [sys.executable, "-c", BARE_CLICK],
        "help": [sys.executable, "-c", program, "--help"],
    }
    compiled = {**os.environ, "PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(folder / "compiled")}
    found = dict.fromkeys(commands, float("inf"))
    for _ in range(1 + turns):  # in the first turn Python compiles
        for name, command in commands.items():
            register_path(book).unlink(missing_ok=True)
            shutil.rmtree(folder / "promises", ignore_errors=True)
            run = functools.partial(subprocess.run, command, cwd=folder, env=compiled, capture_output=True, check=True)
            found[name] = min(found[name], _seconds(run))
    return {
        **found, "quote to bare": found["quote"] / found["bare"], "promise to bare": found["promise"] / found["bare"],
        "help to bare click": found["help"] / found["bare click"],
    }


def every_line_column(costing: Costing) -> None:
    """Compute all columns of the lines."""
    values = evaluate(costing.model)
    for column in costing.model.tables["lines"].spec.columns:
        if not isinstance(column, Text):
            values.value("lines", column.name)


def costing(book: PriceBook, products: int, turns: int = 3) -> Figures:
    """Costing a catalogue that is in memory [s/product]."""
    wide = workloads.widened(book, products)
    lines = list_lines(wide, workloads.DAY)
    made = cost_lines(wide, lines)
    return {
        "lines": best(lambda: list_lines(wide, workloads.DAY), turns) / products,
        "model": best(lambda: build_model(wide, lines, Problems()), turns) / products,
        "arithmetic": best(lambda: every_line_column(made), turns) / products,
        "whole": best(lambda: cost_catalogue(wide, workloads.DAY).line("unit_price"), turns) / products,
    }


def memory(book: PriceBook, products: int) -> float:
    """Peak memory of costing a catalogue that is in memory, every column of its lines kept [bytes/product]."""
    wide = workloads.widened(book, products)
    tracemalloc.start()
    made = cost_catalogue(wide, workloads.DAY)
    for column in made.model.tables["lines"].spec.columns:
        if not isinstance(column, Text):
            made.line(column.name)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / products


def price_list(folder: Path, products: int, turns: int = 2) -> Figures:
    """A workbook of products read, costed and written as a list, and the same reading and writing with nothing between [s]."""
    path = folder / f"catalogue {products}.xlsx"
    if not path.exists():
        workloads.catalogue_book(path, products)
    job = Job(path, None, False, (), workloads.DAY)
    out = folder / "list.xlsx"
    wanted = {fold(each.name) for each in SHEETS}
    write_catalogue(prepare(job), out)
    rows = cells_of(out)

    def whole() -> None:
        write_catalogue(prepare(job), out)

    def floor() -> None:
        read_workbook(path, Problems(), wanted=wanted)
        write_cells(folder / "floor.xlsx", rows)

    found = {"whole": float("inf"), "floor": float("inf")}
    for _ in range(turns):
        found = {"whole": min(found["whole"], _seconds(whole)), "floor": min(found["floor"], _seconds(floor))}
    reading = best(lambda: read_workbook(path, Problems(), wanted=wanted), turns)
    book_reading = best(lambda: load_price_book(path), turns)
    return {**found, "whole to floor": found["whole"] / found["floor"], "reading": reading, "reading and checking": book_reading}


def cells_of(path: Path) -> list[list[float | str | None]]:
    """The cells of a list, row by row."""
    book = read_workbook(path, Problems())
    assert book is not None
    sheet = book.sheets[0]
    return [[cell.value for cell in sheet.row(row)] for row in sheet.rows()]  # type: ignore[misc]


def write_cells(path: Path, rows: list[list[float | str | None]]) -> None:
    """Write cells with typed methods and one number format, and nothing else."""
    import xlsxwriter

    with xlsxwriter.Workbook(str(path), {"constant_memory": True}) as book:
        sheet, style = book.add_worksheet(), book.add_format({"num_format": "#,##0.00"})
        for number, row in enumerate(rows):
            for column, value in enumerate(row):
                if isinstance(value, str):
                    sheet.write_string(number, column, value)
                elif value is not None:
                    sheet.write_number(number, column, value, style)


@contextlib.contextmanager
def as_a_command() -> Iterator[None]:
    """Garbage is looked for as seldom as a command does it."""
    often = gc.get_threshold()
    gc.set_threshold(GARBAGE)
    try:
        yield
    finally:
        gc.set_threshold(*often)


@as_a_command()
def quotes(folder: Path, count: int = 300, lines: int = 3) -> Figures:
    """Quotes written and searched by one process as the command does it, sketches and all; the parts of that
    [s/quote of processor time].
    """
    book = load_price_book(workloads.quotes_book(folder / f"quotes {count}.xlsx", count, lines))
    made = cost_lines(book, enquired(book))
    out = folder / "quotes"
    write_quote(made, made.quotes[0], out / "first.xlsx")
    facts = [quote_facts(made, number) for number in made.quotes]
    recorded = [recorded_calls(each) for each in facts]
    tasks = [Task(number, quote_file_name(number)) for number in made.quotes]

    def written() -> None:
        with finished_quotes(QuoteRun(made, None, snapshots=False), tasks, out, margin="margin.xlsx") as (finished, _):
            for each in finished:
                assert isinstance(each, Finished)

    def timed(work: Callable[[], Any]) -> float:
        began = time.process_time()
        work()
        return (time.process_time() - began) / count

    def again() -> float:
        _laid_out.cache_clear()
        return timed(written)

    turns = [
        {
            "each": again(),
            "its page, by the library alone": timed(lambda: [write_calls(each, out / "page.xlsx") for each in recorded]),
            "each, sketches known": timed(written),
            "what it says": timed(lambda: [quote_facts(made, number) for number in made.quotes]),
            "its page": timed(lambda: [write_facts(each, out / "page.xlsx") for each in facts]),
        }
        for _ in range(5)
    ]
    return {name: min(turn[name] for turn in turns) for name in turns[0]}


class Recorded:
    """A workbook of the library, or a sheet of one, that notes what is asked of it.

    Parameters
    ----------
    made : what takes the calls
    calls : what was noted: the number of what was asked (the workbook first), the method, what it was given, and the number of its answer
    known : numbers of workbook, sheets and formats
    """

    def __init__(self, made: Any, calls: list[Call], known: dict[Any, int]) -> None:
        self._made, self._calls, self._known = made, calls, known
        known.setdefault(made, len(known))

    def __getattr__(self, name: str) -> Any:
        method = getattr(self._made, name)
        if not callable(method):
            return method

        def noted(*given: Any, **named: Any) -> Any:
            answer = method(*given, **named)
            keeps = name in ("add_worksheet", "add_format")
            if keeps:
                self._known.setdefault(answer, len(self._known))
            if name != "close":
                which = {at: self._known[each] for at, each in enumerate(given) if type(each).__name__ == "Format"}
                self._calls.append((self._known[self._made], name, given, named, which, keeps))
            return Recorded(answer, self._calls, self._known) if name == "add_worksheet" else answer

        return noted


def recorded_calls(facts: QuoteFacts) -> list[Call]:
    """What is asked of the library for the page of a quote."""
    calls: list[Call] = []

    def recorded(path: Any, options: Mapping[str, Any]) -> Any:
        return Recorded(new_workbook(path, options), calls, {})

    with mock.patch.object(report_book, "new_workbook", recorded):
        write_facts(facts, io.BytesIO())
    return calls


def write_calls(calls: Sequence[Call], path: Path) -> None:
    """Ask the same of the library as it comes, and nothing else: the same formats, cells and pictures."""
    import xlsxwriter

    options = {**report_book.OPTIONS, "in_memory": True, "default_format_properties": dict(report_book.TYPE)}
    with xlsxwriter.Workbook(str(path), options) as book:
        made: list[Any] = [book]
        for target, name, given, named, which, keeps in calls:
            answer = getattr(made[target], name)(*(made[which[at]] if at in which else each for at, each in enumerate(given)), **named)
            if keeps:
                made.append(answer)


def many_quotes(folder: Path, count: int = 1000, lines: int = 3) -> Figures:
    """The command's own way: quotes and the margin workbook, by one process and by all [s]."""
    path = workloads.quotes_book(folder / f"many {count}.xlsx", count, lines)
    found: Figures = {}
    for jobs in (1, None):
        before = os.times()
        seconds = _seconds(functools.partial(pricing.price_quotes, path, out=folder / f"many {jobs}", jobs=jobs))
        after = os.times()
        name = "one process" if jobs == 1 else "all processes"
        found[name] = seconds
        found[f"{name}, processor"] = sum(after[:4]) - sum(before[:4])
    return found


def grid_job(folder: Path, variants: int) -> Job:
    """A grid of about so many variants of the demo workshop's pieces."""
    import openpyxl

    axes: dict[str, list[Any]] = {
        "Product": ["Shelf 900", "Worktop 1800", "Sill 1100", "Hearth 1000"],
        "Length (mm)": [700 + at * 1300 / max(variants // 432, 1) for at in range(variants // 432)],
        "Mix": ["White face mix", "Charcoal mix", "Clay red mix"], "Finish": ["Waxed", "Sealed only", "Honed and sealed"],
        "Quantity": [1, 5, 10, 25], "Price of White cement": [1, 1.1, 1.25],
    }
    sheet = openpyxl.Workbook()
    for column, (name, values) in enumerate(axes.items(), 1):
        for row, value in enumerate([name, *values], 1):
            sheet.worksheets[0].cell(row, column, value)
    sheet.save(folder / "axes.xlsx")
    workloads.write_book(folder / "grid book.xlsx", workloads.DEMO, overwrite=True)
    return Job(folder / "grid book.xlsx", folder / "axes.xlsx", True, (), workloads.DAY)


def grid(folder: Path, variants: int = 1_000_000) -> Figures:
    """Variants of a grid priced and written as Parquet by one process [s/variant], and what they take [bytes/variant]."""
    from pricing.costing.catalogue.engines import price_catalogue

    job = grid_job(folder, variants)
    count = prepare(job).variants.count
    out = folder / f"grid {time.monotonic_ns()}"
    seconds = _seconds(lambda: price_catalogue(job, out))
    return {"each": seconds / count, "bytes": sum(file.stat().st_size for file in out.glob("*.parquet")) / count, "variants": count}


def grid_by_workers(folder: Path, variants: int, workers: Sequence[int]) -> Figures:
    """The same grid priced by so many workers of this machine, as the command does it: seconds by the number of workers, and the
    variants.
    """
    job = grid_job(folder, variants)
    found: Figures = {"variants": prepare(job).variants.count}
    for count in workers:
        out = folder / f"grid by {count}"
        found[str(count)] = _seconds(
            functools.partial(pricing.catalogue, job.book, variants=job.variants, grid=True, day=job.day, out=out, jobs=count))
        shutil.rmtree(out)
    return found


#: A bare process that works as the catalogue does: on arrays of so many variants, one after another [s].
BARE_ARRAYS = """
import sys
import numpy as np
columns = np.random.default_rng(1).random((100, 50_000))
sys.stdin.readline()
for _ in range(150):
    for column in columns:
        np.sqrt(column * columns[0] + columns[1])
"""


def arrays_by_processes(workers: Sequence[int]) -> Figures:
    """So many bare processes, all at the same work at the same time: seconds of the last, by their number; what the machine gives."""
    found: Figures = {}
    for count in workers:
        running = [subprocess.Popen([sys.executable, "-c", BARE_ARRAYS], stdin=subprocess.PIPE, text=True) for _ in range(count)]
        time.sleep(2.0)  # all have imported what they need
        found[str(count)] = _seconds(functools.partial(_let_go, running))
    return found


def _let_go(running: Sequence[subprocess.Popen[str]]) -> None:
    """Let processes begin that wait for a line, and wait until all have ended."""
    for each in running:
        assert each.stdin is not None
        each.stdin.close()
    for each in running:
        each.wait()


def side_by_side(book: PriceBook, pieces: int, folder: Path, *, patience: float = 900.0, most_rows: int = 200) -> Figures:
    """The same model by three means: the engine, a plain spreadsheet recalculated, a loop with quantities [s].

    Parameters
    ----------
    most_rows : so many rows are worked out with quantities at most; the time of the others follows, row by row alike
    """
    wide = workloads.slabs(book, pieces)
    engine = best(lambda: every_line_column(cost_catalogue(wide, workloads.DAY)), 2)
    made = cost_catalogue(wide, workloads.DAY)
    model = flat.flattened(made)
    path = folder / f"flat {pieces}.xlsx"
    formulas = flat.write_flat(model, path)
    recalculation, prices = office.recalculated(path, "unit_price", patience)
    assert prices == made.line("unit_price").tolist()
    reader = flat.WithQuantities(model)
    rows = min(pieces, most_rows)
    began = time.perf_counter()
    worked = [reader.row(number)["unit_price"].magnitude for number in range(rows)]
    loop = (time.perf_counter() - began) / rows * pieces
    assert worked == made.line("unit_price")[:rows].tolist()
    path.unlink()
    return {"engine": engine, "spreadsheet": recalculation, "quantities": loop, "formulas": formulas}


def repricing(folder: Path, count: int, lines: int = 5) -> Figures:
    """A register of quotes compared with the prices of today after one of them changed [s]."""
    from pricing.register.kept.quote_snapshot import snapshot_of
    from pricing.register.register import Register
    from pricing.register.rows import record_snapshot, record_workbook
    from pricing.repricing.reprice import reprice

    path = workloads.quotes_book(folder / f"register {count}.xlsx", count, lines)
    book = load_price_book(path)
    made = cost_lines(book, enquired(book))
    began = time.perf_counter()
    costed = _seconds(lambda: every_line_column(cost_lines(book, enquired(book))))
    began = time.perf_counter()
    with Register.open(path) as register:
        register._connection.execute("BEGIN")
        for number in made.quotes:
            key, _ = record_snapshot(register._connection, snapshot_of(made, number), "issued", None, workloads.DAY)
            record_workbook(register._connection, key, "0" * 64, f"{number}.xlsx", None)
        register._connection.execute("COMMIT")
        recorded = time.perf_counter() - began
        day = workloads.DAY + datetime.timedelta(days=1)
        seconds = _seconds(lambda: reprice(book, day, changes=["White cement=+12%"], register=register))
    return {"recorded": recorded, "repriced": seconds, "costed": costed}


def register_list(folder: Path, count: int) -> Figures:
    """A register of so many quotes, no two of the same amounts, listed as the command has it, before and after it is printed; and its
    rows fetched and nothing made of them [s].
    """
    import dataclasses
    import json
    import sqlite3

    from pricing.register.database import register_path
    from pricing.register.kept.quote_snapshot import snapshot_of
    from pricing.register.register import Register
    from pricing.register.rows import record_snapshot, record_workbook

    path = workloads.quotes_book(folder / f"listed {count}.xlsx", 1, 3)
    book = load_price_book(path)
    made = cost_lines(book, enquired(book))
    snapshot = snapshot_of(made, made.quotes[0])
    with Register.open(path) as register:
        register._connection.execute("BEGIN")
        for number in range(count):
            totals = {name: amount * (1 + number / count) for name, amount in snapshot.totals.items()}
            own = dataclasses.replace(snapshot, number=f"Q-{number}", totals=totals)
            key, _ = record_snapshot(register._connection, own, "issued", None, workloads.DAY)
            record_workbook(register._connection, key, "0" * 64, f"Q-{number}.xlsx", None)
        register._connection.execute("COMMIT")

    def fetched() -> None:
        with contextlib.closing(sqlite3.connect(register_path(path))) as connection:
            rows = connection.execute("SELECT * FROM quotes").fetchall()
            connection.execute("SELECT * FROM states").fetchall()
            connection.execute("SELECT * FROM workbooks").fetchall()
        json.loads(f"[{','.join(row[7] for row in rows)}]")

    def printed() -> None:
        with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
            main(["register", str(path)])

    listed = functools.partial(pricing.recorded, path, day=workloads.DAY, stages=False, brief=True)
    return {"listed": best(listed, 3), "printed": best(printed, 3), "fetched": best(fetched, 3)}
