"""List prices worked out and written into the price book, and a price list for customers: the whole of ``pricing publish``."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import field
from pathlib import Path
from typing import TYPE_CHECKING

from pricing.api.books import Number, opened
from pricing.api.faults import told
from pricing.api.printing import printed
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.quantities import pieces

if TYPE_CHECKING:
    import pandas

    from pricing.book.price_book import PriceBook
    from pricing.costing.list_prices import ListPrice

#: So many quantities a price list has room for.
MOST_BREAKS = 4

#: The quantities of a price list where none are named.
BREAKS = (1.0, 5.0, 10.0, 25.0)


@dataclass
class Published:
    """What a run of publishing gave.

    Parameters
    ----------
    book : None where the price book cannot be read
    problems : what stopped the run; warnings of the price book among them
    prices : the list prices as they work out, in the order of the sheet
    changed : list prices that were written into the price book
    backup : the file as it was; None where nothing was written into it
    written : the price list, where one was asked for
    """

    book: PriceBook | None
    problems: Problems
    prices: list[ListPrice] = field(default_factory=list)
    changed: int = 0
    backup: Path | None = None
    written: list[Path] = field(default_factory=list)

    @property
    def currency(self) -> str:
        """ISO 4217 code of every amount; nothing where the price book cannot be read."""
        return self.book.word("currency") if self.book is not None else ""

    @property
    def written_over(self) -> str:
        """A sentence on the list prices that stood there and change; nothing where only empty cells are filled."""
        from pricing.costing.list_prices import written_over

        return written_over(self.prices)

    @property
    def same_at_any_quantity(self) -> bool:
        """Whether every product has a list price that stands however many are ordered."""
        from pricing.costing.list_prices import same_at_any_quantity, with_list_prices

        return self.book is not None and same_at_any_quantity(with_list_prices(self.book, self.prices))

    def prices_table(self, *, units: bool = False) -> pandas.DataFrame:
        """One row per product: its list price as it stands and as it works out."""
        from pricing.frames import frame

        names = ("product", "quantity", "cost", "old", "new", "margin", "changes", "place")
        money = dict.fromkeys(("cost", "old", "new"), "currency/piece")
        return frame({name: [getattr(each, name) for each in self.prices] for name in names}, {"quantity": "piece", **money}, units=units)


def publish(
    path: Path | str, *, day: datetime.date | None = None, products: Sequence[str] | None = None, write: bool = True,
    price_list: bool = False, breaks: Sequence[Number] = BREAKS, out: Path | str | None = None, pdf: bool = False,
) -> Published:
    """Work out the list price of every product at its usual run, and write it into the List price column of the price book.

    Only those cells change, and the file as it was is kept beside it.

    Parameters
    ----------
    path : the price book
    day : the day whose prices hold; today where None
    products : only the list prices of these; all where None
    write : False to work out only
    price_list : also write a price list for customers, with drawings, into *out*
    breaks : quantities of the price list, where prices hang on them [pieces]
    pdf : True for a PDF beside the price list; a problem says so where there is no LibreOffice to make it

    Problems raised: ValueError for more than four quantities, and for a price list without a folder.
    """
    if len(breaks) > MOST_BREAKS or (price_list and out is None):
        raise ValueError("a price list has room for four quantities, and needs a folder, out")
    from pricing.reports.shared.owner import refuse_others
    from pricing.xlsx.editing.write_cells import file_fingerprint

    path, on = Path(path), day or datetime.date.today()
    fingerprint = file_fingerprint(path) if path.is_file() else None
    done = Published(*opened(path))
    if done.book is not None:
        with told(done.problems, path):
            if write and price_list and out is not None:
                from pricing.reports.lists.price_list import PRICE_LIST_FILE

                place = Path(out) / PRICE_LIST_FILE
                refuse_others([place, *([place.with_suffix(".pdf")] if pdf else [])], path, done.problems)
            if not done.problems.errors:
                _publish(done, done.book, on, products, fingerprint if write else None)
            if write and price_list and out is not None and not done.problems.errors:
                _price_list(done, done.book, on, Path(out), pieces(breaks), pdf=pdf)
    return done


def _publish(done: Published, book: PriceBook, day: datetime.date, products: Sequence[str] | None, fingerprint: str | None) -> None:
    """Work the list prices out, and write them where the fingerprint says that the file is still the one that was read."""
    from pricing.costing.list_prices import cell_writes, list_prices
    from pricing.xlsx.editing.write_cells import write_cells

    done.prices = list_prices(book, day, done.problems, products or None)
    writes = cell_writes(done.prices) if fingerprint is not None and not done.problems.errors else []
    if writes:
        done.backup = write_cells(book.path, writes, done.problems, fingerprint=fingerprint)
        done.changed = 0 if done.problems.errors else len(writes)


def _price_list(done: Published, book: PriceBook, day: datetime.date, out: Path, breaks: Sequence[float], *, pdf: bool) -> None:
    from pricing.costing.list_prices import with_list_prices
    from pricing.reports.lists.price_list import PRICE_LIST_FILE, write_price_list

    done.problems.take(write_price_list(with_list_prices(book, done.prices), day, out / PRICE_LIST_FILE, breaks))
    done.written.append(out / PRICE_LIST_FILE)
    if pdf:
        done.written += printed(done.written, done.problems)
