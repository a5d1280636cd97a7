"""What differs between two states of a price book: the cells that changed, the rows that came and went."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from pricing.book.declared.sheets import SHEETS
from pricing.book.price_book import ALWAYS, DatedSetting, PriceBook, SheetTable
from pricing.book.wording.sentences import number_text

#: So many differences are told; the rest is counted.
MOST_TOLD = 2


def differences(old: PriceBook, new: PriceBook) -> list[str]:
    """Every difference in words, in the order of the sheets: ``Materials!E7 White cement: pack price 19.9 → 21``.

    Parameters
    ----------
    old, new : the two states; rows are matched by what they are about, wherever they stand
    """
    found: list[str] = []
    for declared in SHEETS:
        before, after = old.tables[declared.name], new.tables[declared.name]
        if declared.name == "Workshop":
            found += _settings(old, new)
        else:
            key = declared.key or (declared.columns[0].name,)
            found += _rows(before, after, key)
    return found


def _settings(old: PriceBook, new: PriceBook) -> Iterator[str]:
    for name in dict.fromkeys([*old.histories, *new.histories]):
        was, now = ({each.since: each for each in _history(book, name)} for book in (old, new))
        for since, each in now.items():
            if since not in was or not _same(was[since].value, each.value):
                said = f"{_said(was[since].value)} → {_said(each.value)}" if since in was else f"{_said(each.value)} is new"
                yield f"Workshop!{each.cell} {name.replace('_', ' ')}{_from(since)} {said}"
        yield from (f"Workshop {name.replace('_', ' ')}{_from(since)} is gone" for since in was if since not in now)
    for name in dict.fromkeys([*old.settings, *new.settings]):
        if name in old.histories or name in new.histories:
            continue
        before, after = old.settings.get(name, ""), new.settings.get(name, "")
        if not _same(before, after):
            cell = new.setting_cells.get(name, "")
            yield f"Workshop{f'!{cell}' if cell else ''} {name.replace('_', ' ')} {_said(before)} → {_said(after)}"


def _history(book: PriceBook, name: str) -> tuple[DatedSetting, ...]:
    return book.histories.get(name, (DatedSetting(ALWAYS, book.number(name), book.setting_cells.get(name, "")),))


def _from(since: np.datetime64) -> str:
    return "" if since == ALWAYS else f" from {since}"


def _rows(old: SheetTable, new: SheetTable, key: tuple[str, ...]) -> Iterator[str]:
    before, after = _by_key(old, key), _by_key(new, key)
    for words, row in after.items():
        called = str(words[0])
        if words not in before:
            yield f"{new.sheet} row {int(new.rows[row])} {called} is new"
            continue
        for name, values in new.columns.items():
            was, now = old.columns[name][before[words]], values[row]
            if name not in key and not _same(was, now):
                cell = new.cell(name, row)
                yield f"{new.sheet}{f'!{cell}' if cell else ''} {called}: {name.replace('_', ' ')} {_said(was)} → {_said(now)}"
    for words, row in before.items():
        if words not in after:
            yield f"{old.sheet} row {int(old.rows[row])} {words[0]} is gone"


def _by_key(table: SheetTable, key: tuple[str, ...]) -> dict[tuple[Any, ...], int]:
    """The row of each thing; where one stands several times, of its first, second and further time."""
    columns = [table.columns[name].tolist() for name in key if name in table.columns]
    times: dict[tuple[Any, ...], int] = {}
    found = {}
    for row in range(len(table)):
        words = tuple(str(column[row]) for column in columns)
        times[words] = times.get(words, 0) + 1
        found[(*words, times[words])] = row
    return found


def _same(one: Any, other: Any) -> bool:
    return bool(one == other) or (_blank(one) and _blank(other))


def _blank(value: Any) -> bool:
    return value == "" or bool(value != value)


def _said(value: Any) -> str:
    if _blank(value):
        return "(blank)"
    if isinstance(value, np.datetime64):
        return str(value)
    return number_text(float(value)) if isinstance(value, float | np.floating) else f'"{value}"'


def in_one_line(found: list[str]) -> str:
    """The first differences in full, and how many more there are.

    >>> in_one_line(["a 1 → 2", "b 3 → 4", "c 5 → 6"])
    'a 1 → 2; b 3 → 4; 1 more'
    """
    rest = len(found) - MOST_TOLD
    return "; ".join([*found[:MOST_TOLD], *([f"{rest} more"] if rest > 0 else [])])
