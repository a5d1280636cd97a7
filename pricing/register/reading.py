"""Quotes read from the register, all of them in a few passes over its tables, or those of one number; and what is damaged.

They are read column by column, and each value that stands in many rows once. Only where something in a column is nonsense, halves of
the rows are read by themselves, until the quotes that hold it are found.
"""

from __future__ import annotations

import contextlib
import datetime
import functools
import gc
import json
import math
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple, TypeVar

from pricing.money import with_places
from pricing.register.kept.nonsense import NonsenseError, day_of, number_of, object_of, objects_of, words_of
from pricing.register.layout import LISTED, SHOWN
from pricing.register.recorded_quote import STATES, TAKEN, RecordedQuote, state_on

_LAST_DAY = datetime.date.max - datetime.timedelta(days=1)

_Read = TypeVar("_Read")


class _Row(NamedTuple):
    """A row of the table *quotes*, as far as it is read, or of each of its columns all rows.

    Parameters
    ----------
    amounts : a text with all of them; or those that a list shows, and the decimal places of their currency, one after the other
    """

    id: Any
    number: Any
    revision: Any
    customer: Any
    date: Any
    valid_until: Any
    currency: Any
    state: Any
    amounts: Sequence[Any]


#: How many columns stand before the amounts.
_BEFORE = len(_Row._fields) - 1

#: So many rows are read together: few enough to stay near the processor.
_TOGETHER = 1_000


#: The row of a quote whose workbook never came into its place.
_NO_WORKBOOK = (0, "", "")


class _Besides(NamedTuple):
    """What other tables say of quotes, by the key of the quote: the day of the latest change of state, the row of the workbook that was
    written last, and the options that were ordered with what the order comes to.
    """

    since: Mapping[int, Any]
    workbooks: Mapping[int, tuple[Any, ...]]
    ordered: Mapping[int, tuple[Any, Any]]


def read_quotes(
    connection: sqlite3.Connection, day: datetime.date, number: str | None = None, *, with_workbook: bool = True, brief: bool = False
) -> tuple[list[RecordedQuote], list[tuple[str, NonsenseError]]]:
    """Every revision on record, in the order in which it was issued, and the records that are damaged, in words, with why.

    Parameters
    ----------
    day : on which the states are asked for
    number : only this number; all where None
    with_workbook : False for those too whose workbook never came into its place
    brief : True where of the amounts those are enough that a list shows: they stand in an index
    """
    which = "" if number is None else "WHERE number = ?"
    whole = f"SELECT {', '.join(LISTED[:_BEFORE])}, totals FROM quotes {which} ORDER BY id"
    read = functools.partial(_read_all, connection, day, number, with_workbook)
    with _garbage_waits():
        if brief and number is None:
            with contextlib.suppress(sqlite3.DatabaseError), _plain_texts(connection):  # the index may be damaged, or not there yet
                return read(f"SELECT {', '.join(LISTED)} FROM quotes INDEXED BY listed ORDER BY id")
        with contextlib.suppress(sqlite3.OperationalError), _plain_texts(connection):
            return read(whole)
        return read(whole)  # some text is none


@contextlib.contextmanager
def _garbage_waits() -> Iterator[None]:
    """Garbage is not looked for while very much is made that stays."""
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()


@contextlib.contextmanager
def _plain_texts(connection: sqlite3.Connection) -> Iterator[None]:
    """Texts as the database decodes them itself, which is faster, and refuses what is none."""
    kept = connection.text_factory
    connection.text_factory = str
    try:
        yield
    finally:
        connection.text_factory = kept


def plain_rows(connection: sqlite3.Connection, query: str) -> list[tuple[Any, ...]]:
    """All rows of a query as the database has them."""
    cursor = connection.cursor()
    cursor.row_factory = None
    with contextlib.suppress(sqlite3.OperationalError), _plain_texts(connection):
        return cursor.execute(query).fetchall()
    return cursor.execute(query).fetchall()  # some text is none


def _read_all(
    connection: sqlite3.Connection, day: datetime.date, number: str | None, with_workbook: bool, query: str
) -> tuple[list[RecordedQuote], list[tuple[str, NonsenseError]]]:
    values, of_them = ((), "") if number is None else ((number,), "AND quote IN (SELECT id FROM quotes WHERE number = ?)")
    cursor = connection.cursor()
    cursor.row_factory = None
    since = dict(cursor.execute(f"SELECT quote, day FROM states WHERE 1 {of_them} ORDER BY sequence", values))
    placed = f"SELECT quote, fingerprint, file FROM workbooks WHERE staged IS NULL {of_them} ORDER BY sequence"
    workbooks = {row[0]: row for row in cursor.execute(placed, values)}
    options = f"SELECT quote, options, totals FROM ordered_with WHERE 1 {of_them}"
    ordered = {quote: (chosen, totals) for quote, chosen, totals in cursor.execute(options, values)}
    besides = _Besides(since, workbooks, ordered)
    found: list[RecordedQuote] = []
    damaged: list[tuple[str, NonsenseError]] = []
    cursor.execute(query, values)
    while rows := cursor.fetchmany(_TOGETHER):
        found += _sound([row for row in rows if row[0] in workbooks or not with_workbook], besides, day, damaged)
    return found, damaged


def _sound(
    rows: Sequence[tuple[Any, ...]], besides: _Besides, day: datetime.date, damaged: list[tuple[str, NonsenseError]]
) -> list[RecordedQuote]:
    """The quotes that can be read; the others go among the damaged."""
    try:
        return _read(rows, besides, day)
    except NonsenseError as error:
        if len(rows) == 1:
            damaged.append((called(*rows[0][:3]), error))
            return []
    half = len(rows) // 2
    return [*_sound(rows[:half], besides, day, damaged), *_sound(rows[half:], besides, day, damaged)]


