"""What moved: the list and the quotes at the prices they were made with, at today's, and why.

A list product is costed at its usual run, once at the prices it is compared with and once at those of the day. A quote is
costed from what the register recorded when it was issued, and again as if its lines were made at the prices of the day.
"""

from __future__ import annotations

import datetime
import functools
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from pricing.book.offers import LEFT_OUT
from pricing.book.price_book import PriceBook, days_of_change
from pricing.book.price_index import PriceIndex
from pricing.book.services import product_count
from pricing.costing.comparison.compare import Cause, Comparison, Split, cost_of_lines, cost_of_quotes, net_of_quotes, price_of_lines
from pricing.costing.comparison.what_if import with_changes, with_factor
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.engine.model import Model
from pricing.costing.lines.enquiries import with_enquiries
from pricing.costing.lines.order_lines import OrderLines, enquired, list_lines
from pricing.costing.method.costing import Costing
from pricing.costing.method.measures import measures_each
from pricing.costing.run import cost_lines
from pricing.dataclass import dataclass
from pricing.problems import BookError, Problems
from pricing.register.kept.lines import SnapshotLine, enquiry_of
from pricing.register.of_record import lines_in_place, with_its_own_rows
from pricing.register.recorded_quote import DONE, TAKEN, RecordedQuote
from pricing.register.register import Register, RegisterError
from pricing.repricing.changes import NOT_ISSUED, Change, Name, ProductChange, QuoteChange, Repricing
from pricing.repricing.many_quotes import NAMED, compared_together
from pricing.text import fold

#: The cause that stands for what the rules of the method have become since a quote was recorded.
METHOD = "Costing method"

#: What re-costing a record may differ by without that [share].
_HAIR = 1e-9


def last_change(book: PriceBook, day: datetime.date) -> datetime.date:
    """The day before the latest change of prices, wages or rates that is in force on *day*; *day* itself where nothing changed before.

    Parameters
    ----------
    day : whose prices hold
    """
    dates = days_of_change(book)
    dates = dates[dates <= np.datetime64(day, "D")]
    if len(dates) < 2:
        return day
    before: datetime.date = (dates[-1] - np.timedelta64(1, "D")).astype(object)
    return before


@dataclass(frozen=True)
class IndexMove:
    """The movement of a published index that is applied to materials.

    Parameters
    ----------
    index, series : which
    start, end : months, ``2019-01``, or whole years
    materials : to which; all where there are none
    """

    index: PriceIndex
    series: str
    start: str
    end: str
    materials: tuple[str, ...] = ()

    @property
    def ratio(self) -> float:
        """Price at the end over price at the start [1]."""
        return self.index.ratio(self.index.named(self.series), self.start, self.end)

    def __str__(self) -> str:
        what = ", ".join(self.materials) or "all materials"
        return f"{what} {self.ratio - 1:+.1%} by {self.index.named(self.series)} of {self.index.file}, {self.start} to {self.end}"


def reprice(
    book: PriceBook, day: datetime.date, *, since: datetime.date | None = None, against: PriceBook | None = None,
    changes: Sequence[str] = (), index: IndexMove | None = None, register: Register | None = None,
) -> Repricing:
    """Compare the list with what it was, and every quote with the prices it was made with.

    Parameters
    ----------
    book, day : the prices that hold now
    since : the day whose prices the list is compared with
    against : the older price book that the list is compared with
    changes : what is only supposed: ``Cement=+12%``
    index : a price index that is only supposed to move the prices
    register : the quotes that were issued; none where None

    Where neither *since* nor *against* is given, the list is compared with the prices before their last change, or, where
    something is supposed, with the prices that hold. Quotes that stand in the Enquiries sheet and were never issued are
    compared with the prices of their own date.

    Problems raised: BookError where the list cannot be costed on one of the two days; WhatIfError and PriceIndexError where
    what is supposed cannot be understood.
    """
    supposed = with_changes(book, changes)
    if index is not None:
        supposed = with_factor(supposed, index.materials, index.ratio)
    what_if = [*(text.replace("=", " ", 1) for text in changes), *([str(index)] if index is not None else [])]
    before, before_day = against or book, since or day
    compared_with = f"those of {before_day}"
    if against is not None:
        compared_with = f'those of {before_day} in "{against.file}"'
    elif since is None and what_if:
        compared_with = "those without the change"
    elif since is None:
        before_day = _earlier(book, day)
        compared_with = f"those of {before_day}, before their last change" if before_day != day else "themselves: no earlier ones are known"
    return _repriced(supposed, day, before, before_day, compared_with, register, book, what_if)


def _earlier(book: PriceBook, day: datetime.date) -> datetime.date:
    """The day before the last change of prices, or the day itself where the list had no prices then."""
    earlier = last_change(book, day)
    return earlier if not cost_lines(book, list_lines(book, earlier), Problems(book.file)).problems.errors else day


