"""The first sheet of the margin workbook: the sentence that matters, then the picture, then the tables."""

from __future__ import annotations

from typing import Any

import numpy as np

from pricing.algebra.expressions import evaluate, expression_of
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.sheet import MarginSheet
from pricing.reports.shared.cells import width_of
from pricing.reports.shared.charts import add_bars, bar_chart, set_chart
from pricing.reports.shared.report_book import ROW
from pricing.reports.shared.styles import NORMAL, SHADES, SMALL, shown_unit
from pricing.rules import prices
from pricing.xlsx.writing.text_width import PADDING, fitting, text_width

#: More bars than this are no picture any more.
MOST_BARS = 25

_QUOTE_COLUMNS = (
    ("D", "net", "Net"), ("E", "tax", "Tax"), ("F", "payable", "Payable"), ("G", "quote_cost", "Cost"),
    ("H", "quote_margin", "Margin of the quote"), ("I", "quote_contribution", "Contribution"), ("J", "quote_mass", "Mass"),
)
_LINE_COLUMNS = (
    ("C", "quantity", "Pieces"), ("D", "discounted_net", "Net"), ("E", "unit_cost", "Unit cost"), ("F", "unit_price", "Unit price"),
    ("G", "line_cost", "Cost"), ("H", "discounted_margin", "Margin after discount"), ("I", "contribution", "Contribution"),
    ("J", "mass", "Mass each"),
)

#: Words that flags show as.
_LOW, _HEAVY = "below lowest", "heavy"

_NOTE = "below lowest: the margin is below the lowest margin. heavy: a piece weighs more than one person should lift."

#: Of the columns, at least [pixels].
_WIDTHS = (62, 148, 44, 76, 66, 76, 76, 78, 82, 66, 74)

#: The rows of the figures of the whole, and of what is told of them; where the pictures stand, and how many rows they take.
_FIGURES, _TOLD, _CHART_TOP, _CHART_ROWS = 5, 7, 9, 12

#: Height of the rows that keep the parts of the page apart [points].
_GAP = 8.0

_TWO_MARGINS = (
    "Margin of the quotes: after discount, with carriage and small order charges in the net and carriage in the cost. Of the pieces alone: "
    "before discount, without carriage."
)

#: A number or a note makes its column no wider than this [pixels].
_WIDEST = 260

#: What of the room of a line's name its set has, where there is too little for both [share].
_OF_SET = 0.24


#: A wider name of a bar takes two lines [pixels]; of such as many as have room in the usual height.
_ONE_LINE, _BARS_OF_TWO = 172, 6


