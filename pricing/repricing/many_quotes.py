"""Many quotes repriced together: one costing of all their lines before, one now, and one comparison of the two.

A quote can be compared with the others where the price book still yields, for the day of the quote, exactly what the
register recorded: then what is in the book is what the quote was made with. Every other quote is compared by itself, from
the inputs that were recorded with it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import PriceBook, SheetTable
from pricing.costing.comparison.compare import Comparison, Split, cost_of_quotes, net_of_quotes
from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.lines.enquiries import with_enquiries
from pricing.costing.lines.order_lines import OrderLines, enquired
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.moulds.costed import costed
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.register.kept.book_rows import WORKING
from pricing.register.recorded_quote import TAKEN, RecordedQuote
from pricing.register.register import Asked, Register
from pricing.repricing.changes import Change
from pricing.text import fold

#: With more causes than this, each quote is better compared by itself, with the few that it hangs on.
MOST_CAUSES = 8

#: Fewer quotes are compared one by one.
WORTH_WHILE = 8

#: The sheets whose rows a line names, each by the column that names them.
NAMED = {"Products": "product"} | WORKING

#: A quote agrees with the book where its amounts differ by no more than this [share].
_HAIR = 1e-12

Parts = Callable[[Comparison, Split, int], dict[tuple[str, str], float]]


@dataclass
class _Side:
    """The lines of all quotes at the prices of one side."""

    book: PriceBook
    lines: OrderLines


def compared_together(
    book: PriceBook, unchanged: PriceBook, day: datetime.date, quotes: Sequence[RecordedQuote], register: Register, parts_of: Parts
) -> dict[int, tuple[Change, Change]]:
    """Cost and net of every quote that can be compared with the others.

    Parameters
    ----------
    book : whose prices hold now, with what is only supposed
    unchanged : as it was read
    day : of today's prices
    quotes : the quotes
    parts_of : what each cause of a comparison contributes to the figure of a quote

    Returns
    -------
    by key of the recorded quote; the others have to be compared one by one
    """
    if len(quotes) < WORTH_WHILE:
        return {}
    asked = _asked(register, quotes, book, unchanged)
    chosen = [quote for quote in quotes if quote.key in asked.of_quote]
    if not chosen:
        return {}
    before = _side(unchanged, chosen, asked)
    context = PricingContext(unchanged, before.lines, Problems(unchanged.file))
    group_of = np.empty(len(chosen), dtype=np.intp)
    group_of[before.lines.order] = context.set_of_line
    found: dict[int, tuple[Change, Change]] = {}
    table = before.book.tables["Enquiries"]
    quote_of_row = np.repeat(np.arange(len(chosen)), [len(asked.of_quote[quote.key]) for quote in chosen])
    for group in range(len(context.labels)):
        some = [chosen[place] for place in np.flatnonzero(group_of == group).tolist()]
        if len(some) >= WORTH_WHILE:
            whole = len(some) == len(chosen)
            old = before if whole else _Side(before.book, before.lines.taken(np.flatnonzero(context.set_of_line == group).tolist()))
            found |= _group(old, _on(book, day, table, group_of[quote_of_row] == group), some, parts_of)
    return found


def _asked(register: Register, quotes: Sequence[RecordedQuote], book: PriceBook, unchanged: PriceBook) -> Asked:
    """The lines of the quotes, without those quotes that name what is gone, or wait for a date."""
    known = [
        (name, {fold(str(each)) for each in book.tables[sheet].columns[name].tolist()}
         & {fold(str(each)) for each in unchanged.tables[sheet].columns[name].tolist()})
        for sheet, name in NAMED.items()
    ]
    asked = register.asked(quotes)
    usual = [
        not line.get("wanted_by") and all(fold(str(line[name])) in there for name, there in known if line.get(name)) for line in asked.lines
    ]
    return asked._replace(of_quote={key: own for key, own in asked.of_quote.items() if all(usual[number] for number in own)})


def _side(book: PriceBook, quotes: Sequence[RecordedQuote], asked: Asked) -> _Side:
    """The lines of some quotes as they were enquired: each is laid out once, however many quotes have it."""
    of_quote = [asked.of_quote[quote.key] for quote in quotes]
    numbers, places = np.unique(np.concatenate(of_quote), return_inverse=True)
    sheet = with_enquiries(book, [asked.lines[number] for number in numbers.tolist()]).tables["Enquiries"]
    columns = {name: values[places] for name, values in sheet.columns.items()}
    counts = [len(own) for own in of_quote]
    for name, told in (("quote", [str(quote.key) for quote in quotes]), ("customer", [quote.customer for quote in quotes]),
                       ("date", [quote.day for quote in quotes])):
        columns[name] = np.repeat(np.array(told, dtype=columns[name].dtype), counts)
    return _with_lines(book, sheet, columns)


def _on(book: PriceBook, day: datetime.date, enquiries: SheetTable, chosen: NDArray[np.bool_]) -> _Side:
    """Some of the rows of a sheet Enquiries as if they were enquired on a day."""
    columns = {name: values[chosen] for name, values in enquiries.columns.items()}
    columns["date"] = np.full(len(columns["date"]), np.datetime64(day, "D"))
    return _with_lines(book, enquiries, columns)


def _with_lines(book: PriceBook, enquiries: SheetTable, columns: dict[str, Any]) -> _Side:
    rows = np.arange(1, len(columns["date"]) + 1, dtype=np.int64)
    with_lines = replace(book, tables={**book.tables, "Enquiries": replace(enquiries, rows=rows, columns=columns)})
    return _Side(with_lines, enquired(with_lines))


def _group(old: _Side, new: _Side, quotes: Sequence[RecordedQuote], parts_of: Parts) -> dict[int, tuple[Change, Change]]:
    """Quotes that were made at the same prices."""
    problems = Problems()
    costings = [costed(side.book, side.lines, problems) for side in (old, new)]
    models, (before, now) = [each.model for each in costings], [each.values for each in costings]
    if problems.errors or not all(_mixes_are_sound(each) for each in (before, now)):
        return {}
    amounts_of = {name: np.array([quote.totals[name] for quote in quotes]) for name in ("quote_cost", "net")}
    faithful = _sound(before) & _sound(now)
    for name, amounts in amounts_of.items():
        faithful &= np.abs(before.value("quotes", name) - amounts) <= _HAIR * np.maximum(np.abs(amounts), 1.0)
    comparison = Comparison(*models)
    if len(comparison.causes) > MOST_CAUSES:
        return {}
    split = comparison.split({"cost": cost_of_quotes, "net": net_of_quotes})
    cost, net, new_net = split["cost"], split["net"], now.value("quotes", "net")
    found = {}
    for place in np.flatnonzero(faithful).tolist():
        quote = quotes[place]
        old_net = quote.totals["net"]
        of_cost = Change(float(cost.old[place]), float(cost.new[place]), parts_of(comparison, cost, place))
        if quote.state in TAKEN:
            found[quote.key] = of_cost, Change(old_net, old_net)
            continue
        rounding = (float(new_net[place]) - float(net.new[place])) - (old_net - float(net.old[place]))
        found[quote.key] = of_cost, Change(old_net, float(new_net[place]), parts_of(comparison, net, place), rounding)
    return found


def _mixes_are_sound(values: Evaluation) -> bool:
    parts = values.model.tables["mixes"].given["has_parts"] > 0
    return bool((values.value("mixes", "parts_in_cubic_metre")[parts] > 0).all())


def _sound(values: Evaluation) -> NDArray[np.bool_]:
    """The quotes all of whose figures are numbers."""
    lines = np.isfinite(values.value("lines", "unit_cost")) & np.isfinite(values.value("lines", "unit_price"))
    odd = values.model.lookup("lines", "quote_number", "quotes").summed((~lines).astype(np.float64), values.model.tables["quotes"].count)
    sound: NDArray[np.bool_] = (odd == 0) & np.isfinite(values.value("quotes", "carriage"))
    return sound
