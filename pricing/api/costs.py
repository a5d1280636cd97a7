"""Costs and prices of quotes and of the list, why a figure is what it is, and what would be if something changed."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.api.books import Number, Source, opened_for, read
from pricing.book.price_book import PriceBook
from pricing.costing import run
from pricing.costing.method.costing import Costing
from pricing.problems import BookError
from pricing.quantities import as_typed, pieces
from pricing.text import fold

if TYPE_CHECKING:
    from pricing.costing.explain.trace import Trace
    from pricing.repricing.changes import Repricing


def cost(source: Source, quotes: Sequence[str] | None = None, day: datetime.date | None = None) -> Costing:
    """Cost and price the quotes of a price book, or those named; nothing is written.

    Parameters
    ----------
    source : the price book, or its path
    quotes : numbers of quotes; all where None
    day : the day whose prices hold; each quote's own date where None

    Problems raised: BookError where something cannot be priced, ExplainError where there is no such quote.
    """
    book = read(source)
    return run.cost_quotes(book, None if quotes is None else [quote_of(book, quote) for quote in quotes], day)


def cost_list(source: Source, day: datetime.date | None = None, quantities: Sequence[Number] | None = None) -> Costing:
    """Cost and price every product of a price book, at its usual run or at each of the quantities.

    Parameters
    ----------
    source : the price book, or its path
    day : the day whose prices hold; today where None
    quantities : good pieces, as numbers or quantities [pieces]

    Problems raised: BookError where something cannot be priced.
    """
    return run.cost_catalogue(read(source), day or datetime.date.today(), None if quantities is None else pieces(quantities))


def quote_of(source: Source, quote: str) -> str:
    """A quote of the Enquiries sheet as it is spelled there.

    Problems raised: ExplainError, which names the quotes that there are, where there is none of that number.
    """
    from pricing.costing.explain.figure_names import known_quote

    return known_quote(quote, read(source).tables["Enquiries"].columns["quote"].tolist())


def costing_of_quote(source: Source, quote: str, day: datetime.date | None = None) -> tuple[Costing, str]:
    """The costing of a quote, and what the quote is called in it: as it was promised where it is ordered, otherwise as it comes out now.

    Parameters
    ----------
    source : the price book, or its path
    quote : its number, in any letter case
    day : the day whose prices hold, for an ordered quote too; where None the quote's own date, and for an ordered one its record

    Problems raised: ExplainError where there is no such quote; BookError where it cannot be priced; RegisterError where it is ordered, and
    what it is made of is gone.
    """
    from pricing.register.of_record import costing_of_record
    from pricing.register.recorded_quote import TAKEN
    from pricing.register.register import Register, RegisterError

    path = source.path if isinstance(source, PriceBook) else Path(source)
    book, problems = opened_for(source, [quote], from_record=True)
    if book is None:
        raise BookError(problems.errors)
    if day is None:
        try:
            with Register.open(path, to_read=True) as register:
                for recorded in register.quotes(number=quote):
                    if recorded.state in TAKEN:
                        costing = costing_of_record(book, register, recorded)
                        return costing, costing.lines.quotes[0]
        except RegisterError as error:
            if error.code == "product-gone" and fold(quote) not in map(fold, book.tables["Enquiries"].columns["quote"].tolist()):
                raise
    name = quote_of(book, quote)
    return cost(book, [name], day), name


def explain(
    source: Costing | Source, quote: str, line: int | str | None = None, figure: str = "unit_price", *, day: datetime.date | None = None
) -> Trace:
    """The tree of a figure of a line, or of its quote: from the figure down to the cells of the price book.

    Parameters
    ----------
    source : a costing, a price book, or the path of one
    quote : its number, in any letter case
    line : number of the line in its quote, counted from 1; ``"2.3"`` for the third part of the set in line 2; the first where None
    figure : a column of the lines or of the quotes: its name, its name in the JSON object, or its label
    day : the day whose prices hold; where None the quote's own date, and for an ordered quote its record; none where a costing is given

    Problems raised: ExplainError where there is no such quote, line or figure; BookError where it cannot be priced.
    """
    from pricing.costing.explain import explain as walk

    costing, quote = (source, quote) if isinstance(source, Costing) else costing_of_quote(source, quote, day)
    if line is None:
        return walk.explain(costing, quote, None, figure)
    costing, quote, number = _line_or_option(costing, quote, str(line))
    return walk.explain(costing, quote, number, figure)


def _line_or_option(costing: Costing, quote: str, line: str) -> tuple[Costing, str, int]:
    """The costing that has a line of a quote, its name there, and its number: that of the quote, or that of its options.

    Problems raised: ExplainError where there is no such line, or a set has no such part.
    """
    from pricing.book.wording.sentences import listed
    from pricing.costing.explain.figure_names import ExplainError, known_quote
    from pricing.costing.options import line_called, line_labels, options_of

    name, options = known_quote(quote, costing.quotes), options_of(costing)
    option = next((each for each in options.of_quote.get(name, ()) if str(each.offer.line) == line.split(".")[0]), None)
    if option is not None and options.costing is not None:
        costing, name = options.costing, option.offer.name
    found = line_called(costing, name, line)
    if found is None and "." in line:
        remedy = "a part of a set is asked for by its line and its place in the set, such as 2.1"
        raise ExplainError(f"quote {quote} has no line {line}; {remedy}")
    if found is None and (costing.lines.enquiry[costing.lines_of(name)] >= 0).all():
        labels = line_labels(costing)
        numbers = {int(labels[row].partition(".")[0]) for row in costing.lines_of(name)}
        numbers |= {each.offer.line for each in options.of_quote.get(name, ())}
        there = listed([str(number) for number in sorted(numbers)], "and")
        held = f"its lines are {there}" if len(numbers) > 1 else f"its only line is {there}"
        raise ExplainError(f"quote {quote} has no line {line}; {held}")
    return costing, name, int(line) if found is None else found


def cheaper_with_fewer(costing: Costing, quote: str, line: int | str | None = None) -> str:
    """What is told of a line of which each piece would cost less if fewer were ordered, as an order of its own; nothing where none would.

    Parameters
    ----------
    costing : a costing that holds the quote
    quote : its number, in any letter case
    line : number of the line in its quote, or of a part of a set, as for :func:`explain`; the first where None

    Problems raised: ExplainError where there is no such quote or line.
    """
    from pricing.costing.moulds.price_rises import dearer_than_fewer

    costing, quote, number = _line_or_option(costing, quote, str(line or 1))
    rise = dearer_than_fewer(costing, costing.lines_of(quote)[number - 1])
    return rise.sentence if rise is not None else ""


def explanation(trace: Trace, depth: int | None = None, width: int = 100, *, rows: int | None = None) -> list[str]:
    """The lines of a tree as text, indented, with values and places in columns.

    Parameters
    ----------
    trace : as :func:`explain` gives it
    depth : levels below the top; all where None
    width : of the text [characters], from 60 to 120
    rows : of the screen, where no depth is given: as many levels as it holds are shown, and what is folded is named
    """
    from pricing.costing.explain.text import as_text, on_a_screen

    return as_text(trace, depth, width) if depth is not None or rows is None else on_a_screen(trace, rows, width)


def what_if(source: Source, changes: Mapping[str, str | Number] | Sequence[str], *, day: datetime.date | None = None) -> Repricing:
    """What the list and the quotes of a price book would cost if something changed, and what each change contributes.

    Parameters
    ----------
    source : the price book, or its path
    changes : by name of a material, supplier, kind of material, trade, machine, product or setting what becomes of it: ``"+12%"``, a
        new figure, or a quantity; or texts such as ``Cement=+12%``
    day : the day whose prices hold; today where None

    Problems raised: WhatIfError where a change cannot be read or names nothing; BookError where the list cannot be priced.
    """
    from pricing.repricing.reprice import reprice

    return reprice(read(source), day or datetime.date.today(), changes=as_changes(changes))


def as_changes(changes: Mapping[str, str | Number] | Sequence[str]) -> tuple[str, ...]:
    """Changes as they are typed: ``Saw kerf=3.2 mm``."""
    if isinstance(changes, Mapping):
        return tuple(f"{name}={as_typed(value)}" for name, value in changes.items())
    return (changes,) if isinstance(changes, str) else tuple(changes)


