"""The first sheet of the margin workbook: the sentence that matters, then the picture, then the tables."""

from __future__ import annotations

import functools
from typing import Any

import numpy as np

from pricing.algebra.expressions import evaluate, expression_of
from pricing.glossary import GLOSSARY
from pricing.reports.margin.book import MarginBook
from pricing.reports.shared.charts import add_bars, bar_chart, set_chart
from pricing.reports.shared.formulas import quoted
from pricing.reports.shared.plain_table import set_widths
from pricing.reports.shared.styles import SHADES, number_format, shown_unit
from pricing.rules import prices
from pricing.xlsx.writing.safe_text import clean_text as clean
from pricing.xlsx.writing.safe_text import stored_result

#: More bars than this are no picture any more.
MOST_BARS = 25

_QUOTE_COLUMNS = (
    ("D", "net", "Net"), ("E", "tax", "Tax"), ("F", "payable", "Payable"), ("G", "quote_cost", "Cost"),
    ("H", "quote_margin", "Margin"), ("I", "quote_contribution", "Contribution"), ("J", "quote_mass", "Mass"),
)
_LINE_COLUMNS = (
    ("C", "quantity", "Quantity"), ("D", "discounted_net", "Net after discount"), ("E", "unit_cost", "Unit cost"),
    ("F", "unit_price", "Unit price"), ("G", "line_cost", "Cost"), ("H", "discounted_margin", "Margin after discount"),
    ("I", "contribution", "Contribution"), ("J", "mass", "Mass of one"),
)
_LOW, _HEAVY = '"below lowest";;', '"not alone";;'
_CHART_TOP, _CHART_ROWS = 7, 16


