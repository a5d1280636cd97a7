"""Workings of the sheet of sensitivities: what all lines use of each material, hour and rate, and what that carries.

Cost is proportional to a pack price, a wage, the overhead rate and the price of electricity. So what one of them carries
of the cost of all lines, times the share that it is moved by, is exactly what the move does; and it can be a live formula.
"""

from __future__ import annotations

from dataclasses import field

import numpy as np

from pricing.costing.analysis.movable_inputs import PRICE_TABLES, material_rows
from pricing.costing.engine.model import Model
from pricing.costing.engine.packed_columns import Floats
from pricing.dataclass import dataclass
from pricing.reports.margin.sheet import MarginSheet

_HOURS, _VOLUME, _AREA = "#,##0.00", "#,##0.0000", "#,##0.000"


@dataclass
class Spread:
    """Cells of a column of workings, and the figures in them.

    Parameters
    ----------
    letter, first : column letter, and row of the first cell counted from 1
    """

    letter: str
    first: int
    figures: Floats

    @property
    def cells(self) -> str:
        """The range, fixed."""
        return f"${self.letter}${self.first}:${self.letter}${self.first + max(len(self.figures), 1) - 1}"


@dataclass
class Carried:
    """The workings while they are written, from a row on.

    Parameters
    ----------
    top : row of the first title, counted from 1
    """

    page: MarginSheet
    top: int
    names: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.model: Model = self.page.margin.model
        self.value = self.page.costing.values.value
        self.measures, self.layout = self.page.margin.measures, self.page.margin.layout
        self.line_of = {table: (self.value(table, "line") - 1).astype(np.intp) for table in ("steps", "finishes", "extras")}
        self.stands = [
            (table, row, name)
            for name, places in material_rows(self.page.costing.book, self.model).items()
            for table, row, _ in places
        ]
        self.stands.sort(key=lambda each: (PRICE_TABLES.index(each[0]), each[1]))
        counts = (self.model.tables["plan steps"].count, self.model.tables["ingredients"].count,
                  self.model.tables["moulds"].count, len(self.stands))
        starts = [self.top + 1]
        for count in counts:
            starts.append(starts[-1] + max(count, 1) + 3)
        self.starts, self.end = starts[:-1], starts[-1] - 2

    def write(self) -> None:
        """Hours of the steps, then concrete, moulds, and what each price carries."""
        self._hours(self.starts[0])
        self._concrete(self.starts[1])
        self._moulds(self.starts[2])
        self._prices(self.starts[3])

    def of_lines(self, table: str) -> str:
        """For the rows of a table, the quantities of the lines they belong to; lines are numbered in order."""
        lines = f"{self.page.range('lines', 'line')},{self.page.range('lines', 'quantity')}"
        return f"LOOKUP({self.page.range(table, 'line')},{lines})"

    def all_pieces(self, table: str, column: str) -> Floats:
        """A column of a table times the pieces of the line of each row."""
        return np.asarray(self.value(table, column) * self.page.costing.line("quantity")[self.line_of[table]])

    def _hours(self, heading: int) -> None:
        steps = self.model.tables["plan steps"]
        self.page.headings(heading, "Hours of all lines, by the steps of the labour plans", (
            ("A", "Labour plan", ""), ("B", "Step", ""), ("C", "Hours\nh", "Hours of the step, for all pieces of all lines."),
            ("D", "Power\nkW", "What the step's machine draws."),
        ))
        plan = (self.value("steps", "plan_step") - 1).astype(np.intp)
        hours = np.zeros(steps.count)
        np.add.at(hours, plan, self.all_pieces("steps", "step_hours"))
        machines = self.model.tables["machines"].text["machine"].tolist()
        power = np.array([self.value("machines", "power")[machines.index(name)] for name in steps.text["machine"]])
        self.hours, self.power = Spread("C", heading + 1, hours), Spread("D", heading + 1, power)
        for row in range(steps.count):
            at = heading + 1 + row
            self.page.text(f"A{at}", steps.text["labour_plan"][row])
            self.page.text(f"B{at}", steps.text["step"][row])
            own = f"({self.page.range('steps', 'plan_step')}={self.page.cell('plan steps', 'plan_step', row)})"
            each = f"{self.page.range('steps', 'step_hours')}*{self.of_lines('steps')}"
            self.page.live(f"C{at}", f"SUMPRODUCT({own}*{each})", hours[row], _HOURS)
            found = f"MATCH({self.page.cell('plan steps', 'machine', row)},{self.page.range('machines', 'machine')},0)"
            self.page.live(f"D{at}", f"INDEX({self.page.range('machines', 'power')},{found})", power[row], _HOURS)

    def _concrete(self, heading: int) -> None:
        rows = self.model.tables["ingredients"]
        self.page.headings(heading, "Concrete of all lines, by ingredient", (
            ("A", "Mix", ""), ("B", "Material", ""),
            ("C", f"Mixed\n{self.measures.quantity('mixed_volume').shown}", "Concrete of this mix, for all lines."),
            ("D", f"Cost\n{self.page.costing.currency}", "What the ingredient costs in it."),
        ))
        layered = "layers" in self.model.tables
        parts = [("lines", "backing_mixed_volume" if layered else "mixed_volume"), *([("layers", "layer_mixed_volume")] if layered else [])]
        volume = np.array([
            sum(self.value(table, column)[self.model.tables[table].text["mix"] == mix].sum() for table, column in parts)
            for mix in rows.text["mix"]
        ])
        cost = volume * self.value("ingredients", "ingredient_cost")
        self.ingredients = Spread("D", heading + 1, cost)
        for row in range(rows.count):
            at = heading + 1 + row
            self.page.text(f"A{at}", rows.text["mix"][row])
            self.page.text(f"B{at}", rows.text["material"][row])
            mix = self.page.cell("ingredients", "mix", row)
            mixed = "+".join(
                f"SUMPRODUCT(({self.page.range(table, 'mix')}={mix})*{self.page.range(table, column)})" for table, column in parts
            )
            self.page.live(f"C{at}", mixed, volume[row] * self.measures.factor("mixed_volume"), _VOLUME)
            each = self.layout.based("ingredient_cost", self.page.cell("ingredients", "ingredient_cost", row))
            self.page.live(f"D{at}", f"C{at}*{each}", cost[row], self.page.money)

    def _moulds(self, heading: int) -> None:
        rows = self.model.tables["moulds"]

        def shown(name: str) -> str:
            return self.measures.quantity(name).shown

        self.page.headings(heading, "Moulds of all lines, by mould plan", (
            ("A", "Mould plan", ""), ("C", f"Board\n{shown('board_charged')}", "Board of the moulds that the lines pay for."),
            ("D", f"Joints\n{shown('joint')}", "Inner joints of those moulds."),
            ("E", f"Release\n{shown('release_face')}", "Mould faces that get release."),
        ))
        lines, line = self.model.tables["lines"].text["mould_plan"], self.page.costing.line
        parts = (
            ("C", ("board_charged", "moulds_charged")), ("D", ("joint", "pieces_per_mould", "per_mould", "quantity")),
            ("E", ("quantity", "per_cast", "release_face")),
        )
        made = []
        for letter, columns in parts:
            each = np.prod([line(column) for column in columns], axis=0)
            spread = Spread(letter, heading + 1, np.array([each[lines == plan].sum() for plan in rows.text["mould_plan"]]))
            product = "*".join(self.page.range("lines", column) for column in columns)
            for row in range(rows.count):
                own = f"({self.page.range('lines', 'mould_plan')}={self.page.cell('moulds', 'mould_plan', row)})"
                figure = spread.figures[row] * np.prod([self.measures.factor(column) for column in columns])
                self.page.live(f"{letter}{heading + 1 + row}", f"SUMPRODUCT({own}*{product})", figure, _AREA)
            made.append(spread)
        for row in range(rows.count):
            self.page.text(f"A{heading + 1 + row}", rows.text["mould_plan"][row])
        self.board, self.joints, self.release = made

    def _prices(self, heading: int) -> None:
        unit = self.page.costing.currency
        self.page.headings(heading, "What each price carries of the cost of all lines", (
            ("A", "Price", "A material, and the day from which its price holds where there are several."), ("B", "Material", ""),
            ("C", f"In mixes\n{unit}", ""), ("D", f"In moulds\n{unit}", ""),
            ("E", f"In finishes\n{unit}", ""), ("F", f"Bought in\n{unit}", ""),
            ("G", f"By pack price\n{unit}", "The part of it that moves with the pack price; the rest is carriage in."),
        ))
        carried = np.zeros(len(self.stands))
        for number, (table, row, name) in enumerate(self.stands):
            at = heading + 1 + number
            self.page.text(f"A{at}", self.model.tables[table].text["material"][row])
            self.page.text(f"B{at}", name)
            total = 0.0
            for letter, formula, figure in self._uses(table, row, f"$A{at}"):
                self.page.live(f"{letter}{at}", formula, figure, self.page.money)
                total += figure
            pack, carriage = (self.page.cell(table, column, row) for column in ("pack_price", "carriage_in"))
            price, extra = (float(self.value(table, column)[row]) for column in ("pack_price", "carriage_in"))
            carried[number] = total * price / (price + extra) if price else 0.0
            self.page.live(f"G{at}", f"IF({pack}=0,0,SUM(C{at}:F{at})*{pack}/({pack}+{carriage}))", carried[number], self.page.money)
        self.materials, self.carried = Spread("B", heading + 1, carried), Spread("G", heading + 1, carried)
        self.names = [name for _, _, name in self.stands]

    def _uses(self, table: str, row: int, key: str) -> list[tuple[str, str, float]]:
        """Column, formula and figure of what a price costs in each of its uses."""
        material = self.model.tables[table].text["material"][row]
        if table == "mix prices":
            own = self.model.tables["ingredients"].text["material"] == material
            return [("C", f"SUMPRODUCT(({self.page.range('ingredients', 'material')}={key})*{self.ingredients.cells})",
                     float(self.ingredients.figures[own].sum()))]
        if table == "board prices":
            amount, figure = self._of_plans("board_material", material, key, self.board.cells, self.board.figures)
            return [("D", f"{amount}*{self.page.cell(table, 'price_per_square_metre', row)}",
                     figure * float(self.value(table, "price_per_square_metre")[row]))]
        if table == "liquid prices":
            return [self._liquid(table, row, material, key)]
        return self._other(table, row, material, key)

    def _of_plans(self, role: str, material: str, key: str, cells: str, figures: Floats) -> tuple[str, float]:
        """The sum, over the mould plans that have a material in a role."""
        own = self.model.tables["moulds"].text[role] == material
        return f"SUMPRODUCT(({self.page.range('moulds', role)}={key})*{cells})", float(figures[own].sum())

    def _liquid(self, table: str, row: int, material: str, key: str) -> tuple[str, str, float]:
        volume = self.value("moulds", "sealant_volume")
        cells = f"{self.page.range('moulds', 'sealant_volume')}*{self.joints.cells}"
        sealant, litres = self._of_plans("sealant_material", material, key, cells, volume * self.joints.figures)
        release, faces = self._of_plans("release_material", material, key, self.release.cells, self.release.figures)
        covers = self.page.margin.layout.settings["release_covers"]
        figure = (litres + faces / self.page.costing.setting("release_covers")) * float(self.value(table, "price_per_litre")[row])
        return "D", f"({sealant}+{release}/{covers})*{self.page.cell(table, 'price_per_litre', row)}", figure

    def _other(self, table: str, row: int, material: str, key: str) -> list[tuple[str, str, float]]:
        spacing = self.value("moulds", "fixing_spacing")
        cells = f"{self.joints.cells}/{self.layout.based('fixing_spacing', self.page.range('moulds', 'fixing_spacing'))}"
        fixing, pieces = self._of_plans("fixing_material", material, key, cells, self.joints.figures / spacing)
        tape, metres = self._of_plans("tape_material", material, key, self.joints.cells, self.joints.figures)
        price = float(self.value(table, "unit_price_of_material")[row])
        made = [("D", f"({fixing}+{tape})*{self.page.cell(table, 'unit_price_of_material', row)}", (pieces + metres) * price)]
        for letter, uses, column in (("E", "finishes", "finish_line_cost"), ("F", "extras", "extra_line_cost")):
            own = self.model.tables[uses].text["material"] == material
            if own.any():
                formula = f"SUMPRODUCT(({self.page.range(uses, 'material')}={key})*{self.page.range(uses, column)}*{self.of_lines(uses)})"
                made.append((letter, formula, float(self.all_pieces(uses, column)[own].sum())))
        return made
