"""Many quotes at once: each workbook is written and searched by one of several processes, and handed on in order.

The files are the same whatever the number of processes. They are finished in a hidden folder beside their places, so that
whoever asked for them can still decide where each goes. What writes a page is imported where it writes, so that of few quotes the
margin workbooks are begun, by a process of their own, before this one has read what it needs for a page.
"""

from __future__ import annotations

import contextlib
import functools
import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_lines
from pricing.dataclass import dataclass
from pricing.files.atomic import write_durably
from pricing.files.hidden_folders import hidden_folder
from pricing.files.processes import done_beside, work_for_another
from pricing.reports.margin.parts import margin_parts, part_file_name, write_margin_part

if TYPE_CHECKING:
    from concurrent.futures import Future
    from multiprocessing.context import BaseContext

    from pricing.problems import Problem
    from pricing.register.kept.quote_snapshot import QuoteSnapshot
    from pricing.reports.leaks.gate import LeakError
    from pricing.reports.margin.part import MarginPart


class Task(NamedTuple):
    """A workbook to be written.

    Parameters
    ----------
    quote : its number
    file : name of its workbook
    label : what the quote is called on its page; its number where empty
    draft : True where nothing is promised yet
    """

    quote: str
    file: str
    label: str = ""
    draft: bool = False


@dataclass(frozen=True)
class Finished:
    """A quote's workbook, finished and searched.

    Parameters
    ----------
    quote : its number
    path : where the workbook stands until it is moved
    snapshot : what the register keeps of it, where that was asked for
    task : what was to be written
    """

    quote: str
    path: Path
    snapshot: QuoteSnapshot | None
    task: Task


class QuoteRun:
    """What every process needs: the costing, and the prices by quantity. Another process makes them anew from their lines.

    Parameters
    ----------
    costing : a costing without errors
    breaks : the same lines at other quantities; None where the quotes have no table of them
    snapshots : True where the register is to keep each quote
    parts : the margin workbooks; as many as the lines need where None

    Problems raised: RowsError where a quote has more lines than any margin workbook holds.
    """

    def __init__(
        self, costing: Costing, breaks: Costing | None, snapshots: bool, parts: Sequence[MarginPart] | None = None,
    ) -> None:
        self.costing = costing
        self.breaks = breaks
        self.snapshots = snapshots
        self.parts = list(margin_parts(costing) if parts is None else parts)

    def __reduce__(self) -> tuple[Any, ...]:
        broken = None if self.breaks is None else self.breaks.lines
        return _again, (self.costing.book, self.costing.lines, broken, self.snapshots, self.parts)

    def quote(self, task: Task, path: Path) -> Finished | LeakError:
        """Write the workbook of a quote into a hidden folder; finished, or why it is not delivered."""
        from pricing.reports.quote.wording import LABELS
        from pricing.reports.quote.workbook import LeakError, searched_quote

        try:
            mark = LABELS["draft"] if task.draft else ""
            write_durably(path, searched_quote(self.costing, task.quote, breaks=self.breaks, mark=mark, label=task.label))
        except LeakError as refusal:
            return refusal
        return Finished(task.quote, path, self._snapshot(task.quote) if self.snapshots else None, task)

    def margin(self, place: int, path: Path) -> list[Problem]:
        """Write a margin workbook, of the part in a place counted from 0; what the maker has to know of it."""
        return write_margin_part(self.costing, self.parts[place], path)

    def _snapshot(self, quote: str) -> QuoteSnapshot:
        from pricing.register.kept.quote_snapshot import snapshot_of

        return snapshot_of(self.costing, quote, breaks=self.breaks)


def _again(book: Any, lines: Any, broken: Any, snapshots: bool, parts: Any) -> QuoteRun:
    return QuoteRun(cost_lines(book, lines), None if broken is None else cost_lines(book, broken), snapshots, parts)


