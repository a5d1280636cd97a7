"""List prices worked out: what each product would cost a customer at its usual run, and which cells that changes."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.book.services import product_count
from pricing.book.wording.sentences import near_it, near_matches
from pricing.costing.lines.order_lines import list_lines
from pricing.costing.method.measures import measures_each
from pricing.costing.method.price_rows import AT_USUAL_RUN, FROM_USUAL_RUN
from pricing.costing.run import cost_lines
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.text import fold
from pricing.xlsx.cells import CellWrite


@dataclass(frozen=True, slots=True)
class ListPrice:
    """The list price of a product.

    Parameters
    ----------
    product : its name
    quantity : its usual run [pieces]
    cost : of one piece, or of one of what the product is priced by [currency/piece]
    old : what stands in the price book [currency/piece]; nan where nothing does
    new : what it works out at [currency/piece]
    place : its cell, ``Products!Q14``
    per : what the product is priced by: ``piece``, ``m2``, ``m``, ``kg``, ``ft2``, ``ft`` or ``lb``
    """

    product: str
    quantity: float
    cost: float
    old: float
    new: float
    place: str
    per: str = "piece"

    @property
    def changes(self) -> bool:
        """Whether the cell has to change."""
        return self.old != self.new

    @property
    def margin(self) -> float:
        """What the new price earns, as a share of it [1]."""
        return (self.new - self.cost) / self.new if self.new > 0 else 0.0


def list_prices(
    book: PriceBook, day: datetime.date, problems: Problems, products: Sequence[str] | None = None
) -> list[ListPrice]:
    """The list prices as they work out at the prices of a day: unit cost at the target margin, rounded by the price step.

    Parameters
    ----------
    day : whose prices hold
    problems : collects what cannot be priced
    products : only these; all where None

    Returns
    -------
    one for each product, in the order of the sheet; nothing where there are errors
    """
    table = book.tables["Products"]
    if "list_price" not in table.letters:
        problems.add(
            "no-list-price-column", "there is no column List price to write into; head an empty column so, and repeat",
            sheet=table.sheet_as_written,
        )
    names = [str(name) for name in table.columns["product"][: product_count(book)].tolist()]
    chosen = _chosen(names, products, problems)
    if problems.errors:
        return []
    costing = cost_lines(book, list_lines(book, day), problems)
    if problems.errors:
        return []
    old, new, cost = table.columns["list_price"], costing.line("rounded_price"), costing.line("unit_cost") / measures_each(costing.values)
    pers = table.columns["price_per"].tolist()
    return [
        ListPrice(
            names[row], float(costing.lines.quantity[row]), float(cost[row]), float(old[row]), float(new[row]),
            f"{table.sheet_as_written}!{table.cell('list_price', row)}", str(pers[row]) or "piece",
        )
        for row in range(len(names)) if row in chosen
    ]


def _chosen(names: list[str], products: Sequence[str] | None, problems: Problems) -> set[int]:
    if products is None:
        return set(range(len(names)))
    where = {fold(name): row for row, name in enumerate(names)}
    for product in products:
        if fold(product) not in where:
            near = near_matches(product, names)
            hint = near_it(near) if near else "write it as the Products sheet does"
            problems.add("unknown-product", f'there is no product "{product}"; {hint}', sheet="Products")
    return {where[fold(product)] for product in products if fold(product) in where}


def with_list_prices(book: PriceBook, prices: Sequence[ListPrice]) -> PriceBook:
    """The price book as it is once these list prices stand in it.

    Parameters
    ----------
    book : as it was read; it is not altered
    prices : of some products or all; what has no figure is left as it is
    """
    table = book.tables["Products"]
    new = {fold(price.product): price.new for price in prices if not np.isnan(price.new)}
    pairs = zip(table.columns["product"].tolist(), table.columns["list_price"].tolist(), strict=True)
    column = np.array([new.get(fold(str(name)), old) for name, old in pairs], dtype=np.float64)
    changed = replace(table, columns={**table.columns, "list_price": column})
    return replace(book, tables={**book.tables, "Products": changed})


def same_at_any_quantity(book: PriceBook) -> bool:
    """Whether every product has a list price that stands however many are ordered."""
    listed = ~np.isnan(book.tables["Products"].columns["list_price"][: product_count(book)])
    return bool(listed.all()) and book.word("list_price_holds") not in (AT_USUAL_RUN, FROM_USUAL_RUN)


def written_over(prices: Sequence[ListPrice]) -> str:
    """A sentence on the list prices that are written over, perhaps typed by hand: how many, the largest fall and the largest rise.

    Parameters
    ----------
    prices : as they work out

    Returns
    -------
    nothing where only empty cells are filled

    >>> print(written_over([ListPrice("Shelf", 4, 84.6, 169, 142, "Products!Q2")]))
    the list price that changes stood there already and is written over: largest fall Shelf 169 to 142 (-16.0%)
    """
    changing = [price for price in prices if price.changes and not np.isnan(price.new)]
    stood = [price for price in changing if not np.isnan(price.old)]
    if not stood:
        return ""
    moved = sorted((price for price in stood if price.old > 0), key=lambda price: price.new / price.old)
    parts = []
    if moved and moved[0].new < moved[0].old:
        parts.append(f"largest fall {_change(moved[0])}")
    if moved and moved[-1].new > moved[-1].old:
        parts.append(f"largest rise {_change(moved[-1])}")
    if len(changing) == 1:
        opening = "the list price that changes stood there already and is written over"
    else:
        opening = f"{len(stood)} of the {len(changing)} list prices that change stood there already"
        opening += f" and {'is' if len(stood) == 1 else 'are'} written over"
    remedy = "; to keep one that was typed by hand, name the others with --product" if len(changing) > 1 else ""
    return (f"{opening}: {', '.join(parts)}" if parts else opening) + remedy


def _change(price: ListPrice) -> str:
    return f"{price.product} {price.old:.15g} to {price.new:.15g} ({price.new / price.old - 1:+.1%})"


def cell_writes(prices: Sequence[ListPrice]) -> list[CellWrite]:
    """The cells that have to change."""
    writes = []
    for price in prices:
        if price.changes and not np.isnan(price.new):
            sheet, _, cell = price.place.rpartition("!")
            writes.append(CellWrite(sheet, cell, price.new))
    return writes