def _repriced(
    book: PriceBook, day: datetime.date, before: PriceBook, before_day: datetime.date, compared_with: str,
    register: Register | None, unchanged: PriceBook, what_if: Sequence[str],
) -> Repricing:
    collected: dict[Name, Cause] = {}
    products = _products(before, before_day, book, day, collected)
    on_record = register.quotes(day=day, brief=True) if register is not None else []
    quotes: list[QuoteChange] = []
    ordered: list[QuoteChange] = []
    other: tuple[RecordedQuote, ...] = ()
    if register is not None:
        waiting = [recorded for recorded in on_record if recorded.state not in ("refused", *DONE)]
        asked = [recorded for recorded in waiting if recorded.currency == book.word("currency")]
        other = tuple(recorded for recorded in waiting if recorded.currency != book.word("currency"))
        known_parts = functools.partial(_parts, collected=collected)
        together = compared_together(book, unchanged, day, asked, register, known_parts)
        for recorded in asked:
            if recorded.key in together:
                change = _change(recorded, *together[recorded.key])
            else:
                change = _by_itself(book, day, recorded, register, collected)
            (ordered if recorded.state in TAKEN else quotes).append(change)
    known = {fold(recorded.number) for recorded in on_record}
    for number in dict.fromkeys(book.tables["Enquiries"].columns["quote"].tolist()):
        if fold(number) not in known:
            quotes.append(_enquiry(book, day, unchanged, number, collected))
    return Repricing(book, day, compared_with, products, quotes, ordered, collected, tuple(what_if), other, unchanged)


def _sound(book: PriceBook, lines: OrderLines) -> Costing:
    costing = cost_lines(book, lines, Problems(book.file))
    if costing.problems.errors:
        raise BookError(costing.problems.errors)
    return costing


def _parts(
    comparison: Comparison, split: Split, number: int, collected: dict[Name, Cause], *, moving: bool = False
) -> dict[Name, float]:
    """What each cause contributes to a figure; all causes are collected, or those alone that move it."""
    found = {}
    for at, cause in enumerate(comparison.causes):
        name = (cause.kind, cause.name)
        part = float(split.parts[at, number])
        if moving and not part:
            continue
        known = collected.setdefault(name, cause)
        if known is not cause:
            known.cells += [cell for cell in cause.cells if cell not in known.cells]
            known.remarks += [remark for remark in cause.remarks if remark not in known.remarks]
        if part:
            found[name] = part
    return found


def _products(
    before: PriceBook, before_day: datetime.date, book: PriceBook, day: datetime.date, collected: dict[Name, Cause]
) -> list[ProductChange]:
    """Every product that both price books have."""
    old_names, names = (each.tables["Products"].columns["product"][: product_count(each)].tolist() for each in (before, book))
    where = {fold(name): row for row, name in enumerate(old_names)}
    rows = [row for row, name in enumerate(names) if fold(name) in where]
    if not rows:
        return []
    new = _sound(book, list_lines(book, day).taken(rows))
    old = _sound(before, list_lines(before, before_day).taken([where[fold(names[row])] for row in rows]))
    comparison = Comparison(old.model, new.model)
    split = comparison.split({"cost": cost_of_lines, "price": price_of_lines})
    cost, price, wanted = split["cost"], split["price"], new.line("rounded_price") * measures_each(new.values)
    old_price, new_price = old.line("unit_price"), new.line("unit_price")
    rounding = (new_price - price.new) - (old_price - price.old)
    listed = new.line("price_is_given") > 0
    return [
        ProductChange(
            str(names[row]), float(new.lines.quantity[at]), bool(listed[at]),
            Change(float(cost.old[at]), float(cost.new[at]), _parts(comparison, cost, at, collected)),
            Change(float(old_price[at]), float(new_price[at]), _parts(comparison, price, at, collected), float(rounding[at])),
            float(wanted[at]),
        )
        for at, row in enumerate(rows)
    ]


def recosted(book: PriceBook, day: datetime.date, number: str, customer: str, lines: Iterable[SnapshotLine]) -> Costing | str:
    """The lines of a quote as if they were enquired on *day*, or a sentence that says why that cannot be costed.

    Parameters
    ----------
    book : whose prices hold
    number : what the quote is called in the result
    lines : as the register recorded them
    """
    asked = [line.asked for line in lines]
    for sheet, name in NAMED.items():
        known = {fold(str(each)) for each in book.tables[sheet].columns[name].tolist()}
        for row in asked:
            if row.get("offer") != LEFT_OUT and row.get(name) and fold(str(row[name])) not in known:
                return f'{name.replace("_", " ")} "{row[name]}" is no longer in the price book'
    with_lines = with_enquiries(book, [enquiry_of(number, customer, day, row) for row in asked])
    costing = cost_lines(with_lines, enquired(with_lines), Problems(book.file))
    errors = costing.problems.errors
    return errors[0].message if errors else costing


