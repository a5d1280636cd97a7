"""What every workbook that leaves the program shares while it is written: the file, its formats, its sheets and their pages."""

from __future__ import annotations

import datetime
import math
from collections.abc import Collection, Iterable, Sequence
from typing import Any, Self

from pricing.book.paper import paper_of
from pricing.book.price_book import PriceBook
from pricing.dataclass import dataclass
from pricing.reports.shared.paging import widest_page
from pricing.reports.shared.plain_table import set_widths
from pricing.reports.shared.spelling import spell, typed_words
from pricing.reports.shared.styles import FOOT, NORMAL, TYPEFACE, Styles, number_format, set_page
from pricing.xlsx.writing.safe_text import clean_text, one_line
from pricing.xlsx.writing.workbook import new_workbook

#: How the writing library is told to write: text stays text, in our type where nothing else is said.
OPTIONS = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
TYPE = {"font_name": TYPEFACE, "font_size": NORMAL}

#: Height of a row: its text keeps clear of the rule above it [points].
ROW = 15.75

#: The three roles of cells, told to the reader.
KEY = "Tinted: typed, may be changed.   Plain: worked out.   Bold: a result."

#: What is told of a sheet that does not print, and the cell, with nothing in it, that is all that would be printed of it.
SCREEN = "For the screen: this sheet does not print."
NOTHING = (0, 16_383, 0, 16_383)

#: What a reader of a protected sheet may do besides looking.
_ALLOWED = {"format_columns": True, "format_rows": True, "select_locked_cells": True, "objects": True}

#: Of an author, so much is kept [UTF-16 code units].
_AUTHOR = 100


@dataclass(frozen=True, slots=True)
class House:
    """Whose workbook it is, and on what paper it prints.

    Parameters
    ----------
    business : for the foot of each page
    paper : ``A4`` or ``Letter``
    currency : ISO 4217 code
    price_book : file name of the price book, in a workbook for the maker alone; empty in one for a customer
    mark : of the price book, in a workbook for a customer whose name does not say whose it is
    typed : what an American workshop typed with words that are spelled otherwise there; None where our words stay British
    """

    business: str
    paper: str
    currency: str
    price_book: str = ""
    mark: str = ""
    typed: frozenset[str] | None = None

    @classmethod
    def of(cls, book: PriceBook, *, spelled: bool = False) -> House:
        """From the settings of a price book.

        Parameters
        ----------
        spelled : True where our words are spelled as the workshop's country does
        """
        currency, typed = book.word("currency"), typed_words(book) if spelled else None
        return cls(book.word("business_name"), paper_of(currency, book.word("page_size")), currency, book.file, typed=typed)


class ReportBook:
    """One workbook while it is written.

    Parameters
    ----------
    path : where it goes: a path, or a file in memory
    house : whose it is
    options : of the writing library, besides those that all our workbooks share
    """

    def __init__(self, path: Any, house: House, **options: Any) -> None:
        self.book = new_workbook(path, {**OPTIONS, "default_format_properties": dict(TYPE), **options})
        self.styles = Styles(self.book, house.typed is not None)
        self.business, self.paper, self.currency = one_line(house.business, FOOT), house.paper, house.currency
        self.money = number_format("money", 2, house.currency)
        self._said = {"subject": one_line(house.price_book, 200), "keywords": house.mark}
        self.sheets: dict[str, Any] = {}
        self._typed = house.typed

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if not self.book.fileclosed:  # what was begun in temporary files is given up
            self.book.close()

    def add_sheets(self, names: Iterable[str]) -> None:
        """Add empty sheets in their order: formulas may point forward."""
        for name in names:
            self.sheets[name] = self.book.add_worksheet(name)
            if self._typed is not None:
                spell(self.sheets[name], self._typed)

    def open_sheet(
        self, name: str, title: str, sentence: str = "", *, screen: bool = False, repeat: int | None = None, key: bool = False,
        column: int = 0,
    ) -> Any:
        """Title, sentence and page set-up of a sheet, which is added at the end where there is none of its name.

        Parameters
        ----------
        screen : True where it is for the screen alone and does not print
        repeat : the row that heads every further page, counted from 1
        key : True where the roles of the cells are told below the sentence
        column : of the sentence: one that is not repeated on further pages
        """
        if name not in self.sheets:
            self.add_sheets([name])
        sheet = self.sheets[name]
        set_page(sheet, paper=self.paper, business=self.business, landscape=screen, repeat_row=None if repeat is None else repeat - 1)
        sheet.set_default_row(ROW)
        sheet.set_row(0, 26)
        sheet.write_string(0, 0, clean_text(title), self.styles.get("headline"))
        if sentence:
            sheet.write_string(1, column, sentence, self.styles.get("sentence"))
        told = "   ".join([*([KEY] if key else []), *([SCREEN] if screen else [])])
        if told:
            sheet.write_string(2, column, told, self.styles.get("note"))
        if screen:
            sheet.print_area(*NOTHING)
        return sheet

    def fit(self, sheet: Any, widths: Sequence[int]) -> bool:
        """Set the widths of a sheet's columns [pixels], and print it upright where its type stays large enough, else across.

        Returns
        -------
        True where it prints across
        """
        set_widths(sheet, widths)
        across = sum(widths) > widest_page(self.paper)
        if across:
            pages = math.ceil(sum(widths) / widest_page(self.paper, landscape=True))
            sheet.set_landscape()
            sheet.fit_to_pages(pages, 0)
            if pages > 1:  # what a row is called stands on every page
                sheet.repeat_columns(0)
        return across

    def protect(self, but: Collection[str] = ()) -> None:
        """Lock every sheet but some, without a password, so that nothing is changed by accident."""
        for name, sheet in self.sheets.items():
            if name not in but:
                sheet.protect("", _ALLOWED)

    def close(self, title: str, day: datetime.date | None) -> None:
        """Set the file's properties, which say no more than its pages, open it on its first sheet, and write it.

        Parameters
        ----------
        day : the last that it speaks of, so that the same figures give the same file; today where it speaks of none
        """
        made = datetime.datetime.combine(day or datetime.date.today(), datetime.time())
        said = {"title": one_line(title, 200), "author": one_line(self.business, _AUTHOR)}
        self.book.set_properties({**said, **{name: text for name, text in self._said.items() if text}, "created": made})
        if self.sheets:
            next(iter(self.sheets.values())).activate()
        self.book.close()

