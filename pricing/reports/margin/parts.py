"""Parts of the margin workbook: one for most runs, several where a run has more lines than a spreadsheet opens with ease.

A part is a margin workbook of some of the quotes, whole in itself: its figures, sums and checks are of these quotes alone.
That loses nothing, because no figure of a quote hangs on another quote: loads of the mixer are pooled, moulds counted and
discounts given within a quote, and the overhead rate is the workshop's.
"""

from __future__ import annotations

import contextlib
import re
import zipfile
import zlib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from pricing import money
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.problems import Problem
from pricing.reports.margin.part import TITLE, MarginPart
from pricing.reports.margin.sheet_limits import ROWS_OF_A_SHEET, RowsError, rows_of_quotes
from pricing.xlsx.writing.safe_text import one_line, safe_file_name

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: A part has no more lines than this, unless one quote has. So many, of nine steps each, are a file of 34 MB: 0.9 GiB and 24 s to
#: write, 1.4 GiB and 9 s to open in LibreOffice, 65 s to recalculate; twice as many take 2.6 GiB, 18 s and 415 s (measured).
MOST_LINES = 10_000

#: The lines of a part take no more rows of a sheet than this, unless those of one quote do: a tenth of what a sheet has,
#: which leaves room for what the price book brings.
MOST_ROWS = 100_000

#: So much of a file's properties is looked at [bytes].
_MOST_PROPERTIES = 65_536

#: What is raised where a file is no workbook, or a broken one.
_UNREADABLE = (OSError, zipfile.BadZipFile, zlib.error, KeyError, EOFError, RuntimeError, NotImplementedError, ValueError)

_SAYS_PART = re.compile(rf"<dc:title>{re.escape(TITLE)}, part [0-9]+ of [0-9]+</dc:title>".encode())


def margin_parts(costing: Costing, most_lines: int | None = None, most_rows: int | None = None) -> list[MarginPart]:
    """Which quotes stand in which margin workbook, in the order of the quotes; no quote is divided.

    Parameters
    ----------
    costing : a costing without errors
    most_lines : of a part, unless one quote has more; ``MOST_LINES`` where None
    most_rows : that the lines of a part take of a sheet, unless those of one quote take more; ``MOST_ROWS`` where None

    Problems raised: RowsError where the lines of one quote need more rows than a sheet has.
    """
    quotes = costing.quotes
    counted = rows_of_quotes(costing)
    for sheet, rows in counted.items():
        _refuse(costing, sheet, rows)
    lines = np.array([len(costing.lines_of(quote)) for quote in quotes], dtype=np.intp)
    most = [most_lines or MOST_LINES, *[most_rows or MOST_ROWS] * len(counted)]
    starts = _starts(np.stack([lines, *counted.values()]), np.array(most, dtype=np.intp))
    held = [tuple(quotes[start:end]) for start, end in zip(starts, [*starts[1:], len(quotes)], strict=True)]
    if len(held) == 1:
        return [MarginPart(1, 1, held[0])]
    whole = _whole(costing, len(held))
    return [MarginPart(number, len(held), each, _remark(number, each, whole)) for number, each in enumerate(held, 1)]


def _refuse(costing: Costing, sheet: str, rows: NDArray[np.intp]) -> None:
    most = int(rows.argmax()) if len(rows) else 0
    if len(rows) and rows[most] >= ROWS_OF_A_SHEET:
        quote = costing.lines.quotes[most]
        raise RowsError(
            f'quote {quote} has {len(costing.lines_of(quote)):,} lines, which would take {rows[most]:,} rows of the sheet "{sheet}" in '
            f"the margin workbook, and no sheet has more than {ROWS_OF_A_SHEET:,}; divide it into several quotes"
        )


def _starts(counts: NDArray[np.intp], most: NDArray[np.intp]) -> list[int]:
    """Where each part begins: a quote that no longer fits begins the next.

    Parameters
    ----------
    counts : what each quote takes of each thing, shape (things, quotes)
    most : of each thing
    """
    starts, taken = [0], np.zeros(len(counts), dtype=np.intp)
    for quote, each in enumerate(counts.T):
        if quote > starts[-1] and (taken + each > most).any():
            starts.append(quote)
            taken = np.zeros(len(counts), dtype=np.intp)
        taken = taken + each
    return starts


