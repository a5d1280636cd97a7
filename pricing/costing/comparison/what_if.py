"""A price book as it would be if some prices moved: nothing is written, the maker's file stays as it is.

>>> change_of("Cement=+12%")
Supposed(name='Cement', factor=1.12, value=nan, text='+12%')
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing import units
from pricing.book.declared.column import Column
from pricing.book.declared.settings import SETTINGS
from pricing.book.declared.sheets import SHEETS
from pricing.book.price_book import PriceBook
from pricing.book.typed.conversion import scaled
from pricing.book.typed.figures import FIGURE_REASONS, figure_from_text
from pricing.book.wording.reporter import range_words
from pricing.book.wording.sentences import listed, near_it, near_matches
from pricing.dataclass import dataclass
from pricing.problems import PricingError
from pricing.text import fold

#: Where a name is looked for: the word for it, its sheet, the column of names, the column that moves.
_SHEETS = (
    ("material", "Materials", "material", "pack_price"), ("supplier", "Materials", "supplier", "pack_price"),
    ("kind of material", "Materials", "kind", "pack_price"), ("trade", "Trades", "trade", "hourly_cost"),
    ("machine", "Machines", "machine", "price"), ("list price", "Products", "product", "list_price"),
)

#: So many names at most are offered for one that is not known; a text so short [characters] is not looked for within names.
_MOST_OFFERED, _SHORT = 5, 2

#: Names of which there are several things, so that one new figure cannot hold for all.
_SEVERAL = frozenset({"supplier", "kind of material"})


class WhatIfError(PricingError, ValueError):
    """Raised where a change cannot be read or names nothing; its text is a sentence with the remedy."""

    code = "what-if"


@dataclass(frozen=True, slots=True)
class Supposed:
    """One change as it was typed: a factor on what stands there, or a new figure in its place."""

    name: str
    factor: float
    value: float
    text: str

    def applied(self, figures: NDArray[np.float64]) -> NDArray[np.float64]:
        """The figures after the change, to 15 significant digits."""
        moved = figures * self.factor if math.isnan(self.value) else np.full(len(figures), self.value)
        return np.array([float(f"{figure:.15g}") for figure in moved], dtype=np.float64)


def change_of(text: str) -> Supposed:
    """What a text such as ``Cement=+12%`` or ``Electricity price=0.31`` asks for.

    Parameters
    ----------
    text : name, equals sign, and a signed percentage (a change of what stands there) or a plain figure (a new one)

    Problems raised: WhatIfError.

    >>> change_of("Target margin = 42 %").value
    0.42
    """
    name, sign, typed = (part.strip() for part in text.rpartition("="))
    if not sign or not name or not typed:
        raise WhatIfError(f'"{text}" is no change; write a name and what becomes of it, such as Cement=+12% or Cement=9.80')
    relative = typed[0] in "+-−"
    figure = figure_from_text(typed)
    if isinstance(figure, str):
        raise WhatIfError(f'"{text}": {typed} {FIGURE_REASONS[figure]}; write a percentage with its sign, +12%, or a new figure, 9.80')
    share = figure.value / 100 if figure.unit == "%" else figure.value
    if relative and figure.unit != "%":
        raise WhatIfError(f'"{text}": a change with a sign is a percentage; write {name}={typed}% or the new figure without a sign')
    if relative and share <= -1:
        raise WhatIfError(f'"{text}": nothing can fall by {-share:.0%}')
    if relative:
        return Supposed(name, float(f"{1 + share:.15g}"), math.nan, typed)
    return Supposed(name, math.nan, float(f"{share:.15g}"), typed)


def with_changes(book: PriceBook, changes: Sequence[str]) -> PriceBook:
    """The price book as it would be with some changes.

    Parameters
    ----------
    book : as it was read; it is not altered
    changes : each names a material, a supplier, a kind of material, a trade, a machine, a product or a setting

    Problems raised: WhatIfError where a change cannot be read, names nothing, or names two things.
    """
    changed = _copy(book)
    for text in changes:
        _apply(changed, change_of(text), text)
    return changed


def with_factor(book: PriceBook, names: Sequence[str], factor: float) -> PriceBook:
    """The price book with the prices of some materials multiplied, as by the movement of a price index.

    Parameters
    ----------
    names : materials, suppliers or kinds of material; every material where there are none
    factor : new price over old [1]

    Problems raised: WhatIfError where a name is none of them.
    """
    changed = _copy(book)
    change = Supposed("", factor, math.nan, "")
    if not names:
        _move(changed, "Materials", "pack_price", np.arange(len(book.tables["Materials"])), change)
    moved: set[int] = set()
    for name in names:
        found = _found(changed, name, _SHEETS[:3])
        for _, rows in found[:1]:
            fresh = np.array([row for row in rows[2].tolist() if row not in moved], dtype=np.intp)
            moved.update(fresh.tolist())
            _move(changed, "Materials", "pack_price", fresh, change)
        if not found:
            raise WhatIfError(_unknown(changed, name, _SHEETS[:3], {}))
    return changed


def _copy(book: PriceBook) -> PriceBook:
    tables = {name: replace(table, columns=dict(table.columns)) for name, table in book.tables.items()}
    return replace(book, tables=tables, settings=dict(book.settings), histories=dict(book.histories))


_Place = tuple[str, str, NDArray[np.intp]]


def _found(book: PriceBook, name: str, sheets: Sequence[tuple[str, str, str, str]]) -> list[tuple[str, _Place]]:
    """What a name can mean: the word for it, and sheet, column and rows of what moves."""
    found = []
    for word, sheet, names, column in sheets:
        rows = [row for row, each in enumerate(book.tables[sheet].columns[names].tolist()) if fold(str(each)) == fold(name)]
        if rows:
            found.append((word, (sheet, column, np.array(rows, dtype=np.intp))))
    return found


def _settings() -> dict[str, Any]:
    return {fold(column.heading): column for column in SETTINGS if column.kind in ("number", "percent")}


def _apply(book: PriceBook, change: Supposed, text: str) -> None:
    found = _found(book, change.name, _SHEETS)
    if len(found) > 1:  # a kind such as water gives way to the material of that name
        found = [each for each in found if each[0] != "kind of material"]
    setting = _settings().get(fold(change.name))
    kinds = [word for word, _ in found] + (["setting"] if setting else [])
    if len(kinds) > 1:
        raise WhatIfError(f'"{text}": {change.name} is a {listed(kinds, "and a")}; give one of them another name')
    if setting is not None:
        _set(book, setting, change, text)
        return
    if not found:
        raise WhatIfError(_unknown(book, change.name, _SHEETS, _settings()))
    word, (sheet, column, rows) = found[0]
    if word in _SEVERAL and math.isnan(change.factor):
        raise WhatIfError(f'"{text}": a {word} stands for several prices; write a percentage with its sign, such as {change.name}=+5%')
    declared = next(each for of in SHEETS if of.name == sheet for each in of.columns if each.name == column)
    change = _in_the_unit_of(declared, change, book.word("currency"), text)
    now = book.tables[sheet].columns[column][rows]
    if np.isnan(now).all():
        raise WhatIfError(f'"{text}": there is no {word} of {change.name} to change; type it into the {sheet} sheet first')
    _move(book, sheet, column, rows[~np.isnan(now)], change)


def _move(book: PriceBook, sheet: str, column: str, rows: NDArray[np.intp], change: Supposed) -> None:
    columns = book.tables[sheet].columns
    figures = columns[column].copy()
    figures[rows] = change.applied(figures[rows])
    columns[column] = figures


def _in_the_unit_of(column: Column, change: Supposed, currency: str, text: str) -> Supposed:
    """The change with its new figure in the unit that the price book keeps; refused where it can mean another amount.

    A new figure without a unit is one as the heading of the starter book has it: ``Saw kerf=3`` is 3 mm.
    """
    if math.isnan(change.value):
        return change
    figure = figure_from_text(change.text)
    typed = "" if isinstance(figure, str) else figure.unit
    if column.kind == "percent":
        if typed in ("", "%"):
            return change
        raise WhatIfError(f'"{text}": {column.heading} is a percentage; write it as one, such as {column.heading}={column.example}')
    if typed == "%":
        remedy = f"write {change.name}=+{change.text} where it rises by so much, or the new figure without a percent sign"
        raise WhatIfError(f'"{text}" may be a rise by {change.text} or a fall to {change.text}; {remedy}')
    if not typed and not column.unit:
        return change
    shown = column.plain_unit.replace("currency", currency)
    given, kept = units.unit_of(typed or column.plain_unit, currency), units.unit_of(column.unit, currency)
    if not isinstance(given, str) and not isinstance(kept, str):
        if column.is_money and given.dimension == units.CURRENCY:
            return change
        if given.dimension == kept.dimension:
            return replace(change, value=float(scaled(change.value, given.factor, kept.factor)))
    raise WhatIfError(f'"{text}": {column.heading} is a figure in {shown}; write the new one without a unit')


def _set(book: PriceBook, setting: Any, change: Supposed, text: str) -> None:
    change = _in_the_unit_of(setting, change, book.word("currency"), text)
    now = book.settings.get(setting.name)
    figure = float(now) if isinstance(now, float | int) else math.nan
    if math.isnan(figure) and math.isnan(change.value):
        raise WhatIfError(f'"{text}": {setting.heading} is not set; write the new figure, without a sign')
    moved = float(change.applied(np.array([figure]))[0])
    fits: Callable[[float], bool] = lambda value: setting.lower <= value <= setting.upper  # noqa: E731
    if not fits(moved) or (setting.whole and moved != int(moved)):
        remedy = f"write a percentage with its sign, such as {setting.example}" if setting.kind == "percent" else ""
        remedy = remedy or f"it is {range_words(setting, moved)}{', a whole number' if setting.whole else ''}"
        raise WhatIfError(f'"{text}": {setting.heading} cannot be {moved:g}{" h" if setting.unit == "h" else ""}; {remedy}')
    book.settings[setting.name] = moved
    if setting.name in book.histories:
        history = book.histories[setting.name]
        figures = change.applied(np.array([each.value for each in history])).tolist()
        book.histories[setting.name] = tuple(replace(each, value=value) for each, value in zip(history, figures, strict=True))


def _unknown(book: PriceBook, name: str, sheets: Sequence[tuple[str, str, str, str]], settings: dict[str, Any]) -> str:
    names = [str(each) for _, sheet, column, _ in sheets for each in book.tables[sheet].columns[column].tolist() if each]
    near = _offered(name, [*names, *(column.heading for column in settings.values())])
    what = listed([*(word for word, *_ in sheets), *(["setting"] if settings else [])])
    hint = near_it(near) if near else "write it as the price book does"
    return f'there is no {what} "{name}"; {hint}'


def _offered(name: str, names: Sequence[str]) -> list[str]:
    """Names that hold what was typed, in the order of the price book, then those that are spelled much like it; a few of them."""
    wanted = fold(name)
    holding = [each for each in names if len(wanted) > _SHORT and wanted in fold(each)]
    first: dict[str, str] = {}
    for each in (*holding, *near_matches(name, names)):
        first.setdefault(fold(each), each)
    return list(first.values())[:_MOST_OFFERED]
