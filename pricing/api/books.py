"""Price books: begun, read and checked, from a file, or with a catalogue or an enquiry that comes as a data frame."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import read_price_book
from pricing.book.summary import counted
from pricing.dataclass import dataclass
from pricing.problems import BookError, Problem, Problems
from pricing.text import fold

if TYPE_CHECKING:
    import pandas
    import pint

#: Where a number is asked for: one in the unit that is said, or a quantity of pint's.
Number: TypeAlias = "float | pint.Quantity[Any]"

#: Where a price book is asked for: one that was read, or the path of one.
Source: TypeAlias = PriceBook | Path | str


def start(
    path: Path | str, *, currency: str = "", measures: str = "metric", shapes: Sequence[str] = (), options: Sequence[str] = (),
    language: str = "",
) -> Path:
    """Write a starter price book: the sheets and columns that are needed, a small invented workshop in it.

    Parameters
    ----------
    path : of the new file
    currency : ISO 4217 code; the example's where empty
    measures : ``metric`` or ``inches``
    shapes : what is cast; the usual shapes where there are none
    options : what it has besides, of :func:`start_options`
    language : in which customers are written to, a BCP 47 tag such as ``de``; the sheets stay in English

    Problems raised: BookError where there is a file of this name, a word is not known, or the folder cannot be written.
    """
    from pricing.book.starter.samples import Choice, write_starter

    path = Path(path)
    known_shapes, known_options = _chosen([*shapes], [*options], path)
    _currency(currency, path)
    spoken = _language(language, path)
    choice = Choice(currency.upper(), measures == "inches", tuple(known_shapes), frozenset(known_options), spoken)
    try:
        write_starter(path, choice)
    except FileExistsError:
        text = "there is a file of this name already; it is left as it is, choose another name"
        raise BookError([Problem("file-exists", text, path.name)]) from None
    except OSError as error:
        reason = (error.strerror or type(error).__name__).lower()
        raise BookError([Problem("cannot-write", f"cannot be written here ({reason}); choose another folder", path.name)]) from None
    return path


def start_options() -> dict[str, str]:
    """What a new price book may have besides: each option and what it brings.

    >>> "layers" in start_options()
    True
    """
    from pricing.book.declared.options import options

    return options()


def start_add(path: Path | str, what: Sequence[str]) -> tuple[list[str], Path | None]:
    """Add sheets and columns to a price book that is there; everything else in it stays as it is.

    Parameters
    ----------
    path : of the price book
    what : options of :func:`start_options`, and shapes

    Returns
    -------
    what was added, and the book as it was, beside it; nothing and None where it has all of it

    Problems raised: BookError where a word is not known, or the book cannot be changed.
    """
    from pricing.book.reading.adding import additions
    from pricing.xlsx.editing.add_sheet import add_to_workbook

    path = Path(path)
    shapes, options = _chosen([], [*what], path, mixed=True)
    problems = Problems(path.name)
    wanted = additions(path, options, shapes, problems)
    backup = None
    if wanted.words() and not problems.errors:
        backup = add_to_workbook(path, wanted.sheets, wanted.headings, problems)
    if problems.errors:
        raise BookError(problems.errors)
    return wanted.words(), backup


def _chosen(shapes: list[str], options: list[str], path: Path, *, mixed: bool = False) -> tuple[list[str], list[str]]:
    """Shapes and options in their own spelling; both among the options where they are mixed. Problems raised: BookError."""
    from pricing.book.wording.sentences import listed, near_matches
    from pricing.rules.shapes import SHAPES

    known_shapes, known_options = {fold(shape): shape for shape in SHAPES}, {fold(name): name for name in start_options()}
    found: tuple[list[str], list[str]] = ([], [])
    problems: list[Problem] = []
    for word, place in [*((word, 0) for word in shapes), *((word, 1) for word in options)]:
        key, spaced = fold(word), fold(word.replace("-", " "))
        key = spaced if key not in known_options and spaced in known_shapes else key
        of_shape = key in known_shapes and (mixed or not place)
        if of_shape or (place and key in known_options):
            found[not of_shape].append(known_shapes[key] if of_shape else known_options[key])
            continue
        names = [*(known_options.values() if place else ()), *(known_shapes.values() if mixed or not place else ())]
        near = near_matches(word, names, 1)
        told = any("; there are " in problem.message for problem in problems)
        remedy = f'is "{near[0]}" meant?' if near else "those that there are stand above" if told else f"there are {listed(names, 'and')}"
        kind = "nothing that a price book may have besides" if place else "no shape that is known here"
        problems.append(Problem("unknown-choice", f'"{word}" is {kind}; {remedy}', path.name))
    if problems:
        raise BookError(problems)
    return found


def _currency(code: str, path: Path) -> None:
    from pricing.book.declared.settings import CURRENCIES

    if code and code.upper() not in CURRENCIES:
        text = f'"{code}" is not a currency code; type three letters such as EUR, GBP or USD'
        raise BookError([Problem("unknown-currency", text, path.name)])


def _language(tag: str, path: Path) -> str:
    from pricing.book.wording.sentences import listed
    from pricing.languages.tags import LANGUAGES, known_language

    known = known_language(tag) if tag else ""
    if tag and not known:
        text = f'"{tag}" is no language that quotes can be written in; there are {listed([*LANGUAGES], "and")}'
        raise BookError([Problem("unknown-language", text, path.name)])
    return known


#: Of what is told of a quote besides what it is refused for, a check tells this.
_TOLD = frozenset({"given-away", "nothing-to-pay", "not-searched"})


@dataclass(frozen=True)
class Checked:
    """What a look at a price book found.

    Parameters
    ----------
    book : None where it cannot be used at all
    problems : all of them, warnings among them
    """

    file: str
    book: PriceBook | None
    problems: Problems

    @property
    def counts(self) -> dict[str, int]:
        """How many materials, mixes, products, quotes and so on the book holds; nothing where it cannot be used."""
        return self.book.counts() if self.book is not None else {}

    @property
    def summary(self) -> str:
        """The counts in one line: ``14 materials, 1 mix, 2 quotes with 5 lines``."""
        return counted(self.counts)

    def as_json(self) -> dict[str, Any]:
        """The object that ``pricing check --json`` prints."""
        found = [{**problem.as_json(), "warning": problem.warning} for problem in self.problems]
        return {"file": self.file, "counts": self.counts, "problems": found}


def check(
    path: Path | str, *, catalogue: pandas.DataFrame | None = None, enquiries: pandas.DataFrame | None = None
) -> Checked:
    """Look a price book over: every problem with its sheet and cell, and whatever ``quote`` would refuse.

    Parameters
    ----------
    path : of the workbook
    catalogue : takes the place of its sheet Products: columns headed as there, a row for each product
    enquiries : takes the place of its sheet Enquiries

    A cell of a frame may hold a number, a text as a maker would type it, a day, or a quantity. A problem in a frame has the heading and
    the row, counted from 1, in place of the cell: ``Length, row 3``.
    """
    from pricing.api.searched import search_pages
    from pricing.costing.lines.order_lines import enquired
    from pricing.costing.options import options_of
    from pricing.costing.run import cost_lines
    from pricing.register.setting_aside import read_but_settled

    path = Path(path)
    if catalogue is None and enquiries is None:
        book, problems, settled = read_but_settled(path)
        found = Checked(path.name, book, problems)
    else:
        found, settled = _looked_at(path, catalogue, enquiries), set()
    if found.book is not None:
        quotes = [name for name in found.book.tables["Enquiries"].columns["quote"].tolist() if fold(name) not in settled]
        refused = Problems(found.file)
        if quotes:
            costing = cost_lines(found.book, enquired(found.book, quotes), refused)
            if not refused.errors:
                options_of(costing)
                if not refused.errors:
                    search_pages(costing, refused)
        found.problems.take(each for each in refused if not each.warning or each.code in _TOLD)
    return found


def _looked_at(path: Path, catalogue: pandas.DataFrame | None, enquiries: pandas.DataFrame | None) -> Checked:
    frames = {name: table for name, table in (("Products", catalogue), ("Enquiries", enquiries)) if table is not None}
    if not frames:
        return Checked(path.name, *read_price_book(path))
    from pricing.api.tables_in import read_with_frames

    return Checked(path.name, *read_with_frames(path, frames))


def read(
    source: Source, *, catalogue: pandas.DataFrame | None = None, enquiries: pandas.DataFrame | None = None
) -> PriceBook:
    """The price book of a file, checked.

    Parameters
    ----------
    source : path of the workbook; one that was read already is returned as it is, where no frame is given
    catalogue, enquiries : data frames, as :func:`check` takes them

    Problems raised: BookError with every problem where anything has to be mended first.
    """
    if isinstance(source, PriceBook):
        if catalogue is None and enquiries is None:
            return source
        source = source.path
    found = _looked_at(Path(source), catalogue, enquiries)
    if found.book is None:
        raise BookError(found.problems.errors)
    return found.book


def opened(source: Source) -> tuple[PriceBook | None, Problems]:
    """The book of a run and its problems, so far."""
    if isinstance(source, PriceBook):
        return source, Problems(source.file)
    return read_price_book(Path(source))


def opened_for(source: Source, quotes: Sequence[str] | None = None, *, from_record: bool = False) -> tuple[PriceBook | None, Problems]:
    """The book of a run over some quotes, and its problems: a fault in a row that these do not need stops nothing.

    Parameters
    ----------
    quotes : numbers; where None all that have no answer and have not lapsed
    from_record : True where what is ordered is taken from its record
    """
    if isinstance(source, PriceBook):
        return source, Problems(source.file)
    from pricing.register.setting_aside import read_for

    return read_for(Path(source), quotes, from_record=from_record)


def named_quotes(book: PriceBook, quotes: Sequence[str] | None, problems: Problems, purpose: str) -> list[str] | None:
    """The quotes asked for, as the book spells them; a problem for each that is not there.

    Parameters
    ----------
    quotes : numbers in any letter case; all where None
    purpose : what is done with them, ``price``
    """
    table = book.tables["Enquiries"]
    if not len(table):
        problems.add("no-enquiries", f"there is no enquiry to {purpose}; write one into the Enquiries sheet", sheet="Enquiries")
        return []
    if quotes is None:
        return None
    known = {fold(name): name for name in table.columns["quote"].tolist()}
    names = []
    for quote in quotes:
        if fold(quote) in known:
            names.append(known[fold(quote)])
        else:
            listed = ", ".join(list(dict.fromkeys(known.values()))[:12])
            problems.add("unknown-quote", f'there is no quote "{quote}"; the quotes are {listed}', sheet="Enquiries")
    return names
