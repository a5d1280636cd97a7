"""Whether cut-outs, outlines, layers and what is cast in can be as the price book says."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from pricing.algebra.expressions import evaluate
from pricing.book import pieces
from pricing.book.checking.shapes import board_of
from pricing.book.checking.sheet_view import SheetView
from pricing.book.declared.dimensions import DIMENSION_NAMES
from pricing.book.price_book import PriceBook
from pricing.book.shown_units import in_inches
from pricing.book.uses import USES, unknown_uses
from pricing.book.wording.sentences import listed, quoted
from pricing.problems import Problems
from pricing.rules import layers
from pricing.rules.geometry.cut_out import LEAST_RIM, LEAST_RIM_IN_INCHES, CutOut, inches, millimetres, place_faults, size_fault
from pricing.rules.geometry.measures import RULES as MEASURES
from pricing.rules.geometry.measures import SLABS, room_of
from pricing.rules.geometry.outline import Outline
from pricing.rules.geometry.plan import Polygon
from pricing.rules.geometry.seen_edges import ALL_SEEN, LIP_LIMITS
from pricing.rules.geometry.seen_edges import RULES as SEEN_EDGES
from pricing.rules.geometry.shape import Limit
from pricing.rules.shapes import SHAPES
from pricing.text import fold

BY_OUTLINE, LIPPED = "slab by outline", "slab with a lip"

#: Words that count by the extent of a piece.
EXTENTS = ("m length", "m width")

#: Kinds of materials that are cast into a piece and weigh with it.
CAST_IN = ("reinforcement", "cast in")


def check_pieces(book: PriceBook, problems: Problems) -> None:
    """Report what does not fit together.

    Problems: impossible-outline, cut-out-of-nothing, cut-out-of-both, unknown-line, incomplete-cut-out, half-a-place, no-cut-outs,
    impossible-cut-out, impossible-layer, impossible-shape, no-length; no-unit-mass, unknown-use, unused-dimension as warnings.
    """
    checks = _PieceChecks(book, problems)
    checks.outlines_are_sound()
    checks.edges_are_sound()
    checks.cut_outs_are_sound()
    checks.layers_are_sound()
    checks.what_is_cast_in_has_mass()
    checks.extents_are_known()
    checks.uses_are_known()


class _PieceChecks:
    def __init__(self, book: PriceBook, problems: Problems) -> None:
        self.book = book
        self.problems = problems
        self.products = SheetView(book, problems, "Products")
        self.lines = SheetView(book, problems, "Enquiries")
        self.rows = {name: row for row, name in enumerate(self.products.texts("product")) if name}
        self.shapes = self.products.texts("shape")
        self.outlines: dict[str, Outline] = {}
        self._boards: dict[str, float] = {}
        self.figure, self.rim = (inches, LEAST_RIM_IN_INCHES) if in_inches(book) else (millimetres, LEAST_RIM)

    def outlines_are_sound(self) -> None:
        """Each outline surrounds a slab, and a slab by outline names one."""
        view = SheetView(self.book, self.problems, "Outlines")
        for name, rows in pieces.outline_rows(view.table).items():
            if any(math.isnan(view.table[axis][row]) for row in rows for axis in ("x", "y")):
                continue
            outline = pieces.outline_at(view.table, rows)
            faults = outline.faults(self.figure)
            for fault in faults:
                at = rows[min(fault.point, len(rows) - 1)]
                view.report("impossible-outline", "point", at, sentence=f"outline {quoted(name)}: {fault.sentence}")
            if not faults:
                self.outlines[name] = outline
        for row, (shape, name) in enumerate(zip(self.shapes, self.products.texts("outline"), strict=True)):
            if shape == BY_OUTLINE and not name:
                product = quoted(self.products.texts("product")[row])
                example = "a name of the sheet Outlines"
                self.products.report(
                    "missing-dimension", "outline", row, shape=shape, what="an outline", product=product, example=example
                )
            elif name and shape and shape != BY_OUTLINE:
                self.products.report("unused-dimension", "outline", row, warning=True, what="an outline", shape=shape)

    def edges_are_sound(self) -> None:
        """Only shapes that can stand at a wall say which edges are seen, and a lip stands at a seen one."""
        for view in (self.products, self.lines):
            if not pieces.says_edges(view.table):
                continue
            said = ~np.isnan([view.table[name] for name in ALL_SEEN])
            rows = np.flatnonzero(said.any(axis=0)).tolist()
            product_of = {row: row if view is self.products else self.rows.get(view.texts("product")[row], -1) for row in rows}
            shape_of = {row: self.shapes[product] for row, product in product_of.items() if product >= 0}
            lips = self._lips_at_walls({row: product_of[row] for row, shape in shape_of.items() if shape == LIPPED}, view is self.lines)
            for row, shape in shape_of.items():
                if shape and shape not in SEEN_EDGES:
                    for name in (name for name, given in zip(ALL_SEEN, said[:, row].tolist(), strict=True) if given):
                        view.report("unused-dimension", name, row, warning=True, what=name.replace("_", " "), shape=shape)
                for limit in lips.get(row, ()):
                    view.report("impossible-shape", limit.about, row, sentence=limit.sentence)

    def _lips_at_walls(self, products: Mapping[int, int], of_lines: bool) -> dict[int, list[Limit]]:
        """Of some rows, each with its product, those whose lips stand where no edge is seen, and which limits they break."""
        rows, of = np.array(list(products), dtype=np.intp), np.array(list(products.values()), dtype=np.intp)
        shape, found = SHAPES[LIPPED], dict[int, list[Limit]]()

        def given(name: str, blank: float) -> NDArray[np.float64]:
            values: NDArray[np.float64] = self.products.table[name][of]
            if of_lines:
                own = self.lines.table[name][rows]
                values = np.where(np.isnan(own), values, own)
            return np.where(np.isnan(values), blank, values)

        sizes = {name: given(name, shape.defaults.get(name, math.nan)) for name in shape.dimensions if name in DIMENSION_NAMES}
        sound = ~np.isnan(list(sizes.values())).any(axis=0)
        for _, broken in shape.refusals(sizes):
            sound &= ~np.asarray(broken)
        for limit in LIP_LIMITS:
            room = evaluate(limit.room, {**sizes, **{name: given(name, every) for name, every in ALL_SEEN.items()}})
            for row in rows[sound & (np.asarray(room) < 0)].tolist():
                found.setdefault(row, []).append(limit)
        return found

    def _values(self, product: int, line: int = -1) -> dict[str, float] | None:
        """The take-off of a product, or of a line of it; None where it lacks what it needs."""
        shape = SHAPES.get(self.shapes[product])
        if shape is None:
            return None
        sizes: dict[str, float] = {}
        for name in (each for each in shape.dimensions if each in DIMENSION_NAMES):
            own = float(self.lines.table[name][line]) if line >= 0 else math.nan
            value = own if not math.isnan(own) else float(self.products.table[name][product])
            sizes[name] = shape.defaults.get(name, math.nan) if math.isnan(value) else value
        if shape.measured:
            outline = self._outline(product, line)
            if outline is None:
                return None
            sizes |= {name: outline.figures[name] for name in shape.measured}
        if any(math.isnan(value) for value in sizes.values()) or shape.refusals(sizes):
            return None
        plan = (self.lines.texts("mould_plan")[line] if line >= 0 else "") or self.products.texts("mould_plan")[product]
        if plan not in self._boards:
            self._boards[plan] = float(board_of(self.book, [plan])[0])
        board = self._boards[plan]
        return {name: float(value) for name, value in shape.take_off(sizes, board).items()}

    def _outline(self, product: int, line: int) -> Outline | None:
        name = (self.lines.texts("outline")[line] if line >= 0 else "") or self.products.texts("outline")[product]
        return self.outlines.get(name)

    def cut_outs_are_sound(self) -> None:
        """Each belongs to something, is whole, and can be where it is."""
        view = SheetView(self.book, self.problems, "Cut-outs")
        if not len(view.table):
            return
        keys = pieces.line_keys(self.book)
        lines = Counter(quote for quote, _ in keys)
        sound = [row for row in range(len(view.table)) if self._is_whole(view, row, lines)]
        cuts = {row: pieces.cut_out_at(view.table, row) for row in sound}
        for row in list(sound):
            fault = size_fault(cuts[row], self.figure)
            if fault:
                view.report("impossible-cut-out", "corner_radius", row, sentence=fault)
                del cuts[row]
        of_products, of_lines = pieces.cut_outs_of_products(self.book), pieces.cut_outs_of_lines(self.book)
        for product, rows in of_products.items():
            if product in self.rows:
                self._placed(view, self.rows[product], -1, {row: cuts[row] for row in rows if row in cuts})
        for line, (key, product) in enumerate(zip(keys, self.lines.texts("product"), strict=True)):
            if product not in self.rows:
                continue
            if key in of_lines:
                self._placed(view, self.rows[product], line, {row: cuts[row] for row in of_lines[key] if row in cuts})
            elif product in of_products and any(not math.isnan(self.lines.table[name][line]) for name in DIMENSION_NAMES):
                its_own = {row: cuts[row] for row in of_products[product] if row in cuts}
                self._placed(self.lines, self.rows[product], line, its_own)

    def _is_whole(self, view: SheetView, row: int, lines: Mapping[str, int]) -> bool:
        product, quote = view.texts("product")[row], view.texts("quote")[row]
        line, form = view.table["line"][row], view.texts("form")[row]
        before = self.problems.error_count
        if product and quote:
            view.report("cut-out-of-both", "quote", row)
        elif not product and (not quote or math.isnan(line)):
            view.report("cut-out-of-nothing", "line" if quote else "product", row)
        elif quote and not 1 <= int(line) <= (count := lines.get(fold(quote), 0)):
            has = f"has {count} {'line' if count == 1 else 'lines'}" if count else "is not on the sheet Enquiries"
            # a quote that is no longer among the enquiries may leave its cut-outs behind
            view.report("unknown-line", "line" if count else "quote", row, warning=not count, quote=quoted(quote), has=has)
        wanted = {"rectangle": ("length", "width"), "round": ("diameter",)}.get(form, ())
        for name in wanted:
            if math.isnan(view.table[name][row]):
                view.report("incomplete-cut-out", name, row, form=form, lacks=f"a {name}")
        for name in {"rectangle": ("diameter",), "round": ("length", "width", "corner_radius")}.get(form, ()):
            if view.table[name][row] > 0:
                what = f"a {name.replace('_', ' ')}"
                view.report("unused-dimension", name, row, warning=True, what=what, shape=f"{form} cut-out")
        if math.isnan(view.table["from_left"][row]) != math.isnan(view.table["from_front"][row]):
            missing = "from_left" if math.isnan(view.table["from_left"][row]) else "from_front"
            view.report("half-a-place", missing, row)
        return bool(wanted) and self.problems.error_count == before and not any(
            not view.table[name][row] > 0 for name in wanted
        )

    def _placed(self, view: SheetView, product: int, line: int, cuts: Mapping[int, CutOut]) -> None:
        """Report what cannot be, at the cut-out, or at the line whose dimensions leave it no room."""
        shape = self.shapes[product]
        name = quoted(self.products.texts("product")[product])
        if not cuts or shape not in SHAPES:
            return
        if shape not in SLABS:
            if view is not self.lines:
                for row in cuts:
                    view.report("no-cut-outs", "product", row, shape=shape, product=name)
            return
        room = self._room(product, line)
        if room is None:
            return
        rows = list(cuts)
        for number, sentence in place_faults(room, list(cuts.values()), self.rim, self.figure):
            at, column = (line, "product") if view is self.lines else (rows[number], _about(cuts[rows[number]]))
            view.report("impossible-cut-out", column, at, sentence=f"{name}: {sentence}")

    def _room(self, product: int, line: int) -> Polygon | None:
        letters = self.lines.table.letters
        if line >= 0 and any(name in letters and self.lines.is_wrong(name, line) for name in DIMENSION_NAMES):
            return None
        values = self._values(product, line)
        if values is None:
            return None
        if self.shapes[product] == BY_OUTLINE:
            outline = self._outline(product, line)
            return None if outline is None else outline.path()
        return room_of(self.shapes[product], values)

    def layers_are_sound(self) -> None:
        """The layers of a product leave something of it for its own mix."""
        view = SheetView(self.book, self.problems, "Layers")
        for name, rows in pieces.layers_of_products(self.book).items():
            values = self._values(self.rows[name]) if name in self.rows else None
            if values is None or any(math.isnan(view.table["thickness"][row]) for row in rows):
                continue
            shape = self.shapes[self.rows[name]]
            inside = next((float(evaluate(rule, values)) for rule in MEASURES.get(shape, ()) if rule.__name__ == "inside_area"), 0.0)
            taken, least = 0.0, min((values[each] for each in ("wall", "thickness") if values.get(each, 0.0) > 0), default=math.inf)
            for row in rows:
                thickness = float(view.table["thickness"][row])
                if thickness >= least - 1e-9:
                    thicker = f"a layer of {self.figure(thickness)} is as thick as the {self.figure(least)}"
                    view.report("impossible-layer", "thickness", row, sentence=thicker, product=quoted(name))
                    break
                taken += layer_volume(values, inside, view.texts("on")[row], thickness)
                if taken >= values["volume"] - 1e-9:
                    whole = f"the layers come to {taken * 1000:.3g} L, which is more than the {values['volume'] * 1000:.3g} L"
                    view.report("impossible-layer", "thickness", row, sentence=whole, product=quoted(name))
                    break

    def what_is_cast_in_has_mass(self) -> None:
        """A material that is cast in says what it weighs."""
        view = SheetView(self.book, self.problems, "Materials")
        kinds, units = view.texts("kind"), view.texts("pack_unit")
        used = set(self.book.tables["Extras"]["material"].tolist())
        for row, (kind, unit, name) in enumerate(zip(kinds, units, view.texts("material"), strict=True)):
            if kind in CAST_IN and unit != "kg" and name in used and math.isnan(view.table["unit_mass"][row]):
                view.report("no-unit-mass", "unit_mass", row, warning=True, material=quoted(name))

    def extents_are_known(self) -> None:
        """What counts by length or width is asked only of shapes that have them."""
        solids = {
            name: row for name, row in self.rows.items()
            if self.shapes[row] in SHAPES and self.shapes[row] not in MEASURES and row not in self.book.models
        }
        if not solids:
            return
        for row in solids.values():
            if (per := self.products.texts("price_per")[row]) in ("m", "ft"):
                name = quoted(self.products.texts("product")[row])
                self.products.report("no-length", "price_per", row, product=name, per=f"Price per {per}")
        first: dict[str, dict[str, str]] = {}  # by what is followed, its first solid
        for sheet, key, word in (("Extras", "product", "per"), ("Labour", "labour_plan", "per"), ("Finishes", "finish", "surface")):
            view = SheetView(self.book, self.problems, sheet)
            for row, (name, per) in enumerate(zip(view.texts(key), view.texts(word), strict=True)):
                if per not in EXTENTS:
                    continue
                if key not in first:
                    plans = self.products.texts(key)
                    first[key] = {plans[product]: each for each, product in reversed(solids.items())}
                if name in first[key]:
                    view.report("no-length", word, row, product=quoted(first[key][name]), per=per)

    def uses_are_known(self) -> None:
        """Every word under Use is one that is known."""
        cells = self.products.texts("use")
        unknown = {cell: words for cell in dict.fromkeys(cells) if (words := unknown_uses(cell))}
        for row, cell in enumerate(cells) if unknown else ():
            for word in unknown.get(cell, ()):
                self.products.report("unknown-use", "use", row, warning=True, found=quoted(word), choices=listed(USES))


def layer_volume(values: Mapping[str, float], inside: float, on: str, thickness: float) -> float:
    """Concrete of a layer of an uncut piece, by the rules of layers [m³].

    Parameters
    ----------
    values : take-off of the piece [SI]
    inside : inner faces of a vessel [m²]
    on : as the Layers sheet says it
    thickness : of the layer [m]
    """
    flags = layer_flags(on)
    area = layers.layer_area(
        flags["covers_face"], values["face_area"], flags["leaves_inside"], inside, flags["covers_underside"], values["underside_area"]
    )
    return float(layers.layer_volume(thickness, area, flags["covers_face"], values["arris_length"]))


def layer_flags(on: str) -> dict[str, float]:
    """What a layer covers, as its rules ask for it.

    >>> layer_flags("face")
    {'covers_face': 1.0, 'leaves_inside': 1.0, 'covers_underside': 0.0}
    """
    return {
        "covers_face": float(on.startswith("face")), "leaves_inside": float(on == "face"), "covers_underside": float(on == "underside"),
    }


def _about(cut: CutOut) -> str:
    """The cell that a fault of a cut-out is reported at."""
    if cut.is_placed:
        return "from_left"
    return "diameter" if cut.is_round else "length"
