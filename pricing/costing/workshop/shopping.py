"""The shopping list of some quotes: what they take of each material, less what is in stock, in whole packs.

What is taken is what the costing allows, wastage included. Board that nests on whole sheets is counted in those sheets,
whose offcuts are its waste; every mould is counted whole, also where a mould is made for stock and its cost is spread.

Several packs of one thing are several materials, each with the column *Same as* naming the one that mixes and plans
name. They are sold by the same unit, boards also in sheets of the same size; the cheapest mix of packs is bought.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import field

import numpy as np

from pricing.book.declared.sheets import KINDS
from pricing.book.price_book import PriceBook, price_row_on
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.method.costing import Costing
from pricing.costing.method.rows_builder import number_or, safe_key
from pricing.costing.method.standard_usage import MATERIAL, MOULD, allowances
from pricing.costing.workshop.packs import Pack, PackError, Purchase, packs_to_buy
from pricing.dataclass import dataclass
from pricing.problems import Problems

#: A material of this kind comes from the tap.
WATER = "water"


@dataclass(frozen=True, slots=True)
class SupplierPack:
    """A pack that can be bought.

    Parameters
    ----------
    material : its name in the price book
    size : what it holds [pack units]
    price : with carriage, without tax [currency/pack]
    supplier : who sells it
    place : of its price in the price book
    """

    material: str
    size: float
    price: float
    supplier: str
    place: str


@dataclass(frozen=True, slots=True)
class ShoppingRow:
    """A material to be bought.

    Parameters
    ----------
    material : as mixes and plans name it
    kind, unit : its kind and its pack unit
    need : taken by all quotes [pack units]
    in_stock : in the store [pack units]
    packs : that can be bought, the material's own first
    purchase : the cheapest mix of them that covers what is not in stock
    by_sheets : True where the need is counted in whole sheets from the drawings
    for_stock : True where moulds made for stock take part of it
    """

    material: str
    kind: str
    unit: str
    need: float
    in_stock: float
    packs: tuple[SupplierPack, ...]
    purchase: Purchase
    by_sheets: bool
    for_stock: bool

    @property
    def missing(self) -> float:
        """What has to be bought [pack units]."""
        return max(0.0, self.need - self.in_stock)


@dataclass(frozen=True, slots=True)
class ShoppingList:
    """What to buy.

    Parameters
    ----------
    quotes : that it is for
    day : whose prices hold
    rows : by supplier, then by kind
    water : from the tap [L]
    """

    quotes: tuple[str, ...]
    day: datetime.date
    rows: tuple[ShoppingRow, ...]
    water: float

    @property
    def cost(self) -> float:
        """What all packs cost, without tax [currency]."""
        return sum(row.purchase.cost for row in self.rows)


@dataclass
class _Need:
    amount: float = 0.0
    by_sheets: bool = False
    for_stock: bool = False


@dataclass
class _Needs:
    """Needs by material, as the price book spells it [pack units]."""

    found: dict[str, _Need] = field(default_factory=dict)

    def add(self, material: str, amount: float, *, by_sheets: bool = False, for_stock: bool = False) -> None:
        need = self.found.setdefault(material, _Need())
        need.amount += amount
        need.by_sheets |= by_sheets
        need.for_stock |= for_stock


def shopping_list(
    costings: Sequence[Costing], sheets: Sequence[Mapping[str, int]], problems: Problems, day: datetime.date | None = None
) -> ShoppingList:
    """What to buy for some quotes.

    Parameters
    ----------
    costings : each of one quote, all of one price book
    sheets : for each of them the whole sheets of each board that its panels need (see ``CutList.sheets``)
    problems : collects warnings: packs that cannot stand for each other, needs that no sensible number of packs covers
    day : whose prices hold; the latest day of the quotes where None
    """
    book = costings[0].book
    shown = day or max(costing.lines.day.max() for costing in costings).astype("datetime64[D]").astype(object)
    needs = _Needs()
    for costing, of_board in zip(costings, sheets, strict=True):
        _add_needs(needs, costing, of_board)
    others = _packs_of(book, shown, problems)
    materials = book.tables["Materials"]
    rows, water, shared = [], 0.0, _Needs()
    for material, need in needs.found.items():
        main = next((name for name, packs in others.items() if any(pack.material == material for pack in packs)), material)
        shared.add(main, need.amount, by_sheets=need.by_sheets, for_stock=need.for_stock)
    for material, need in shared.found.items():
        row = price_row_on(book, material, shown)
        row = row if row is not None else int(np.flatnonzero(materials["material"] == material)[0])
        kind, unit = str(materials["kind"][row]), str(materials["pack_unit"][row])
        if kind == WATER:
            water += need.amount
            continue
        packs = others.get(material) or (_pack(book, row),)
        stock = sum(_in_stock(book, pack.material, shown) for pack in packs)
        try:
            bought = packs_to_buy(max(0.0, need.amount - stock), [Pack(pack.material, pack.size, pack.price) for pack in packs])
        except PackError as error:
            problems.add("cannot-buy", f'"{material}": {error}', sheet="Materials", cell=materials.cell("pack_size", row), warning=True)
            continue
        rows.append(ShoppingRow(material, kind, unit, need.amount, stock, packs, bought, need.by_sheets, need.for_stock))
    rows.sort(key=lambda row: (row.packs[0].supplier.casefold(), KINDS.index(row.kind), row.material.casefold()))
    return ShoppingList(tuple(costing.lines.quotes[0] for costing in costings), shown, tuple(rows), water)


def _add_needs(needs: _Needs, costing: Costing, sheets: Mapping[str, int]) -> None:
    """What a quote takes: moulds whole, board by the sheet where it was nested."""
    names = {safe_key(name): name for name in costing.book.tables["Materials"]["material"].tolist()}
    stock = costing.line("made_for_stock")
    whole = evaluate(costing.model, {("lines", "made_for_stock"): np.zeros(len(costing.lines))})
    from_stock: set[str] = set()
    for each in allowances(costing.model, whole):
        if each.kind != MATERIAL:
            continue
        name = names[each.item]
        built = each.source == MOULD
        for_stock = built and bool(stock[each.line])
        if for_stock:
            from_stock.add(name)
        if not (built and name in sheets):
            needs.add(name, each.quantity, for_stock=for_stock)
    for name, count in sheets.items():
        needs.add(name, float(count), by_sheets=True, for_stock=name in from_stock)


def _packs_of(book: PriceBook, day: datetime.date, problems: Problems) -> dict[str, tuple[SupplierPack, ...]]:
    """For each material that others are packs of: its packs, its own first."""
    materials = book.tables["Materials"]
    if "same_as" not in materials.columns:
        return {}
    found: dict[str, list[int]] = {}
    for name in dict.fromkeys(materials["material"].tolist()):
        row = price_row_on(book, name, day)
        main = str(materials["same_as"][row]) if row is not None else ""
        if row is None or not main or main == name:
            continue
        own = price_row_on(book, main, day)
        reason = _unlike(book, own, row)
        if own is None or reason:
            problems.add("other-pack", f'"{name}" cannot stand for "{main}": {reason}; it is left out of the shopping list',
                         sheet="Materials", cell=materials.cell("same_as", row), warning=True)
            continue
        found.setdefault(main, [own]).append(row)
    return {main: tuple(_pack(book, row) for row in rows) for main, rows in found.items()}


def _unlike(book: PriceBook, own: int | None, row: int) -> str:
    """Why a pack is no pack of the same thing; empty where it is one."""
    materials = book.tables["Materials"]
    if own is None:
        return "that has no price on the day"
    if materials["same_as"][own]:
        return f'that is itself the same as "{materials["same_as"][own]}"; name this one instead'
    if materials["pack_unit"][own] != materials["pack_unit"][row]:
        return f"it is sold by {materials['pack_unit'][row]}, not by {materials['pack_unit'][own]}"
    sizes = [tuple(float(materials[f"sheet_{name}"][each]) for name in ("length", "width", "thickness")) for each in (own, row)]
    if materials["pack_unit"][own] == "sheet" and sizes[0] != sizes[1]:
        return "its sheets are of another size"
    return ""


def _pack(book: PriceBook, row: int) -> SupplierPack:
    materials = book.tables["Materials"]
    price = float(materials["pack_price"][row]) + number_or(float(materials["carriage"][row]), 0.0)
    place = materials.cell("pack_price", row)
    return SupplierPack(
        str(materials["material"][row]), float(materials["pack_size"][row]), price, str(materials["supplier"][row]),
        f"Materials!{place}" if place else "",
    )


def _in_stock(book: PriceBook, material: str, day: datetime.date) -> float:
    """What the latest row of a material that gives a stock says; prices of later days may already stand in the book."""
    materials = book.tables["Materials"]
    if "in_stock" not in materials.columns:
        return 0.0
    rows = np.flatnonzero((materials["material"] == material) & ~np.isnan(materials["in_stock"]))
    if not len(rows):
        return 0.0
    latest = rows[np.argsort(materials["priced_on"][rows], kind="stable")[-1]]
    return float(materials["in_stock"][latest])