@contextlib.contextmanager
def finished_quotes(
    work: QuoteRun, quotes: Sequence[Task], folder: Path, *, margin: str | Sequence[str], processes: int = 1, method: str | None = None,
    beside: bool = False,
) -> Iterator[tuple[Iterator[Finished | LeakError], Callable[[], list[Path]]]]:
    """The workbooks of some quotes, one after another, and the margin workbooks of them all.

    Parameters
    ----------
    work : the costing
    quotes : what is to be written
    folder : in which they are to stand in the end
    margin : name of the first margin workbook, or of each
    processes : that write them
    method : how processes are started, as the standard library calls it; what suits the system where None
    beside : whether, where one process writes the quotes, another may write the margin workbooks

    Returns
    -------
    the finished quotes in order, each at a temporary place, or why one is not delivered; and what gives the temporary places
    of the margin workbooks, and tells the costing's problems of them. What is not moved away is removed in the end.

    Problems raised: OSError, when the turn of a quote comes that cannot be written.
    """
    with hidden_folder(folder, "writing") as hidden:
        tasks = _places(quotes, hidden)
        names = [part_file_name(margin, part.number) for part in work.parts] if isinstance(margin, str) else margin
        margins = [hidden / name for name in names]
        if processes <= 1:
            write = functools.partial(_written, work, margins)
            with done_beside(write) if beside else contextlib.nullcontext(write) as result:
                yield (work.quote(*task) for task in tasks), lambda: _told(work, margins, result())
            return
        import multiprocessing
        from concurrent.futures import ProcessPoolExecutor

        import pricing.reports.margin.workbook
        import pricing.reports.quote.workbook  # noqa: F401 - once, before this process is copied

        context: BaseContext = multiprocessing.get_context(method or ("fork" if sys.platform == "linux" else "spawn"))
        with ProcessPoolExecutor(processes, context, initializer=_begin, initargs=(work,)) as pool:
            with warnings.catch_warnings():  # threads of libraries are idle while a process is forked, and it never uses them
                warnings.simplefilter("ignore", DeprecationWarning)
                # The margin workbooks take longest and are begun first.
                summaries = [pool.submit(_margin_of_process, place, path) for place, path in enumerate(margins)]
            waiting = [pool.submit(_quote_of_process, *task) for task in tasks]
            try:
                yield _in_order(work, tasks, waiting), lambda: _told(work, margins, _waited_for(work, margins, summaries))
            finally:
                pool.shutdown(wait=True, cancel_futures=True)


def _places(quotes: Sequence[Task], hidden: Path) -> list[tuple[Task, Path]]:
    """Where each is written: in one folder, or, where the names of some differ by no more than their letter case, each in its own."""
    apart = len({task.file.casefold() for task in quotes}) < len(quotes)
    tasks = [(task, hidden / (f"quote {number}" if apart else "quotes") / task.file) for number, task in enumerate(quotes)]
    for folder in {path.parent for _, path in tasks}:
        folder.mkdir()
    return tasks


def _in_order(
    work: QuoteRun, tasks: Sequence[tuple[Task, Path]], waiting: Sequence[Future[Finished | LeakError]]
) -> Iterator[Finished | LeakError]:
    from concurrent.futures.process import BrokenProcessPool

    for task, each in zip(tasks, waiting, strict=True):
        try:
            yield each.result()
        except BrokenProcessPool:  # a process was ended from outside: what it had to do is done here
            yield work.quote(*task)


def _written(work: QuoteRun, paths: Sequence[Path]) -> list[Problem]:
    """Write the margin workbooks; what the maker has to know of them."""
    return [problem for place, path in enumerate(paths) for problem in work.margin(place, path)]


def _waited_for(work: QuoteRun, paths: Sequence[Path], waiting: Sequence[Future[list[Problem]]]) -> list[Problem]:
    from concurrent.futures.process import BrokenProcessPool

    found: list[Problem] = []
    for place, path in enumerate(paths):
        try:
            found += waiting[place].result()
        except BrokenProcessPool:  # a process was ended from outside: what it had to do is done here
            found += work.margin(place, path)
    return found


def _told(work: QuoteRun, paths: Sequence[Path], problems: Sequence[Problem]) -> list[Path]:
    """Where the margin workbooks stand; what is told of them is told of the costing."""
    work.costing.problems.take(problems)
    return list(paths)


#: The work of this process, where it is one of several.
_of_process: list[QuoteRun] = []


def _begin(work: QuoteRun) -> None:
    work_for_another()
    _of_process[:] = [work]


def _quote_of_process(task: Task, path: Path) -> Finished | LeakError:
    return _of_process[0].quote(task, path)


def _margin_of_process(place: int, path: Path) -> list[Problem]:
    return _of_process[0].margin(place, path)
