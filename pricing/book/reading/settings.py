"""Reading the Workshop sheet: one setting to a row, each checked against its declaration."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing import units
from pricing.book.declared.column import Column
from pricing.book.declared.settings import CURRENCIES, SETTINGS
from pricing.book.price_book import ALWAYS, DatedSetting
from pricing.book.reading.cells import CellReader
from pricing.book.reading.headings import Headings, split_heading
from pricing.book.typed.conversion import fifteen_digits
from pricing.book.wording.reporter import in_unit_of, shown_for
from pricing.book.wording.sentences import number_text, quoted
from pricing.dataclass import dataclass
from pricing.money import with_smallest_coin
from pricing.text import fold
from pricing.xlsx.cells import Cell
from pricing.xlsx.reading.grid import Grid, Indices

#: Codes of the currencies that a sign is used for, the best known ones (common practice, no source).
_CODES_OF_SIGNS = {
    "€": ("EUR",), "£": ("GBP",), "$": ("USD", "CAD", "AUD"), "¥": ("JPY", "CNY"), "₹": ("INR",), "kr": ("SEK", "NOK", "DKK"),
    "zł": ("PLN",), "Kč": ("CZK",), "Ft": ("HUF",), "Fr": ("CHF",), "SFr": ("CHF",),
}


@dataclass
class ReadSettings:
    """What the Workshop sheet says.

    Parameters
    ----------
    settings : by name; nan or empty where nothing is set and there is no default
    cells : the address of each setting that the sheet has
    written : each row's value as it was written
    histories : the settings that hold from a day on
    doubtful : by the setting that is meant and that only some books need: cell, text and remedy of a row that is misspelt, not told yet
    """

    settings: dict[str, float | str] = field(default_factory=dict)
    cells: dict[str, str] = field(default_factory=dict)
    written: NDArray[Any] = field(default_factory=lambda: np.empty(0, dtype=object))
    histories: dict[str, tuple[DatedSetting, ...]] = field(default_factory=dict)
    doubtful: dict[str, tuple[str, str, str]] = field(default_factory=dict)


def read_settings(
    grid: Grid, found: Headings, rows: Indices, names: NDArray[Any], days: NDArray[np.datetime64], cells: CellReader
) -> ReadSettings:
    """Read every setting.

    Parameters
    ----------
    grid, found, rows : the sheet, its headings and its rows of data
    names : what stands under Setting in each row
    days : what stands under From
    cells : the careful reader; its currency is set as soon as it is known

    Problems: missing-setting, unknown-setting, duplicate-setting, same-day, no-day-here, unknown-currency, no-overhead, two-overheads,
    margins-crossed, and those of ``CellReader``.
    """
    read = ReadSettings(written=np.full(len(rows), "", dtype=object))
    places: dict[str, tuple[int, str, Cell | None]] = {}
    dated: dict[str, dict[Any, _Dated]] = {}
    unknown: list[tuple[str, str]] = []
    indices = grid.column_at(found.places["value"], rows)
    letters = found.letters()
    for position, name in enumerate(names.tolist()):
        if not name:
            continue
        row = int(rows[position])
        heading, unit = split_heading(name)
        column = _declared(name) or _declared(heading)
        place = f"{letters['setting']}{row}"
        if column is None:
            unknown.append((name, place))
        elif column.dated:
            index, since = int(indices[position]), ALWAYS if np.isnat(days[position]) else days[position]
            other = dated.setdefault(column.name, {}).setdefault(since, _Dated(row, unit, grid.cell(index) if index >= 0 else None))
            if other.row != row:
                cells.report("same-day", place, found=quoted(name), other=other.row)
            elif other.cell is not None and other.cell.value is not None:
                read.written[position] = _written(other.cell)
        elif column.name in places:
            first = grid.rows[places[column.name][0]] if places[column.name][0] >= 0 else 0
            cells.report("duplicate-setting", place, found=quoted(name), other=int(first) or "another")
        else:
            index = int(indices[position])
            cell = grid.cell(index) if index >= 0 else None
            places[column.name] = (index, unit, cell)
            read.cells[column.name] = f"{letters['value']}{row}"
            read.written[position] = "" if cell is None or cell.value is None else _written(cell)
        if column is not None and not column.dated and not np.isnat(days[position]):
            cells.report("no-day-here", f"{letters['from']}{row}", what=column.heading)
    misspelt = _unknown(unknown, {*places, *dated}, read, cells)
    _currency(places, read, cells)
    for column in SETTINGS:
        if column.dated:
            _dated(column, dated.get(column.name, {}), letters["value"], read, cells)
        elif column.name != "currency":
            read.settings[column.name] = _value(column, places, read, cells, misspelt)
    read.settings["currency"] = with_smallest_coin(str(read.settings["currency"]), float(read.settings["smallest_coin"]))
    _check(read, cells, misspelt)
    return read


@dataclass(frozen=True)
class _Dated:
    """A row of a setting that may stand in several."""

    row: int
    unit: str
    cell: Cell | None


def _dated(column: Column, rows: dict[Any, _Dated], letters: str, read: ReadSettings, cells: CellReader) -> None:
    """Read a setting day by day; that of the last day stands among the settings."""
    found = []
    for since, each in sorted(rows.items(), key=lambda item: item[0]):
        read.cells[column.name] = f"{letters}{each.row}"
        if since != ALWAYS and (each.cell is None or each.cell.kind == "blank"):
            cells.report("missing-setting", read.cells[column.name], what=column.heading, example=f"{column.heading}: {shown_for(column)}")
        value = _value(column, {column.name: (0, each.unit, each.cell)}, read, cells)
        found.append(DatedSetting(since, float(value), read.cells[column.name]))
    read.settings[column.name] = found[-1].value if found else _value(column, {}, read, cells)
    if len(found) > 1 or any(each.since != ALWAYS for each in found):
        read.histories[column.name] = tuple(found)


def _unknown(rows: list[tuple[str, str]], places: Collection[str], read: ReadSettings, cells: CellReader) -> set[str]:
    """Tell of rows that are no setting; the names of settings that are needed, and that such a row is meant to be: it is an error then."""
    given = "overhead_per_labour_hour" in places or {"overhead_per_year", "productive_hours_per_year"} <= set(places)
    misspelt = set()
    for name, place in rows:
        near = cells.near(split_heading(name)[0], [setting.heading for setting in SETTINGS], 1)
        meant = _BY_HEADING[fold(near[0])] if near else None
        error = meant is not None and meant.name not in places and (meant.needed or (meant.name in _OVERHEADS and not given))
        if error and meant is not None:
            misspelt.add(meant.name)
        words = f'; if it should be "{near[0]}", rename it' if near else ""
        if meant is not None and meant.name == "electricity_price" and meant.name not in places:
            read.doubtful.setdefault(meant.name, (place, quoted(name), words))
            continue
        cells.report("unknown-setting", place, warning=not error, found=quoted(name), near=words)
    return misspelt


#: Settings of which one, or two together, say what overhead is.
_OVERHEADS = ("overhead_per_labour_hour", "overhead_per_year", "productive_hours_per_year")

_BY_HEADING = {fold(heading): column for column in reversed(SETTINGS) for heading in column.headings}


def _declared(text: str) -> Column | None:
    return _BY_HEADING.get(fold(text))


def _written(cell: Cell) -> str:
    return number_text(cell.value) if isinstance(cell.value, float) else str(cell.value)


def _currency(places: dict[str, tuple[int, str, Cell | None]], read: ReadSettings, cells: CellReader) -> None:
    column = next(column for column in SETTINGS if column.name == "currency")
    text = str(_value(column, places, read, cells))
    if text and text.upper() not in CURRENCIES:
        codes = " or ".join(_CODES_OF_SIGNS.get(text.strip(), ())) or "GBP, EUR or USD"
        cells.report("unknown-currency", read.cells["currency"], what="currency", found=quoted(text), codes=codes)
        text = ""
    read.settings["currency"] = text.upper()
    cells.currency = text.upper()


def _value(
    column: Column, places: dict[str, tuple[int, str, Cell | None]], read: ReadSettings, cells: CellReader,
    misspelt: Collection[str] = (),
) -> float | str:
    """The value of a setting, its default where it is blank."""
    _, unit, cell = places.get(column.name, (-1, "", None))
    column = in_unit_of(column, unit)
    missing = column.default if column.is_number or isinstance(column.default, str) else ""
    before = len(cells.problems)
    value: float | str | None = None
    if cell is not None and (cell.kind != "blank" or not cell.stored):
        value = _typed(column, cell, _setting_unit(column, unit, read, cells), cells)
    if value is not None:
        return value
    if column.needed and column.name not in misspelt and len(cells.problems) == before:
        example = f"{column.heading}: {shown_for(column) or 'what it is'}"
        cells.report("missing-setting", read.cells.get(column.name, ""), what=column.heading, example=example)
    return missing


def _typed(column: Column, cell: Cell, unit: str, cells: CellReader) -> float | str | None:
    if column.is_number:
        return cells.number(cell, column, unit)
    text = cells.text(cell, column)
    return cells.word(text, cell.address, column) or None if text and column.choices else text


def _setting_unit(column: Column, text: str, read: ReadSettings, cells: CellReader) -> str:
    """The unit in the brackets of a setting's name, where it says something about the figure."""
    if column.is_money and text.casefold().startswith("per "):
        text = f"{cells.currency or 'currency'}/{text[4:].strip()}"
    if not text or not column.is_number or (not column.unit and fold(text) == fold(column.shown)):
        return ""
    if column.kind == "percent":
        return "%" if text == "%" else ""
    given, declared = units.unit_of(text, cells.currency), units.unit_of(column.unit, cells.currency)
    reason = ""
    if isinstance(given, str):
        reason = given
    elif not isinstance(declared, str) and given.dimension not in (declared.dimension, units.CURRENCY):
        reason = (
            f"{text} is {units.dimension_name(given.dimension)}; {units.dimension_name(declared.dimension)} is needed"
        )
    if not reason:
        return text
    example = column.plain_unit.replace("currency", cells.currency or "GBP")
    heading = f"{column.heading} ({text})"
    cells.report(
        "unknown-heading-unit", read.cells.get(column.name, ""), heading=heading, reason=reason, example=example
    )
    return ""


