"""From a price book and lines to the rows of the costing model: every link resolved, no arithmetic done.

Prices are taken as of each line's day. Where quotes of several days meet in one run and a price differs between them,
each set of prices gets its own rows (``White cement [2026-03-01]``), so that every figure keeps one origin.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing import money
from pricing.book.price_book import PriceBook, SheetTable, price_row_on
from pricing.costing import declared
from pricing.costing.lines import LineSet, place_of
from pricing.costing.sheet_boards import KERF, Sheet, sheet_share
from pricing.costing.tables import Floats, Given, Model, Rows, TableSpec, Text, Texts
from pricing.problems import Problems
from pricing.rules import moulds
from pricing.rules.shapes import SHAPES

#: The key of the row of zeros that stands for "there is none", so that one formula serves a whole column.
NONE = "none"

#: By basis: amount is a mass, amount is a loose volume, volume of one of the amount [m³], what drives it.
BASES: dict[str, tuple[float, float, float, str]] = {
    "parts by mass": (1.0, 0.0, 0.0, "by_parts"),
    "parts by volume": (0.0, 1.0, 0.0, "by_parts"),
    "kg/m3": (1.0, 0.0, 0.0, "by_cubic_metre"),
    "L/m3": (0.0, 0.0, 1e-3, "by_cubic_metre"),
    "% of binder": (1.0, 0.0, 0.0, "by_binder"),
    "mL/kg binder": (0.0, 0.0, 1e-6, "by_binder"),
    "% of volume": (0.0, 0.0, 1.0, "by_cubic_metre"),
}

AIR = "air"

#: Columns of the Machines sheet by their names in the model.
MACHINE_COLUMNS = (("machine_price", "price"), ("resale", "resale"), ("life_hours", "life"), ("upkeep", "upkeep"), ("power", "power"))

#: The price table that each material of a mould plan stands in.
ROLES = (("board", "board"), ("sealant", "liquid"), ("release", "liquid"), ("fixing", "other"), ("tape", "other"))

#: How a step repeats in a run, by the word it is counted by: as often as counted, or once for each mould; else by the piece.
REPEATED = {**dict.fromkeys(("order", "batch", "mould", "cast", "piece"), "count"), **dict.fromkeys(("m2 mould", "m joint"), "mould")}


class RowsBuilder:
    """Collects the rows of a table one by one: for the small tables, where clarity counts more than speed."""

    def __init__(self, spec: TableSpec) -> None:
        self.spec = spec
        self.numbers: dict[str, list[float]] = {c.name: [] for c in spec.columns if isinstance(c, Given)}
        self.words: dict[str, list[str]] = {c.name: [] for c in spec.columns if isinstance(c, Text)}
        self.places: dict[str, list[str]] = {name: [] for name in self.numbers}
        self.count = 0

    def add(self, **cells: float | str | tuple[float, str]) -> None:
        """Add a row: numbers, words, or numbers with the place they stand at; what the table does not have is left."""
        for name, numbers in self.numbers.items():
            cell = cells.get(name, 0.0)
            value, place = cell if isinstance(cell, tuple) else (cell, "")
            numbers.append(float(value))
            self.places[name].append(place)
        for name, words in self.words.items():
            words.append(str(cells.get(name, "")))
        self.count += 1

    def rows(self) -> Rows:
        """The finished table."""
        given = {name: np.array(values, dtype=np.float64) for name, values in self.numbers.items()}
        text = {name: np.array(values, dtype=object) for name, values in self.words.items()}
        return Rows(self.spec, self.count, given, text, {k: v for k, v in self.places.items() if any(v)})


def safe_key(name: str) -> str:
    """A name as the model's workbooks look it up: no character that a spreadsheet's MATCH reads as a wildcard.

    >>> safe_key("Sand 0/2*")
    'Sand 0/2∗'
    """
    cleaned = name.replace("*", "∗").replace("?", "？").replace("~", "∼").strip()
    return cleaned if len(cleaned) <= 200 else f"{cleaned[:180]}…{len(cleaned)}"


def number_or(value: float, otherwise: float) -> float:
    """The value, or what a blank stands for."""
    return otherwise if np.isnan(value) else float(value)


class Builder:
    """Builds the model of one run."""

    def __init__(self, book: PriceBook, lines: LineSet, problems: Problems) -> None:
        self.book = book
        self.lines = lines
        self.problems = problems
        self._price_rows: dict[tuple[str, Any], int | None] = {}
        days = np.unique(lines.day)
        self.sets = self._price_sets(days)
        self.set_of_line = np.array([self.sets[day] for day in lines.day], dtype=object)

    # prices of a day

    def price_row(self, material: str, day: Any) -> int | None:
        """The row of Materials in force on a day, or None where it has no price yet."""
        if (material, day) not in self._price_rows:
            self._price_rows[material, day] = price_row_on(self.book, material, day)
        return self._price_rows[material, day]

    def _price_sets(self, days: NDArray[np.datetime64]) -> dict[Any, str]:
        """For each day the label of its set of prices; the empty label where all days share one."""
        materials = dict.fromkeys(self.book.tables["Materials"].columns["material"].tolist())
        seen: dict[tuple[int | None, ...], Any] = {}
        first = {}
        for day in days:
            first[day] = seen.setdefault(tuple(self.price_row(material, day) for material in materials), day)
        if len(seen) <= 1:
            return dict.fromkeys(first, "")
        return {day: str(opening) for day, opening in first.items()}

    def keyed(self, name: str, price_set: str) -> str:
        """A name as a key of the model: with its set of prices where there are several."""
        return f"{safe_key(name)} [{price_set}]" if price_set and name != NONE else safe_key(name)

    def day_of(self, price_set: str) -> Any:
        """A day whose prices the set holds."""
        return next(day for day, label in self.sets.items() if label == price_set)

    # tables

    def build(self) -> Model:
        """All tables of the model."""
        lines, tables = self.lines, self.book.tables
        mixes = self._used("mix")
        mould_plans = self._used("mould_plan")
        steps = self._expanded("Labour", "labour_plan", lines.plans["labour_plan"])
        finishes = self._expanded("Finishes", "finish", lines.plans["finish"])
        products = tables["Products"].columns["product"][lines.product]
        extras = self._expanded("Extras", "product", products)
        take_offs = self._take_offs()
        made = [
            self._settings(),
            *self._prices(mixes, mould_plans, finishes, extras),
            self._ingredients(mixes),
            self._mixes(mixes),
            self._moulds(mould_plans),
            self._grades(),
            self._machines(),
            *take_offs,
            *self._steps(*steps),
            *self._finishes(*finishes),
            *self._extras(*extras),
            self._batches(),
            self._lines(take_offs),
            self._bands(),
            self._customers(),
            self._quotes(),
        ]
        return Model(made)

    def _used(self, plan: str) -> list[tuple[str, str]]:
        """Names of a plan that the lines use, each with its set of prices."""
        return list(dict.fromkeys(zip(self.lines.plans[plan].tolist(), self.set_of_line.tolist(), strict=True)))

    def _expanded(self, sheet: str, column: str, names: Texts) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """For every line the rows of *sheet* under its name: line numbers and row numbers, both counted from 0."""
        under: dict[str, list[int]] = {}
        for row, name in enumerate(self.book.tables[sheet].columns[column].tolist()):
            under.setdefault(name, []).append(row)
        lists = [np.array(under.get(name, ()), dtype=np.intp) for name in names.tolist()]
        of_line = np.repeat(np.arange(len(lists), dtype=np.intp), [len(rows) for rows in lists])
        return of_line, np.concatenate(lists) if lists else np.zeros(0, dtype=np.intp)

    def _setting(self, name: str) -> float:
        value = self.book.settings.get(name, 0.0)
        return number_or(value, 0.0) if isinstance(value, float | int) else 0.0

    def _settings(self) -> Rows:
        digits = money.minor_units(str(self.book.settings["currency"]))
        step = self._setting("price_step") or 10.0**-digits
        cash = self._setting("cash_step")
        grades = self.book.tables["Grades"].columns["grade"].tolist()
        refit = str(self.book.settings.get("refit_grade") or "") or (grades[0] if grades else NONE)
        typed: dict[str, tuple[float, str]] = {
            "target_margin": (self._setting("target_margin"), "target_margin"),
            "lowest_margin": (self._setting("lowest_margin"), "lowest_margin"),
            "price_step": (step, "price_step"),
            "round_up": (float(self.book.settings["price_rounding"] == "up"), "price_rounding"),
            "minor_digits": (float(digits), ""),
            "smallest_order": (self._setting("smallest_order"), "smallest_order"),
            "deposit_share": (self._setting("deposit"), "deposit"),
            "tax_down": (float(self.book.settings["tax_rounding"] == "down"), "tax_rounding"),
            "cash_step": (cash, "cash_step"),
            "standard_tax_rate": (self._setting("tax_rate"), "tax_rate"),
            "cash_divisor": (cash or 1.0, ""),
            "mix_allowance": (self._setting("mix_allowance"), "mix_allowance"),
            "mixer_load": (self._setting("mixer_load"), "mixer_load"),
            "electricity_price": (self._setting("electricity_price"), "electricity_price"),
            "release_covers": (self._setting("release_covers"), "release_covers"),
            "one_person_lift": (self._setting("one_person_lift"), "one_person_lift"),
            "board_by_sheets": (float(self.book.settings.get("board_bought_by") == "sheets"), "board_bought_by"),
            "cumulative_average": (float(self.book.settings.get("learning_form") == "cumulative average"), "learning_form"),
            "overhead_per_labour_hour": (self._setting("overhead_per_labour_hour"), "overhead_per_labour_hour"),
            "overhead_per_year": (self._setting("overhead_per_year"), "overhead_per_year"),
            "productive_hours": (self._setting("productive_hours_per_year") or 1.0, "productive_hours_per_year"),
            "one_cubic_metre": (1.0, ""),
        }
        builder = RowsBuilder(declared.SETTINGS)
        cells: dict[str, Any] = {name: (value, self._setting_place(origin)) for name, (value, origin) in typed.items()}
        builder.add(setting="", refit_grade=safe_key(refit), **cells)
        return builder.rows()

    def _setting_place(self, name: str) -> str:
        cell = self.book.setting_cells.get(name, "")
        return f"Workshop!{cell}" if cell and "!" not in cell else cell

    def _prices(
        self, mixes: Sequence[tuple[str, str]], plans: Sequence[tuple[str, str]],
        finishes: tuple[NDArray[np.intp], NDArray[np.intp]], extras: tuple[NDArray[np.intp], NDArray[np.intp]],
    ) -> list[Rows]:  # fmt: skip
        """The price of everything used, in four tables by the unit in which it is used."""
        tables = self.book.tables
        roles: dict[str, dict[tuple[str, str], None]] = {name: {} for name in ("mix", "board", "liquid", "other")}
        recipe, plan_table = tables["Mixes"], tables["Moulds"]
        wanted_mixes: dict[str, list[str]] = {}
        for mix, price_set in mixes:
            wanted_mixes.setdefault(mix, []).append(price_set)
        for mix, material in zip(recipe.columns["mix"].tolist(), recipe.columns["material"].tolist(), strict=True):
            for price_set in wanted_mixes.get(mix, ()):
                roles["mix"][material, price_set] = None
        for plan, price_set in plans:
            for row in np.flatnonzero(plan_table.columns["mould_plan"] == plan):
                for column, role in ROLES:
                    roles[role][plan_table.columns[column][row] or NONE, price_set] = None
            if not plan:
                for role in ("board", "liquid", "other"):
                    roles[role][NONE, price_set] = None
        for (of_line, rows), sheet in ((finishes, "Finishes"), (extras, "Extras")):
            pairs = zip(tables[sheet].columns["material"][rows].tolist(), self.set_of_line[of_line].tolist(), strict=True)
            roles["other"].update(dict.fromkeys(pairs))
        specs = (declared.MIX_PRICES, declared.BOARD_PRICES, declared.LIQUID_PRICES, declared.OTHER_PRICES)
        return [self._price_table(spec, names) for spec, names in zip(specs, roles.values(), strict=True)]

    def _price_table(self, spec: TableSpec, names: Iterable[tuple[str, str]]) -> Rows:
        builder = RowsBuilder(spec)
        done = set()
        for material, price_set in names:
            key = self.keyed(material, price_set)
            if key in done:
                continue
            done.add(key)
            if material == NONE or material.casefold() == AIR:
                builder.add(material=key, kind="", supplier="", priced_on="", price_place="", pack_unit="", pack_size=1.0,
                            density=1.0 if material == NONE else 0.0, kilograms_per_pack_unit=1.0, square_metres_per_pack_unit=1.0)  # fmt: skip
                continue
            row = self.price_row(material, self.day_of(price_set))
            if row is None:
                self._no_price(material, price_set)
                row = int(np.flatnonzero(self.book.tables["Materials"].columns["material"] == material)[0])
            self._price_row(builder, spec, key, row)
        return builder.rows()

    def _price_row(self, builder: RowsBuilder, spec: TableSpec, key: str, row: int) -> None:
        table = self.book.tables["Materials"]
        cell: Callable[[str], float] = lambda name: float(table.columns[name][row])  # noqa: E731
        place: Callable[[str], str] = lambda name: place_of(table, name, row)  # noqa: E731
        unit = table.columns["pack_unit"][row]
        density = number_or(cell("density"), 0.0)
        bulk = number_or(cell("bulk_density"), 0.0)
        dated = table.columns["priced_on"][row]
        builder.add(
            material=key, kind=table.columns["kind"][row], supplier=table.columns["supplier"][row],
            priced_on="" if np.isnat(dated) else str(dated), price_place=place("pack_price"), pack_unit=unit,
            pack_size=(cell("pack_size"), place("pack_size")), pack_price=(cell("pack_price"), place("pack_price")),
            carriage_in=(number_or(cell("carriage"), 0.0), place("carriage")),
            wastage=(number_or(cell("wastage"), 0.0), place("wastage")),
            kilograms_per_pack_unit=float(unit == "kg"), litres_per_pack_unit=float(unit == "L"),
            square_metres_per_pack_unit=float(unit == "m2"), sheets_per_pack_unit=float(unit == "sheet"),
            density=(density, place("density")) if density else 1.0,
            bulk_density=(bulk, place("bulk_density")) if bulk else 0.0,
            sheet_length=(number_or(cell("sheet_length"), 0.0), place("sheet_length")),
            sheet_width=(number_or(cell("sheet_width"), 0.0), place("sheet_width")),
            board=(number_or(cell("sheet_thickness"), 0.0), place("sheet_thickness")),
        )  # fmt: skip

    def _no_price(self, material: str, price_set: str) -> None:
        day = self.day_of(price_set)
        table = self.book.tables["Materials"]
        rows = np.flatnonzero(table.columns["material"] == material)
        earliest = int(rows[np.argmin(table.columns["priced_on"][rows])])
        for line in np.flatnonzero(self.lines.day == day)[:1]:
            enquiry = int(self.lines.enquiry[line])
            where = self.book.tables["Enquiries"].cell("date", enquiry) if enquiry >= 0 else ""
            self.problems.add(
                "no-price-yet",
                f'date {day}: "{material}" has no price yet on that day; its first price holds from '
                f"{table.columns['priced_on'][earliest]} (Materials!{table.cell('priced_on', earliest)}); "
                "use a later date, or add a row with an earlier one",
                sheet="Enquiries" if where else "Materials",
                cell=where or table.cell("priced_on", earliest),
            )

    def _ingredients(self, mixes: Sequence[tuple[str, str]]) -> Rows:
        table = self.book.tables["Mixes"]
        kinds = self._kinds()
        builder = RowsBuilder(declared.INGREDIENTS)
        for mix, price_set in mixes:
            for row in np.flatnonzero(table.columns["mix"] == mix).tolist():
                material, basis = table.columns["material"][row], table.columns["basis"][row]
                plain, bulk, volume, driver = BASES[basis]
                kind = kinds.get(material, AIR)
                builder.add(
                    ingredient=builder.count + 1, mix=self.keyed(mix, price_set), material=self.keyed(material, price_set),
                    basis=basis, amount=(float(table.columns["amount"][row]), place_of(table, "amount", row)),
                    plain_amount=plain, bulk_amount=bulk, volume_of_amount=volume,
                    by_parts=float(driver == "by_parts"), by_cubic_metre=float(driver == "by_cubic_metre"),
                    by_binder=float(driver == "by_binder"), is_binder=float(kind == "binder"),
                    water_share=self._water_share(material, kind), is_pigment=float(kind == "pigment"), is_air=float(kind == AIR),
                )  # fmt: skip
        return builder.rows()

    def _water_share(self, material: str, kind: str) -> float:
        """All of the water; of an admixture whose solids are given, the rest."""
        table = self.book.tables["Materials"]
        if kind == "water":
            return 1.0
        if kind != "admixture" or "solids" not in table.columns:
            return 0.0
        solids = table.columns["solids"][np.flatnonzero(table.columns["material"] == material)[-1]]
        return 0.0 if np.isnan(solids) else 1.0 - float(solids)

    def _kinds(self) -> dict[str, str]:
        table = self.book.tables["Materials"]
        return dict(zip(table.columns["material"].tolist(), table.columns["kind"].tolist(), strict=True))

    def _mixes(self, mixes: Sequence[tuple[str, str]]) -> Rows:
        table = self.book.tables["Mixes"]
        builder = RowsBuilder(declared.MIXES)
        for mix, price_set in mixes:
            bases = table.columns["basis"][table.columns["mix"] == mix].tolist()
            parts = float(any(BASES[basis][3] == "by_parts" for basis in bases))
            builder.add(mix=self.keyed(mix, price_set), has_parts=parts, no_parts=1.0 - parts)
        return builder.rows()

    def _moulds(self, plans: Sequence[tuple[str, str]]) -> Rows:
        table = self.book.tables["Moulds"]
        builder = RowsBuilder(declared.MOULDS)
        for plan, price_set in plans:
            rows = np.flatnonzero(table.columns["mould_plan"] == plan)
            if not plan or not len(rows):
                nothing = {f"{column}_material": NONE for column, _ in ROLES}
                builder.add(mould_plan=self.keyed(plan or NONE, price_set), casts_per_mould=1.0, fixing_spacing=1.0, **nothing)
                continue
            row = int(rows[0])
            given: dict[str, Any] = {}
            for name, column, blank in (("casts_per_mould", "casts", 1.0), ("sealant_radius", "sealant_radius", 0.0),
                                        ("fixing_spacing", "fixing_spacing", 1.0), ("refit_every", "refit_every", 0.0),
                                        ("refit_minutes", "refit_minutes", 0.0)):  # fmt: skip
                given[name] = (number_or(float(table.columns[column][row]), blank), place_of(table, column, row))
            for name in ("board", "sealant", "fixing", "tape", "release"):
                given[f"{name}_material"] = self.keyed(table.columns[name][row] or NONE, price_set)
            builder.add(mould_plan=self.keyed(plan, price_set), **given)
        return builder.rows()

    def _grades(self) -> Rows:
        table = self.book.tables["Grades"]
        builder = RowsBuilder(declared.GRADES)
        builder.add(grade=NONE, hourly_cost=0.0)
        for row, grade in enumerate(table.columns["grade"].tolist()):
            builder.add(grade=safe_key(grade), hourly_cost=(float(table.columns["hourly_cost"][row]), place_of(table, "hourly_cost", row)))
        return builder.rows()

    def _machines(self) -> Rows:
        table = self.book.tables["Machines"]
        interest = self._setting("interest_rate") if "interest_rate" in self.book.settings else 0.0
        rate = (interest, self._setting_place("interest_rate"))
        builder = RowsBuilder(declared.MACHINES_WITH_INTEREST if interest else declared.MACHINES)
        # Nothing is lost in worth by the machine that is not there: it is sold for what it cost.
        builder.add(machine=NONE, machine_price=1.0, resale=1.0, life_hours=1.0, upkeep=0.0, power=0.0, hours_used_per_year=1.0)
        yearly = table.columns.get("hours_per_year", np.full(len(table), np.nan))
        for row, machine in enumerate(table.columns["machine"].tolist()):
            given: dict[str, Any] = {
                name: (number_or(float(table.columns[column][row]), 0.0), place_of(table, column, row))
                for name, column in MACHINE_COLUMNS
            }
            used = (number_or(float(yearly[row]), given["life_hours"][0]), place_of(table, "hours_per_year", row))
            builder.add(machine=safe_key(machine), **given, hours_used_per_year=used, interest_rate=rate)
        return builder.rows()

    def labels(self) -> Texts:
        """What each line is called in the model: its product."""
        return np.array([safe_key(name) for name in self.book.tables["Products"].columns["product"][self.lines.product]], dtype=object)

    def _take_offs(self) -> list[Rows]:
        lines = self.lines
        shapes = self.book.tables["Products"].columns["shape"][lines.product]
        labels = self.labels()
        made = []
        for name, shape in SHAPES.items():
            chosen = np.flatnonzero(shapes == name)
            if not len(chosen):
                continue
            given: dict[str, Floats] = {"line": chosen + 1.0}
            places: dict[str, Sequence[str]] = {}
            for dimension in shape.dimensions:
                values = lines.dimensions[dimension][chosen]
                given[dimension] = np.where(np.isnan(values), shape.defaults.get(dimension, 0.0), values)
                places[dimension] = [lines.places[dimension][line] for line in chosen]
            text = {"piece": labels[chosen], "mould_plan": self._keys("mould_plan")[chosen]}
            made.append(Rows(declared.TAKE_OFFS[name], len(chosen), given, text, places))
        return made

    def _keys(self, plan: str) -> Texts:
        names = (name or NONE for name in self.lines.plans[plan].tolist())
        return np.array([self.keyed(name, price_set) for name, price_set in zip(names, self.set_of_line, strict=True)], dtype=object)

    def _column_places(self, table: SheetTable, column: str, rows: NDArray[np.intp]) -> list[str]:
        letter = table.letters.get(column, "")
        return [f"{table.sheet}!{letter}{row}" if letter else "" for row in table.rows[rows]]

    def _steps(self, of_line: NDArray[np.intp], rows: NDArray[np.intp]) -> list[Rows]:
        """The steps of the plans in use, and those of the lines, which point at them; waits alone cost nothing."""
        columns = self.book.tables["Labour"].columns
        busy = np.flatnonzero(np.nan_to_num(columns["minutes"][rows]) > 0)
        of_line, rows = of_line[busy], rows[busy]
        used, plan_step = np.unique(rows, return_inverse=True)
        slope = columns.get("learning", np.full(len(columns["step"]), np.nan))[used]
        slope = np.where(np.isnan(slope), 1.0, slope)
        learning = bool((slope != 1.0).any())
        steps = Rows(
            declared.steps_table(learning=learning), len(rows),
            {
                "step_number": np.arange(1.0, len(rows) + 1), "line": of_line + 1.0, "plan_step": plan_step + 1.0,
                "average_minutes_factor": np.ones(len(rows)),
            },
            {"piece": self.labels()[of_line], "step": columns["step"][rows], "per": columns["per"][rows]},
        )  # fmt: skip
        return [self._plan_steps(used, slope, learning), steps]

    def _plan_steps(self, used: NDArray[np.intp], slope: Floats, learning: bool) -> Rows:
        table = self.book.tables["Labour"]
        columns = table.columns
        per = columns["per"][used]
        good = np.array([word in declared.COUNTS_GOOD_PIECES for word in per], dtype=bool)
        repeated = {
            f"by_{name}": np.array([float(REPEATED.get(word, "piece") == name) for word in per]) for name in ("count", "piece", "mould")
        }
        return Rows(
            declared.plan_steps_table(learning=learning, interest=bool(self._setting("interest_rate"))), len(used),
            {
                "plan_step": np.arange(1.0, len(used) + 1), "minutes": columns["minutes"][used].astype(np.float64),
                "lost_on_reject": np.where(good, np.nan_to_num(columns["lost_on_reject"][used]), 0.0),
                "builds_mould": np.array([float(word in declared.BUILDS_MOULD) for word in per]), "learning_slope": slope, **repeated,
            },
            {
                "labour_plan": columns["labour_plan"][used], "step": columns["step"][used], "per": per,
                "grade": np.array([safe_key(name) if name else NONE for name in columns["grade"][used]], dtype=object),
                "machine": np.array([safe_key(name) if name else NONE for name in columns["machine"][used]], dtype=object),
            },
            {
                **{name: self._column_places(table, name, used) for name in ("minutes", "lost_on_reject")},
                "learning_slope": self._column_places(table, "learning", used),
            },
        )  # fmt: skip

    def _parts(self, of_line: NDArray[np.intp], rows: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
        """Distinct rows of a sheet with the first line that uses each at its prices, and for every use its number from 1."""
        numbers: dict[tuple[int, str], int] = {}
        first: list[int] = []
        which = np.zeros(len(rows))
        for use, key in enumerate(zip(rows.tolist(), self.set_of_line[of_line].tolist(), strict=True)):
            if key not in numbers:
                numbers[key] = len(numbers) + 1
                first.append(use)
            which[use] = numbers[key]
        return rows[first], of_line[first], which

    def _finishes(self, of_line: NDArray[np.intp], rows: NDArray[np.intp]) -> list[Rows]:
        table = self.book.tables["Finishes"]
        columns = table.columns
        used, lines, part = self._parts(of_line, rows)
        parts = Rows(
            declared.FINISH_PARTS, len(used),
            {"finish_part": np.arange(1.0, len(used) + 1), "covers": columns["covers"][used].astype(np.float64),
             "coats": np.where(np.isnan(columns["coats"][used]), 1.0, columns["coats"][used])},
            {"finish": columns["finish"][used], "material": self._materials(table, lines, used), "surface": columns["surface"][used]},
            {name: self._column_places(table, name, used) for name in ("coats", "covers")},
        )  # fmt: skip
        uses = Rows(
            declared.FINISHES, len(rows),
            {"finish_number": np.arange(1.0, len(rows) + 1), "line": of_line + 1.0, "finish_part": part},
            {"piece": self.labels()[of_line], "material": self._materials(table, of_line, rows), "surface": columns["surface"][rows]},
        )  # fmt: skip
        return [parts, uses]

    def _extras(self, of_line: NDArray[np.intp], rows: NDArray[np.intp]) -> list[Rows]:
        table = self.book.tables["Extras"]
        columns = table.columns
        used, lines, part = self._parts(of_line, rows)
        parts = Rows(
            declared.EXTRA_PARTS, len(used),
            {"extra_part": np.arange(1.0, len(used) + 1), "extra_amount": columns["amount"][used].astype(np.float64)},
            {"piece": self.labels()[lines], "material": self._materials(table, lines, used), "per": columns["per"][used]},
            {"extra_amount": self._column_places(table, "amount", used)},
        )  # fmt: skip
        uses = Rows(
            declared.EXTRAS, len(rows),
            {"extra_number": np.arange(1.0, len(rows) + 1), "line": of_line + 1.0, "extra_part": part},
            {"piece": self.labels()[of_line], "material": self._materials(table, of_line, rows), "per": columns["per"][rows]},
        )  # fmt: skip
        return [parts, uses]

    def _materials(self, table: SheetTable, of_line: NDArray[np.intp], rows: NDArray[np.intp]) -> Texts:
        names = table.columns["material"][rows].tolist()
        sets = self.set_of_line[of_line].tolist()
        return np.array([self.keyed(name, price_set) for name, price_set in zip(names, sets, strict=True)], dtype=object)

    def _batch_keys(self) -> list[tuple[str, str]]:
        return list(zip(self.lines.quote.tolist(), self._keys("mix").tolist(), strict=True))

    def _batches(self) -> Rows:
        batches = dict.fromkeys(self._batch_keys())
        return Rows(
            declared.BATCHES, len(batches), {"batch": np.arange(1.0, len(batches) + 1)},
            {"quote": np.array([quote for quote, _ in batches], dtype=object), "mix": np.array([mix for _, mix in batches], dtype=object)},
        )  # fmt: skip

    def _sheet_board(self, take_offs: Sequence[Rows]) -> Floats:
        """Each line's share of whole sheets [m²/mould]; zero where board is charged by what is cut."""
        shares = np.zeros(len(self.lines))
        if self.book.settings.get("board_bought_by") != "sheets":
            return shares
        plans, boards = self.book.tables["Moulds"].columns, self.book.tables["Materials"].columns
        kerf = float(self._setting("saw_kerf")) or KERF
        for rows in take_offs:
            shape = SHAPES[rows.spec.name.partition(": ")[2]]
            for row, line in enumerate((rows.given["line"] - 1).astype(int).tolist()):
                plan = np.flatnonzero(plans["mould_plan"] == self.lines.plans["mould_plan"][line])
                price = self.price_row(plans["board"][plan[0]], self.lines.day[line]) if len(plan) and plans["board"][plan[0]] else None
                if price is None:
                    continue
                values = shape.take_off({name: float(rows.given[name][row]) for name in shape.dimensions}, boards["sheet_thickness"][price])
                shares[line] = float(values["mould_area"])
                if boards["pack_unit"][price] == "sheet" and shape.panels:
                    sheet = Sheet(float(boards["sheet_length"][price]), float(boards["sheet_width"][price]))
                    shares[line] = sheet_share(shape, values, self._whole_moulds(line, float(plans["casts"][plan[0]])), sheet, kerf)
        return shares

    def _whole_moulds(self, line: int, casts_per_mould: float) -> int:
        """Moulds that are cut together for a line, by the rules that charge them."""
        rejects = float(np.nan_to_num(self.book.tables["Products"].columns["rejects"][self.lines.product[line]]))
        worn = moulds.moulds_worn(1.0, moulds.casts(float(self.lines.quantity[line]), rejects), number_or(casts_per_mould, 1.0))
        return int(moulds.moulds_made(worn, 1.0))

    def _lines(self, take_offs: Sequence[Rows]) -> Rows:
        lines, count = self.lines, len(self.lines)
        numbers = {key: number for number, key in enumerate(dict.fromkeys(self._batch_keys()), 1)}
        quotes = {quote: number for number, quote in enumerate(lines.quotes(), 1)}
        products = self.book.tables["Products"].columns
        given: dict[str, Floats] = {
            "line": np.arange(1.0, count + 1),
            "quote_number": np.array([quotes[quote] for quote in lines.quote.tolist()], dtype=np.float64),
            "batch": np.array([numbers[key] for key in self._batch_keys()], dtype=np.float64),
            "quantity": lines.quantity,
            "rejects": np.nan_to_num(products["rejects"][lines.product]),
            "made_for_stock": (products["made_for"][lines.product] == "stock").astype(np.float64),
            "has_mould": (lines.plans["mould_plan"] != "").astype(np.float64),
            "moulds_at_once": (lines.plans["mould_plan"] != "").astype(np.float64),
            "sheet_board": self._sheet_board(take_offs),
            "per_piece": np.ones(count),
            "price_is_given": (~np.isnan(lines.given_price)).astype(np.float64),
            "given_price": np.nan_to_num(lines.given_price),
        }
        text = {"quote": lines.quote, "piece": self.labels(), "mix": self._keys("mix"), "mould_plan": self._keys("mould_plan")}
        places = {name: lines.places[name] for name in ("rejects", "given_price")}
        places["made_for_stock"] = lines.places["made_for"]
        if "quantity" in lines.places:
            places["quantity"] = lines.places["quantity"]
        return Rows(declared.LINES, count, given, text, places)

    def _bands(self) -> Rows:
        table = self.book.tables["Delivery"]
        builder = RowsBuilder(declared.BANDS)
        builder.add(band=1, zone=NONE, up_to=1e9, charge=0.0)
        order = sorted(range(len(table)), key=lambda row: (table.columns["zone"][row], table.columns["up_to"][row]))
        for row in order:
            builder.add(band=builder.count + 1, zone=safe_key(table.columns["zone"][row]),
                        up_to=(float(table.columns["up_to"][row]), place_of(table, "up_to", row)),
                        charge=(float(table.columns["charge"][row]), place_of(table, "charge", row)))  # fmt: skip
        return builder.rows()

    def _customers(self) -> Rows:
        table = self.book.tables["Customers"]
        rows = {name: row for row, name in enumerate(table.columns["customer"].tolist())}
        builder = RowsBuilder(declared.CUSTOMERS)
        for customer in dict.fromkeys(self.lines.customer.tolist()):
            row = rows.get(customer)
            if row is None:
                builder.add(customer=safe_key(customer) or NONE)
                continue
            own = float(table.columns["tax_rate"][row])
            builder.add(
                customer=safe_key(customer), has_own_tax_rate=float(not np.isnan(own)),
                discount_rate=(number_or(float(table.columns["discount"][row]), 0.0), place_of(table, "discount", row)),
                own_tax_rate=(number_or(own, 0.0), "" if np.isnan(own) else place_of(table, "tax_rate", row)),
            )  # fmt: skip
        return builder.rows()

    def _quotes(self) -> Rows:
        table = self.book.tables["Customers"]
        zones = dict(zip(table.columns["customer"].tolist(), table.columns["delivery_zone"].tolist(), strict=True))
        builder = RowsBuilder(declared.QUOTES)
        customers = dict(zip(self.lines.quote.tolist(), self.lines.customer.tolist(), strict=True))
        for number, quote in enumerate(self.lines.quotes(), 1):
            customer = customers[quote]
            zone = safe_key(zones.get(customer, "") or NONE)
            builder.add(quote_number=number, quote=quote, customer=safe_key(customer) or NONE, zone=zone)
        return builder.rows()


def build_model(book: PriceBook, lines: LineSet, problems: Problems) -> Model:
    """The costing model of some lines, ready to be evaluated, written as a workbook, or explained.

    Parameters
    ----------
    problems : collects what cannot be priced, such as a material without a price on a line's day
    """
    return Builder(book, lines, problems).build()

