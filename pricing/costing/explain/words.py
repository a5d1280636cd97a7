"""How the figures of a model are spoken of: what each is a figure of, its unit, its digits, and where it follows from."""

from __future__ import annotations

import math

from pricing import money
from pricing.costing.engine.model import Rows
from pricing.costing.explain.trace import TYPED, Trace, origin
from pricing.costing.method.declared import WORDS
from pricing.costing.method.price_rows import AIR
from pricing.costing.method.rows_builder import NONE
from pricing.glossary import GLOSSARY, Quantity

#: By table, the words that say which row is meant.
_SUBJECTS: dict[str, str] = {
    "lines": "{product}", "quotes": "quote {quote}", "ingredients": "{material}", "mixes": "{mix}", "moulds": "{mould_plan}",
    "grades": "{grade}", "machines": "{machine}", "steps": "{step}", "finishes": "{material}", "extras": "{material}",
    "batches": "{mix} in quote {quote}", "delivery": "zone {zone}", "customers": "{customer}", "plan steps": "{step}",
    "finish parts": "{material}", "extra parts": "{material}", "settings": "",
}

#: Columns whose unit is a word of their row: what a count counts, what a pack is measured in, what a recipe is stated by.
_UNIT_WORDS: dict[tuple[str, str], str] = {
    ("ingredients", "amount"): "basis", ("steps", "count"): "per", ("finishes", "count"): "surface", ("extras", "count"): "per",
    ("prices", "pack_size"): "pack_unit",
}

#: Settled on reading: the word of the same row that a figure follows from.
_FOLLOWS: dict[str, str] = {
    **dict.fromkeys(("plain_amount", "bulk_amount", "volume_of_amount", "by_parts", "by_cubic_metre", "by_binder"), "basis"),
    **dict.fromkeys(("is_binder", "water_share", "is_pigment", "is_air"), "material"),
    **dict.fromkeys(("kilograms_per_pack_unit", "litres_per_pack_unit"), "pack_unit"),
    **dict.fromkeys(("square_metres_per_pack_unit", "sheets_per_pack_unit"), "pack_unit"),
    **dict.fromkeys(("has_parts", "no_parts"), "mix"), **dict.fromkeys(("has_mould", "moulds_at_once"), "mould_plan"),
    **dict.fromkeys(("builds_mould", "lost_on_reject", "by_count", "by_piece", "by_mould"), "per"),
}

#: Of these, those that only steer a formula: it is told without them.
_FOLDED = (frozenset(_FOLLOWS) - {"moulds_at_once"}) | {
    "price_is_listed", "price_is_typed", "average_minutes_factor", "has_own_tax_rate", "board_by_sheets", "cumulative_average",
}

#: Sums over the ingredients of a mix that are zero where nothing is stated in that way.
_FOLDED_SUMS = frozenset({"fixed_volume", "fixed_binder_mass", "binder_volume", "parts_volume", "parts_binder_mass"})

#: Settled on reading, in words of their own.
_SETTLED: dict[str, str] = {
    "per_piece": "one for each piece", "one_cubic_metre": "what a mix is made up to", "minor_digits": "follows from the currency",
    "cash_divisor": "follows from the cash step", "price_is_listed": "1 where a list price is to stand",
    "price_is_typed": "1 where the enquiry states the price",
    "given_price": "no price is typed",
    "average_minutes_factor": "no learning is stated", "has_own_tax_rate": "1 where the customer has a tax rate of their own",
    "sheet_board": "from the cut of the panels out of whole sheets",
}


def group_of(rows: Rows) -> str:
    """The group that a table belongs to, or its own name."""
    return rows.spec.group or rows.spec.name


def subject(rows: Rows, row: int) -> str:
    """What a row is about, as the price book calls it: ``Cement``, ``Grey in quote Q-7``."""
    pattern = _SUBJECTS.get(rows.spec.name)
    if pattern is None:
        told = next((name for name in (rows.spec.key, "material", "product", "step") if name in rows.text), None)
        return str(rows.text[told][row]) if told else ""
    return pattern.format_map({name: words[row] for name, words in rows.text.items()})


def is_absent(rows: Rows, row: int) -> bool:
    """True for the row of zeros that stands for "there is none": no mould, no machine, no material, or air."""
    if group_of(rows) == "prices":
        name = str(rows.text["material"][row])
        return not rows.text["price_place"][row] and (name == NONE or name.casefold().split(" [")[0] == AIR)
    key = {"moulds": "mould_plan", "grades": "grade", "machines": "machine", "delivery": "zone"}.get(rows.spec.name)
    return key is not None and rows.text[key][row] == NONE


def unit_of(rows: Rows, row: int, name: str, currency: str) -> str:
    """The unit of a figure as it is shown: ``EUR per m³``, ``kg``, ``% of binder``; empty where there is none to show."""
    word = _UNIT_WORDS.get((group_of(rows), name))
    if word:
        return str(rows.text[word][row])
    if name == "unit_price_of_material" and "pack_unit" in rows.text and rows.text["pack_unit"][row]:
        return f"{currency} per {rows.text['pack_unit'][row]}"
    shown = GLOSSARY[name].shown
    return "" if shown == "flag" else shown.replace("money", currency)


def singular(unit: str) -> str:
    """The unit of one: ``mould`` for ``moulds``."""
    return unit.removesuffix("s") if unit in ("pieces", "moulds", "casts", "loads", "steps") else unit


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


def in_formula(trace: Trace, currency: str, *, apart: bool = False, asked: bool = False) -> str:
    """A value as it stands in a formula: with its unit unless that is money, in brackets where it would be misread.

    Parameters
    ----------
    apart : True where an operator binds more tightly than the gap before a unit
    asked : True where it is the condition itself, so that yes and no are plainer than 1 and 0
    """
    shown, unit = trace.shown, trace.unit
    if GLOSSARY[trace.name].shown == "flag" and not asked:
        return f"{trace.value:g}"
    text = shown if not unit or unit.startswith(currency) else f"{shown} {unit}"
    return f"({text})" if text.startswith("−") or (apart and text != shown) else text


def is_settled(trace: Trace) -> bool:
    """True where a figure is fixed by what its row is, so that formulas are told without it: a flag, a sum of nothing, a unit."""
    trace = origin(trace)
    if trace.name == "minor_digits":
        return True
    if trace.name in _FOLDED_SUMS:
        return trace.value == 0
    if trace.name == "driver" or trace.name.startswith("pack_unit_"):
        return trace.value == 1 and len(trace.hidden) == len(trace.children)
    if trace.name == "price_is_given":  # settled on reading, unless a list price holds for the usual run alone
        known = {child.name: child.value for child in trace.children}
        return not (known.get("price_is_listed") and known.get("list_at_usual_run"))
    if trace.name == "average_minutes_factor" and trace.children:
        return trace.value == 1 and any(child.name == "learning_exponent" and child.value == 0 for child in trace.children)
    return trace.resolved and trace.value in (0, 1) and trace.name in _FOLDED


def origin_in_words(rows: Rows, row: int, name: str, place: str, *, blank: bool, shown: str) -> str:
    """How a figure came that no rule made: typed, left blank, or settled from a word of its row."""
    if place:
        return f"left blank in the price book: {shown} stands" if blank else TYPED
    if name == rows.spec.key:
        return "number in this run"
    if is_absent(rows, row):
        return f"there is none: {shown} stands"
    word = _FOLLOWS.get(name)
    if word is not None and word in rows.text:
        return f'follows from {WORDS[word].lower()} "{rows.text[word][row]}"'
    return _SETTLED.get(name, f"not in the price book: {shown} stands")
