"""The page of steel and whatever else is cast in: what to cut for each piece, what it weighs, and what to buy."""

from __future__ import annotations

from pricing.book.shown_units import shown_amount, shown_mass
from pricing.costing.workshop.steel import SteelList, SteelNeed, SteelRow
from pricing.reports.drawing.strokes import LengthUnit
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.workshop.cut_list import LENGTHS
from pricing.reports.workshop.page import WorkPage

NOTE = ("Lengths are those of the piece. Cut bars shorter by the cover at both ends, and lay them as whoever designed the reinforcement "
        "says; local codes come first.")
CAUTION = "Usual caution: gloves and eye protection; cut ends are sharp and spring. Cap bars that stand up."

_PER_PIECE, _SIZE, _PIECES, _COUNT, _KILOGRAMS = 2, 3, 4, 5, 7


def columns(figures: LengthUnit, mass_unit: str) -> tuple[TableColumn, ...]:
    """The columns of the list."""
    number, _ = LENGTHS[figures]
    return (
        TableColumn("Piece", width=150), TableColumn("Material", width=150), TableColumn("In a piece", "#,##0.##", width=70),
        TableColumn(f"Length\n{figures}", number, width=76), TableColumn("Pieces", "#,##0", width=60),
        TableColumn("To cut", "#,##0.##", "result", width=66), TableColumn("In all", width=110),
        TableColumn(f"Mass\n{mass_unit}", "#,##0.00", width=76),
    )


def write_steel(page: WorkPage, quote: str, steel: SteelList, figures: LengthUnit, mass_unit: str) -> None:
    """Write the page.

    Parameters
    ----------
    quote : its number
    figures, mass_unit : how lengths and masses are shown
    """
    mass = shown_mass(sum(row.kilograms for row in steel.rows), mass_unit)
    page.opening(f"Steel and what is cast in for quote {quote}", f"{mass:,.1f} {mass_unit} in all.", NOTE, CAUTION)
    first = page.headings()
    for row in steel.rows:
        page.cells(_row(page, row, LENGTHS[figures][1], mass_unit))
    total = Formula(f"SUM({page.down(_KILOGRAMS, first, page.row)})", mass)
    page.cells(["All", *[None] * 6, total], role="total")
    page.gap(10)
    page.section("To buy")
    for need in steel.needs:
        page.sentence(_bought(need, mass_unit))


def _row(page: WorkPage, row: SteelRow, unit: float, mass_unit: str) -> list[Cell]:
    at = page.row + 1
    count = Formula(f"{page.at(_PER_PIECE, at)}*{page.at(_PIECES, at)}", row.count)
    length = float(f"{row.size / unit:.12g}") if row.unit == "m" else None
    taken = _amount(row.unit, row.taken, mass_unit) if row.unit != "each" else ""
    return [row.product, row.material, row.each, length, row.pieces, count, taken, shown_mass(row.kilograms, mass_unit)]


def _amount(unit: str, amount: float, mass_unit: str, form: str = ",.2f") -> str:
    """So many pack units, by the foot where masses are in pounds."""
    told, shown = shown_amount(unit, amount) if mass_unit == "lb" else (unit, amount)
    return f"{shown:{form}} {told.replace('2', '²')}"


def _bought(need: SteelNeed, mass_unit: str) -> str:
    """What to buy of a material, in a sentence."""
    mass = f"{shown_mass(need.kilograms, mass_unit):,.2f} {mass_unit}"
    if need.unit == "each":
        return f"{need.material}: {need.taken:,.0f} pieces, {mass}; {need.packs} {'pack' if need.packs == 1 else 'packs'} of {need.pack:g}."
    one, several = {"m": ("bar", "bars"), "m2": ("mat", "mats")}.get(need.unit, ("pack", "packs"))
    whole = f"{need.packs} whole {one if need.packs == 1 else several} of {_amount(need.unit, need.pack, mass_unit, 'g')}"
    return f"{need.material}: {_amount(need.unit, need.taken, mass_unit)}, {mass}; {whole}."
