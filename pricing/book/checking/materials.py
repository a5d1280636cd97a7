"""Whether each material is sold in a unit that its use can count, and carries the densities that it needs there."""

from __future__ import annotations

import math
from dataclasses import replace

from pricing.book.checking.sheet_view import SheetView
from pricing.book.price_book import PriceBook, is_air
from pricing.book.shown_units import heading_unit
from pricing.book.wording.reporter import in_unit_of, shown_for
from pricing.book.wording.sentences import listed, number_text, quoted
from pricing.dataclass import dataclass
from pricing.problems import Problems


@dataclass(frozen=True, slots=True)
class Role:
    """What a material is used as.

    Parameters
    ----------
    words : as it stands in a sentence
    kinds : the kinds that it usually is of
    units : the pack units that can be counted there
    by_density : pack units that can be counted where the density is given
    """

    words: str
    kinds: tuple[str, ...]
    units: tuple[str, ...]
    by_density: tuple[str, ...] = ()


ROLES: dict[str, Role] = {
    "board": Role("the board of a mould", ("board",), ("sheet", "m2")),
    "sealant": Role("the sealant of a mould", ("sealant",), ("L",), ("kg",)),
    "fixing": Role("the fixing of a mould", ("fixing",), ("each",)),
    "tape": Role("the tape of a mould", ("tape",), ("m",)),
    "release": Role("the release of a mould", ("release",), ("L",), ("kg",)),
}
INGREDIENT = Role(
    "an ingredient of a mix", ("binder", "aggregate", "water", "pigment", "admixture", "fibre"), ("kg",), ("L",)
)


