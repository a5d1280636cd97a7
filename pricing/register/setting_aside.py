"""A price book read for some quotes: a fault in a row that they do not need is told, and stops nothing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pricing.book.price_book import PriceBook
from pricing.book.reading.read import read_setting_aside
from pricing.problems import Problems
from pricing.register.register import Register, RegisterError
from pricing.text import fold

#: The sheet that says what finished jobs took.
_LOOKED_BACK = "Actuals"

#: By sheet the rows that are not needed, and with each those that go where it goes.
Needless = dict[str, dict[int, set[int]]]


def read_for(
    path: Path, quotes: Sequence[str] | None = None, *, from_record: bool = False, back: bool = False
) -> tuple[PriceBook | None, Problems]:
    """A price book read for some quotes, and its problems; None where something in it stands against them.

    Parameters
    ----------
    quotes : numbers; where None all that have no answer and have not lapsed
    from_record : True where what is ordered is taken from its record, and needs no row of the sheets; no row at all where *quotes* is None
    back : True where what finished jobs took is needed
    """

    def needless(book: PriceBook) -> Needless:
        wanted = None if quotes is None else {fold(each) for each in quotes}
        settled = _settled(path) if quotes is None or from_record else set()
        return _needless(book, wanted, settled, nothing=from_record and quotes is None, back=back)

    return read_setting_aside(path, needless)


def read_but_settled(path: Path) -> tuple[PriceBook | None, Problems, set[str]]:
    """A price book of which every row is looked at but those of quotes that have their answer or have lapsed; and their numbers."""
    settled = _settled(path)

    def needless(book: PriceBook) -> Needless:
        return {"Enquiries": _needless(book, None, settled, nothing=False, back=True)["Enquiries"]}

    return *read_setting_aside(path, needless), settled


def enquiry_rows(path: Path) -> dict[str, list[str]]:
    """By quote the rows of the sheet Enquiries, as ``Enquiries row 4``, whatever is wrong in the book; none where it cannot be read."""
    held: list[PriceBook] = []

    def needless(book: PriceBook) -> Needless:
        held.append(book)
        return {}

    book, _ = read_setting_aside(path, needless)
    found: dict[str, list[str]] = {}
    for each in held or ([book] if book is not None else []):
        table = each.tables["Enquiries"]
        for quote, row in zip(table.columns["quote"].tolist(), table.rows.tolist(), strict=True):
            found.setdefault(fold(str(quote)), []).append(f"{table.sheet_as_written} row {row}")
    return {quote: list(dict.fromkeys(rows)) for quote, rows in found.items()}  # the parts of a set stand in one row


def _settled(path: Path) -> set[str]:
    """The numbers of the quotes that have their answer or have lapsed, as the register says."""
    try:
        with Register.open(path, to_read=True) as register:
            return {fold(each.number) for each in register.quotes(brief=True) if each.state not in ("draft", "issued")}
    except RegisterError:
        return set()


def _needless(book: PriceBook, wanted: set[str] | None, settled: set[str], *, nothing: bool, back: bool) -> Needless:
    """The rows that are not needed: those of other quotes, and of products that no wanted quote has.

    Parameters
    ----------
    wanted : quotes; all but those that are settled where None
    nothing : True where no row of a quote is needed
    """
    table = book.tables["Enquiries"]
    quotes, products = ([fold(str(name)) for name in table.columns[column].tolist()] for column in ("quote", "product"))
    rows_of: dict[str, set[int]] = {}
    used = set()
    for row, quote, product in zip(table.rows.tolist(), quotes, products, strict=True):
        if not nothing and quote not in settled and (wanted is None or quote in wanted):
            used.add(product)
        else:
            rows_of.setdefault(quote, set()).add(int(row))
    found: Needless = {"Enquiries": {row: rows for rows in rows_of.values() for row in rows}}
    for sheet, other in book.tables.items():
        if sheet != "Enquiries" and "product" in other.columns and not (back and sheet == _LOOKED_BACK):
            names = [fold(str(name)) for name in other.columns["product"].tolist()]
            rows = zip(other.rows.tolist(), names, strict=True)
            found[sheet] = {int(row): {int(row)} for row, name in rows if sheet == _LOOKED_BACK or (name and name not in used)}
    return found
