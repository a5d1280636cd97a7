"""Heavy loads, each run in a process of its own, which says how long it took and how much memory it held.

Run one by hand: ``python tests/load_runs.py quotes 10000 some/folder``; the kinds are those of ``RUNS``.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent

Found = dict[str, Any]


def load_book(path: Path, *, products: int, quotes: int, names: Callable[[int], str] = lambda number: f"Slab {number}") -> Path:
    """Write a price book of many products or many quotes, row by row.

    Parameters
    ----------
    products : so many pieces of different sizes in the catalogue
    quotes : so many quotes of two lines each, every fifth from another customer
    names : name of a product by its number
    """
    import xlsxwriter
    from books import DAY, small_book

    sheets: dict[str, Any] = dict(small_book())
    headings = sheets["Products"][0]
    rest = ("Grey", "Melamine", "Plain", "Sealed", "5 %", "order", 4, None)

    def pieces() -> Iterator[list[Any]]:
        yield headings
        for number in range(products):
            size = (600 + number % 997, 200 + number % 397, 25 + number % 41)
            yield [names(number), f"Slab number {number}", "slab", *size, None, None, None, *rest]

    def enquiries() -> Iterator[list[Any]]:
        yield sheets["Enquiries"][0]
        for number in range(quotes):
            for line in range(2):
                product = names((number * 2 + line) % products)
                yield [f"Q-{number:05}", DAY, f"Customer {number // 5}", product, 1 + number % 7, None, None, None, None]

    def customers() -> Iterator[list[Any]]:
        yield sheets["Customers"][0]
        for number in range((quotes + 4) // 5):
            yield [f"Customer {number}", f"{number} Castle Row, Brindlecote", "0 %", None, "Near"]

    path.parent.mkdir(parents=True, exist_ok=True)
    content = {**sheets, "Products": pieces(), "Enquiries": enquiries(), "Customers": customers()}
    content["Extras"] = sheets["Extras"][:1]
    content["Delivery"] = [*sheets["Delivery"], ["Near", 100_000, 90]]
    with xlsxwriter.Workbook(str(path), {"constant_memory": True, "strings_to_formulas": False}) as book:
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for name, rows in content.items():
            sheet = book.add_worksheet(name)
            for at, row in enumerate(rows):
                for column, value in enumerate(row):
                    if isinstance(value, str):
                        sheet.write_string(at, column, value)
                    elif isinstance(value, int | float):
                        sheet.write_number(at, column, value)
                    elif value is not None:
                        sheet.write_datetime(at, column, value, day)
    return path


def price_all(book: Path, out: Path) -> Found:
    """Price every quote of a book and write and record all of them."""
    import pricing

    priced = pricing.price_quotes(book, out=out, record="issued")
    assert priced.costing is not None, [str(problem) for problem in priced.problems.errors[:5]]
    assert not priced.problems.errors, [str(problem) for problem in priced.problems.errors[:5]]
    return {"quotes": len(priced.costing.quotes), "written": len(priced.written), "payable": float(priced.costing.quote("payable").sum())}


def cost_all(book: Path, _: Path) -> Found:
    """Read a book and cost its whole catalogue."""
    import datetime

    from pricing.book.reading.read import read_price_book
    from pricing.costing.run import cost_catalogue

    start = time.perf_counter()
    read, problems = read_price_book(book)
    assert read is not None, [str(problem) for problem in problems.errors[:5]]
    reading = time.perf_counter() - start
    costing = cost_catalogue(read, datetime.date(2026, 3, 2))
    costs = costing.line("unit_cost")
    return {"products": len(costs), "reading": round(reading, 1), "least": float(costs.min()), "first": costs[:50].tolist()}


RUNS: dict[str, Callable[[Path, Path], Found]] = {"quotes": price_all, "products": cost_all}


def command(kind: str, book: Path, out: Path) -> list[str]:
    """The command line of a run in a process of its own."""
    return [sys.executable, str(HERE / "load_runs.py"), kind, str(book), str(out)]


def environment() -> dict[str, str]:
    """The environment in which a run finds the package and the helpers of the tests."""
    paths = [str(HERE.parent), str(HERE), str(HERE / "faults")]
    return {**os.environ, "PYTHONPATH": os.pathsep.join([*paths, *filter(None, [os.environ.get("PYTHONPATH")])])}


def measured(kind: str, book: Path, out: Path, *, timeout: float) -> Found:
    """Run in a process of its own, and what it found, with ``seconds`` and ``megabytes``."""
    done = subprocess.run(command(kind, book, out), env=environment(), capture_output=True, text=True, timeout=timeout, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    found: Found = json.loads(done.stdout.splitlines()[-1])
    return found


def own_peak() -> float:
    """The most memory that this process held [MiB].

    Linux tells of a process that was just started what the one that started it held, but for this line of its status.
    """
    status = Path("/proc/self/status")
    if status.exists():
        return int(next(line for line in status.read_text().splitlines() if line.startswith("VmHWM")).split()[1]) / 1024
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024**2 if sys.platform == "darwin" else 1024)


def processes_peak() -> float:
    """The most memory that one of the processes that this one started held [MiB]."""
    import resource

    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / (1024**2 if sys.platform == "darwin" else 1024)


def main(kind: str, book: Path, out: Path) -> None:
    """One run; *book* may be a number: of quotes, or of products, that a book in *out* is made of."""
    if str(book).isdigit():
        out.mkdir(parents=True, exist_ok=True)
        many = int(str(book))
        book = load_book(out / "book.xlsx", products=many if kind == "products" else 400, quotes=1 if kind == "products" else many)
        sys.stdout.write(json.dumps(measured(kind, book, out / "out", timeout=36_000)) + "\n")
        return
    start = time.perf_counter()
    found = RUNS[kind](book, out)
    found |= {"seconds": round(time.perf_counter() - start, 1), "megabytes": round(max(own_peak(), processes_peak()))}
    sys.stdout.write(json.dumps(found) + "\n")


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))
