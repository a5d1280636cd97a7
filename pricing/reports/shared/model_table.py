"""Writes a table of the model onto a sheet: headings with units and notes, typed cells, and one live formula per column."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_cell_to_rowcol

from pricing.algebra.expressions import expression_of
from pricing.costing.engine.columns import SETTINGS, Band, ByWord, Column, Computed, Input, Largest, Lookup, Rank, Sum, Text
from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.method.declared import WORDS
from pricing.costing.method.piece_declared import ALL_DRIVERS
from pricing.costing.method.shown_measures import METRIC, ShownMeasures
from pricing.glossary import GLOSSARY
from pricing.reports.shared.formulas import Block, Layout, quoted
from pricing.reports.shared.styles import Styles, number_format, shown_unit
from pricing.xlsx.writing.safe_text import clean_text as clean

_DRIVER_WORDS = {column: word for word, column in ALL_DRIVERS}

def label(name: str, measures: ShownMeasures = METRIC) -> str:
    """A quantity's label, as words use it.

    >>> label("mix_price")
    'price of a m³'
    """
    text = measures.quantity(name).label if name in GLOSSARY else WORDS.get(name, name)
    return text[:1].lower() + text[1:]


def heading_of(column: Column, currency: str, measures: ShownMeasures = METRIC) -> str:
    """What stands above a column: label and unit."""
    if column.name in _DRIVER_WORDS:
        return measures.word("per", _DRIVER_WORDS[column.name])
    if isinstance(column, Text):
        return measures.said(WORDS[column.name])
    quantity = measures.quantity(column.name)
    unit = shown_unit(quantity.shown, currency)
    return f"{quantity.label}\n{unit}" if unit else quantity.label


def note_of(column: Column, measures: ShownMeasures = METRIC) -> str:
    """What a heading's note says: the meaning, and how the figure is made."""
    if isinstance(column, Text):
        return ""
    meaning = measures.quantity(column.name).meaning

    def called(name: str) -> str:
        return label(name, measures)

    match column:
        case Computed(rule):
            return f"{meaning}\n= {expression_of(rule).worded(called)}"
        case Lookup():
            return f"{meaning}\nFrom {measures.said(column.table)}: {called(column.column)}."
        case Sum():
            return f"{meaning}\nSum of {called(column.column)} in {measures.said(column.table)}."
        case Largest():
            return f"{meaning}\nThe largest of {called(column.column)} in {measures.said(column.table)}."
        case ByWord():
            return f"{meaning}\nFrom {measures.said(column.table)}, the column that the word names."
        case Rank():
            return f"{meaning}\nCounted by {called(column.column)}."
        case Band():
            return f"{meaning}\nThe lowest band of {measures.said(column.table)} that holds it."
    return meaning


def column_width(heading: str, values: Sequence[str]) -> float:
    """Width that holds every value and the longest word of the heading [characters]."""
    words = [len(word) for line in heading.split("\n") for word in line.split()]
    return min(max([7, *(word + 1.5 for word in words), *(len(value) * 1.05 + 2.5 for value in values)]), 34)


