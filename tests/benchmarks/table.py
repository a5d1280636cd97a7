"""Prints the table of results as they stand in tests/benchmarks/README.md: ``python tests/benchmarks/table.py [small]``.

``small`` is a quick look: shorter lists, fewer turns.
"""

from __future__ import annotations

import os
import platform
import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

import measures  # noqa: E402
import workloads  # noqa: E402


def say(text: str) -> None:
    """Print at once."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def row(name: str, measured: str, wanted: str = "", remark: str = "") -> None:
    """Print a row of the table."""
    say(f"| {name} | {measured} | {wanted} | {remark} |")


def machine() -> str:
    """What the figures were measured on."""
    return f"Python {platform.python_version()}, {os.cpu_count()} processors, load {os.getloadavg()[0]:.1f} at the start"


def main(small: bool) -> None:
    """Measure everything and print it as Markdown."""
    say(f"\n{machine()}\n\n| what | measured | wanted | against |\n| --- | ---: | ---: | --- |")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        book = workloads.demo_book(folder / "demo.xlsx")
        _starts(folder, 3 if small else 15)
        _costing(book, small)
        _lists(folder, 10_000 if small else 100_000)
        _quotes(folder, 100 if small else 1000)
        _register(folder, 50 if small else 10_000)
        _grid(folder, 100_000 if small else 2_000_000)
        say(f"\nload {os.getloadavg()[0]:.1f} before the side by side\n")
        say("| rows | engine | plain spreadsheet, LibreOffice headless | row by row with quantities |\n| ---: | ---: | ---: | ---: |")
        for pieces in (1000,) if small else (1_000, 10_000, 100_000):
            found = measures.side_by_side(book, pieces, folder)
            say(f"| {pieces:,} | {found['engine']:.3f} s | {found['spreadsheet']:.1f} s | {found['quantities']:.0f} s |")


def _starts(folder: Path, turns: int) -> None:
    found = measures.cold_start(folder, turns)
    row("one quote, cold process", f"{found['quote']:.2f} s = {found['quote to bare']:.2f} ×", "1.7 ×",
        f"a process that imports pandas and xlsxwriter and writes two empty workbooks: {found['bare']:.2f} s")
    row("the same, issued and recorded", f"{found['promise']:.2f} s = {found['promise to bare']:.2f} ×", "1.7 ×", "the same")
    row("`pricing --help`", f"{found['help'] * 1e3:.0f} ms = {found['help to bare click']:.2f} ×", "1.2 ×",
        f"a bare click program: {found['bare click'] * 1e3:.0f} ms")


def _costing(book: measures.PriceBook, small: bool) -> None:
    sizes = (10_000, 100_000) if small else (100_000, 1_000_000)
    each = {}
    for products in sizes:
        found = measures.costing(book, products)
        each[products] = found
        row(f"costing {products:,} products, on arrays", f"{found['arithmetic'] * 1e6:.2f} µs a product", "4 µs",
            f"all columns of the lines; building the model {found['model'] * 1e6:.2f} µs, in all {found['whole'] * 1e6:.2f} µs")
    ratio = each[sizes[1]]["whole"] / each[sizes[0]]["whole"]
    row(f"a product of {sizes[1]:,} to one of {sizes[0]:,}", f"{ratio:.2f} ×", "1 × (linear)", "all in all")
    row("peak memory of that", f"{measures.memory(book, sizes[1]):,.0f} bytes a product", "4,000", "every column kept")


def _lists(folder: Path, products: int) -> None:
    found = measures.price_list(folder, products)
    row(f"{products:,} products read, costed, written as a list", f"{found['whole']:.1f} s = {found['whole to floor']:.2f} ×", "1.1 ×",
        f"the same sheet read ({found['reading']:.1f} s) and the same cells written, nothing computed: {found['floor']:.1f} s")


def _quotes(folder: Path, count: int) -> None:
    found = measures.quotes(folder)
    row("quotes written and searched", f"{1 / found['each']:.0f} a second and processor", "110",
        f"{found['each'] * 1e3:.1f} ms of processor time each; {found['each, sketches known'] * 1e3:.1f} ms with known sketches; the page "
        f"alone {found['its page'] * 1e3:.1f} ms, by the library as it comes {found['its page, by the library alone'] * 1e3:.1f} ms")
    many = measures.many_quotes(folder, count)
    row(f"{count:,} quotes and their margin workbook", f"{many['all processes']:.1f} s", "", f"by one process {many['one process']:.1f} s")


def _register(folder: Path, count: int) -> None:
    found = measures.repricing(folder, count)
    each = found["repriced"] / count
    row(f"repricing a register of {count:,} × 5 lines", f"{found['repriced']:.2f} s = {found['repriced'] / found['costed']:.1f} ×",
        "2.5 s for 10,000", f"{each * 1e3:.2f} ms a quote; cement 12 % dearer; the same lines costed once: {found['costed']:.2f} s")
    most = count * 10
    (apart := folder / "listed").mkdir()  # no book begins a register where another's lies
    listed = measures.register_list(apart, most)
    row(f"a register of {most:,} quotes listed", f"{listed['listed']:.2f} s = {listed['listed'] / listed['fetched']:.1f} ×",
        "1 s for 100,000", f"rows fetched, amounts read: {listed['fetched']:.2f} s; listed and printed: {listed['printed']:.2f} s")


def _grid(folder: Path, variants: int) -> None:
    found = measures.grid(folder, variants)
    row(f"{found['variants']:,.0f} variants of a grid, priced into Parquet", f"{1 / found['each']:,.0f} a second and processor", "",
        f"{found['bytes']:.0f} bytes each")
    workers, processors = (1, 2, 4), os.cpu_count() or 1
    bare, by = measures.arrays_by_processes(workers), measures.grid_by_workers(folder, variants * 5, workers)
    for count in workers[1:]:
        working = min(count, processors)
        more, most = by["1"] / by[str(count)], count * bare["1"] / bare[str(count)]
        row(f"{by['variants']:,.0f} variants by {count} workers", f"{by[str(count)]:.1f} s = {more:.2f} × one",
            f"{1 + 0.85 * (working - 1):.2f} ×", f"one worker {by['1']:.1f} s; the machine has {processors} processors, and {count} bare "
            f"processes at arrays of that size do {most:.2f} × the work of one")


if __name__ == "__main__":
    main("small" in sys.argv)