class Summary:
    """The summary sheet while it is written."""

    def __init__(self, margin: MarginBook) -> None:
        self.margin, self.costing = margin, margin.costing
        self.order = np.argsort(-self.costing.line("contribution"), kind="stable").tolist()
        self.bars = min(len(self.order), MOST_BARS)
        self.names = self._line_names()
        two_lines = any(text_width(" ".join(self.names[line]), SMALL) > _ONE_LINE for line in self.order[: self.bars])
        self.chart_rows = _CHART_ROWS + max(0, self.bars - (_BARS_OF_TWO if two_lines else 15))
        amounts = {column: float(np.sum(self.costing.line("quantity") * self.costing.line(column))) for _, column in self.costing.parts}
        if self.costing.setting("taken_share"):
            amounts["taken"] = float(np.sum(self.costing.line("taken")))
        self.parts = sorted(amounts.items(), key=lambda part: -part[1])
        self.quotes_at = _CHART_TOP + self.chart_rows + 2
        self.parts_at = self.quotes_at + len(self.costing.quotes) + 3
        self.lines_at = self.parts_at + len(self.parts) + 5
        self.end = self.lines_at + len(self.order)
        self.page = MarginSheet(margin, "Summary", "Margin summary", _WIDTHS, repeat=self.lines_at)
        self.sheet, self.style = self.page.sheet, self.page.style
        self._make_room_for_names()

    def write(self) -> None:
        """Everything on the sheet, each cell once."""
        if self.margin.part.remark:
            self.page.text("A4", self.margin.part.remark, "note", italic=True)
        self._quotes()
        self._parts()
        self._lines()
        self._sentence()
        self._figures()
        tables = self.quotes_at, self.parts_at, self.lines_at
        for row in (*([] if self.margin.part.remark else [4]), _CHART_TOP - 1, *(row - 2 for row in tables)):
            self.page.height(row - 1, _GAP)
        self.page.finish(self.end)
        self._charts()

    def _make_room_for_names(self) -> None:
        """Make the column of names as wide as the longest, as far as the page stays upright."""
        text, page = self.margin.model.tables["quotes"].text, self.page
        for quote in text["quote"].tolist():
            page.at_least("A", min(width_of(quote, "", self.style("text")), _WIDEST))
        for note in self.margin.part.notes.values():
            page.at_least("K", min(width_of(note, "", self.style("result", indent=2)), 2 * _WIDEST))
        needed = [text_width(str(each), NORMAL) for each in text["customer"].tolist()]
        needed += [text_width(f"{name} {of_set}".rstrip(), NORMAL) - page.widths[0] for name, of_set in self.names]
        page.at_least("B", min(round(max(needed, default=0.0)) + PADDING + 1, page.widths[1] + page.spare))

    def _range(self, letter: str, first: int, count: int) -> str:
        return f"${letter}${first + 1}:${letter}${first + max(count, 1)}"

    def _headings(self, row: int, title: str, columns: tuple[tuple[str, str], ...]) -> None:
        notes = {"Note": _NOTE}
        self.page.headings(row, title, [(letter, text, notes.get(text, "")) for letter, text in columns], words="ABK")

    def _headed(self, columns: tuple[tuple[str, str, str], ...]) -> list[tuple[str, str]]:
        """Letters and headings, with units where the heading does not say it."""
        made = []
        for letter, name, text in columns:
            shown = self.margin.measures.quantity(name).shown
            unit = shown_unit(shown, self.costing.currency)
            made.append((letter, f"{text}\n{unit}" if unit and shown != "pieces" else text))
        return made

    def _quotes(self) -> None:
        row = self.quotes_at
        self._headings(row, "Quotes", (("A", "Quote"), ("B", "Customer"), ("C", "Lines"), *self._headed(_QUOTE_COLUMNS), ("K", "Note")))
        text, lines = self.margin.model.tables["quotes"].text, self.page.range("lines", "quote_number")
        for number, quote in enumerate(text["quote"].tolist()):
            at = row + number + 1
            self.page.text(f"A{at}", quote)
            self.page.text(f"B{at}", fitting(str(text["customer"][number]), self.page.widths[1] - PADDING, NORMAL))
            count = f"COUNTIF({lines},{self.page.cell('quotes', 'quote_number', number)})"
            self.page.live(f"C{at}", count, len(self.costing.lines_of(quote)), "0")
            for letter, name, _ in _QUOTE_COLUMNS:
                role = "result" if letter in "DH" else "working"
                figure = float(self.costing.quote(name)[number])
                self.page.of_model(f"{letter}{at}", self.page.cell("quotes", name, number), figure, name, role)
            if quote in self.margin.part.notes:
                self.page.text(f"K{at}", self.margin.part.notes[quote], "result", indent=2)
            else:
                self._flag(f"K{at}", f"H{at}", float(self.costing.quote("quote_margin")[number]))

    def _flag(self, cell: str, margin_cell: str, figure: float) -> None:
        """Words where a margin is below the lowest."""
        names = {"discounted_margin": margin_cell, "lowest_margin": self.margin.layout.settings["lowest_margin"]}
        formula = expression_of(prices.below_lowest).formula(names)
        low = evaluate(prices.below_lowest, {"discounted_margin": figure, "lowest_margin": self.costing.setting("lowest_margin")})
        style = self.style("result", f'"{_LOW}";;', align="left", indent=2)
        self.sheet.write_formula(cell, f"={formula}", style, float(low))

    def _name(self, row: int, name: str, of_set: str) -> None:
        """What a line is called, across two columns; where there is no room for all of it, some of its set is seen all the same."""
        room = sum(self.page.widths[:2]) - PADDING
        if of_set:
            name = f"{fitting(name, room - min(text_width(f' {of_set}', NORMAL), room * _OF_SET), NORMAL)} {of_set}"
        self.page.text(f"A{row}", fitting(name, room, NORMAL))

    def _line_names(self) -> list[tuple[str, str]]:
        """What each line is called: its quote and product, and in brackets the set that it is a part of."""
        text, sets = self.margin.model.tables["lines"].text, self.costing.lines.sets
        of_sets = [""] * len(self.order) if sets is None else [f"({name})" if name else "" for name in sets.name.tolist()]
        named = zip(text["quote"].tolist(), text["product"].tolist(), of_sets, strict=True)
        return [(f"{quote}  {product}", of_set) for quote, product, of_set in named]

    def _lines(self) -> None:
        row = self.lines_at
        title = "Lines after discount and without carriage, those that earn most first"
        self._headings(row, title, (("A", "Line"), *self._headed(_LINE_COLUMNS), ("K", "Note")))
        for place, line in enumerate(self.order):
            at = row + place + 1
            self._name(at, *self.names[line])
            for letter, name, _ in _LINE_COLUMNS:
                role = "result" if letter in "HI" else "working"
                self.page.of_model(f"{letter}{at}", self.page.line_cell(name, line), float(self.costing.line(name)[line]), name, role)
            low, heavy = (self.page.line_cell(name, line) for name in ("below_lowest", "too_heavy"))
            told = [word for word, name in ((_LOW, "below_lowest"), (_HEAVY, "too_heavy")) if self.costing.line(name)[line]]
            formula = f'REPT("–",(1-{low})*(1-{heavy}))&REPT("{_LOW}",{low})&REPT(", ",{low}*{heavy})&REPT("{_HEAVY}",{heavy})'
            self.page.live_text(f"K{at}", formula, ", ".join(told) or "–", "result", align="left", indent=2)
            self.page.at_least("K", width_of(", ".join(told), "", self.style("result", indent=2)))

    def _parts(self) -> None:
        """What the net of all lines after discount is made of: the parts of cost, and what is left."""
        row, net = self.parts_at, float(np.sum(self.costing.line("discounted_net")))
        columns = (("A", "Part"), ("D", f"Amount\n{self.costing.currency}"), ("F", "Share"))
        self._headings(row, "What the net of all lines is made of", columns)
        self.net_at = row + len(self.parts) + 2
        left = self.net_at - 1
        figures = []
        for at, (column, amount) in enumerate(self.parts, row + 1):
            self.page.text(f"A{at}", self.margin.measures.quantity(column).label)
            pieces = f"{self.page.range('lines', 'quantity')},{self.page.range('lines', column)}"
            added = f"SUM({self.page.range('lines', column)})" if column == "taken" else f"SUMPRODUCT({pieces})"
            self.page.live(f"D{at}", added, amount, self.page.money)
            figures.append(amount)
        self.page.text(f"A{left}", "Left after cost", "text bold")
        self.page.live(f"D{left}", f"D{self.net_at}-SUM(D{row + 1}:D{left - 1})", net - sum(figures), self.page.money, "result")
        self.page.text(f"A{self.net_at}", "Net of all lines after discount", "total")
        for letter in "BCE":
            self.sheet.write_blank(f"{letter}{self.net_at}", None, self.style("total"))
        self.page.live(f"D{self.net_at}", f"SUM({self.page.range('lines', 'discounted_net')})", net, self.page.money, "total")
        for at, figure in enumerate([*figures, net - sum(figures), net], row + 1):
            role = "total" if at == self.net_at else "working"
            self.page.live(f"F{at}", f"IF(D${self.net_at}=0,0,D{at}/D${self.net_at})", figure / net if net else 0.0, "0.0%", role)

    def _sentence(self) -> None:
        flags = self.page.range("lines", "below_lowest")
        lowest, share = self.margin.layout.settings["lowest_margin"], self.costing.setting("lowest_margin")
        few = int(np.sum(self.costing.line("below_lowest")))
        said = "below the lowest margin of"
        text = f'SUM({flags})&" of "&ROWS({flags})&" lines "&IF(SUM({flags})=1,"falls","fall")&" {said} "&TEXT({lowest},"0.0%")&"."'
        verb = "falls" if few == 1 else "fall"
        stored = f"{few} of {len(self.order)} lines {verb} {said} {np.round(share * 100 + 1e-9, 1):.1f}%."
        self.page.live_text("A2", text, stored, "text bold")

    def _figures(self) -> None:
        """The figures of the whole, above the pictures, and what the two margins are."""
        count, names = len(self.costing.quotes), ("net", "quote_cost", "lines_net", "line_cost_sum", "taken_sum", "quote_contribution")
        total = {name: float(np.sum(self.costing.quote(name))) for name in names}
        net, cost, contribution = (f"SUM({self._range(letter, self.quotes_at, count)})" for letter in "DGI")
        whole, made, taken = (f"SUM({self.page.range('quotes', name)})" for name in ("lines_net", "line_cost_sum", "taken_sum"))

        def margin(of: str, *paid: str) -> float:
            return (total[of] - sum(total[each] for each in paid)) / total[of] if total[of] else 0.0

        figures: tuple[tuple[str, str, str, float, str], ...] = (
            ("A:B", "Net of all quotes", net, total["net"], self.page.money),
            ("C:D", "Cost", cost, total["quote_cost"], self.page.money),
            ("E:F", "Margin of the quotes", "IF(A6=0,0,(A6-C6)/A6)", margin("net", "quote_cost"), "0.0%"),
            ("G:I", "Margin of the pieces alone", f"IF({whole}=0,0,({whole}-{made}-{taken})/{whole})",
             margin("lines_net", "line_cost_sum", "taken_sum"), "0.0%"),
            ("J:K", "Contribution", contribution, total["quote_contribution"], self.page.money),
        )
        for letters, text, formula, figure, number in figures:
            first, last = letters.split(":")
            self.page.text(f"{first}{_FIGURES}", text, "note")
            style: Any = self.style("result", number, align="left", font_size=12)
            self.sheet.merge_range(f"{first}{_FIGURES + 1}:{last}{_FIGURES + 1}", "", style)
            self.sheet.write_formula(f"{first}{_FIGURES + 1}", f"={formula}", style, figure)
        self.page.text(f"A{_TOLD}", _TWO_MARGINS, "note")

    def _charts(self) -> None:
        height, count = round(self.chart_rows * ROW / 0.75) - 6, len(self.parts) + 1
        wide = sum(self.page.widths)
        half = round(wide * 0.44)
        points = [None] * (count - 1) + [{"fill": {"color": SHADES[2]}}]
        parts = self._range("A", self.parts_at, count), self._range("F", self.parts_at, count)
        title = "Of every 100 of net, this much goes where"
        self._chart(title, parts, "0.0%", "What the net is made of", 0, (half - 10, height), points=points)
        title = "What each line contributes" if self.bars == len(self.order) else f"The {self.bars} lines that contribute most"
        lines = self._range("A", self.lines_at, self.bars), self._range("I", self.lines_at, self.bars)
        self._chart(title, lines, "#,##0", "Contribution by line", half, (wide - half, height))

    def _chart(
        self, title: str, cells: tuple[str, str], number: str, described: str, offset: int, size: tuple[int, int], **more: Any
    ) -> None:
        least = float(np.min(self.costing.line("contribution"), initial=0.0))
        chart = bar_chart(self.margin.book, title, from_nought=least >= 0)
        add_bars(chart, "Summary", *cells, number, **more)
        set_chart(self.sheet, _CHART_TOP - 1, 0, chart, described, size, offset)


def write_summary(margin: MarginBook) -> None:
    """Write the summary sheet."""
    Summary(margin).write()