class BlockWriter:
    """Writes the tables of one model into one workbook.

    Parameters
    ----------
    layout : where each table stands
    values : the figures that the formulas have, as stored results
    currency : ISO 4217 code
    """

    def __init__(self, layout: Layout, values: Evaluation, styles: Styles, currency: str) -> None:
        self.layout = layout
        self.values = values
        self.styles = styles
        self.currency = currency
        self.measures = layout.measures
        self.widths: dict[tuple[str, str], float] = {}
        self.origins: dict[str, tuple[str, str, float]] = {}

    def number_style(self, name: str, role: str) -> Any:
        """The format of a figure in a role."""
        quantity = self.measures.quantity(name)
        number = number_format(quantity.shown, quantity.decimals, self.currency)
        return self.styles.get(role, number, align="right")

    def write(self, sheet: Any, table: str, notes: bool = True) -> None:
        """Write a table's headings and rows at its place."""
        block = self.layout.blocks[table]
        rows = self.layout.model.tables[table]
        sheet.set_row(block.heading - 1, 40)
        for column in rows.spec.columns:
            if column.name in block.letters:
                self._heading(sheet, block, column, notes)
                self._column(sheet, block, table, column)

    def _heading(self, sheet: Any, block: Block, column: Column, notes: bool) -> None:
        text = heading_of(column, self.currency, self.measures)
        role = "heading" if isinstance(column, Text) else "heading right"
        cell = f"{block.letters[column.name]}{block.heading}"
        sheet.write_string(cell, text, self.styles.get(role, indent=1) if role == "heading" else self.styles.get(role))
        note = note_of(column, self.measures)
        if notes and note:
            sheet.write_comment(cell, note, {"x_scale": 1.6, "y_scale": 0.8 + note.count("\n") * 0.3 + len(note) / 160, "font_size": 8})

    def _column(self, sheet: Any, block: Block, table: str, column: Column) -> None:
        rows = self.layout.model.tables[table]
        shown: list[str]
        if isinstance(column, Text):
            words = [clean(self.measures.word(column.name, word)) for word in rows.text[column.name].tolist()]
            style = self.styles.get("text", indent=1)
            top, across = xl_cell_to_rowcol(block.cell(column.name, 0))
            for row, word in enumerate(words, top):
                sheet.write_string(row, across, word, style)
            shown = words
        else:
            values = self.measures.figures(rows, column, self.values.value(table, column.name))
            shown = self._numbers(sheet, block, table, column, values)
        width = column_width(heading_of(column, self.currency, self.measures), shown)
        key = (block.sheet, block.letters[column.name])
        self.widths[key] = max(self.widths.get(key, 0.0), width)

    def _numbers(self, sheet: Any, block: Block, table: str, column: Column, values: Any) -> list[str]:
        rows = self.layout.model.tables[table]
        places = rows.places.get(column.name)
        plain = self.number_style(column.name, "result" if column.result else "working")
        tinted = self.number_style(column.name, "input" if self.follows(column) else "working")
        typed = isinstance(column, Input)
        chosen = isinstance(column, Input) and column.chosen
        figures: list[float] = np.asarray(values, dtype=np.float64).tolist()
        top, across = xl_cell_to_rowcol(block.cell(column.name, 0))
        if not typed:
            for row, (formula, figure) in enumerate(zip(self.layout.formulas(table, column, len(figures)), figures, strict=True), top):
                sheet.write_formula(row, across, formula, plain, figure)
        for row, figure in enumerate(figures if typed else ()):
            place = places[row] if places is not None else ""
            origin = self.origin_of(place, block.sheet, figure)
            if origin:
                sheet.write_formula(top + row, across, f"={origin}", plain, figure)
            else:
                sheet.write_number(top + row, across, figure, tinted if (place and place not in self.origins) or chosen else plain)
                self.typed(place, block.sheet, block.cell(column.name, row), figure)
        quantity = self.measures.quantity(column.name)
        decimals = quantity.decimals + (1 if quantity.shown == "%" else 0)
        return [f"{figure:,.{decimals}f}" for figure in (min(figures), max(figures))] if figures else []

    def follows(self, column: Column) -> bool:
        """Whether everything that rests on an input follows in the workbook when it is changed there."""
        settled = isinstance(column, Input) and column.settles
        return not (settled and (column.name == "board_by_sheets" or float(self.values.value(SETTINGS, "board_by_sheets")[0]) > 0))

    def typed(self, place: str, sheet: str, cell: str, figure: float) -> None:
        """Remember where a figure of the price book is typed: every further use of it refers to that cell."""
        if place:
            self.origins.setdefault(place, (sheet, cell, figure))

    def origin_of(self, place: str, sheet: str, figure: float) -> str:
        """The cell in which a figure of the price book is already typed, as written on *sheet*; empty where there is none."""
        if place not in self.origins:
            return ""
        home, cell, typed = self.origins[place]
        if typed != figure:
            return ""
        return cell if home == sheet else f"{quoted(home)}!{cell}"

    def settle_widths(self, sheets: Mapping[str, Any]) -> None:
        """Give every column the width of its longest value, over all tables that share it."""
        for (name, letter), width in self.widths.items():
            sheets[name].set_column(f"{letter}:{letter}", width)