def _by_itself(
    book: PriceBook, day: datetime.date, recorded: RecordedQuote, register: Register, collected: dict[Name, Cause]
) -> QuoteChange:
    """A quote compared by itself; one whose record is damaged is left as it is, and why is said."""
    try:
        lines, model = lines_in_place(register, recorded), register.model(recorded)
        book = with_its_own_rows(book, register, recorded)
    except RegisterError as error:
        if error.code != "damaged-record":
            raise
        cost, net = recorded.totals["quote_cost"], recorded.totals["net"]
        return _change(recorded, Change(cost, cost), Change(net, net), str(error).replace(f"quote {recorded.name} in", "its record in", 1))
    return _quote(book, day, recorded, lines, model, collected)


def _quote(
    book: PriceBook, day: datetime.date, recorded: RecordedQuote, lines: Sequence[SnapshotLine], old: Model | None,
    collected: dict[Name, Cause],
) -> QuoteChange:
    held = recorded.state in TAKEN
    costing = recosted(book, day, recorded.number, recorded.customer, lines)
    cost, net = recorded.totals["quote_cost"], recorded.totals["net"]
    if isinstance(costing, str):
        return _change(recorded, Change(cost, cost), Change(net, net), _unnamed(costing, recorded.number))
    new_cost, new_net = float(costing.quote("quote_cost")[0]), float(costing.quote("net")[0])
    if old is None:
        reason = "made by an earlier costing method, so that no causes can be given"
        return _change(recorded, Change(cost, new_cost), Change(net, net if held else new_net), reason)
    return _change(recorded, *_with_method(recorded, old, _compared(old, costing.model, net, new_net, collected, held=held), collected))


def _unnamed(message: str, number: str) -> str:
    """A sentence about a quote that stands behind its number, which it does not repeat.

    >>> _unnamed("quote Q-1 weighs 900.0 kg", "Q-1"), _unnamed('mix "Grey" is no longer in the price book', "Q-1")
    ('weighs 900.0 kg', 'mix "Grey" is no longer in the price book')
    """
    return message.removeprefix(f"quote {number}").lstrip(" ,:")


def _with_method(
    recorded: RecordedQuote, old: Model, found: tuple[Change, Change], collected: dict[Name, Cause]
) -> tuple[Change, Change]:
    """The two changes from what was recorded on: what the same inputs come to by today's rules is a cause of its own, where it differs."""
    cost, net = found
    made = evaluate(old)
    name = ("method", METHOD)
    of_cost = float(made.value("quotes", "quote_cost")[0]) - recorded.totals["quote_cost"]
    if abs(of_cost) > _HAIR * max(abs(recorded.totals["quote_cost"]), 1.0):
        cost = replace(cost, old=recorded.totals["quote_cost"], parts={**cost.parts, name: of_cost})
        collected.setdefault(name, Cause(METHOD, "method"))
    of_net = float(made.value("quotes", "net")[0]) - recorded.totals["net"]
    if net.old != net.new and abs(of_net) > _HAIR * max(abs(recorded.totals["net"]), 1.0):
        net = replace(net, parts={**net.parts, name: of_net}, rounding=net.rounding - of_net)
        collected.setdefault(name, Cause(METHOD, "method"))
    return cost, net


def _change(recorded: RecordedQuote, cost: Change, net: Change, reason: str = "") -> QuoteChange:
    return QuoteChange(
        recorded.number, recorded.revision, recorded.customer, recorded.state, recorded.day, recorded.valid_until, cost, net, reason
    )


def _compared(
    old: Model, new: Model, old_net: float, new_net: float, collected: dict[Name, Cause], *, held: bool = False
) -> tuple[Change, Change]:
    comparison = Comparison(old, new)
    split = comparison.split({"cost": cost_of_quotes, "net": net_of_quotes})
    cost, net = split["cost"], split["net"]
    change = Change(float(cost.old[0]), float(cost.new[0]), _parts(comparison, cost, 0, collected, moving=held))
    if held:  # its price stands, whatever it would be now
        return change, Change(old_net, old_net)
    rounding = (new_net - float(net.new[0])) - (old_net - float(net.old[0]))
    return change, Change(old_net, new_net, _parts(comparison, net, 0, collected), rounding)


def _enquiry(book: PriceBook, day: datetime.date, unchanged: PriceBook, number: str, collected: dict[Name, Cause]) -> QuoteChange:
    """A quote that stands in the Enquiries sheet: at its own date and at the day."""
    old = cost_lines(unchanged, enquired(unchanged, [number]), Problems(book.file))
    own: datetime.date = old.lines.day[0].astype(object)
    customer = str(old.lines.customer[0])
    new = cost_lines(book, enquired(book, [number], day), Problems(book.file))
    errors = [*old.problems.errors, *new.problems.errors]
    if errors:
        reason = _unnamed(errors[0].message, number)
        return QuoteChange(number, 1, customer, NOT_ISSUED, own, None, Change(0.0, 0.0), Change(0.0, 0.0), reason)
    cost, net = _compared(old.model, new.model, float(old.quote("net")[0]), float(new.quote("net")[0]), collected)
    return QuoteChange(number, 1, customer, NOT_ISSUED, own, None, cost, net)