def _whole(costing: Costing, parts: int) -> str:
    net, cost = (float(np.sum(costing.quote(name))) for name in ("net", "quote_cost"))
    digits = money.minor_units(costing.currency)
    margin = (net - cost) / net if net else 0.0
    return (
        f"All {parts} parts together, when this was written: net {costing.currency} {net:,.{digits}f}, cost {cost:,.{digits}f}, "
        f"margin {margin:.1%}."
    )


def _remark(number: int, quotes: Sequence[str], whole: str) -> str:
    first, last = (one_line(quotes[place], 60) for place in (0, -1))
    held = f"{len(quotes):,} quotes, {first} to {last}" if len(quotes) > 1 else f"quote {first}"
    return f"Part {number}: {held}; every figure in this workbook is of these alone. {whole}"


def write_margin_part(costing: Costing, part: MarginPart, path: Path) -> list[Problem]:
    """Write one of the margin workbooks of a run.

    Parameters
    ----------
    costing : of the whole run
    path : where it goes; it is written beside and moved into place

    Returns
    -------
    what the maker has to know of it: warnings

    Problems raised: OSError where the folder cannot be written; RowsError where it would need more rows than a sheet has.
    """
    from pricing.reports.margin.workbook import write_margin

    own = costing if part.quotes == tuple(costing.quotes) else costing_of(costing, part.quotes)
    known = set(own.problems)
    write_margin(own, path, part)
    return [problem for problem in own.problems if problem not in known]


def costing_of(costing: Costing, quotes: Sequence[str]) -> Costing:
    """The costing of some quotes of a costing, as if the others had not been asked for."""
    rows = [line for quote in quotes for line in costing.lines_of(quote)]
    return cost_lines(costing.book, costing.lines.taken(rows))


def margin_file_name(quote: str) -> str:
    """The name of the margin workbook of one quote.

    >>> margin_file_name("Q-1041")
    'Q-1041 margin.xlsx'
    """
    return safe_file_name(quote, " margin.xlsx")


def part_file_name(name: str, number: int) -> str:
    """The name of the file of a part.

    Parameters
    ----------
    name : of the first, which is the only one of most runs

    >>> part_file_name("margin summary.xlsx", 1), part_file_name("margin summary.xlsx", 2)
    ('margin summary.xlsx', 'margin summary 2.xlsx')
    """
    stem, dot, ending = name.rpartition(".")
    return name if number == 1 else f"{stem} {number}{dot}{ending}"


def remove_earlier_parts(folder: Path, name: str, parts: int) -> list[tuple[str, str]]:
    """Remove the parts of an earlier run that had more of them, so that none is taken for a part of this one.

    A file that does not say of itself that it is a part is left alone, whatever it is called.

    Parameters
    ----------
    folder : in which the margin workbooks of this run stand
    name : of the first
    parts : how many this run has

    Returns
    -------
    of each file of such a name a code and a sentence
    """
    stem, _, ending = name.rpartition(".")
    numbered = re.compile(rf"{re.escape(stem)} ([1-9][0-9]{{0,8}})\.{re.escape(ending)}")
    found = {int(match[1]): folder / match[0] for match in map(numbered.fullmatch, (each.name for each in folder.iterdir())) if match}
    return [_removed(found[number], parts) for number in sorted(found) if number > max(parts, 1)]


def _removed(path: Path, parts: int) -> tuple[str, str]:
    now = f"this run has {parts} margin workbooks" if parts > 1 else "this run has one margin workbook"
    if not _says_part(path):
        return "foreign-margin", f'"{path.name}" does not say that it is of an earlier run, so it is left alone; {now}, without that file'
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        return "earlier-margin", f'"{path.name}" is of an earlier run and could not be removed ({reason}); {now}: delete it'
    return "earlier-margin", f'"{path.name}" of an earlier run was removed, because {now}'


def _says_part(path: Path) -> bool:
    """True where a file's properties say that it is a part of a margin workbook; what cannot be read says nothing."""
    with contextlib.suppress(*_UNREADABLE), zipfile.ZipFile(path) as package, package.open("docProps/core.xml") as properties:
        return _SAYS_PART.search(properties.read(_MOST_PROPERTIES)) is not None
    return False
