"""Noting what became of a quote: what may follow what, what a mark takes back, and what is said of its day."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from pricing.book.wording.sentences import listed
from pricing.money import minor_units, with_code
from pricing.problems import Problem
from pricing.register.database import RegisterError
from pricing.register.kept.lines import OfferedLine
from pricing.register.recorded_quote import MAY_BECOME, STATES, TAKEN, RecordedQuote, takes_back
from pricing.register.rows import DRAFT_FILE

#: A day further from the date of the quote than this is pointed at [days].
FAR = 366

History = Sequence[tuple[str, datetime.date]]


def refuse_mark(quote: RecordedQuote, state: str, day: datetime.date, others: Sequence[RecordedQuote], late: bool) -> None:
    """Refuse a mark that cannot be.

    Parameters
    ----------
    state : that is to be marked, another than the quote has
    day : on which it happened
    others : the other revisions of its number
    late : True where an order after the last day of the quote is meant

    Problems raised: RegisterError.
    """
    if state not in MAY_BECOME[quote.marked]:
        can = listed(each for each in STATES if each in MAY_BECOME[quote.marked])
        raise RegisterError("wrong-state", f"quote {quote.name} is {quote.marked} and cannot become {state}, only {can}")
    if quote.marked == "draft" and quote.file.endswith(DRAFT_FILE):
        remedy = f"promise it first, with: pricing quote --quote {quote.number}"
        raise RegisterError("only-a-draft", f"quote {quote.name} is a draft, by which nothing is promised; {remedy}")
    taken = next((each for each in others if each.marked in TAKEN), None)
    if state in TAKEN and taken is not None:
        remedy = f"take that back first, with --mark {quote.number}=issued --revision {taken.revision}"
        raise RegisterError("already-ordered", f"quote {taken.name} is {taken.marked} already; {remedy}")
    if is_late(quote, state, day) and not late:
        days = (day - quote.valid_until).days
        ago = "the day before" if days == 1 else f"{days:,} days before"
        text = f"quote {quote.name} had lapsed on {quote.valid_until}, {ago}; to order it all the same, add --late"
        raise RegisterError("lapsed-order", text)


def refuse_options(quote: RecordedQuote, offers: Sequence[OfferedLine] | None, options: Sequence[int]) -> None:
    """Refuse an order of lines that are not offered beside a quote, or of two in the place of one.

    Parameters
    ----------
    offers : beside it; None where an earlier version did not keep them
    options : numbers of lines

    Problems raised: RegisterError.
    """
    if options and offers is None:
        remedy = f"issue it again with: pricing reprice --reissue --quote {quote.number}, or promise the line anew with --revise"
        raise RegisterError("no-options", f"quote {quote.name} was recorded by a version that kept no options; {remedy}")
    known = {each.number: each for each in offers or ()}
    wrong = [number for number in options if number not in known]
    if wrong:
        there = listed([f"{each.number} ({each.line.product}, {each.offer})" for each in known.values()], "and")
        offered = f"it offers {there}" if known else "it offers none"
        raise RegisterError("no-option", f"quote {quote.name} has no option {wrong[0]}; {offered}")
    places: dict[int, int] = {}
    for number in options:
        place = known[number].instead_of
        if place and place in places:
            text = f"lines {places[place]} and {number} of quote {quote.name} both stand instead of line {place}; order one of them"
            raise RegisterError("two-alternatives", text)
        places[place] = number


def is_late(quote: RecordedQuote, state: str, day: datetime.date) -> bool:
    """Whether a mark orders what had lapsed."""
    return state == "ordered" and quote.marked not in TAKEN and day > quote.valid_until


def day_of_mark(quote: RecordedQuote, state: str, when: datetime.date | None, history: History) -> datetime.date:
    """The day from which a quote has a state: where a mark is taken back, the day on which it had that state first."""
    earlier = [day for word, day in history if word == state]
    if when is None and earlier and takes_back(quote.marked, state):
        return earlier[-1]
    return when or datetime.date.today()


def said_of_mark(quote: RecordedQuote, state: str, day: datetime.date, history: History, paid: float) -> list[Problem]:
    """What the maker is told of a mark, as warnings.

    Parameters
    ----------
    quote : as it was
    day : from which it has the state
    paid : what was paid on it so far
    """
    told = []
    since = next((each for word, each in reversed(history) if word == quote.marked), quote.since)
    if state == quote.marked:
        told.append(("corrected-day", f"{quote.name} is {state} since {day}, and no longer since {since}"))
    elif takes_back(quote.marked, state):
        undone = dict.fromkeys(f"{word} on {each}" for word, each in history if word != state and takes_back(word, state))
        money = f"; {with_code(paid, quote.currency)} that were paid stay noted" if paid and state == "issued" else ""
        told.append(("taken-back", f"{quote.name} is {state} again since {day}; this takes back {listed(list(undone)[-4:], 'and')}{money}"))
    open_amount = round(quote.totals["payable"] - paid, minor_units(quote.currency))
    if state == "settled" and open_amount > 0:
        left = f"{with_code(open_amount, quote.currency)} still open"
        told.append(("open-amount", f"{quote.name} is settled with {left}; note what was paid with --paid"))
    if state in TAKEN and open_amount < 0:
        more = f"{-open_amount:,.2f} {quote.currency} more are paid than is payable"
        told.append(("paid-too-much", f"{quote.name}: {more}; look at what was paid on it, on an earlier revision too"))
    if day < quote.day:
        told.append(("early-day", f"{quote.name} is {state} since {day}, before its own date, {quote.day}; look at the day"))
    elif quote.marked in TAKEN and state != quote.marked and not takes_back(quote.marked, state) and day < since:
        told.append(("early-day", f"{quote.name} is {state} since {day}, before it was {quote.marked} on {since}; look at the day"))
    elif abs((day - quote.day).days) > FAR:
        told.append(("far-day", f"{quote.name} is {state} since {day}, {(day - quote.day).days:,} days after its date; look at the day"))
    elif day > datetime.date.today():
        told.append(("far-day", f"{quote.name} is {state} since {day}, which lies ahead; look at the day"))
    return [Problem(code, message, warning=True) for code, message in told]
