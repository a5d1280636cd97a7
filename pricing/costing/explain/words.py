"""How the figures of a model are spoken of: what each is a figure of, its unit, its digits, and where it follows from."""

from __future__ import annotations

import math

from pricing import money
from pricing.book.price_book import AIR, NONE
from pricing.costing.engine.columns import Column, Sum, said
from pricing.costing.engine.model import Rows
from pricing.costing.explain.trace import TYPED, Trace
from pricing.costing.method.declared import WORDS
from pricing.costing.method.shown_measures import METRIC, ShownMeasures
from pricing.glossary import GLOSSARY, Quantity


def subject(rows: Rows, row: int) -> str:
    """What a row is about, as the price book calls it: ``Cement``, ``Grey in quote Q-7``."""
    return said(rows.spec.subject, rows.text, row)


def is_absent(rows: Rows, row: int) -> bool:
    """True for the row of zeros that stands for "there is none": no mould, no machine, no material, or air."""
    if rows.spec.group == "prices":
        name = str(rows.text["material"][row])
        return not rows.text["price_place"][row] and (name == NONE or name.casefold().split(" [")[0] == AIR)
    return bool(rows.spec.nothing) and bool(rows.text[rows.spec.nothing][row] == NONE)


def unit_of(rows: Rows, row: int, name: str, currency: str, measures: ShownMeasures = METRIC) -> str:
    """The unit of a figure as it is shown: ``EUR per m³``, ``kg``, ``% of binder``; empty where there is none to show."""
    column, shown = rows.spec.column(name), measures.quantity(name).shown
    if column is not None and column.unit:
        word = measures.word(column.unit, str(rows.text[column.unit][row]))
        if not shown.startswith("money"):
            return word
        if word:
            return f"{currency} per {word}"
    return "" if shown == "flag" else shown.replace("money", currency)


def singular(unit: str) -> str:
    """The unit of one: ``mould`` for ``moulds``."""
    return unit.removesuffix("s") if unit in ("pieces", "moulds", "molds", "casts", "loads", "steps") else unit


def digits(value: float, quantity: Quantity, unit: str, currency: str) -> str:
    """A value as it is shown: the glossary's decimals, and more where a small value would lose its digits.

    >>> from pricing.glossary import Quantity
    >>> digits(0.1, Quantity("wastage", "Wastage", "dimensionless", "%", 1, ""), "%", "EUR")
    '10'
    """
    if not math.isfinite(value):
        return "no figure" if math.isnan(value) else "without limit"
    if quantity.shown == "flag" and value in (0, 1):
        return "yes" if value else "no"
    if unit.startswith("%"):
        share = value * 100
        places = 2 if _is_short(share) else max(quantity.decimals, 1)
        text = _set(share, places)
        text = text.rstrip("0").rstrip(".") if _is_short(share) else text
    else:
        decimals = money.minor_units(currency) if quantity.shown == "money" and quantity.decimals == 2 else quantity.decimals
        if value and abs(round(value, decimals) / value - 1) > 5e-4:
            decimals = max(decimals, 3 - math.floor(math.log10(abs(value))))
        text = _set(value, decimals)
    return text.replace("-", "−")


def _set(value: float, decimals: int) -> str:
    return f"{float(money.round_half_away(value, decimals)):,.{decimals}f}"


def _is_short(value: float) -> bool:
    return abs(round(value, 2) - value) < 1e-9 * max(1.0, abs(value))


def in_formula(trace: Trace, currency: str, *, apart: bool = False) -> str:
    """A value as it stands in a formula: with its unit unless that is money, in brackets where it would be misread.

    Parameters
    ----------
    apart : True where an operator binds more tightly than the gap before a unit
    """
    shown, unit = trace.shown, trace.unit
    if GLOSSARY[trace.name].shown == "flag":
        return f"{trace.value:g}"
    text = shown if not unit or unit.startswith(currency) else f"{shown} {unit}"
    return f"({text})" if text.startswith("−") or (apart and text != shown) else text


def is_settled(trace: Trace, column: Column | None) -> bool:
    """True where a figure is fixed by what its row is, so that formulas are told without it: a flag, a sum of nothing, a unit.

    Parameters
    ----------
    trace : where the figure was made
    column : by which it was made
    """
    if trace.name == "minor_digits":
        return True
    if isinstance(column, Sum):
        return column.steers and trace.value == 0
    if trace.name == "driver" or trace.name.startswith("pack_unit_"):
        return trace.value == 1 and len(trace.hidden) == len(trace.children)
    if trace.name == "price_is_given":  # settled on reading, unless a list price holds for the usual run alone
        known = {child.name: child.value for child in trace.children}
        return not (known.get("price_is_listed") and (known.get("list_at_usual_run") or known.get("list_from_usual_run")))
    if trace.name == "average_minutes_factor" and trace.children:
        return trace.value == 1 and any(child.name == "learning_exponent" and child.value == 0 for child in trace.children)
    return trace.value in (0, 1) and column is not None and column.steers and trace.resolved


#: Prices that are typed into the price book, or stand in a record without a cell.
_PRICES = frozenset({"given_price", "stated_price", "set_price"})


def origin_in_words(rows: Rows, row: int, name: str, place: str, *, blank: bool, shown: str, measures: ShownMeasures = METRIC) -> str:
    """How a figure came that no rule made: typed, left blank, or settled from a word of its row."""
    if place:
        return f"left blank in the price book: {shown} stands" if blank else TYPED
    if name == rows.spec.key:
        return "number in this run"
    if is_absent(rows, row):
        return f"there is none: {shown} stands"
    if name in _PRICES and rows.given[name][row]:
        return "as it was promised"
    column = rows.spec.column(name)
    follows = column.follows if column is not None else ""
    if follows in rows.text:
        return f'follows from {WORDS[follows].lower()} "{measures.word(follows, rows.text[follows][row])}"'
    return follows or f"not in the price book: {shown} stands"
