"""The sheets of the margin workbook that hold the model: inputs, workings and results stand apart.

Settings, prices, dimensions and minutes are typed; everything else follows.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pricing.book.price_book import since_of
from pricing.costing.engine.columns import SETTINGS, Input, Text
from pricing.costing.engine.model import Model
from pricing.reports.margin.book import MarginBook
from pricing.reports.shared.model_table import heading_of, note_of
from pricing.reports.shared.plain_table import set_widths
from pricing.xlsx.writing.safe_text import clean_text

#: Sheets in order: name, title, one sentence, and the tables on it with the caption of each.
SHEETS: tuple[tuple[str, str, str, tuple[tuple[str, str], ...]], ...] = (
    ("Build-up", "Build-up", "One row per line, from the piece to its price. Each column has one formula all the way down.",
     (("lines", ""),)),
    ("Sets", "Sets", "What is sold under one heading; a price that is typed for a set is shared over its parts by their cost.",
     (("sets", "Sets of the quotes"), ("set parts", "Their parts"))),
    ("Totals", "Totals of the quotes", "Rounded where invoice rules round: each amount once, tax on the summed base.",
     (("quotes", ""), ("quote taxes", "Tax by category and rate, for each quote"), ("taxes", "Taxes"),
      ("payments", "Payments, for each quote"), ("customers", "Customers"),
      ("delivery", "Delivery: weight bands of each zone"))),
    ("Take-off", "Take-off", "Dimensions of one piece and what follows from them, a block for each shape.", ()),
    ("Pieces", "Cut-outs, layers and outlines", "What pieces have besides their dimensions, a row for each.",
     (("cut-outs", "Cut-outs, for each line"), ("layers", "Layers of another mix, for each line"),
      ("outlines", "Outlines"), ("outline points", "Points of the outlines"))),
    ("Labour", "Labour", "Every step of every line: minutes, what they are counted by, hours and wages per good piece.",
     (("steps", ""),)),
    ("Rates", "Labour plans, wages and machines", "What the steps of each plan take, as the price book has it, and what an hour costs.",
     (("plan steps", "Steps of the labour plans"), ("trades", "Trades"),
      ("rates", "Overhead and electricity, by the day of the quotes"), ("machines", "Machines"))),
    ("Finish and extras", "Finish and extras", "What finishing uses up and what is bought in, per good piece.",
     (("finishes", "Finish, for each line"), ("finish parts", "Finishes, as the price book has them"),
      ("extras", "Bought in, for each line"), ("extra parts", "Bought in, as the price book has it"))),
    ("Mixes", "Mixes", "What a cubic metre of each mix holds, weighs and costs.",
     (("mixes", ""), ("ingredients", "Ingredients"), ("batches", "Mixer loads, pooled for each quote and mix"))),
    ("Moulds", "Moulds", "What a mould's joints and faces cost, and how often it can be used.", (("moulds", ""),)),
    ("Prices used", "Prices used", "Each price with its supplier, the day it holds from and its cell in the price book.",
     (("mix prices", "By the kilogram: what goes into a mix"), ("board prices", "By the square metre: board"),
      ("liquid prices", "By the litre: sealant and release"), ("other prices", "As sold"))),
)

#: Where a new part of the build-up begins, and what it is called.
SECTIONS: tuple[tuple[str, str], ...] = (
    ("line", "Line"), ("cast_volume", "One piece"), ("casts", "Concrete"), ("moulds_worn", "Moulds"),
    ("per_line", "Counted per good piece"), ("board_price", "Mould cost"), ("labour_cost", "Cost of a piece"),
    ("target_price", "Price of a piece"), ("line_net", "The line"),
)

#: Where such a part begins instead, in a model that has the column.
_BEFORE = {"cast_volume": "whole_volume", "per_line": "length_of_piece"}

#: So many columns of the build-up stay in sight: what line it is.
_REPEATED = 3

#: Captions of tables: the sheet, the row counted from 1, and the text.
Captions = list[tuple[str, int, str]]


def sheets_of(model: Model) -> list[tuple[str, str, str, tuple[tuple[str, str], ...]]]:
    """The sheets of a model, each with those of its tables that the model has."""
    held = [
        (name, title, sentence, tuple((table, caption) for table, caption in tables if table in model.tables), bool(tables))
        for name, title, sentence, tables in SHEETS
    ]
    return [(name, title, sentence, tables) for name, title, sentence, tables, listed in held if tables or not listed]


def lay_out(margin: MarginBook) -> Captions:
    """Give every table of the model its place; returns the captions above them."""
    captions: Captions = []
    for name, _, _, tables in sheets_of(margin.model):
        row = 6 if name == "Build-up" else 5
        for table, caption in tables or _take_offs(margin.model):
            if caption:
                captions.append((name, row, caption))
                row += 1
            block = margin.layout.add(table, name, row, _columns(margin.model, table))
            row = block.last + 3
    names = [column.name for column in margin.model.tables[SETTINGS].spec.columns]
    margin.layout.settings = {name: f"Settings!$C${row}" for row, name in enumerate(names, 5)}
    return captions


def write_model(margin: MarginBook, captions: Captions) -> None:
    """Write the sheets, the settings first: further uses of a figure refer to the cell in which it is typed."""
    _settings(margin)
    for name, title, sentence, tables in sheets_of(margin.model):
        _sheet(margin, captions, name, title, sentence, [table for table, _ in tables] or margin.model.groups["take-off"])


def _take_offs(model: Model) -> list[tuple[str, str]]:
    return [(table, table.partition(": ")[2].capitalize()) for table in model.groups["take-off"]]


def _columns(model: Model, table: str) -> list[str]:
    """The columns of a table in the order of its sheet: what the tables of a group share stands first."""
    rows = model.tables[table]
    names = [column.name for column in rows.spec.columns if column.name != "holds_from" or any(rows.text["holds_from"].tolist())]
    group = model.groups[rows.spec.group or table]
    shared = [name for name in names if all(model.column(other, name) is not None for other in group)]
    order = [column.name for column in model.tables[group[0]].spec.columns if column.name in shared]
    return [*order, *(name for name in names if name not in shared)]


def _sheet(margin: MarginBook, captions: Captions, name: str, title: str, sentence: str, tables: Sequence[str]) -> None:
    first = margin.layout.blocks[tables[0]]
    column = _REPEATED if name == "Build-up" else 0  # beside the columns that stay in sight
    sheet = margin.open_sheet(name, title, sentence, screen=True, column=column)
    for table in tables:
        margin.blocks.write(sheet, table, not margin.bare)
    for where, row, caption in captions:
        if where == name:
            sheet.write_string(row - 1, 0, margin.measures.said(caption), margin.styles.get("text bold"))
    if name == "Build-up":
        _build_up(margin, sheet)
    elif len(tables) == 1:
        sheet.freeze_panes(first.heading, 0)


def _build_up(margin: MarginBook, sheet: Any) -> None:
    block = margin.layout.blocks["lines"]
    sheet.freeze_panes(block.heading, _REPEATED)
    names = list(block.letters)
    starts = [names.index(_BEFORE[name] if _BEFORE.get(name) in block.letters else name) for name, _ in SECTIONS]
    for start, end, (_, title) in zip(starts, [*starts[1:], len(names)], SECTIONS, strict=True):
        for column in range(start, end):
            if column == start:
                sheet.write_string(block.heading - 2, column, margin.measures.said(title), margin.styles.get("section"))
            else:
                sheet.write_blank(block.heading - 2, column, None, margin.styles.get("section"))


def _settings(margin: MarginBook) -> None:
    sheet = margin.open_sheet("Settings", "Settings", "The workshop's settings that every line rests on.", screen=True)
    rows, style = margin.model.tables[SETTINGS], margin.styles.get
    for place, text in enumerate(("Setting", "Unit", "Value", "In the price book")):
        sheet.write_string(3, place, text, style("heading right" if place == 2 else "heading"))
    for row, column in enumerate(rows.spec.columns, 4):
        label, _, unit = heading_of(column, margin.currency, margin.measures).partition("\n")
        sheet.write_string(row, 0, label, style("text"))
        sheet.write_string(row, 1, unit, style("note"))
        origin = rows.place(column.name, 0)
        if isinstance(column, Text):
            sheet.write_string(row, 2, clean_text(str(rows.text[column.name][0])), style("text", align="right"))
        elif isinstance(column, Input):
            figure = margin.measures.figure(rows, column, float(rows.given[column.name][0]), 0)
            first = origin and origin not in margin.blocks.origins  # a word that two figures follow from is changed in the price book
            role = "input" if first and margin.blocks.follows(column) else "working"
            sheet.write_number(row, 2, figure, margin.blocks.number_style(column.name, role))
            margin.blocks.typed(origin, "Settings", f"C{row + 1}", figure)
        else:
            figure = margin.measures.figure(rows, column, float(margin.costing.values.value(SETTINGS, column.name)[0]), 0)
            formula = margin.layout.formula(SETTINGS, column, 0)
            sheet.write_formula(row, 2, f"={formula}", margin.blocks.number_style(column.name, "result"), figure)
        since = since_of(margin.costing.book, origin)
        sheet.write_string(row, 3, f"{origin}, from {since}" if since else origin, style("note"))
        note = note_of(column, margin.measures)
        if note and not margin.bare:
            sheet.write_comment(row, 0, note, {"x_scale": 1.6, "font_size": 8})
    set_widths(sheet, (243, 117, 103, 131))
    sheet.freeze_panes(4, 0)