class Summary:
    """The summary sheet while it is written."""

    def __init__(self, margin: MarginBook) -> None:
        self.margin = margin
        self.costing = margin.costing
        self.style = margin.styles.get
        self.sheet = margin.open_sheet("Summary", "Margin summary")
        lines = self.costing.line("contribution")
        self.order = np.argsort(-lines, kind="stable").tolist()
        self.bars = min(len(self.order), MOST_BARS)
        self.quotes_at = _CHART_TOP + _CHART_ROWS + max(0, self.bars - 10) + 2
        self.lines_at = self.quotes_at + len(self.costing.quotes) + 5
        self.parts_at = self.lines_at + len(self.order) + 4

    def write(self) -> None:
        """Everything on the sheet, each cell once."""
        if self.margin.part.remark:
            self.sheet.write_string(3, 0, clean(self.margin.part.remark), self.style("note", italic=True))
        self._quotes()
        self._lines()
        self._parts()
        self._sentence()
        self._figures()
        self._charts()
        self.sheet.print_area(0, 0, self.net_at - 1, 11)
        self.sheet.fit_to_pages(1, 1 if len(self.order) <= MOST_BARS else 0)
        set_widths(self.sheet, (89, 215, 68, 96, 89, 89, 96, 82, 96, 75, 103, 82, 26, 159))

    def _number(self, name: str, role: str = "working") -> Any:
        return self.margin.blocks.number_style(name, role)

    def _money(self, role: str) -> Any:
        return self.style(role, number_format("money", 2, self.costing.currency), align="right")

    def _range(self, letter: str, first: int, count: int) -> str:
        return f"${letter}${first + 1}:${letter}${first + max(count, 1)}"

    def _headings(self, row: int, title: str, columns: tuple[tuple[str, str], ...]) -> None:
        self.sheet.write_string(row - 2, 0, title, self.style("text bold"))
        self.sheet.set_row(row - 1, 30)
        letters = [letter for letter, _ in columns]
        for between in range(ord(min(letters)), ord(max(letters))):
            if chr(between) not in letters:  # the rule below the headings has no gaps
                self.sheet.write_blank(f"{chr(between)}{row}", None, self.style("heading"))
        for letter, text in columns:
            role = "heading" if letter in "ABKLN" else "heading right"
            words: dict[str, Any] = {"align": "left", "indent": 2} if letter in "KL" else {}  # words behind figures keep clear of them
            self.sheet.write_string(f"{letter}{row}", text, self.style(role, **words))

    def _units(self, name: str, text: str) -> str:
        shown = GLOSSARY[name].shown
        unit = shown_unit(shown, self.costing.currency)
        return f"{text}\n{unit}" if unit and shown != "pieces" else text

    def _headed(self, columns: tuple[tuple[str, str, str], ...]) -> list[tuple[str, str]]:
        return [(letter, self._units(name, text)) for letter, name, text in columns]

    def _quotes(self) -> None:
        row = self.quotes_at
        columns = (("A", "Quote"), ("B", "Customer"), ("C", "Lines"), *self._headed(_QUOTE_COLUMNS), ("K", "Look at"))
        self._headings(row, "Quotes", columns)
        block = self.margin.layout.blocks["quotes"]
        lines = self.margin.layout.blocks["lines"]
        text = self.margin.model.tables["quotes"].text
        for number, quote in enumerate(text["quote"].tolist()):
            at = row + number + 1
            self.sheet.write_string(f"A{at}", clean(quote), self.style("text"))
            self.sheet.write_string(f"B{at}", clean(text["customer"][number]), self.style("text"))
            count = f"COUNTIF({lines.range('quote_number')},{quoted(block.sheet)}!{block.cell('quote_number', number)})"
            self.sheet.write_formula(f"C{at}", f"={count}", self.style("working", "0", align="right"), len(self.costing.lines_of(quote)))
            for letter, name, _ in _QUOTE_COLUMNS:
                role = "result" if letter in "DH" else "working"
                self.sheet.write_formula(f"{letter}{at}", f"={quoted(block.sheet)}!{block.cell(name, number)}",
                                         self._number(name, role), float(self.costing.quote(name)[number]))
            self._flag(f"K{at}", f"H{at}", float(self.costing.quote("quote_margin")[number]))

    def _flag(self, cell: str, margin_cell: str, figure: float) -> None:
        names = {"discounted_margin": margin_cell, "lowest_margin": self.margin.layout.settings["lowest_margin"]}
        formula = expression_of(prices.below_lowest).formula(names)
        stored = evaluate(prices.below_lowest, {"discounted_margin": figure, "lowest_margin": self.costing.setting("lowest_margin")})
        self.sheet.write_formula(cell, f"={formula}", self.style("result", _LOW, align="left", indent=2), float(stored))

    def _lines(self) -> None:
        row = self.lines_at
        columns = (("A", "Quote"), ("B", "Product"), *self._headed(_LINE_COLUMNS), ("K", "Look at"), ("L", "Lifting"),
                   ("N", "Label of the bar"))
        self._headings(row, "Lines, those that earn most first", columns)
        block = self.margin.layout.blocks["lines"]
        sheet = quoted(block.sheet)
        rows = self.margin.model.tables["lines"]
        for place, line in enumerate(self.order):
            at = row + place + 1
            self.sheet.write_string(f"A{at}", clean(rows.text["quote"][line]), self.style("text"))
            self.sheet.write_string(f"B{at}", clean(rows.text["product"][line]), self.style("text"))
            for letter, name, _ in _LINE_COLUMNS:
                role = "result" if letter in "HI" else "working"
                self.sheet.write_formula(f"{letter}{at}", f"={sheet}!{block.cell(name, line)}", self._number(name, role),
                                         float(self.costing.line(name)[line]))
            label = f"{clean(rows.text['quote'][line])}  {clean(rows.text['product'][line])}"
            self.sheet.write_formula(f"N{at}", f'=A{at}&"  "&B{at}', self.style("note"), stored_result(label))
            for letter, name, shown in (("K", "below_lowest", _LOW), ("L", "too_heavy", _HEAVY)):
                style = self.style("result", shown, align="left", indent=2)
                self.sheet.write_formula(f"{letter}{at}", f"={sheet}!{block.cell(name, line)}", style,
                                         float(self.costing.line(name)[line]))

    def _parts(self) -> None:
        """What the net of all lines after discount is made of: the parts of cost, and what is left."""
        row = self.parts_at
        columns = (("A", "Part"), ("D", f"Amount\n{self.costing.currency}"), ("H", "Share"))
        self._headings(row, "What the net of all lines is made of", columns)
        block = self.margin.layout.blocks["lines"]
        quantity = self.costing.line("quantity")
        net = float(np.sum(self.costing.line("discounted_net")))
        amounts = {column: float(np.sum(quantity * self.costing.line(column))) for _, column in self.costing.parts}
        self.parts = sorted(amounts, key=lambda column: -amounts[column])
        self.net_at = row + len(self.parts) + 2
        style = self._money("working")
        for place, column in enumerate(self.parts):
            at = row + place + 1
            self.sheet.write_string(f"A{at}", GLOSSARY[column].label, self.style("text"))
            formula = f"SUMPRODUCT({block.range('quantity')},{block.range(column)})"
            self.sheet.write_formula(f"D{at}", f"={formula}", style, amounts[column])
        left = self.net_at - 1
        self.sheet.write_string(f"A{left}", "Left after cost", self.style("text bold"))
        rest = f"=D{self.net_at}-SUM(D{row + 1}:D{left - 1})"
        self.sheet.write_formula(f"D{left}", rest, self._money("result"), net - sum(amounts.values()))
        self.sheet.write_string(f"A{self.net_at}", "Net of all lines after discount", self.style("total"))
        for letter in "BCEFG":
            self.sheet.write_blank(f"{letter}{self.net_at}", None, self.style("total"))
        self.sheet.write_formula(f"D{self.net_at}", f"=SUM({block.range('discounted_net')})", self._money("total"), net)
        share = "0.0%"
        for place, figure in enumerate([*(amounts[column] for column in self.parts), net - sum(amounts.values()), net]):
            at = row + place + 1
            role = "total" if at == self.net_at else "working"
            self.sheet.write_formula(f"H{at}", f"=IF(D${self.net_at}=0,0,D{at}/D${self.net_at})", self.style(role, share, align="right"),
                                     figure / net if net else 0.0)

    def _sentence(self) -> None:
        flags = f"K{self.lines_at + 1}:K{self.lines_at + max(len(self.order), 1)}"
        lowest = self.margin.layout.settings["lowest_margin"]
        few = int(np.sum(self.costing.line("below_lowest")))
        share = self.costing.setting("lowest_margin")
        said = "below the lowest margin of"
        text = f'SUM({flags})&" of "&ROWS({flags})&" lines "&IF(SUM({flags})=1,"falls","fall")&" {said} "&TEXT({lowest},"0.0%")&"."'
        verb = "falls" if few == 1 else "fall"
        stored = f"{few} of {len(self.order)} lines {verb} {said} {np.round(share * 100 + 1e-9, 1):.1f}%."
        self.sheet.write_formula(1, 0, f"={text}", self.style("text bold"), stored)

    def _figures(self) -> None:
        """The four figures of the whole, above the pictures."""
        first, count = self.quotes_at, len(self.costing.quotes)
        quote = self.costing.quote
        net, cost = float(np.sum(quote("net"))), float(np.sum(quote("quote_cost")))
        rows = {letter: self._range(letter, first, count) for letter in "DGI"}
        money = number_format("money", 2, self.costing.currency)
        left = functools.partial(self.style, align="left", font_size=12)
        made = (
            ("A", "Net of all quotes", f"SUM({rows['D']})", net, left("result", money)),
            ("D", "Cost", f"SUM({rows['G']})", cost, left("result", money)),
            ("F", "Margin", "IF(A6=0,0,(A6-D6)/A6)", (net - cost) / net if net else 0.0, left("result", "0.0%")),
            ("H", "Contribution", f"SUM({rows['I']})", float(np.sum(quote("quote_contribution"))), left("result", money)),
        )
        for letter, text, formula, figure, style in made:
            self.sheet.write_string(f"{letter}5", text, self.style("note"))
            self.sheet.write_formula(f"{letter}6", f"={formula}", style, figure)

    def _charts(self) -> None:
        height = (_CHART_ROWS + max(0, self.bars - 10)) * 20 - 10
        count = len(self.parts) + 1
        points = [None] * (count - 1) + [{"fill": {"color": SHADES[2]}}]
        parts = self._range("A", self.parts_at, count), self._range("H", self.parts_at, count)
        self._chart("Of every 100 of net, this much goes where", parts, "0.0%", "What the net is made of", 0, (470, height), points=points)
        title = "What each line contributes" if self.bars == len(self.order) else f"The {self.bars} lines that contribute most"
        lines = self._range("N", self.lines_at, self.bars), self._range("I", self.lines_at, self.bars)
        self._chart(title, lines, "#,##0", "Contribution by line", 5, (560, height), offset=6)

    def _chart(self, title: str, cells: tuple[str, str], number: str, described: str, column: int, size: tuple[int, int],
               offset: int = 0, **more: Any) -> None:
        least = float(np.min(self.costing.line("contribution"), initial=0.0))
        chart = bar_chart(self.margin.book, title, from_nought=least >= 0)
        add_bars(chart, "Summary", *cells, number, **more)
        set_chart(self.sheet, _CHART_TOP - 1, column, chart, described, size, offset)


def write_summary(margin: MarginBook) -> None:
    """Write the summary sheet."""
    Summary(margin).write()
