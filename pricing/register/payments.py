"""What was paid on the quotes that are ordered, what is open, and what of it is due."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from pricing.dataclass import dataclass
from pricing.money import minor_units, with_code
from pricing.problems import Problem
from pricing.register.database import RegisterError, faults, transaction
from pricing.register.kept.nonsense import day_of, number_of
from pricing.register.recorded_quote import TAKEN, RecordedQuote

if TYPE_CHECKING:
    from pricing.costing.method.quote_terms import Payment
    from pricing.register.register import Register


@dataclass(frozen=True)
class Stage:
    """A stage in which a quote is paid, as far as it is open.

    Parameters
    ----------
    called : as the quote calls it
    amount, open : of it in all, and what of it is not paid [currency]
    due : the day on which it falls due; None where that is not known yet
    plan : the stage as it was promised
    """

    called: str
    amount: float
    open: float
    due: datetime.date | None
    plan: Payment

    @property
    def terms(self) -> str:
        """When it falls due, in English words."""
        return self.plan.due


@dataclass(frozen=True)
class Account:
    """What is paid and open of an ordered quote.

    Parameters
    ----------
    quote : as the register has it
    paid : days and amounts, in the order in which they were noted
    stages : in which it is paid
    """

    quote: RecordedQuote
    paid: tuple[tuple[datetime.date, float], ...]
    stages: tuple[Stage, ...]

    @property
    def total_paid(self) -> float:
        """All that was paid [currency]."""
        return _rounded(sum(amount for _, amount in self.paid), self.quote.currency)

    @property
    def open(self) -> float:
        """What is not paid yet; below zero where more was paid than is payable [currency]."""
        return _rounded(self.quote.totals["payable"] - self.total_paid, self.quote.currency)

    def due_by(self, day: datetime.date) -> list[Stage]:
        """The stages of which something is open that falls due by a day."""
        return [stage for stage in self.stages if stage.open > 0 and stage.due is not None and stage.due <= day]

    def as_json(self) -> dict[str, Any]:
        """The object that programs read."""
        return {
            "paid": [{"date": str(day), "amount": amount} for day, amount in self.paid], "open": self.open,
            "stages": [
                {"stage": each.called, "amount": each.amount, "open": each.open, "due": str(each.due or ""), "terms": each.terms}
                for each in self.stages],
        }


def accounts(register: Register, quotes: Iterable[RecordedQuote], *, stages: bool = True) -> dict[int, Account]:
    """The accounts of the quotes that are ordered, made, delivered or settled, by the key of the quote.

    Parameters
    ----------
    stages : False where the stages in which they are paid are not asked for, which take far longer than what is open

    Problems raised: RegisterError.
    """
    taken = {quote.key: quote for quote in quotes if quote.marked in TAKEN}
    paid = payments(register)
    histories = register.histories(of=taken) if taken and stages else {}
    found = {}
    for key, quote in taken.items():
        own, days = tuple(paid.get((quote.number, quote.currency), ())), dict(histories.get(key, []))
        found[key] = Account(quote, own, tuple(_stages(quote, _plan(register, quote), own, days)) if stages else ())
    return found


def payments(register: Register) -> dict[tuple[str, str], list[tuple[datetime.date, float]]]:
    """Day and amount of every payment, by number and currency of its quote: what was paid counts for whichever revision is ordered, and
    what was taken back on its own day is as if it had never been noted."""
    found: dict[tuple[str, str], list[tuple[datetime.date, float]]] = {}
    query = "SELECT number, currency, amount, day FROM payments JOIN quotes ON quotes.id = payments.quote ORDER BY sequence"
    with faults(register.path):
        for row in register._connection.execute(query).fetchall():
            with register.left_out("a payment"):
                payment = day_of(row["day"], "day"), number_of(row["amount"], "amount")
                found.setdefault((row["number"], row["currency"]), []).append(payment)
    return {key: _without_slips(noted) for key, noted in found.items()}


def _without_slips(noted: Sequence[tuple[datetime.date, float]]) -> list[tuple[datetime.date, float]]:
    """Payments without those that were taken back on their own day, as a slip of the pen is.

    >>> _without_slips([(datetime.date(2026, 3, 2), amount) for amount in (50.0, 500.0, -500.0)])
    [(datetime.date(2026, 3, 2), 50.0)]
    """
    stays: list[tuple[datetime.date, float]] = []
    for day, amount in noted:
        if amount < 0 and (day, -amount) in stays:
            stays.remove((day, -amount))
        else:
            stays.append((day, amount))
    return stays


def _plan(register: Register, quote: RecordedQuote) -> Sequence[Payment]:
    from pricing.costing.engine.evaluation import evaluate
    from pricing.costing.method.quote_terms import deposit_and_balance, payments_by_quote

    try:
        model = register.model(quote)
    except RegisterError:
        model = None
    if model is not None:
        return payments_by_quote(evaluate(model), [_days_after_delivery(register, quote)])[0]
    return deposit_and_balance(quote.totals.get("deposit", 0.0), quote.totals["payable"])


def _days_after_delivery(register: Register, quote: RecordedQuote) -> float:
    """Days after delivery until the balance is due, as the terms that were promised say; not a number where they say nothing."""
    from pricing.costing.method.quote_terms import BALANCE

    said, balance = (register.said(quote) or {}).get("terms", []), re.compile(rf"{BALANCE} \S+ (\d+) days? after delivery")
    found = [match for text in said if (match := balance.fullmatch(str(text)))]
    return float(found[0][1]) if found else math.nan


def _stages(
    quote: RecordedQuote, plan: Sequence[Payment], paid: Sequence[tuple[datetime.date, float]], days: dict[str, datetime.date]
) -> Iterable[Stage]:
    """Each stage with what of it is open: what was paid goes to the stages in their order."""
    left = sum(amount for _, amount in paid)
    for each in plan:
        covered = min(max(left, 0.0), each.amount)
        left -= covered
        yield Stage(each.called, each.amount, _rounded(each.amount - covered, quote.currency), _due(each, days), each)


def _due(stage: Payment, days: dict[str, datetime.date]) -> datetime.date | None:
    """The day on which a stage falls due; what is due before delivery is due when the pieces are made."""
    known = {"with the order": "ordered", "before delivery": "made"}.get(stage.when, "delivered")
    day = days.get(known, days.get("delivered") if known == "made" else None)
    if day is None:
        return None
    return day if stage.when == "before delivery" else day + datetime.timedelta(days=stage.days)


def note_payment(register: Register, number: str, amount: float, day: datetime.date) -> tuple[Account, list[Problem]]:
    """Note a payment on an ordered quote; a negative amount is one that was paid back.

    Parameters
    ----------
    number : of the quote, in any letter case
    day : on which it was paid

    Returns
    -------
    the account as it is now, and what is to be said of it, as warnings

    Problems raised: RegisterError where the quote is not ordered, the same is noted already, or more is paid back than was paid.
    """
    register.keep_backup()
    with faults(register.path), transaction(register._connection):
        quote = register.marked(number)
        if quote.marked not in TAKEN:
            remedy = f"note the order first, with: pricing register --mark {quote.number}=ordered"
            raise RegisterError("not-ordered", f"quote {quote.name} is {quote.state}, and nothing is paid on it yet; {remedy}")
        known = payments(register).get((quote.number, quote.currency), [])
        if (day, amount) in known:
            remedy = "note it on its own day, or both in one sum"
            raise RegisterError("paid-already", f"{with_code(amount, quote.currency)} on {quote.name} on {day} are noted already; {remedy}")
        total = sum(each for _, each in known) + amount
        if not amount or not math.isfinite(amount) or _rounded(total, quote.currency) < 0:
            paid = f"{with_code(sum(each for _, each in known), quote.currency)} were paid on {quote.name} so far"
            raise RegisterError("no-payment", f"{amount:,.2f} cannot be noted: {paid}")
        values = (quote.key, amount, str(day), str(datetime.date.today()))
        register._connection.execute("INSERT INTO payments (quote, amount, day, noted) VALUES (?, ?, ?, ?)", values)
    account = accounts(register, [quote])[quote.key]
    told = []
    if account.open < 0:
        more = f"{with_code(-account.open, quote.currency)} more are paid than is payable"
        told.append(("paid-too-much", f"{quote.name}: {more}; look at the amount"))
    if day > datetime.date.today():
        told.append(("far-day", f"{quote.name}: the payment is of {day}, which lies ahead; look at the day"))
    return account, [Problem(code, message, warning=True) for code, message in told]


def _rounded(amount: float, currency: str) -> float:
    return round(amount, minor_units(currency)) + 0.0
