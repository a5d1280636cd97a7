"""What moved since the prices changed, by how much, and why; and quotes issued again: the whole of ``pricing reprice``."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pricing.api.books import Number, Source, opened
from pricing.api.costs import as_changes
from pricing.api.faults import told
from pricing.api.printing import printed
from pricing.book.wording.sentences import listed
from pricing.dataclass import dataclass
from pricing.problems import BookError, Problem, Problems
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.book.price_book import PriceBook
    from pricing.register.recorded_quote import RecordedQuote
    from pricing.register.register import Register
    from pricing.repricing.changes import Repricing
    from pricing.repricing.reprice import IndexMove

REPRICING_FILE = "repricing.xlsx"

#: Warnings that are not the price book's.
_TOLD = ("damaged-record", "other-currency", "no-pdf")

#: So many quotes are named in one sentence.
_MOST_NAMED = 8


@dataclass(frozen=True)
class PublishedIndex:
    """A published price index by which prices are supposed to move.

    Parameters
    ----------
    file : CSV file with a row a month
    start, end : months, ``2019-01``, or whole years
    series : a column of the file; not needed where it has one only
    materials : which materials, suppliers or kinds of material; all where there are none
    """

    file: Path | str
    start: str
    end: str
    series: str = ""
    materials: tuple[str, ...] = ()

    def move(self) -> IndexMove:
        """The index read.

        Problems raised: PriceIndexError.
        """
        from pricing.book.price_index import read_price_index
        from pricing.repricing.reprice import IndexMove

        return IndexMove(read_price_index(Path(self.file)), self.series, self.start, self.end, tuple(self.materials))


@dataclass
class Repriced:
    """What a run of repricing gave.

    Parameters
    ----------
    book : None where the price book cannot be read
    problems : what stopped the run, or one quote of it; warnings of the price book among them
    repricing : the comparison; None where there is none
    written : the workbooks
    issued : the quotes that were issued again, by the place of their workbook
    """

    book: PriceBook | None
    problems: Problems
    repricing: Repricing | None = None
    written: list[Path] = field(default_factory=list)
    issued: dict[Path, RecordedQuote] = field(default_factory=dict)

    @property
    def compared(self) -> Repricing:
        """The comparison.

        Problems raised: BookError where there is none.
        """
        if self.repricing is None:
            raise BookError(self.problems.errors)
        return self.repricing

    @property
    def to_be_told(self) -> list[Problem]:
        """What stopped something, and the records that are damaged or in another currency; other warnings are the price book's."""
        return [problem for problem in self.problems if not problem.warning or problem.code in _TOLD]

    def as_json(self) -> dict[str, Any]:
        """The object that ``pricing reprice --json`` prints."""
        told = [problem.as_json() for problem in self.to_be_told]
        return {**self.compared.as_json(), "written": [str(path) for path in self.written], "problems": told}


def reprice(
    source: Source, *, day: datetime.date | None = None, since: datetime.date | None = None, against: Source | None = None,
    changes: Mapping[str, str | Number] | Sequence[str] = (), index: PublishedIndex | None = None, out: Path | str | None = None,
    reissue: bool | Sequence[str] = False, pdf: bool = False,
) -> Repriced:
    """Compare the list and the open quotes of a price book with the prices they were made with.

    Parameters
    ----------
    source : the price book, or its path; the register beside it is read
    day : the day whose prices hold now; today where None
    since : the day whose prices the list is compared with
    against : the older price book that the list is compared with
    changes : what is only supposed, as :func:`what_if` takes it
    index : a price index that is only supposed to move the prices
    out : folder for ``repricing.xlsx``; it is not written where None
    reissue : True to issue new revisions of the lapsed quotes into *out*, or the numbers of the quotes to issue again
    pdf : True for a PDF beside each quote that is issued; a problem says so where there is no LibreOffice to make it

    Problems raised: ValueError where *since* and *against* are both given, or quotes are to be issued at supposed prices or nowhere.
    """
    if since is not None and against is not None:
        raise ValueError("since and against are two ways to the same comparison; give one of them")
    if reissue and (changes or index is not None or out is None):
        raise ValueError("quotes are issued at the prices of the price book, into a folder; give out, and neither changes nor index")
    on = day or datetime.date.today()
    book, problems = opened(source)
    done = Repriced(book, problems)
    if book is None:
        return done
    with told(problems, book.path):
        _reprice(done, book, on, since, against, as_changes(changes), index, None if out is None else Path(out), reissue)
        if pdf:
            done.written += printed([*done.issued], problems)
    return done


def _reprice(
    done: Repriced, book: PriceBook, day: datetime.date, since: datetime.date | None, against: Source | None, changes: Sequence[str],
    index: PublishedIndex | None, out: Path | None, reissue: bool | Sequence[str],
) -> None:
    from pricing.api.books import read
    from pricing.register.register import Register
    from pricing.repricing.reprice import reprice as compare

    old = None if against is None else read(against)
    move = index.move() if index is not None else None
    with Register.open(book.path, to_read=not reissue) as register:
        found = compare(book, day, since=since, against=old, changes=changes, index=move, register=register)
        if out is not None:
            from pricing.reports.repricing.workbook import write_repricing
            from pricing.reports.shared.owner import refuse_others

            inputs = [*([old.path] if old is not None else []), *([Path(index.file)] if index is not None else [])]
            refuse_others([out / REPRICING_FILE], book.path, done.problems, inputs=inputs)
            if done.problems.errors:
                return
            write_repricing(found, out / REPRICING_FILE)
            done.written.append(out / REPRICING_FILE)
        done.repricing = found
        if found.other_currency:
            which = listed([f"{each.name} ({each.currency})" for each in found.other_currency[:_MOST_NAMED]], "and")
            text = f"promised in another currency than {found.currency}, and therefore not compared: {which}"
            done.problems.add("other-currency", text, warning=True)
        if reissue and out is not None:
            _reissue(done, book, register, None if reissue is True else [str(each) for each in reissue or ()], out, day)
        done.problems.take(register.problems)


def _reissue(
    done: Repriced, book: PriceBook, register: Register, numbers: Sequence[str] | None, out: Path, day: datetime.date
) -> None:
    """Issue quotes again. One that is refused is a problem, and the others are issued."""
    from pricing.register.register import RegisterError
    from pricing.reports.leaks.gate import LeakError
    from pricing.reports.quote.reissue import REFUSALS, reissue

    for recorded in _chosen(register.quotes(day=day), numbers):
        try:
            issued, target = reissue(book, register, recorded, out, day)
        except LeakError as error:
            done.problems.add("leak", str(error))
        except RegisterError as error:
            if error.code not in REFUSALS:
                raise
            done.problems.add(error.code, str(error))
        else:
            done.written.append(target)
            done.issued[target] = issued.quote


def _chosen(quotes: Sequence[RecordedQuote], numbers: Sequence[str] | None) -> list[RecordedQuote]:
    """The quotes to be issued again: those that have lapsed, or those named."""
    from pricing.register.register import RegisterError

    if numbers is None:
        return [quote for quote in quotes if quote.state == "lapsed"]
    known = {fold(quote.number): quote for quote in quotes}
    unknown = [number for number in numbers if fold(number) not in known]
    if unknown:
        held = ", ".join(quote.number for quote in quotes[-12:]) or "none"
        raise RegisterError("unknown-quote", f'there is no quote "{unknown[0]}" in the register; it holds {held}')
    return [known[fold(number)] for number in numbers]
