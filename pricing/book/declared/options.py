"""What a price book may have besides what every new one has: the options that bring sheets and columns.

A sheet or a column that is not in every new book says on its declaration which option brings it (``brought_by``); one that says
nothing is brought by an option of its own name. So an option exists as soon as something declares it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.dimensions import DIMENSION_NAMES
from pricing.book.declared.sheets import SHEETS
from pricing.rules.shapes import SHAPES

#: What the options bring in one sentence; without one it is the purpose of its sheet or the meaning of its column.
_MEANINGS: Mapping[str, str] = {
    "estimates": "The lowest and highest plausible value of prices, minutes and rejects.",
    "stock": "What is in the store, and packs that may stand for one another.",
    "polymers": "The solids of admixtures.",
    "damp-sand": "Moisture and absorption of aggregates.",
    "steel": "Bars, mesh and what else is cast in and weighs with the piece.",
    "models": "Solids whose volume and areas are measured from a file of triangles.",
    "uses": "What each product is used as, which chooses its cautions and words on care.",
    "moulds-kept": "Moulds that already stand in the rack.",
    "lost-on-reject": "Whether a rejected piece takes a bought-in thing with it.",
    "wanted-by": "The last day that will do for a line of a quote.",
    "learning": "What minutes fall to as a run doubles.",
    "closed": "Days on which the workshop is closed.",
    "layers": "A face mix on a backing.",
    "cut-outs": "Cut-outs of products, or of lines of a quote.",
    "interest": "Interest on the money tied up in machines.",
    "bought-moulds": "Moulds bought ready, with several places, or taken from a pattern.",
    "steps-by-finish": "Steps that count only for pieces of one finish.",
    "outlines": "Slabs of any outline, corner by corner.",
    "seen-edges": "Edges at a wall, which are neither ground nor polished.",
    "wages": "Wages, overhead and electricity price with the days from which they hold.",
    "languages": "A language of their own for customers, besides the one of --language.",
    "plans-of-lines": "Mix, mould plan, labour plan and finish of a line of a quote, instead of the catalogue's.",
}

#: Shapes that need an option.
OF_SHAPES: Mapping[str, str] = {"slab by outline": "outlines", "solid": "models"}


def options() -> dict[str, str]:
    """Every option and what it brings, in the order of the price book.

    >>> options()["layers"]
    'A face mix on a backing.'
    """
    found: dict[str, str] = {}
    for declared in SHEETS:
        if declared.option:
            found.setdefault(declared.option, _MEANINGS.get(declared.option, declared.purpose))
        for column in declared.columns:
            if column.option and not declared.option:
                found.setdefault(column.option, _MEANINGS.get(column.option, column.meaning))
    return found


def dimensions_of(shapes: Collection[str]) -> set[str]:
    """The dimensions that some shapes have."""
    return {name for shape in shapes for name in SHAPES[shape].dimensions}


def is_wanted(declared: SheetDeclaration, chosen: Collection[str]) -> bool:
    """Whether a new book with these options has a sheet."""
    return not declared.option or declared.option in chosen


def is_column_wanted(declared: SheetDeclaration, column: Column, chosen: Collection[str], shapes: Collection[str]) -> bool:
    """Whether a new book with these options and shapes has a column of a sheet that it has."""
    if column.name in DIMENSION_NAMES and declared.name in ("Products", "Enquiries"):
        return column.name in dimensions_of(shapes)
    return not column.option or column.option in chosen or bool(declared.option)
