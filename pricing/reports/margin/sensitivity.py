"""The sheet of sensitivities: what the margin hangs on, line by line and as a whole; break-even; what would mend a line.

It answers first: a sentence, then the picture, then the tables. What follows from materials, wages, overhead and electricity
is live; what acts in steps (rejects, casts, run length, mix allowance) was worked out when the workbook was written, and is
set in italics.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing import money
from pricing.costing.analysis.movable_inputs import MovableInput
from pricing.costing.analysis.sensitivity import SHARE, Sensitivity, sensitivity
from pricing.costing.engine.packed_columns import Floats
from pricing.glossary import GLOSSARY
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.lines import LineTables
from pricing.reports.margin.recomputed import Carried
from pricing.reports.margin.sheet import ITALIC, POINTS, MarginSheet
from pricing.reports.shared.charts import add_bars, bar_chart, set_chart
from pricing.reports.shared.report_book import ROW
from pricing.reports.shared.styles import ACCENT, NORMAL, SHADES, number_format, shown_unit
from pricing.xlsx.writing.text_width import PADDING, text_width

SENSITIVITY, WORKINGS = "Sensitivity", "Workings"

#: Of the columns of both sheets, at least [pixels].
_WIDTHS = (116, 126, 66, 76, 76, 76, 100, 74, 82, 76)
_WORK_WIDTHS = (187, 187, 96, 96, 96, 96, 96, 96, 96, 96, 68, 187, 187)

#: More bars than this are no picture any more.
MOST_BARS = 10

KINDS = {"material": "Material", "wage": "Wage", "rate": "Rate", "process": "Making", "run": "Order"}

_CHART_TOP, _CHART_ROWS = 6, 11


def write_sensitivity(margin: MarginBook) -> None:
    """Write the sheet "Sensitivity" of a margin workbook; all tables of the model must have their places by then."""
    _Sensitivities(margin).write()


class _Sensitivities:
    """The sheet while it is written."""

    def __init__(self, margin: MarginBook) -> None:
        self.page = MarginSheet(margin, SENSITIVITY, "What the margin hangs on", _WIDTHS)
        self.work = MarginSheet(margin, WORKINGS, "What the margin hangs on: workings", _WORK_WIDTHS, screen=True)
        self.found: Sensitivity = sensitivity(margin.costing)
        self.bars = min(len(self.found.inputs), MOST_BARS)
        self.ranked_at = _CHART_TOP + _CHART_ROWS + 2
        self.tables = LineTables(self.page, self.found, self.ranked_at + max(self.bars, 1) + 3)
        self.whole_at = 5
        self.carried = Carried(self.work, self.whole_at + 6)
        self.inputs_at = self.carried.end + 4
        costing = margin.costing
        self.net, self.cost = float(costing.quote("net").sum()), float(costing.quote("quote_cost").sum())

    def write(self) -> None:
        """Everything on the sheet, each cell once."""
        printed = self.page.holds(self.tables.rows_by_line)
        told = "" if printed else f" The tables by line, from row {self.tables.effects_at - 1} on, are for the screen and do not print."
        self.page.text("A4", ITALIC + told, "note", italic=True)
        self._whole()
        self.tables.write(share=f"{WORKINGS}!$C${self.whole_at + 4}")
        self.carried.write()
        self._inputs()
        self._ranked()
        self._sentence()
        self.page.sheet.freeze_panes(4, 0)
        self.work.sheet.freeze_panes(4, 0)
        self.page.finish(self.tables.end if printed else self.tables.effects_at - 3)
        self._chart()
        self.work.finish(self.inputs_at + len(self.order))

    def _whole(self) -> None:
        """The figures of the whole that the rest is measured by."""
        row = self.whole_at
        self.work.text(f"A{row}", "All quotes together", "section")
        self.work.text(f"B{row}", "", "section")
        self.work.text(f"C{row}", "", "section")
        for place, (words, formula, figure) in enumerate((
            ("Net", f"SUM({self.work.range('quotes', 'net')})", self.net),
            ("Cost", f"SUM({self.work.range('quotes', 'quote_cost')})", self.cost),
        ), 1):
            self.work.text(f"A{row + place}", words)
            self.work.live(f"C{row + place}", formula, figure, self.work.money)
        self.work.text(f"A{row + 3}", "Margin")
        self.work.live(f"C{row + 3}", f"IF(C{row + 1}=0,0,(C{row + 1}-C{row + 2})/C{row + 1})", self._margin, "0.0%", "result")
        self.work.text(f"A{row + 4}", "Each input is moved by")
        self.work.sheet.write_number(f"C{row + 4}", SHARE, self.work.style("working", "0%", align="right"))

    @property
    def _margin(self) -> float:
        return (self.net - self.cost) / self.net if self.net else 0.0

    def _inputs(self) -> None:
        """All inputs with what each carries, what moving it does, and its place in the ranking."""
        row, unit = self.inputs_at, self.work.costing.currency
        self.work.headings(row, "All inputs", (
            ("A", "Input", ""), ("B", "Kind", ""), ("C", "Now", ""), ("D", "Unit", ""),
            ("E", f"Carries\n{unit}", "What it carries of the cost of all lines, where cost is in proportion to it."),
            ("F", f"Cost, 10 % less\n{unit}", ""), ("G", f"Cost, 10 % more\n{unit}", ""),
            ("H", "Margin, 10 % less\npoints", ""), ("I", "Margin, 10 % more\npoints", ""),
            ("J", "Larger of both\npoints", ""), ("K", "Place", "Place in the ranking; of two alike, the first."),
            ("L", "Moulds chosen anew", "Where 10 % less or more leads to another number of moulds, the figures are those with it."),
            ("M", "In short", ""),
        ), words="ABDLM")
        inputs = self.found.inputs
        self.order: list[MovableInput] = sorted(inputs, key=lambda each: (not each.linear, list(KINDS).index(each.kind), each.label))
        first, last = row + 1, row + len(self.order)
        for number, each in enumerate(self.order):
            self._input(first + number, each)
        swings = f"$J${first}:$J${last}"
        for number, each in enumerate(self.order):
            at = first + number
            place = self._places[each] + 1
            self.work.live(f"K{at}", f"1+SUMPRODUCT(({swings}>J{at})+({swings}=J{at})*(ROW({swings})<ROW()))", place, "0")

    @property
    def _places(self) -> dict[MovableInput, int]:
        """The place of each input in the ranking that the workbook makes, counted from 0."""
        swing = [max(abs(figure) for figure in self._points(each)) for each in self.order]
        ranked = sorted(range(len(self.order)), key=lambda number: (-swing[number], number))
        return {self.order[number]: place for place, number in enumerate(ranked)}

    def _points(self, each: MovableInput) -> tuple[float, float]:
        """Change of the whole margin in points, down and up, as the workbook has it."""
        if each.linear:
            down = self._carries(each)[1] * SHARE
            return (down / self.net * 100, -down / self.net * 100) if self.net else (0.0, 0.0)
        figures = self.found.whole_margin[self.found.inputs.index(each)] * 100
        return float(figures[0]), float(figures[1])

    def _input(self, at: int, each: MovableInput) -> None:
        self.work.text(f"A{at}", _label(self.work, each))
        self.work.text(f"B{at}", KINDS[each.kind])
        quantity = GLOSSARY[each.quantity]
        self.work.text(f"D{at}", shown_unit(quantity.shown, self.work.costing.currency))
        self._now(at, each)
        whole, amount = self.whole_at, self.work.money
        down, up = self._points(each)
        if each.linear:
            formula, carries = self._carries(each, f"$A{at}")
            self.work.live(f"E{at}", formula, carries, amount)
            self.work.live(f"F{at}", f"-E{at}*$C${whole + 4}", -carries * SHARE, amount)
            self.work.live(f"G{at}", f"E{at}*$C${whole + 4}", carries * SHARE, amount)
            for letter, moved, figure in (("H", "F", down), ("I", "G", up)):
                self.work.live(f"{letter}{at}", f"IF($C${whole + 1}=0,0,-{moved}{at}/$C${whole + 1}*100)", figure, POINTS)
        else:
            costs = self.found.whole_cost[self.found.inputs.index(each)]
            for letter, figure, number in (("F", costs[0], amount), ("G", costs[1], amount), ("H", down, POINTS), ("I", up, POINTS)):
                self.work.typed(f"{letter}{at}", float(figure), number)
        place = self.found.inputs.index(each)
        self.work.text(f"L{at}", self.found.moulds[place] or "–", fits=True, italic=True, indent=2)
        self.work.text(f"M{at}", self.page.margin.measures.said(self.found.moulds_in_short[place]) or "–", fits=True, italic=True, indent=2)
        self.work.live(f"J{at}", f"MAX(ABS(H{at}),ABS(I{at}))", max(abs(down), abs(up)), "0.0000")

    def _now(self, at: int, each: MovableInput) -> None:
        """The input as it stands: a reference where it stands in one place, words where it stands in several."""
        table, column, rows = each.cells[0]
        quantity = GLOSSARY[each.quantity]
        number = number_format(quantity.shown, quantity.decimals, self.work.costing.currency)
        if len(each.cells) > 1 or len(rows) > 1 or not np.isfinite(each.now):
            words = {"quantity": "by line", "rejects": "by product", "casts_per_mould": "by mould plan"}
            self.work.text(f"C{at}", words.get(each.quantity, "several"), align="right")
        elif table == "settings":
            self.work.live(f"C{at}", self.work.margin.layout.settings[column], each.now, number)
        else:
            self.work.live(f"C{at}", self.work.cell(table, column, int(rows[0])), each.now, number)

    def _carries(self, each: MovableInput, name: str = "") -> tuple[str, float]:
        """What an input carries of the cost of all lines: formula and figure."""
        page, settings, line = self.work, self.work.margin.layout.settings, self.work.costing.line
        if each.kind == "material":
            own = np.array([other == each.name for other in self.carried.names], dtype=bool)
            formula = f"SUMPRODUCT(({self.carried.materials.cells}={name})*{self.carried.carried.cells})"
            return formula, float(self.carried.carried.figures[own].sum())
        if each.kind == "wage":
            return self._wage(each)
        if each.quantity == "electricity_price":
            drawn, prices = self.carried.hours.figures * self.carried.power.figures, page.costing.rate("electricity_price", "plan steps")
            cells = f"{self.carried.hours.cells},{self.carried.power.cells}"
            if "electricity_price" not in settings:
                return f"SUMPRODUCT({cells},{page.range('plan steps', 'electricity_price')})", float(drawn @ prices)
            return f"SUMPRODUCT({cells})*{settings['electricity_price']}", float(drawn @ prices)
        formula = f"SUMPRODUCT({page.range('lines', 'quantity')},{page.range('lines', 'overhead_cost')})"
        return formula, float(line("quantity") @ line("overhead_cost"))

    def _wage(self, each: MovableInput) -> tuple[str, float]:
        """What a wage carries of the cost: the hours of its steps and of refits."""
        page, line, settings, model = self.work, self.work.costing.line, self.work.margin.layout.settings, self.work.margin.model
        if "refit_trade" not in settings:
            return self._wage_by_day(each.cells[0][2])
        row = int(each.cells[0][2][0])
        trade = model.tables["trades"].text["trade"][row]
        refits = model.tables["settings"].text["refit_trade"][0] == trade
        steps = model.tables["plan steps"].text["trade"] == trade
        hours = float(self.carried.hours.figures[steps].sum()) + refits * float(line("quantity") @ line("refit_hours"))
        key = page.cell("trades", "trade", row)
        own = f"SUMPRODUCT(({page.range('plan steps', 'trade')}={key})*{self.carried.hours.cells})"
        refit = f"SUMPRODUCT({page.range('lines', 'quantity')},{page.range('lines', 'refit_hours')})"
        return f"({own}+({settings['refit_trade']}={key})*{refit})*{page.cell('trades', 'hourly_cost', row)}", hours * each.now

    def _wage_by_day(self, rows: NDArray[np.intp]) -> tuple[str, float]:
        """The same where the wage differs between days: each hour at that of its day.

        Parameters
        ----------
        rows : of the trade, one after another, a day each
        """
        page, model, values = self.work, self.work.margin.model, self.work.costing.values
        trades = model.tables["trades"].text["trade"][rows]
        keys = f"{page.cell('trades', 'trade', int(rows[0]))}:{page.cell('trades', 'trade', int(rows[-1])).rpartition('!')[2]}"
        steps = np.isin(model.tables["plan steps"].text["trade"], trades)
        own = f"ISNUMBER(MATCH({page.range('plan steps', 'trade')},{keys},0))"
        formula = f"SUMPRODUCT({own}*{self.carried.hours.cells}*{page.range('plan steps', 'hourly_cost')})"
        carried = float((self.carried.hours.figures * values.value("plan steps", "hourly_cost"))[steps].sum())
        if not np.isin(model.tables["rates"].text["refit_trade"], trades).all():
            return formula, carried
        names = ("quantity", "refit_hours", "refit_hourly_cost")
        refits = np.prod([values.value("lines", name) for name in names], axis=0).sum()
        return f"{formula}+SUMPRODUCT({','.join(page.range('lines', name) for name in names)})", carried + float(refits)

    def _ranked(self) -> None:
        """The inputs that count most, in the order of the day."""
        row, unit = self.ranked_at, self.page.costing.currency
        title = "What 10 % less and 10 % more of each does to all quotes"
        if self.bars < len(self.order):
            title += f": the {self.bars} of {len(self.order)} that count most; the others are on the sheet {WORKINGS}"
        self.page.headings(row, title, (
            ("A", "Input", "Materials: their pack price. Casts of a mould and run length: to the nearest whole number."), ("B", "Kind", ""),
            ("C", f"Cost, 10 % less\n{unit}", "Change of the cost of all quotes."), ("D", f"Cost, 10 % more\n{unit}", ""),
            ("E", "Margin, 10 % less\npoints", "Change of the margin of all quotes, in points of a hundred."),
            ("F", "Margin, 10 % more\npoints", ""),
            ("G", "Moulds\nchosen anew", "Where 10 % less or more leads to another number of moulds, the figures are those with it; which"
             f" lines, stands on the sheet {WORKINGS}."),
        ), words="ABG")
        first, last = self.inputs_at + 1, self.inputs_at + len(self.order)
        ranked = sorted(self.order, key=self._places.__getitem__)[: self.bars]
        for number, each in enumerate(ranked):
            at = row + 1 + number
            here = f"MATCH(ROWS(A${row + 1}:A{at}),{WORKINGS}!$K${first}:$K${last},0)"
            down, up = self._points(each)
            costs = self._costs(each)
            moulds = self.page.margin.measures.said(self.found.moulds_in_short[self.found.inputs.index(each)]) or "–"
            said = (("A", "A", _label(self.page, each)), ("B", "B", KINDS[each.kind]), ("G", "M", moulds))
            for letter, source, words in said:
                own: dict[str, Any] = {"italic": True, "indent": 2} if letter == "G" else {}
                self.page.live_text(f"{letter}{at}", f"INDEX({WORKINGS}!${source}${first}:${source}${last},{here})", words, **own)
            for letter, source, figure, form in (("C", "F", costs[0], self.page.money), ("D", "G", costs[1], self.page.money),
                                                 ("E", "H", down, POINTS), ("F", "I", up, POINTS)):
                role = "result" if letter == "F" else "working"
                self.page.live(f"{letter}{at}", f"INDEX({WORKINGS}!${source}${first}:${source}${last},{here})", figure, form, role)
        longest = max((text_width(each.label, NORMAL) for each in ranked), default=0.0)
        self.page.wish("A", round(longest) + PADDING)
        self.ranked = ranked

    def _costs(self, each: MovableInput) -> Floats:
        if each.linear:
            return np.array([-1.0, 1.0]) * self._carries(each)[1] * SHARE
        return np.asarray(self.found.whole_cost[self.found.inputs.index(each)])

    def _sentence(self) -> None:
        if not self.ranked:
            self.page.text("A2", "Nothing that these lines cost can be moved.", "text bold")
            return
        row, margin = self.ranked_at, f"{WORKINGS}!$C${self.whole_at + 3}"
        first, up = self.ranked[0], self._points(self.ranked[0])[1]
        others = [f"A{row + number}" for number in range(2, min(len(self.ranked), 3) + 1)]
        formula = (
            f'A{row + 1}&" counts most: 10 % more of it takes the margin of all quotes from "&TEXT({margin},"0.0%")'
            f'&" to "&TEXT({margin}+F{row + 1}/100,"0.0%")&"."'
        )
        before, after = _percent(self._margin), _percent(self._margin + up / 100)
        text = f"{_label(self.page, first)} counts most: 10 % more of it takes the margin of all quotes from {before} to {after}."
        if others:
            formula += '&" Next: "&' + '&", "&'.join(others) + '&"."'
            text += f" Next: {', '.join(_label(self.page, each) for each in self.ranked[1:3])}."
        self.page.live_text("A2", formula, text, "text bold")

    def _chart(self) -> None:
        if not self.ranked:
            return
        chart = bar_chart(self.page.margin.book, "Points of margin of all quotes: 10 % more of it (dark), 10 % less (light)")
        first, last = self.ranked_at + 1, self.ranked_at + self.bars
        for letter, color in (("F", ACCENT), ("E", SHADES[3])):
            add_bars(chart, SENSITIVITY, f"$A${first}:$A${last}", f"${letter}${first}:${letter}${last}",
                     f"{POINTS.rpartition(';')[0]};", name=f"={SENSITIVITY}!${letter}${self.ranked_at}", fill={"color": color},
                     border={"color": ACCENT, "width": 0.5}, gap=40, overlap=100, invert_if_negative=False)
        words = "What the margin of all quotes hangs on"
        set_chart(self.page.sheet, _CHART_TOP - 1, 0, chart, words, (sum(self.page.widths) - 10, round(_CHART_ROWS * ROW / 0.75) - 6))


def _label(page: MarginSheet, each: MovableInput) -> str:
    """What an input is called; a name that a maker gave stays as it is."""
    return page.margin.measures.said(each.label) if each.kind == "process" else each.label


def _percent(share: float) -> str:
    return f"{float(money.round_half_away(share * 100, 1)):.1f}%"
