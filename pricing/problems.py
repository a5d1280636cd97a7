"""A problem: what is wrong, where it stands, what was expected and how to mend it.

Problems are collected, never raised one at a time, so that a maker sees every one of them in a single pass.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

from pricing.dataclass import dataclass

#: Problems of one kind on one sheet that are printed one by one.
MOST_TOLD = 10

#: Kinds of problems that are one fault where they are told in the same words: a name that is misspelt where it stands for all.
_ONE_FAULT = frozenset({"unknown-name"})

#: As many of a kind that can be said in one sentence are said in it.
TOGETHER = 3


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
    together : what is said of several of the kind in one sentence, behind their number, such as ``"pieces need two people"``
    short : what this one is called behind that sentence, such as ``"Hearth 37.5 kg"``
    """

    code: str
    message: str
    file: str = ""
    sheet: str = ""
    cell: str = ""
    warning: bool = False
    together: str = ""
    short: str = ""

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
        self._errors = 0
        self._wrong: dict[str, set[str]] = {}
        #: How often it was asked what a misspelt name may have meant, and how many names were looked through for it.
        self.guesses = self.looked_through = 0
        #: Sheets of which it is told that their names could not be read: that one is not there is not told as well.
        self.unread: set[str] = set()
        #: How many things to look at were found, by code and sheet.
        self.told: Counter[tuple[str, str]] = Counter()

    def add(
        self, code: str, message: str, *, sheet: str = "", cell: str = "", warning: bool = False, together: str = "", short: str = ""
    ) -> None:
        """Remember a problem; the same one in the same place is kept once."""
        self._keep(Problem(code, message, self.file, sheet, cell, warning, together, short))

    def withdraw(self, code: str, sheet: str, cell: str) -> None:
        """Forget what a cell was asked about, where it turned out to be part of what is told otherwise."""
        for each in [each for each in self._found if (each.code, each.sheet, each.cell, each.warning) == (code, sheet, cell, True)]:
            del self._found[each]

    def take(self, problems: Iterable[Problem]) -> None:
        """Remember problems found elsewhere, of whatever file."""
        for problem in problems:
            self._keep(problem)

    def _keep(self, problem: Problem) -> None:
        if problem not in self._found:
            self._found[problem] = None
            if not problem.warning:
                self._errors += 1
                self._wrong.setdefault(problem.sheet, set()).add(problem.cell)

    @property
    def error_count(self) -> int:
        """How many stop the work."""
        return self._errors

    def wrong_cells(self, sheet: str) -> set[str]:
        """The cells of a sheet, as it is written, that stop the work; "" among them where it is the sheet itself.

        >>> found = Problems()
        >>> found.add("missing-value", "a price is missing; type one", sheet="Materials", cell="E7")
        >>> found.wrong_cells("Materials")
        {'E7'}
        """
        return self._wrong.setdefault(sheet, set())

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


def gathered(problems: Iterable[Problem]) -> Iterator[tuple[str, bool]]:
    """Problems as lines to be printed, each with whether it is a warning: of many of one kind on one sheet the first, then how
    many more there are and where the next of them stand.

    >>> found = [Problem("missing-value", "a price is missing; type one", "book.xlsx", "Materials", f"E{row}") for row in range(2, 500)]
    >>> lines = [line for line, _ in gathered(found)]
    >>> print(len(lines), *lines[-2:], sep="\\n")
    11
    book.xlsx  Materials!E11  a price is missing; type one
    book.xlsx  Materials  488 more of this kind: E12, E13, E14, E15, E16, E17, E18, E19, E20, E21, …
    """
    every = list(_together(list(_faults(problems))))
    alike: dict[tuple[str, str, str, bool], list[Problem]] = {}
    for problem in every:
        alike.setdefault(_kind(problem), []).append(problem)
    told: Counter[tuple[str, str, str, bool]] = Counter()
    for problem in every:
        kind = _kind(problem)
        told[kind] += 1
        if told[kind] <= MOST_TOLD or len(alike[kind]) == MOST_TOLD + 1:
            yield str(problem), problem.warning
        elif told[kind] == MOST_TOLD + 1:
            rest = alike[kind][MOST_TOLD:]
            places = [each.cell for each in rest[:MOST_TOLD] if each.cell]
            where = ": " + ", ".join(places) + (", …" if len(rest) > len(places) else "") if places else ""
            more = replace(problem, message=f"{len(rest):,} more of this kind{where}", cell="")
            yield str(more), problem.warning


def _faults(problems: Iterable[Problem]) -> Iterator[Problem]:
    """Problems, those that are one fault told once, with where else it is met.

    >>> found = [Problem("unknown-name", 'trade "Maker" is not there', "book.xlsx", "Labour", f"C{row}") for row in range(6, 9)]
    >>> print(*_faults(found), sep="\\n")
    book.xlsx  Labour!C6  trade "Maker" is not there (2 more cells name it: C7, C8)
    """
    every = list(problems)
    places: dict[tuple[str, str, str, str], list[str]] = {}
    for problem in every:
        if problem.code in _ONE_FAULT:
            places.setdefault((problem.code, problem.file, problem.sheet, problem.message), []).append(problem.cell)
    for problem in every:
        key = problem.code, problem.file, problem.sheet, problem.message
        cells = places.pop(key, []) if problem.code in _ONE_FAULT else [problem.cell]
        if len(cells) > 1:
            more, told = len(cells) - 1, ", ".join(cells[1 : MOST_TOLD + 1])
            where = f"{more:,} more {'cell names' if more == 1 else 'cells name'} it: {told}{', …' if more > MOST_TOLD else ''}"
            yield replace(problem, message=f"{problem.message} ({where})")
        elif cells:
            yield problem


def _together(problems: list[Problem]) -> Iterator[Problem]:
    """The same problems, those that can be said in one sentence said in it, where the first of them stood.

    >>> heavy = [Problem("heavy-piece", "…", "book.xlsx", "Enquiries", f"D{row}", True, "pieces need two people", f"Sill {row}0 kg")
    ...          for row in (5, 6, 8)]
    >>> print(*_together(heavy))
    book.xlsx  Enquiries  3 pieces need two people: Sill 50 kg (D5), Sill 60 kg (D6), Sill 80 kg (D8)
    """
    of_one: dict[tuple[tuple[str, str, str, bool], str], list[Problem]] = {}
    for problem in problems:
        if problem.together:
            of_one.setdefault((_kind(problem), problem.together), []).append(problem)
    for problem in problems:
        alike = of_one.get((_kind(problem), problem.together), [])
        if len(alike) < TOGETHER:
            yield problem
        elif problem is alike[0]:
            named = [f"{each.short} ({each.cell})" if each.cell else each.short for each in alike[:MOST_TOLD]]
            ending = ", …" if len(alike) > len(named) else ""
            yield replace(problem, message=f"{len(alike):,} {problem.together}: {', '.join(named)}{ending}", cell="")


def _kind(problem: Problem) -> tuple[str, str, str, bool]:
    return problem.code, problem.file, problem.sheet, problem.warning


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
        super().__init__("\n".join(line for line, _ in gathered(problems)))
        self._problems = problems

    @property
    def problems(self) -> list[Problem]:
        """Every problem with its place."""
        return self._problems
