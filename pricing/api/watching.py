"""Watching a price book: what is to be done when a spreadsheet program has saved it; the whole of ``pricing watch``."""

from __future__ import annotations

import datetime
import hashlib
import threading
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pricing.api.quoting import Priced
    from pricing.book.price_book import PriceBook

#: How often the file is looked at [s].
INTERVAL = 0.5

#: How often a file that is not whole is looked at again before that is said.
PATIENCE = 20

Stamp = tuple[int, int, int]


def watch(
    path: Path | str, out: Path | str, report: Callable[[str], None], stop: threading.Event, *, interval: float = INTERVAL
) -> None:
    """Check a price book and rewrite its workbooks, quotes as drafts, whenever it is saved, until *stop* is set.

    Parameters
    ----------
    path : the price book
    out : folder for the workbooks
    report : takes one line at a time, with its time of day
    interval : between two looks [s]
    """
    Watch(Path(path), Path(out), report, interval).run(stop)


class Watch:
    """Looks after one price book until it is told to stop.

    Parameters
    ----------
    book : path of the price book
    out : folder for the workbooks
    report : takes each line
    interval : between two looks [s]
    """

    def __init__(self, book: Path, out: Path, report: Callable[[str], None], interval: float = INTERVAL) -> None:
        self.book = book
        self.out = out
        self.report = report
        self.interval = interval
        self._stamp: Stamp | None = None
        self._content = ""
        self._missing = False
        self._read: PriceBook | None = None
        self._nets: dict[str, float] = {}

    def run(self, stop: threading.Event) -> None:
        """Look, and rewrite what follows from the book whenever it has changed, until *stop* is set."""
        while not stop.is_set():
            stamp = self._look()
            if stamp is None and not self._missing:
                self._missing = True
                self._say(f"{self.book.name} is not there; waiting for it")
            elif stamp is not None and stamp != self._stamp and self._settled(stop, stamp):
                self._missing = False
                self._changed()
            stop.wait(self.interval)

    def _look(self) -> Stamp | None:
        try:
            state = self.book.stat()
        except OSError:
            return None
        return state.st_mtime_ns, state.st_size, state.st_ino

    def _settled(self, stop: threading.Event, stamp: Stamp) -> bool:
        """Wait until the file no longer grows and is a whole zip; a file that stays broken is let through to be reported."""
        for _ in range(PATIENCE):
            if stop.wait(self.interval / 2):
                return False
            now = self._look()
            if now == stamp and self._is_whole():
                break
            if now is None:
                return False
            stamp = now
        self._stamp = stamp
        return True

    def _is_whole(self) -> bool:
        try:
            with zipfile.ZipFile(self.book) as file:
                return file.testzip() is None
        except (OSError, zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, NotImplementedError):
            return False

    def _changed(self) -> None:
        try:
            content = hashlib.sha256(self.book.read_bytes()).hexdigest()
        except OSError:
            self._stamp = None
            return
        if content == self._content:
            return
        self._content = content
        from pricing.api.quoting import quote

        self._tell(quote(self.book, out=self.out, record="draft"))

    def _tell(self, priced: Priced) -> None:
        errors = priced.problems.errors
        if errors:
            rest = f"; {len(errors) - 1} more" if len(errors) > 1 else ""
            done = f"{len(priced.written)} workbooks written" if priced.written else "nothing rewritten"
            self._say(f"{done}: {errors[0]}{rest}")
        if priced.costing is None:
            return
        from pricing.book.changed_prices import differences, in_one_line

        costing = priced.costing
        nets = dict(zip(costing.quotes, costing.quote("net").tolist(), strict=True))
        if not errors:
            found = differences(self._read, costing.book) if self._read is not None else []
            quiet = f"watching {self.book.name}" if self._read is None else "nothing that counts has changed"
            lead = in_one_line(found) if found else quiet
            warnings = len(priced.problems.warnings)
            look = f"; {warnings} to look at" if warnings else ""
            self._say(f"{lead}; {len(priced.written)} workbooks written{self._moved(nets)}{look}")
        self._read, self._nets = costing.book, nets

    def _moved(self, nets: dict[str, float]) -> str:
        moved = [f"{quote} {nets[quote] - net:+,.2f}" for quote, net in self._nets.items() if quote in nets and nets[quote] != net]
        shown = ", ".join(moved[:4]) + (f" and {len(moved) - 4} more" if len(moved) > 4 else "")
        return f"; net of {shown}" if moved else ""

    def _say(self, line: str) -> None:
        self.report(f"{datetime.datetime.now():%H:%M:%S}  {line}")
