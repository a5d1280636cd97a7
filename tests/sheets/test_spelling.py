"""A workshop's pack is spelled as the workshop's country spells; what was typed stays as it was typed."""

from __future__ import annotations

import re

import openpyxl
import pytest
from books import small_book, write_book
from openpyxl.workbook import Workbook

from pricing.api.costs import explain, explanation
from pricing.book.reading.read import load_price_book
from pricing.costing.run import cost_quotes
from pricing.reports.repricing.workbook import write_repricing
from pricing.reports.workshop.workbook import prepared, write_work_of
from pricing.repricing.reprice import reprice

#: A name with two words that are spelled otherwise in America, and a part of another word that is one of them.
TYPED = "Grey moulding"

#: The same, and what else is typed so in the small workshop.
OWN = (TYPED, "Colour Yard", "Build mould")


def texts(book: Workbook) -> set[str]:
    """Every text and note of a workbook."""
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
    return {str(cell.value) for cell in cells if cell.data_type == "s"} | {cell.comment.text for cell in cells if cell.comment}


@pytest.fixture(scope="module", params=["USD", "GBP"])
def written(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, set[str]]:
    """The texts of a workshop pack."""
    folder, sheets = tmp_path_factory.mktemp(request.param), small_book()
    next(row for row in sheets["Workshop"] if row[0] == "Currency")[1] = request.param
    old = sheets["Products"][1][0]
    for rows in sheets.values():
        for row in rows:
            row[:] = [TYPED if value == old else value for value in row]
    book = load_price_book(write_book(folder / "book.xlsx", sheets))
    costing = cost_quotes(book)
    write_work_of(prepared(costing, "Q-1"), folder / "work.xlsx")
    write_repricing(reprice(book, max(costing.lines.day.tolist()), changes=["Melamine=+10%"]), folder / "repricing.xlsx")
    told = "\n".join(explanation(explain(costing, "Q-1", 1, "unit_cost"), 99)).split("\n")
    written = [openpyxl.load_workbook(folder / name) for name in ("work.xlsx", "repricing.xlsx")]
    told = [line for line in told if not re.search(r"Moulds!|\(| min × ", line)]  # there stands what was typed
    return request.param, {*told, *(text for book in written for text in texts(book))}


def test_our_words_are_spelled_as_the_country_does(written: tuple[str, set[str]]) -> None:
    """An American workshop reads molds, any other moulds; the sheet of the price book is called what it is called."""
    currency, said = written
    ours = [text for text in said if not any(own in text for own in OWN)]
    british = [text for text in ours if re.search(r"\bmould|\bMould(?!s!)|[Cc]olour|[Ff]ibre", text)]
    american = [text for text in said if re.search(r"\b[Mm]old", text)]
    assert (bool(british), bool(american)) == ((False, True) if currency == "USD" else (True, False)), british[:5]


def test_what_was_typed_stays(written: tuple[str, set[str]]) -> None:
    """The name of a product is read as it was typed, in whatever country."""
    assert any(text == TYPED or text.startswith(f"{TYPED}:") for text in written[1])
    assert not any("Gray molding" in text for text in written[1])