class MaterialChecks:
    """Checks of the Materials sheet and of everything that names a material.

    Parameters
    ----------
    book : the price book
    problems : where problems go
    """

    def __init__(self, book: PriceBook, problems: Problems) -> None:
        self.book = book
        self.problems = problems
        self.materials = SheetView(book, problems, "Materials")
        self.rows: dict[str, list[int]] = {}
        for index, name in enumerate(self.materials.texts("material")):
            self.rows.setdefault(name, []).append(index)
        self._looked_at: set[tuple[str, str, str]] = set()
        self.units = self.materials.texts("pack_unit")
        self.kinds = self.materials.texts("kind")
        self.density = self.materials.numbers("density")
        self.bulk_density = self.materials.numbers("bulk_density")

    def check(self) -> None:
        """Problems: changed-pack-unit, changed-kind, wrong-pack-unit, missing-property, mixed-parts, no-binder,
        too-much-air, only-shares; odd-kind as a warning.
        """
        self._histories()
        moulds = SheetView(self.book, self.problems, "Moulds")
        for column, role in ROLES.items():
            for index, name in enumerate(moulds.texts(column)):
                self._used(moulds, column, index, name, role)
                if column == "board":
                    self._needs(name, role, "sheet thickness", "sheet_thickness", "18")
        mixes = SheetView(self.book, self.problems, "Mixes")
        bases = mixes.texts("basis")
        for index, name in enumerate(mixes.texts("material")):
            if is_air(name) and name not in self.rows:
                if bases[index] and bases[index] != "% of volume":
                    near = "air needs none where its basis is % of volume"
                    mixes.report(
                        "unknown-name", "material", index, what="material", found=name, sheet="Materials", near=near
                    )
                continue
            self._used(mixes, "material", index, name, INGREDIENT)
            self._needs(name, INGREDIENT, "density", "density", "2650")
            if bases[index] == "parts by volume":
                self._needs(name, INGREDIENT, "bulk density, for parts by volume", "bulk_density", "1600")
        for sheet in ("Moulds", "Mixes"):
            self._sheets_have_areas(SheetView(self.book, self.problems, sheet))
        self._mixes(mixes)

    def _histories(self) -> None:
        for name, rows in self.rows.items():
            for values, column, code in () if len(rows) == 1 or not name else (
                (self.units, "pack_unit", "changed-pack-unit"),
                (self.kinds, "kind", "changed-kind"),
            ):
                first = next((row for row in rows if values[row]), None)
                for row in rows:
                    if first is not None and values[row] and values[row] != values[first]:
                        self.materials.report(
                            code, column, row, material=quoted(name), found=values[row], before=values[first],
                            other=int(self.materials.table.rows[first]),
                        )

    def _used(self, view: SheetView, column: str, index: int, name: str, role: Role) -> None:
        rows = self.rows.get(name)
        if not name or not rows:
            return
        unit, kind = self.units[rows[0]], self.kinds[rows[0]]
        if unit and unit not in role.units + role.by_density:
            needed = listed(role.units)
            if role.by_density:
                needed += f" (or {listed(role.by_density)} with a density)"
            view.report(
                "wrong-pack-unit", column, index, material=quoted(name), role=role.words, found=unit, needed=needed
            )
        elif unit in role.by_density and (name, role.words, unit) not in self._looked_at:
            self._looked_at.add((name, role.words, unit))
            for row in rows:
                if math.isnan(self.density[row]) and math.isnan(self.bulk_density[row]):
                    self._lacks("density", row, name, role, "a density, because it is sold by " + unit, "1300")
        if kind and kind not in role.kinds:
            view.report("odd-kind", column, index, warning=True, material=quoted(name), role=role.words, found=kind)

    def _needs(self, name: str, role: Role, words: str, column: str, example: str) -> None:
        if not name or (name, role.words, words) in self._looked_at:
            return
        self._looked_at.add((name, role.words, words))
        values = self.materials.numbers(column)
        for row in self.rows.get(name, []):
            if math.isnan(values[row]):
                self._lacks(column, row, name, role, f"a {words}", example)

    def _lacks(self, column: str, row: int, name: str, role: Role, what: str, example: str) -> None:
        declared = replace(self.materials.declared.column(column), example=example)
        shown = shown_for(in_unit_of(declared, heading_unit(self.book, declared.plain_unit)))
        self.materials.report("missing-property", column, row, material=quoted(name), role=role.words, what=what, example=shown)

    def _sheets_have_areas(self, view: SheetView) -> None:
        if view.declared.name != "Moulds":
            return
        for name in dict.fromkeys(view.texts("board")):
            for row in self.rows.get(name, []):
                if self.units[row] == "sheet":
                    for column, what, example in (
                        ("sheet_length", "sheet length", "2440"),
                        ("sheet_width", "sheet width", "1220"),
                    ):
                        if math.isnan(self.materials.numbers(column)[row]):
                            self._lacks(
                                column, row, name, ROLES["board"], f"a {what}, because it is sold by the sheet", example
                            )

    def _mixes(self, view: SheetView) -> None:
        names, materials, bases, amounts = (
            view.texts("mix"), view.texts("material"), view.texts("basis"), view.numbers("amount"),
        )
        rows: dict[str, list[int]] = {}
        for index, mix in enumerate(names):
            rows.setdefault(mix, []).append(index)
        for mix, indices in rows.items():
            if not mix or any(not materials[index] or not bases[index] for index in indices):
                continue  # reported already
            used = {bases[index]: index for index in indices}
            if "parts by mass" in used and "parts by volume" in used:
                view.report("mixed-parts", "basis", used["parts by volume"], mix=quoted(mix))
            kinds = [self._kind(materials[index]) for index in indices if not is_air(materials[index])]
            binder = "binder" in kinds or "" in kinds  # a name or a kind that is wrong is told already: it may be the binder
            for basis in ("% of binder", "mL/kg binder"):
                if basis in used and not binder:
                    what = f"amounts in {basis}"
                    view.report("no-binder", "basis", used[basis], mix=quoted(mix), what=what)
            if used.keys() <= {"% of binder", "mL/kg binder", "% of volume"}:
                view.report("only-shares", "basis", indices[0], mix=quoted(mix))
            share = sum(amounts[index] for index in indices if bases[index] == "% of volume")
            if share >= 1:
                found = f"{number_text(round(share * 100, 6))} %"
                view.report("too-much-air", "amount", used["% of volume"], mix=quoted(mix), found=found)

    def _kind(self, material: str) -> str:
        rows = self.rows.get(material)
        return self.kinds[rows[0]] if rows else ""
