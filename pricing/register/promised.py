"""Whether a quote as it comes out now is what was promised, and what is different where it is not."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pricing.register.kept.lines import OfferedLine, SnapshotLine
from pricing.register.kept.quote_snapshot import PROMISED, QuoteSnapshot
from pricing.register.recorded_quote import RecordedQuote

#: So many differences say enough.
_MOST = 4

#: An amount among the words of terms; a rate is below 1.
_AMOUNT = re.compile(r"\b[1-9]\d*\.\d+\b")

#: Stages of payment and bases of taxes that differ in their amounts alone.
_PAYMENTS = "amounts of its payments"


def differences(
    recorded: RecordedQuote, lines: Sequence[SnapshotLine], said: Mapping[str, Sequence[Any]] | None, snapshot: QuoteSnapshot,
    offers: Sequence[OfferedLine] | None = None,
) -> list[str]:
    """What a snapshot says otherwise than what is on record, in words; nothing where the customer is told the same.

    What an earlier version did not keep is taken as the same, and so is a table of prices by quantity that is not asked for again.

    Parameters
    ----------
    lines, said : lines, and terms and prices by quantity, as they were recorded
    offers : what was offered beside it, where that was kept
    """
    found = list(_differences(recorded, lines, snapshot))
    if offers is not None:
        found += _of_offers(offers, snapshot.offers)
    if said is not None and list(said["terms"]) != list(snapshot.terms):
        alike = [_AMOUNT.sub("", str(text)) for text in said["terms"]] == [_AMOUNT.sub("", text) for text in snapshot.terms]
        found.append(_PAYMENTS if alike else "its terms")
    if said is not None and snapshot.prices_by_quantity and list(said["prices"]) != list(snapshot.prices_by_quantity):
        found.append("its prices by quantity")
    return found


def _differences(recorded: RecordedQuote, lines: Sequence[SnapshotLine], snapshot: QuoteSnapshot) -> Iterator[str]:
    for name, before, now in (
        ("customer", recorded.customer, snapshot.customer), ("date", recorded.day, snapshot.day),
        ("validity", recorded.valid_until, snapshot.valid_until), ("currency", recorded.currency, snapshot.currency),
        ("number of lines", len(lines), len(snapshot.lines)),
    ):
        if before != now:
            yield f"{name}: {before} then, {now} now"
    for number, (old, new) in enumerate(zip(lines, snapshot.lines, strict=False), 1):
        yield from _of_line(number, old, new)
    for name in PROMISED:
        if name in recorded.totals and not _same(recorded.totals[name], snapshot.totals[name]):
            yield f"{name.replace('_', ' ')}: {recorded.totals[name]:,.2f} then, {snapshot.totals[name]:,.2f} now"


def _of_offers(old: Sequence[OfferedLine], new: Sequence[OfferedLine]) -> Iterator[str]:
    then, today = (dict(_keyed(offers)) for offers in (old, new))
    for number, part in sorted({*then, *today}):
        one, other = then.get((number, part)), today.get((number, part))
        if one is None or other is None or one.offer != other.offer:
            shown = [f'"{each.offer}"' if each is not None else "none" for each in (one, other)]
            yield f"offer in line {number}: {shown[0]} then, {shown[1]} now"
        else:
            yield from _of_line(number, one.line, other.line)
            if not _same(one.adds, other.adds):
                yield f"net of line {number}: adds {one.adds:,.2f} then, {other.adds:,.2f} now"


def _keyed(offers: Sequence[OfferedLine]) -> Iterator[tuple[tuple[int, int], OfferedLine]]:
    """What is offered by its number and, of a set, the place of each part."""
    places: dict[int, int] = {}
    for each in offers:
        places[each.number] = places.get(each.number, 0) + 1
        yield (each.number, places[each.number]), each


def _of_line(number: int, old: SnapshotLine, new: SnapshotLine) -> Iterator[str]:
    for name, before, now in (("price", old.unit_price, new.unit_price), ("net", old.net, new.net)):
        if not _same(before, now):
            yield f"{name} of line {number}: {before:,.2f} then, {now:,.2f} now"
    then, today = old.promised, new.promised
    for name in dict.fromkeys([*then, *today]):
        if not _same(then.get(name), today.get(name)):
            words = name.replace("_", " ")
            yield f"{words} of line {number}: {_shown(then.get(name))} then, {_shown(today.get(name))} now"


def asked_otherwise(different: Sequence[str]) -> str:
    """Of what is different, what is asked for otherwise, in words that end a sentence; nothing where only amounts differ.

    >>> asked_otherwise(["net of line 1: 50.00 then, 60.00 now", "amounts of its payments", "quantity of line 2: 4 then, 6 now"])
    'quantity of line 2: 4 then, 6 now'
    """
    amounts = ("price of", "net of", _PAYMENTS, *(name.replace("_", " ") for name in PROMISED))
    found = [each for each in different if not each.startswith(amounts)]
    more = f" and {len(found) - _MOST} more" if len(found) > _MOST else ""
    return ", ".join(found[:_MOST]) + more


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float):
        return math.isclose(one, other, rel_tol=1e-12, abs_tol=1e-12)
    return bool(one == other)


def _shown(value: Any) -> str:
    return "none" if value is None else f"{value:g}" if isinstance(value, float) else f'"{value}"' if isinstance(value, str) else str(value)
