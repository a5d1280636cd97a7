"""The shopping list: what is needed, less what is in stock, in whole packs, by supplier."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pricing.algebra.expressions import expression_of, whole_up
from pricing.book.shown_units import shown_amount
from pricing.costing.workshop.shopping import ShoppingList, ShoppingRow
from pricing.languages.spelling import written_date
from pricing.reports.quote.wording import listed
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.shared.styles import number_format
from pricing.reports.workshop.page import WorkPage

_NEED, _STOCK, _BUY, _SIZE, _PACKS, _BOUGHT, _LEFT, _PRICE, _COST, _NOTE = range(3, 13)

NOTE = (
    "Wastage is counted in, board in whole sheets from the drawings. Tinted: may be changed; the packs and the cost follow. Where a thing "
    "comes in several packs, the cheapest mix is typed and may be changed; what is left over must not be below zero. Less what is on the "
    "shelf: moulds for stock are counted whole."
)
FOR_STOCK = "less what is on the shelf"


def packs_needed(to_buy: float, pack_size: float) -> float:
    """Whole packs that cover what is to be bought."""
    return whole_up(to_buy / pack_size)  # type: ignore[no-any-return]


def in_pounds_and_feet(row: ShoppingRow) -> ShoppingRow:
    """The same row with its amounts as ``shown_amount`` has them; packs and their prices stay what they are."""

    def shown(amount: float) -> float:
        return shown_amount(row.unit, amount)[1]

    packs = tuple(replace(pack, size=shown(pack.size)) for pack in row.packs)
    purchase = replace(row.purchase, bought=shown(row.purchase.bought), left_over=shown(row.purchase.left_over))
    unit = shown_amount(row.unit, 0.0)[0]
    return replace(row, unit=unit, need=shown(row.need), in_stock=shown(row.in_stock), packs=packs, purchase=purchase)


def columns(currency: str) -> tuple[TableColumn, ...]:
    """The columns of the list.

    Parameters
    ----------
    currency : ISO 4217 code
    """
    digits = number_format("money", 2, currency)
    return (
        TableColumn("☐", width=28), TableColumn("Material", width=190), TableColumn("Unit", width=58),
        TableColumn("Need", "#,##0.00", note="For all pieces, wastage counted in.", width=72),
        TableColumn("In stock", "#,##0.00", "input", width=72), TableColumn("To buy", "#,##0.00", width=72),
        TableColumn("Pack", "#,##0.00", width=64), TableColumn("PACKS", "#,##0", "result", width=58),
        TableColumn("Bought", "#,##0.00", width=76), TableColumn("Left over", "#,##0.00", width=76),
        TableColumn(f"A pack\n{currency}", digits, note="With carriage, without tax.", width=76),
        TableColumn(f"Cost\n{currency}", digits, width=80), TableColumn("Note", width=190),
    )


def write_shopping(page: WorkPage, shopping: ShoppingList, told: Sequence[str] = (), mass_unit: str = "kg") -> None:
    """Write the page.

    Parameters
    ----------
    told : sentences on what is left out
    mass_unit : ``lb`` where the maker buys by the pound, the gallon and the foot
    """
    pounds = mass_unit == "lb"
    quotes = f"quote {shopping.quotes[0]}" if len(shopping.quotes) == 1 else f"quotes {listed(list(shopping.quotes))}"
    kinds = sum(1 for row in shopping.rows if row.missing > 0)
    unit, tap = shown_amount("L", shopping.water) if pounds else ("L", shopping.water)
    water = f" Water from the tap: about {tap:,.0f} {unit}." if shopping.water else ""
    opening = f"{kinds} {'thing' if kinds == 1 else 'things'} to buy, at the prices of {written_date(shopping.day)}, without tax.{water}"
    page.opening(f"Shopping list for {quotes}", " ".join([opening, *(f"{each[:1].upper()}{each[1:]}." for each in told)]), NOTE)
    page.headings()
    page.sheet.repeat_rows(page.row - 1)
    page.sheet.freeze_panes(page.row, 2)
    first = page.row + 1
    supplier = None
    for row in map(in_pounds_and_feet, shopping.rows) if pounds else shopping.rows:
        if row.packs[0].supplier != supplier:
            supplier = row.packs[0].supplier
            page.cells([None, supplier or "No supplier named", *[None] * 11], role="text bold", top=1, top_color="#BFBFBF")
        _row(page, row)
    total: list[Cell] = [None, "All packs", *[None] * 11]
    total[_COST] = Formula(f"SUM({page.down(_COST, first, max(page.row, first))})", shopping.cost)
    page.cells(total, role="grand total")


def _row(page: WorkPage, row: ShoppingRow) -> None:
    """A material: one row where it comes in one pack, otherwise a row of its own and one for each pack."""
    note = FOR_STOCK if row.for_stock else ""
    at = page.row + 1
    to_buy = Formula(f"MAX(0,{page.at(_NEED, at)}-{page.at(_STOCK, at)})", row.missing)
    opening: list[Cell] = ["☐", row.material, row.unit, row.need, row.in_stock, to_buy]
    bought = row.purchase.bought
    if len(row.packs) == 1:
        pack = row.packs[0]
        packs = expression_of(packs_needed).formula({"to_buy": page.at(_BUY, at), "pack_size": page.at(_SIZE, at)})
        page.cells([
            *opening, pack.size, Formula(packs, float(row.purchase.counts[0])), Formula(_times(page, _PACKS, _SIZE, at), bought),
            Formula(_left(page, at), bought - row.missing), pack.price, Formula(_times(page, _PACKS, _PRICE, at), row.purchase.cost), note,
        ])
        return
    last = at + len(row.packs)
    page.cells([
        *opening, None, Formula(f"SUM({page.down(_PACKS, at + 1, last)})", float(sum(row.purchase.counts))),
        Formula(f"SUM({page.down(_BOUGHT, at + 1, last)})", bought), Formula(_left(page, at), bought - row.missing), None, None, note,
    ])
    for pack, count in zip(row.packs, row.purchase.counts, strict=True):
        at = page.row + 1
        who = f"from {pack.supplier}" if pack.supplier != row.packs[0].supplier else ""
        of_pack = Formula(_times(page, _PACKS, _SIZE, at), count * pack.size)
        cost = Formula(_times(page, _PACKS, _PRICE, at), count * pack.price)
        page.cells([
            None, f"of which {pack.material}", "", None, None, None, pack.size, float(count), of_pack, None, pack.price, cost, who,
        ], roles={_PACKS: "input"})


def _times(page: WorkPage, one: int, other: int, row: int) -> str:
    return f"{page.at(one, row)}*{page.at(other, row)}"


def _left(page: WorkPage, row: int) -> str:
    return f"{page.at(_BOUGHT, row)}-{page.at(_BUY, row)}"
