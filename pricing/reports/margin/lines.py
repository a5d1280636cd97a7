"""Tables of the sheet of sensitivities: what would mend a line; and with a row for each, effects, break-even, other quantities."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pricing.costing.analysis.break_even import MOST_PIECES, break_even, margins_at
from pricing.costing.analysis.goal_seek import Goal, goal_seek, lines_to_seek, lowest_price
from pricing.costing.analysis.sensitivity import Sensitivity
from pricing.costing.lines.order_lines import BREAKS
from pricing.costing.moulds.price_rises import rises_in_words
from pricing.glossary import GLOSSARY
from pricing.reports.margin.sheet import POINTS, MarginSheet
from pricing.reports.shared.styles import number_format, shown_unit

if TYPE_CHECKING:
    from pricing.costing.engine.packed_columns import Floats

#: Ways that are shown for a line that is to be mended.
MOST_WAYS = 4

#: Inputs that act in steps, by the column that shows them.
_IN_STEPS = (("G", "Rejects", "process"), ("H", "Casts of a mould", "process"), ("I", "Run length", "run"))


class LineTables:
    """The tables while they are written, from a row on.

    Parameters
    ----------
    top : row of the first table's headings, counted from 1
    """

    def __init__(self, page: MarginSheet, found: Sensitivity, top: int) -> None:
        self.page = page
        self.costing = page.costing
        self.found = found
        self.lines = range(len(self.costing.lines))
        self.goals: dict[int, list[Goal]] = goal_seek(self.costing, lines_to_seek(self.costing))
        #: Rows of each of the tables that have a row for every line, with its title and headings.
        self.rows_by_line = max(len(self.lines), 1) + 3
        self.goals_at = top
        first = top + sum(max(1, len(self._ways(goals))) for goals in self.goals.values()) + 3
        self.effects_at, self.even_at, self.breaks_at = (first + place * self.rows_by_line for place in range(3))
        self.prices, self.margins, rises = margins_at(self.costing, BREAKS)
        #: Lines of which each piece is dearer at one of the quantities than at a smaller one, and what is told of it.
        self.dearer = rises_in_words(rises)
        self.end = self.breaks_at + len(self.lines) + len(self.dearer)

    def write(self, share: str) -> None:
        """All four tables.

        Parameters
        ----------
        share : the cell that holds how far inputs are moved
        """
        self._goals()
        self._effects(share)
        self._break_even()
        self._breaks()

    def _effects(self, share: str) -> None:
        row = self.effects_at
        why = "Change of the line's margin after discount, in points of a hundred, its price held."
        whole = f"{why} To the nearest whole number, so that small numbers stay as they are."
        self.page.headings(row, "Line by line: points of margin where it is 10 % more", (
            ("A", "Quote", ""), ("B", "Product", ""), ("C", "Margin now,\nafter discount", ""),
            ("D", "All materials\npoints", f"{why} Carriage in is moved too."), ("E", "All wages\npoints", why),
            ("F", "Overhead\npoints", why),
            *((letter, f"{name}\npoints", why if name == "Rejects" else whole) for letter, name, _ in _IN_STEPS),
        ))
        steps = [self._up(name, kind) for _, name, kind in _IN_STEPS]
        live = self._shares()
        for line in self.lines:
            at = row + 1 + line
            self.page.line_names(at, line)
            self.page.live(f"C{at}", self.page.line_cell("discounted_margin", line), self.costing.line("discounted_margin")[line], "0.0%")
            for letter, (parts, figures) in zip("DEF", live, strict=True):
                cost = "+".join("*".join(self._factor(each, line) for each in product) for product in parts)
                net, quantity = (self.page.line_cell(name, line) for name in ("discounted_net", "quantity"))
                self.page.live(f"{letter}{at}", f"IF({net}=0,0,-({cost})*{quantity}*{share}/{net}*100)", figures[line], POINTS)
            for (letter, _, _), figures in zip(_IN_STEPS, steps, strict=True):
                self.page.typed(f"{letter}{at}", figures[line], POINTS, "–")

    def _factor(self, name: str, line: int) -> str:
        if name in self.page.margin.layout.settings:
            return self.page.margin.layout.settings[name]
        return self.page.line_cell(name, line)

    def _shares(self) -> list[tuple[tuple[tuple[str, ...], ...], Floats]]:
        """The parts of a unit cost that move with all materials, all wages, and overhead; and what that does in points."""
        parts: tuple[tuple[tuple[str, ...], ...], ...] = (
            (("concrete_cost",), ("mould_material_cost",), ("release_per_piece",), ("finish_cost",), ("extras_cost",)),
            (("labour_cost",), ("mould_labour_cost",), ("refit_hours", "refit_hourly_cost")),
            (("overhead_cost",),),
        )
        line, net = self.costing.line, self.costing.line("discounted_net")
        wage = self.costing.rate("refit_hourly_cost")
        made = []
        for products in parts:
            cost = sum(
                np.prod([wage if name == "refit_hourly_cost" else line(name) for name in product], axis=0)
                for product in products
            )
            with np.errstate(divide="ignore", invalid="ignore"):
                made.append((products, np.where(net == 0, 0.0, -cost * line("quantity") * self.found.share / net * 100)))
        return made

    def _up(self, name: str, kind: str) -> Floats:
        """What 10 % more of an input does to each line's margin [points]; nan where there is no such input."""
        try:
            return np.asarray(self.found.margin[self.found.of(name, kind), 1] * 100)
        except KeyError:
            return np.full(len(self.lines), np.nan)

    def _break_even(self) -> None:
        row, unit = self.even_at, self.costing.currency
        found = break_even(self.costing)
        alone = "The line as an order of its own, at its price and discount."
        self.page.headings(row, "Break-even", (
            ("A", "Quote", ""), ("B", "Product", ""), ("C", "Quantity\npieces", ""), ("D", f"Unit price\n{unit}", ""),
            ("E", f"Break-even price\n{unit}", "Unit price at which this quantity pays for all its cost, after the customer's discount."),
            ("F", f"Without overhead\n{unit}", "Unit price at which it pays for all but the overhead."),
            ("G", f"Fixed for the order\n{unit}", f"{alone} Work per order, whole mixer loads, and whole moulds where made for the order."),
            ("H", f"One piece more\n{unit}", f"{alone} What a further piece costs while those loads and moulds last."),
            ("I", "Break-even quantity\npieces",
             f"{alone} Smallest number of pieces that pays for all its cost; none: not up to {MOST_PIECES:,}."),
            ("J", "Short again at\npieces", "Smallest larger number, up to 100, at which another mould or load makes it fall short again."),
        ))
        money = self.page.money
        for line in self.lines:
            at = row + 1 + line
            self.page.line_names(at, line)
            cost, overhead, discount = (self.page.line_cell(name, line) for name in ("unit_cost", "overhead_cost", "discount_rate"))
            kept = f"(1-{discount})*(1-{self.page.margin.layout.settings['taken_share']})"
            self.page.live(f"C{at}", self.page.line_cell("quantity", line), self.costing.line("quantity")[line], "#,##0")
            self.page.live(f"D{at}", self.page.line_cell("unit_price", line), self.costing.line("unit_price")[line], money)
            self.page.live(f"E{at}", f"IF({discount}=1,0,{cost}/({kept}))", np.nan_to_num(found.price[line]), money, "result")
            self.page.live(f"F{at}", f"IF({discount}=1,0,({cost}-{overhead})/({kept}))", np.nan_to_num(found.own_price[line]), money)
            self.page.typed(f"G{at}", found.fixed_cost[line], money)
            self.page.typed(f"H{at}", found.next_piece[line], money)
            self.page.typed(f"I{at}", found.quantity[line], "#,##0", "none")
            self.page.typed(f"J{at}", found.short_again[line], "#,##0", "–")

    def _breaks(self) -> None:
        row, unit = self.breaks_at, self.costing.currency
        letters = "CDEFGHIJ"
        note = "After discount. A typed price stands, and a list price where it holds for so many; others are worked out anew."
        self.page.headings(row, "Margin at other quantities, each as an order of its own, at the price in force for it", (
            ("A", "Quote", ""), ("B", "Product", ""),
            *((letter, f"Margin at {number:g}", note)
              for letter, number in zip(letters, BREAKS, strict=False)),
            *((letter, f"Price at {number:g}\n{unit}", "") for letter, number in zip(letters[len(BREAKS):], BREAKS, strict=False)),
        ))
        for line in self.lines:
            at = row + 1 + line
            self.page.line_names(at, line)
            for place in range(len(BREAKS)):
                self.page.typed(f"{letters[place]}{at}", self.margins[line, place], "0.0%")
                self.page.typed(f"{letters[len(BREAKS) + place]}{at}", self.prices[line, place], self.page.money)
        names = self.page.margin.model.tables["lines"].text
        for number, (line, told) in enumerate(self.dearer.items(), row + 1 + len(self.lines)):
            self.page.text(f"A{number}", f"{names['quote'][line]}, {names['product'][line]}: {told}", "note", italic=True)

    def _ways(self, goals: list[Goal]) -> list[Goal]:
        return [goal for goal in goals if np.isfinite(goal.factor)][:MOST_WAYS]

    def _goals(self) -> None:
        row, unit = self.goals_at, self.costing.currency
        below = bool(self.costing.line("below_lowest").any())
        title = "What alone would bring a line up to the lowest margin" if below else (
            "No line is below the lowest margin; what alone would bring the nearest one down to it")
        left = int(self.costing.line("below_lowest").sum()) - len(self.goals)
        if left > 0:
            title += f": the {len(self.goals)} thinnest lines, {left} more are below"
        self.page.headings(row, title, (
            ("A", "Quote", ""), ("B", "Product", ""), ("C", "Margin now,\nafter discount", ""), ("D", f"Unit price\n{unit}", ""),
            ("E", f"Price it takes\n{unit}", "Unit price that just earns the lowest margin after discount, not rounded."),
            ("F", "Change of price", ""), ("G", "Or this alone", "One input at a time; price and moulds are held. The smallest first."),
            ("H", "would have to be", "Blank where it stands in several places that differ."), ("I", "Unit", ""), ("J", "Change", ""),
        ), words="ABGI")
        at = row + 1
        for line, goals in self.goals.items():
            self._goal(at, line)
            ways = self._ways(goals)
            for number, goal in enumerate(ways):
                self._way(at + number, goal)
            if not ways:
                self.page.text(f"G{at}", "no other input does it", italic=True, indent=1)
            at += max(1, len(ways))

    def _goal(self, at: int, line: int) -> None:
        self.page.line_names(at, line)
        cost, discount = self.page.line_cell("unit_cost", line), self.page.line_cell("discount_rate", line)
        lowest, taken = (self.page.margin.layout.settings[name] for name in ("lowest_margin", "taken_share"))
        needed, price = np.nan_to_num(lowest_price(self.costing)[line]), float(self.costing.line("unit_price")[line])
        self.page.live(f"C{at}", self.page.line_cell("discounted_margin", line), self.costing.line("discounted_margin")[line], "0.0%")
        self.page.live(f"D{at}", self.page.line_cell("unit_price", line), price, self.page.money)
        self.page.live(f"E{at}", f"IF({discount}=1,0,{cost}/(1-{discount})/(1-{lowest}-{taken}))", needed, self.page.money, "result")
        self.page.live(f"F{at}", f"IF(D{at}=0,0,E{at}/D{at}-1)", needed / price - 1 if price else 0.0, "+0.0%;-0.0%")

    def _way(self, at: int, goal: Goal) -> None:
        quantity = GLOSSARY[goal.input.quantity]
        number = number_format(quantity.shown, quantity.decimals, self.costing.currency)
        name = self.page.margin.measures.said(goal.input.label) if goal.input.kind == "process" else goal.input.label
        self.page.text(f"G{at}", name, fits=True, italic=True, indent=1)
        self.page.typed(f"H{at}", goal.needed, number)
        self.page.text(f"I{at}", shown_unit(quantity.shown, self.costing.currency), fits=True, italic=True, indent=1)
        self.page.typed(f"J{at}", goal.factor - 1, "+0.0%;-0.0%")
