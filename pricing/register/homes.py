"""Which register a price book goes on in: the one of its name, one that knows it, or one that the maker names.

The register belongs to the workshop, not to a file name. A price book that was renamed finds registers beside it; where they may be of
the same business, nothing is begun anew in silence.
"""

from __future__ import annotations

import contextlib
import sqlite3
from pathlib import Path

from pricing.register.database import RegisterError, register_path
from pricing.text import fold

#: How the name of a register ends.
ENDING = ".register.sqlite"


def register_for(book: Path) -> Path:
    """The register of a price book, which need not be there yet.

    Problems raised: RegisterError where registers lie beside it that may be of the same business, and none of them knows the book.
    """
    own = register_path(book)
    if own.exists():
        return own
    try:
        beside = sorted(path for path in book.parent.iterdir() if path.name.endswith(ENDING) and path.is_file())
    except OSError:
        return own
    known = {path: _books_of(path) for path in beside}
    for path, books in known.items():
        if fold(book.name) in books:
            return path
    if not beside:
        return own
    business = _business_of(book)
    same = [path for path, books in known.items() if not business or not any(books.values()) or business in books.values()]
    if not same or own.exists():  # another run may have begun it meanwhile
        return own
    from pricing.book.wording.sentences import listed

    names = listed([f'"{path.name}"' for path in same], "and")
    text = f"there is no register of quotes for {book.name} yet, and beside it lies {names}"
    remedy = f'to go on in it, add --register "{same[0].name}"; to begin a new one, add --register "{own.name}"'
    raise RegisterError("which-register", f"{text}; {remedy}")


def _books_of(path: Path) -> dict[str, str]:
    """The price books that go on in a register, and the business of each; none where it says nothing of that, or cannot be read."""
    known, place = (sqlite3.Error, OSError, UnicodeDecodeError), f"{path.absolute().as_uri()}?mode=ro"
    with contextlib.suppress(*known), contextlib.closing(sqlite3.connect(place, uri=True)) as connection:
        return {fold(file): fold(business) for file, business in connection.execute("SELECT file, business FROM price_books")}
    return {}


def _business_of(book: Path) -> str:
    """Whose price book it is; the whole of it is read only where the sheet that says so cannot be told by its name."""
    from pricing.book.reading.read import read_business_name, read_price_book

    if name := read_business_name(book):
        return fold(name)
    read, _ = read_price_book(book)
    return fold(read.word("business_name")) if read is not None else ""