def _check(read: ReadSettings, cells: CellReader, misspelt: Collection[str]) -> None:
    def figure(name: str) -> float:
        value = read.settings[name]
        return value if isinstance(value, float) else math.nan

    days = sorted({each.since for name in _OVERHEADS for each in read.histories.get(name, ())}) or [ALWAYS]
    opening = max((read.histories[name][0].since for name in _OVERHEADS if name in read.histories), default=ALWAYS)
    told = len(cells.problems)
    for day in days if set(_OVERHEADS).isdisjoint(misspelt) else ():  # told already
        if day >= opening and len(cells.problems) == told:
            _check_overhead([_on(read, name, day) for name in _OVERHEADS], cells)
    target, lowest = figure("target_margin"), figure("lowest_margin")
    if lowest > target:
        words = {"lowest": f"{lowest:.4g}", "target": f"{target:.4g}"}
        words = {name: f"{number_text(fifteen_digits(float(value) * 100))} %" for name, value in words.items()}
        cells.report(
            "margins-crossed", read.cells.get("lowest_margin", ""), lowest=words["lowest"], target=words["target"]
        )


def _on(read: ReadSettings, name: str, day: np.datetime64) -> DatedSetting:
    """A setting as it holds on a day; not a number where nothing is set."""
    value = read.settings[name]
    alone = DatedSetting(ALWAYS, value if isinstance(value, float) else math.nan, read.cells.get(name, ""))
    return next((each for each in reversed(read.histories.get(name, ())) if each.since <= day), alone)


def _check_overhead(settings: Sequence[DatedSetting], cells: CellReader) -> None:
    given, per_year, hours = settings
    follows = per_year.value / hours.value if hours.value else math.nan
    if math.isnan(given.value) and math.isnan(follows):
        cells.report("no-overhead", given.cell or per_year.cell)
    elif abs(given.value - follows) > 0.005 * max(abs(given.value), abs(follows)):
        hourly = number_text(fifteen_digits(round(follows, 4)))
        cells.report("two-overheads", given.cell, given=number_text(given.value), follows=hourly)
