"""The maker's margin workbook: a model that can be followed by eye, every figure a live formula.

Inputs, workings and results stand apart: settings, prices, dimensions and minutes are typed; everything else follows.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from pricing.costing.analysis.uncertain_inputs import uncertain_figures
from pricing.costing.engine.columns import SETTINGS, Input, Text
from pricing.costing.method.costing import Costing
from pricing.files.atomic import written_beside
from pricing.problems import Problems
from pricing.reports.margin.checks import write_checks
from pricing.reports.margin.part import TITLE, MarginPart
from pricing.reports.margin.risk import write_risk
from pricing.reports.margin.sensitivity import write_sensitivity
from pricing.reports.margin.summary import write_summary
from pricing.reports.margin.why import write_why
from pricing.reports.shared.formulas import Layout
from pricing.reports.shared.model_table import BlockWriter, heading_of, note_of
from pricing.reports.shared.styles import FOOT, Styles, page_size, set_page
from pricing.xlsx.writing.garbage import uncollected
from pricing.xlsx.writing.safe_text import clean_text, one_line

#: Sheets in order: name, title, one sentence, and the tables on it with the caption of each.
SHEETS: tuple[tuple[str, str, str, tuple[tuple[str, str], ...]], ...] = (
    ("Build-up", "Build-up", "One row per line, from the piece to its price. Each column has one formula all the way down.",
     (("lines", ""),)),
    ("Totals", "Totals of the quotes", "Rounded where invoice rules round: each amount once, tax on the summed base.",
     (("quotes", ""), ("customers", "Customers"), ("delivery", "Delivery: weight bands of each zone"))),
    ("Take-off", "Take-off", "Dimensions of one piece and what follows from them, a block for each shape.", ()),
    ("Pieces", "Cut-outs, layers and outlines", "What pieces have besides their dimensions, a row for each.",
     (("cut-outs", "Cut-outs, for each line"), ("layers", "Layers of another mix, for each line"),
      ("outlines", "Outlines"), ("outline points", "Points of the outlines"))),
    ("Labour", "Labour", "Every step of every line: minutes, what they are counted by, hours and wages per good piece.",
     (("steps", ""),)),
    ("Rates", "Labour plans, wages and machines", "What the steps of each plan take, as the price book has it, and what an hour costs.",
     (("plan steps", "Steps of the labour plans"), ("grades", "Grades"), ("machines", "Machines"))),
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
    ("line", "Line"), ("cast_volume", "One piece"), ("casts", "Concrete"), ("casts_per_mould", "Moulds"),
    ("per_order", "Counted per good piece"), ("board_price", "Mould cost"), ("labour_cost", "Cost of a piece"),
    ("target_price", "Price of a piece"), ("line_net", "The line"),
)

#: A workbook of fewer rows than this is put together in memory, which is faster than in temporary files.
_SMALL = 20_000

#: So many columns of the build-up stand on each of its pages: what line it is.
_REPEATED = 3

KEY = "Tinted: typed, may be changed.   Plain: worked out.   Bold: a result."


def write_margin(costing: Costing, path: Path, part: MarginPart | None = None) -> None:
    """Write the margin workbook of a costing.

    Parameters
    ----------
    path : where it goes; it is written beside and moved into place
    part : which of several of a run it is

    Problems raised: OSError where the folder cannot be written; RowsError where it would need more rows than a sheet has.
    """
    with written_beside(path) as beside, uncollected():
        MarginBook(costing, beside, part=part).write()


class MarginBook:
    """One margin workbook while it is written.

    Parameters
    ----------
    bare : True for the model alone: no notes on headings, no sheets that look into it from outside
    part : which of several of a run it is
    """

    def __init__(self, costing: Costing, path: Path, *, bare: bool = False, part: MarginPart | None = None) -> None:
        from pricing.reports.margin.sheet_limits import WholeWorksheet
        from pricing.xlsx.writing.workbook import new_workbook

        self.costing = costing
        self.bare = bare
        self.part = part or MarginPart(1, 1, tuple(costing.quotes))
        self.model = costing.model
        small = sum(rows.count for rows in self.model.tables.values()) < _SMALL
        self.book = new_workbook(str(path), {
            "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False, "in_memory": small,
        })
        self.book.worksheet_class = WholeWorksheet
        self.styles = Styles(self.book)
        self.layout = Layout(self.model)
        self.blocks = BlockWriter(self.layout, costing.values, self.styles, costing.currency)
        self.paper = page_size(costing.currency, str(costing.book.settings.get("page_size") or ""))
        self.business = one_line(str(costing.book.settings["business_name"]), FOOT)
        self.sheets: dict[str, Any] = {}
        self.captions: list[tuple[str, int, str]] = []

    def write(self) -> None:
        """Lay everything out, then write it: formulas may point forward."""
        found = Problems()
        unsure = uncertain_figures(self.costing.book, self.costing.lines, self.model, found)
        for problem in found:
            self.costing.problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell, warning=True)
        looking = [] if self.bare else ["Sensitivity", *(["How sure"] if unsure else [])]
        why = [] if self.bare else ["Why"]
        for name in ("Summary", *looking, *(name for name, *_ in self._in_use()), "Settings", *why, "Checks"):
            self.sheets[name] = self.book.add_worksheet(name)
        self._lay_out()
        self._settings()
        for name, title, sentence, tables in self._in_use():
            self._sheet(name, title, sentence, [table for table, _ in tables] or self.model.groups["take-off"])
        write_summary(self)
        if not self.bare:
            write_sensitivity(self)
            if unsure:
                write_risk(self)
            write_why(self)
        write_checks(self)
        self.blocks.settle_widths(self.sheets)
        for name, sheet in self.sheets.items():
            if name == "Why":
                continue  # its rows fold, which a protected sheet does not let them
            sheet.protect("", {"format_columns": True, "format_rows": True, "select_locked_cells": True, "objects": True})
        days = self.costing.lines.day
        created = max(days.tolist()) if len(days) else None
        self.book.set_properties({"title": f"{TITLE}{self.part.ending}", "author": self.business, "created": _at_midnight(created)})
        self.sheets["Summary"].activate()
        self.book.close()

    def _lay_out(self) -> None:
        for name, _, _, tables in self._in_use():
            row = 6 if name == "Build-up" else 5
            for table, caption in tables or self._take_offs():
                if caption:
                    self.captions.append((name, row, caption))
                    row += 1
                block = self.layout.add(table, name, row, self._columns(table))
                row = block.last + 3
        names = [c.name for c in self.model.tables[SETTINGS].spec.columns]
        self.layout.settings = {name: f"Settings!$C${row}" for row, name in enumerate(names, 5)}

    def _in_use(self) -> list[tuple[str, str, str, tuple[tuple[str, str], ...]]]:
        """The sheets of this model, each with those of its tables that the model has."""
        held = [
            (name, title, sentence, tuple((table, caption) for table, caption in tables if table in self.model.tables), bool(tables))
            for name, title, sentence, tables in SHEETS
        ]
        return [(name, title, sentence, tables) for name, title, sentence, tables, listed in held if tables or not listed]

    def _take_offs(self) -> list[tuple[str, str]]:
        return [(table, table.partition(": ")[2].capitalize()) for table in self.model.groups["take-off"]]

    def _columns(self, table: str) -> list[str]:
        """The columns of a table in the order of its sheet: what the tables of a group share stands first."""
        rows = self.model.tables[table]
        names = [column.name for column in rows.spec.columns]
        shared = [name for name in names if all(
            self.model.column(other, name) is not None for other in self.model.groups[rows.spec.group or table])]
        first = self.model.groups[rows.spec.group or table][0]
        order = [column.name for column in self.model.tables[first].spec.columns if column.name in shared]
        return [*order, *(name for name in names if name not in shared)]

    def open_sheet(self, name: str, title: str, sentence: str, *, wide: bool = True, heading: int | None = None, column: int = 0) -> Any:
        """Title, sentence and page set-up of a sheet; the sentence begins in a column that is not repeated on further pages."""
        sheet = self.sheets[name]
        set_page(sheet, paper=self.paper, business=self.business, landscape=wide)
        sheet.set_row(0, 26)
        sheet.write_string(0, 0, f"{title}{self.part.ending}", self.styles.get("headline"))
        if sentence:
            sheet.write_string(1, column, sentence, self.styles.get("sentence"))
        sheet.write_string(2, column, KEY, self.styles.get("note"))
        if heading is not None:
            sheet.repeat_rows(heading - 1)
        return sheet

    def _sheet(self, name: str, title: str, sentence: str, tables: Sequence[str]) -> None:
        first = self.layout.blocks[tables[0]]
        heading, column = first.heading if len(tables) == 1 else None, _REPEATED if name == "Build-up" else 0
        sheet = self.open_sheet(name, title, sentence, heading=heading, column=column)
        for table in tables:
            self.blocks.write(sheet, table, not self.bare)
        for where, row, caption in self.captions:
            if where == name:
                sheet.write_string(row - 1, 0, caption, self.styles.get("text bold"))
        if name == "Build-up":
            self._build_up(sheet)
        elif len(tables) == 1:
            sheet.freeze_panes(first.heading, 0)

    def _build_up(self, sheet: Any) -> None:
        block = self.layout.blocks["lines"]
        sheet.freeze_panes(block.heading, _REPEATED)
        names = list(block.letters)
        starts = [names.index(name) for name, _ in SECTIONS]
        for start, end, (_, title) in zip(starts, [*starts[1:], len(names)], SECTIONS, strict=True):
            for column in range(start, end):
                if column == start:
                    sheet.write_string(block.heading - 2, column, title, self.styles.get("section"))
                else:
                    sheet.write_blank(block.heading - 2, column, None, self.styles.get("section"))
        sheet.repeat_columns(0, _REPEATED - 1)
        sheet.fit_to_pages(0, 0)
        sheet.set_print_scale(60)
        sheet.set_v_pagebreaks([starts[number] for number in (2, 4, 5, 6)])

    def _settings(self) -> None:
        sheet = self.open_sheet("Settings", "Settings", "The workshop's settings that every line rests on.", wide=False)
        rows = self.model.tables[SETTINGS]
        for place, text in enumerate(("Setting", "Unit", "Value", "In the price book")):
            sheet.write_string(3, place, text, self.styles.get("heading right" if place == 2 else "heading"))
        for row, column in enumerate(rows.spec.columns, 4):
            label, _, unit = heading_of(column, self.costing.currency).partition("\n")
            sheet.write_string(row, 0, label, self.styles.get("text"))
            sheet.write_string(row, 1, unit, self.styles.get("note"))
            origin = rows.place(column.name, 0)
            if isinstance(column, Text):
                sheet.write_string(row, 2, clean_text(str(rows.text[column.name][0])), self.styles.get("text", align="right"))
            elif isinstance(column, Input):
                style = self.blocks.number_style(column.name, "input" if origin else "working")
                sheet.write_number(row, 2, float(rows.given[column.name][0]), style)
                self.blocks.typed(origin, "Settings", f"C{row + 1}", float(rows.given[column.name][0]))
            else:
                figure = float(self.costing.values.value(SETTINGS, column.name)[0])
                formula = self.layout.formula(SETTINGS, column, 0)
                sheet.write_formula(row, 2, f"={formula}", self.blocks.number_style(column.name, "result"), figure)
            sheet.write_string(row, 3, origin, self.styles.get("note"))
            note = note_of(column)
            if note and not self.bare:
                sheet.write_comment(row, 0, note, {"x_scale": 1.6, "font_size": 8})
        for place, width in enumerate((34, 16, 14, 18)):
            sheet.set_column(place, place, width)
        sheet.freeze_panes(4, 0)


def _at_midnight(day: Any) -> Any:
    import datetime

    opening = day if day is not None else datetime.date(2000, 1, 1)
    return datetime.datetime.combine(opening, datetime.time())
