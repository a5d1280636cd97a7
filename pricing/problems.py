"""A problem: what is wrong, where it stands, what was expected and how to mend it.

Problems are collected, never raised one at a time, so that a maker sees every one of them in a single pass.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that the maker has to know, with its place.

    Parameters
    ----------
    code : stable short name of the kind of problem, such as ``"wrong-dimension"``
    message : one sentence: the value found, what was expected and the remedy
    file : name of the file, without its folder
    sheet, cell : where it stands, such as ``"Products"`` and ``"F14"``; empty where it concerns the whole file
    warning : True where the work can go on (a figure to look at), False where it cannot
    """

    code: str
    message: str
    file: str = ""
    sheet: str = ""
    cell: str = ""
    warning: bool = False

    @property
    def place(self) -> str:
        """Where it stands, as a maker would look for it: ``Products!F14``."""
        return f"{self.sheet}!{self.cell}" if self.sheet and self.cell else self.sheet or self.cell

    def __str__(self) -> str:
        return "  ".join(part for part in (self.file, self.place, self.message) if part)

    def as_json(self) -> dict[str, str]:
        """The keys that programs read: code, severity (``error`` or ``warning``), sheet, cell, message."""
        severity = "warning" if self.warning else "error"
        return {"code": self.code, "severity": severity, "sheet": self.sheet, "cell": self.cell, "message": self.message}


class Problems:
    """A growing list of problems about one file.

    >>> found = Problems("price-book.xlsx")
    >>> found.add("missing-value", "a pack price is missing; type one", sheet="Materials", cell="E7")
    >>> print(found.errors[0])
    price-book.xlsx  Materials!E7  a pack price is missing; type one
    """

    def __init__(self, file: str = "") -> None:
        self.file = file
        self._found: dict[Problem, None] = {}

    def add(self, code: str, message: str, *, sheet: str = "", cell: str = "", warning: bool = False) -> None:
        """Remember a problem; the same one in the same place is kept once."""
        self._found.setdefault(Problem(code, message, self.file, sheet, cell, warning))

    def take(self, problems: Iterable[Problem]) -> None:
        """Remember problems found elsewhere, of whatever file."""
        for problem in problems:
            self._found.setdefault(problem)

    @property
    def errors(self) -> list[Problem]:
        """Those that stop the work."""
        return [problem for problem in self._found if not problem.warning]

    @property
    def warnings(self) -> list[Problem]:
        """Those that the maker should look at while the work goes on."""
        return [problem for problem in self._found if problem.warning]

    def __iter__(self) -> Iterator[Problem]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)

    def __bool__(self) -> bool:
        return bool(self._found)


class PricingError(Exception):
    """Raised where something that was asked for cannot be done; its text is a sentence with the remedy."""

    #: Stable short name of the kind of problem.
    code = "refused"

    #: Where to look first.
    sheet = ""

    @property
    def problems(self) -> list[Problem]:
        """The same as problems, each with its place where it has one."""
        return [Problem(self.code, str(self), sheet=self.sheet)]


class BookError(PricingError):
    """Raised by the Python interface when a price book has errors; carries all of them."""

    code = "price-book"

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self._problems = problems

    @property
    def problems(self) -> list[Problem]:
        """Every problem with its place."""
        return self._problems