def _read(rows: Sequence[tuple[Any, ...]], besides: _Besides, day: datetime.date) -> list[RecordedQuote]:
    """Some rows as quotes.

    Problems raised: NonsenseError where any of it is nonsense.
    """
    if not rows:
        return []
    fetched = list(zip(*rows, strict=True))
    of = _Row._make([*fetched[:_BEFORE], fetched[_BEFORE:]])
    totals, places = _amounts(*of.amounts) if len(of.amounts) == 1 else _shown(*of.amounts)
    options: list[tuple[int, ...]] = [()] * len(rows)
    for place, key in enumerate(of.id) if besides.ordered else ():
        if key in besides.ordered and of.state[place] in TAKEN:
            options[place], totals[place] = _ordered(*besides.ordered[key])
    sinces = map(besides.since.get, of.id)
    states, since = zip(*_each(functools.partial(_state, day), zip(of.state, of.valid_until, sinces, strict=True)), strict=True)
    _, fingerprints, files = zip(*[besides.workbooks.get(key, _NO_WORKBOOK) for key in of.id], strict=True)
    columns = (
        of.id, _words(of.number, "number"), map(int, _column(number_of, of.revision, "revision")),
        _column(words_of, of.customer, "customer"), _column(day_of, of.date, "date"), _column(day_of, of.valid_until, "last day"),
        _each(with_places, zip(_column(words_of, of.currency, "currency"), places, strict=True)), totals, of.state, since, states,
        _words(fingerprints, "fingerprint"), _words(files, "file"), options,
    )
    return list(map(functools.partial(tuple.__new__, RecordedQuote), zip(*columns, strict=True)))


def _amounts(texts: Sequence[Any]) -> tuple[list[dict[str, float]], list[Any]]:
    """All amounts of each quote, and the decimal places of their currency, where these are told."""
    totals: list[dict[str, float]] = []
    for each in objects_of(texts, "list of amounts", SHOWN):
        if isinstance(each, NonsenseError):
            raise each
        totals.append(each)
    if not _is_finite(sum(amounts.values()) for amounts in totals):
        for amounts in totals:
            _check(amounts)
    return totals, [amounts.get("minor_digits") for amounts in totals]


def _shown(*columns: Sequence[Any]) -> tuple[list[dict[str, float]], Sequence[Any]]:
    """The amounts of each quote that a list shows, from a column of each, and the decimal places of their currency, from the last."""
    amounts = columns[: len(SHOWN)]
    if not _is_finite(map(sum, amounts)):
        for each in zip(*amounts, strict=True):
            if all(amount is None for amount in each):
                raise NonsenseError("its list of amounts cannot be read")
            _check(dict(zip(SHOWN, each, strict=True)))
    first, second, third, fourth, fifth = SHOWN  # a display is made in a third of the time of a dict of pairs
    every = zip(*amounts, strict=True)
    return [{first: one, second: two, third: three, fourth: four, fifth: five} for one, two, three, four, five in every], columns[-1]


def _is_finite(sums: Iterable[Any]) -> bool:
    """Whether all that was added up is a number; a sum is one where every part of it is."""
    try:
        return math.isfinite(sum(sums))
    except (TypeError, OverflowError):
        return False


def _check(amounts: Mapping[str, Any]) -> None:
    """Refuse amounts that are none."""
    for name, amount in amounts.items():
        number_of(amount, name.replace("_", " "))


def _words(values: Sequence[Any], what: str) -> Sequence[str]:
    """Texts of which hardly any stands twice."""
    try:
        sound = "\N{REPLACEMENT CHARACTER}" not in "".join(values)
    except TypeError:
        sound = False
    return values if sound else [words_of(value, what) for value in values]


def _column(read: Callable[[Any, str], _Read], values: Iterable[Any], what: str) -> list[_Read]:
    """What is read of each value; the same value is read once."""
    known = {value: read(value, what) for value in set(values)}
    return [known[value] for value in values]


def _each(read: Callable[..., _Read], values: Iterable[tuple[Any, ...]]) -> list[_Read]:
    """The same of several values together."""
    every = list(values)
    known = {each: read(*each) for each in set(every)}
    return [known[each] for each in every]


def _state(day: datetime.date, marked: Any, valid_until: Any, since: Any) -> tuple[str, datetime.date]:
    """The state on a day, and since when it is so."""
    if marked not in STATES:
        raise NonsenseError(f'its state is "{marked}", which is none')
    valid, changed = day_of(valid_until, "last day"), day_of(since, "latest change")
    state = state_on(marked, valid, day)
    return state, changed if state == marked else min(valid, _LAST_DAY) + datetime.timedelta(days=1)


def _ordered(options: Any, totals: Any) -> tuple[tuple[int, ...], dict[str, Any]]:
    """The lines that a quote is ordered with, and what it comes to with them."""
    try:
        numbers = json.loads(options)
    except (TypeError, ValueError, RecursionError):
        numbers = None
    if not isinstance(numbers, list) or not all(type(each) is int for each in numbers):
        raise NonsenseError("the list of what it is ordered with cannot be read")
    amounts = object_of(totals, "list of amounts of the order", SHOWN)
    _check(amounts)
    return tuple(numbers), amounts


def called(key: int, number: Any, revision: Any) -> str:
    """A record as it is spoken of, whatever it holds: by number and revision where these can be read, otherwise by its row."""
    if not isinstance(number, str):
        return f"the quote in row {key}"
    return f"quote {number}" if not isinstance(revision, int) or revision == 1 else f"quote {number} revision {revision}"
