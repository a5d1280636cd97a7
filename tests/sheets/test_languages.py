"""Every sentence that a customer reads is in the catalogues, and a language changes words alone."""

from __future__ import annotations

import gettext
import html
import io
import re
import string
import zipfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from babel.messages.pofile import read_po
from books import DAY, write_book
from pieces_book import pieces_book
from terms_book import TERMS, terms_book

import pricing.languages
from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book, read_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import at_quantities, cost_quotes
from pricing.languages.tags import LANGUAGES
from pricing.languages.words import Words, words_of
from pricing.register.payments import Account, Stage
from pricing.register.recorded_quote import RecordedQuote
from pricing.reports.lists.price_list import write_price_list
from pricing.reports.quote import facts as facts_module
from pricing.reports.quote import papers as papers_module
from pricing.reports.quote.facts import quote_facts
from pricing.reports.quote.papers import Paper, papers_of, write_paper
from pricing.reports.quote.wording import messages
from pricing.reports.quote.workbook import write_facts, write_quote

CATALOGUES = {tag: Path(pricing.languages.__file__).parent / "locale" / folder / "LC_MESSAGES" / "pricing.po"
              for tag, folder in LANGUAGES.items() if folder}


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> PriceBook:
    return load_price_book(write_book(tmp_path_factory.mktemp("languages") / "book.xlsx", terms_book()))


@pytest.fixture(scope="module")
def costing(book: PriceBook) -> Costing:
    return cost_quotes(book)


def in_language(book: PriceBook, tag: str) -> Costing:
    """The quotes of the book, all in one language."""
    table = book.tables["Customers"]
    blank = np.full(len(table), "", dtype=object)
    tables = {**book.tables, "Customers": replace(table, columns={**table.columns, "language": blank})}
    return cost_quotes(replace(book, tables=tables, settings={**book.settings, "language": tag}))


@pytest.mark.parametrize("tag", [tag for tag in CATALOGUES if tag != "en-US"])
def test_a_catalogue_says_every_sentence(tag: str) -> None:
    """What is missing, and would be said in English, is listed here."""
    catalogue = read_po(io.BytesIO(CATALOGUES[tag].read_bytes()))
    known = {text for message in catalogue if message.id for text in (message.id if isinstance(message.id, tuple) else (message.id,))}
    assert [text for text in messages() if text not in known] == []
    assert [text for text in known if text not in messages()] == []
    assert all(all(message.string) if isinstance(message.string, tuple) else message.string for message in catalogue if message.id)


@pytest.mark.parametrize("tag", CATALOGUES)
def test_a_translation_speaks_of_the_same_figures(tag: str) -> None:
    """Each form has the braces of its sentence, and begins and ends with a space where that does."""
    for message in read_po(io.BytesIO(CATALOGUES[tag].read_bytes())):
        if not message.id:
            continue
        ids, said = ((each if isinstance(each, tuple) else (each,)) for each in (message.id, message.string))
        for form in said:
            assert fields(form) == fields(ids[-1]), message.id
            assert (form[:1] == " ", form[:1] == ":") == (ids[-1][:1] == " ", ids[-1][:1] == ":"), message.id


def fields(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def test_american_english_writes_color() -> None:
    """No message of it keeps a British spelling."""
    said = " ".join(words_of("en-US").say(text) for text in messages())
    assert "color" in said
    assert re.findall(r"\b\w*(?:colour|mould|enquir)\w*", said) == []


class Marks(gettext.NullTranslations):
    """A language that marks each of its sentences."""

    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"


def marked() -> Words:
    words = Words("en-GB")
    words.__dict__["_messages"] = Marks()
    return words


def texts_of(workbook: io.BytesIO | Path) -> list[str]:
    """Every text of a workbook that a reader may meet: cells, words in number formats, head and foot, names, what pictures are called."""
    found: list[str] = []
    with zipfile.ZipFile(workbook) as parts:
        for name in parts.namelist():
            if not name.endswith(".xml"):
                continue
            content = parts.read(name).decode()
            if name.endswith("sharedStrings.xml"):
                cells = re.findall(r"<si>(.*?)</si>", content, re.S)
                found += ["".join(re.findall(r"<t[^>]*>(.*?)</t>", cell, re.S)) for cell in cells]
            found += re.findall(r'<(?:oddFooter|oddHeader|dc:title)>(.*?)</', content, re.S)
            found += re.findall(r'<sheet name="([^"]*)"', content) + re.findall(r'descr="([^"]*)"', content)
            formats = [html.unescape(each) for each in re.findall(r'formatCode="([^"]*)"', content)]
            found += ["".join(re.findall(r'"([^"]*)"', each)) for each in formats]
    return [html.unescape(text) for text in found]


def unmarked(text: str, data: list[str]) -> str:
    """The letters of a text that stand in no mark and are no data, units or codes."""
    left = re.sub(r'&[LRPN]|&\d+|&"[^"]*"', "", text)
    for each in sorted(data, key=len, reverse=True):
        left = left.replace(each, "")
    while (fewer := re.sub(r"⟦[^⟦⟧]*⟧", "", left)) != left:
        left = fewer
    left = re.sub(r"\b(?:mm|m|m²|kg|lb|EUR|VAT)(?!\w)", "", left)
    return "".join(letter for letter in left if letter.isalpha())


def data_of(costing: Costing) -> list[str]:
    """What the maker typed: names, descriptions, addresses, terms."""
    tables = costing.book.tables
    typed = [str(cell) for sheet in ("Products", "Customers", "Quotes", "Payments", "Taxes", "Terms", "Mixes", "Finishes",
                                                      "Enquiries")
             for values in tables[sheet].columns.values() if values.dtype == object for cell in values.tolist()]
    typed += [str(value) for value in costing.book.settings.values() if isinstance(value, str)]
    typed += [part for text in typed for part in text.split("\n")]
    return [text for text in (*typed, *costing.quotes) if len(text) > 1]


def with_all_remarks(book: PriceBook) -> PriceBook:
    """The same book with a price by measure and a discount of a line."""
    products, enquiries = book.tables["Products"], book.tables["Enquiries"]
    per, off = products["price_per"].copy(), enquiries["discount"].copy()
    per[1], off[0] = "m2", 0.125
    tables = {
        "Products": replace(products, columns={**products.columns, "price_per": per}),
        "Enquiries": replace(enquiries, columns={**enquiries.columns, "discount": off}),
    }
    return replace(book, tables={**book.tables, **tables})


def test_every_text_of_a_quote_is_in_the_catalogue(book: PriceBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a language that marks each of its sentences nothing is left unmarked but what the maker typed."""
    monkeypatch.setattr(facts_module, "words_of", lambda tag: marked())
    pieces = load_price_book(write_book(tmp_path / "pieces.xlsx", pieces_book()))
    for made in (cost_quotes(with_all_remarks(book)), cost_quotes(pieces)):
        breaks, data = at_quantities(made, (1, 5)), data_of(made)
        for quote in made.quotes:
            file = io.BytesIO()
            write_facts(quote_facts(made, quote, breaks, "Draft, not yet an offer"), file)
            texts = texts_of(file)
            assert len(texts) > 30
            assert {text: letters for text in texts if (letters := unmarked(text, data))} == {}


def test_every_text_of_a_price_list_is_in_the_catalogue(book: PriceBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """So it is with a price list."""
    monkeypatch.setattr(facts_module, "words_of", lambda tag: marked())
    write_price_list(book, DAY, tmp_path / "list.xlsx", (1, 5))
    texts, data = texts_of(tmp_path / "list.xlsx"), data_of(cost_quotes(book))
    assert len(texts) > 15
    assert {text: letters for text in texts if (letters := unmarked(text, data))} == {}


def papers_in(costing: Costing, quote: str, currency: str = "EUR") -> list[Paper]:
    """The four papers to an order of a quote, as its register would have it: nothing paid, and then too much."""
    alone = cost_quotes(costing.book, [quote])
    totals = {name: float(alone.quote(name)[0]) for name in ("payable", "deposit")}
    recorded = RecordedQuote(1, quote, 1, "", DAY, DAY, currency, totals, "made", DAY, "made", "", "", (2, 3))
    stages = tuple(Stage(each.called, each.amount, each.amount, DAY if each.when == "before delivery" else None, each)
                   for each in alone.payments[0])
    paid = ((DAY, totals["payable"] + 1),)
    found = papers_of(alone, Account(recorded, (), stages), DAY, DAY)
    return [*found, *papers_of(alone, Account(recorded, paid, stages), DAY, DAY)[-1:]]


def test_every_text_of_the_papers_is_in_the_catalogue(book: PriceBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """So it is with confirmation, request, delivery note and statement; stages and taxes stay as the maker typed them."""
    monkeypatch.setattr(facts_module, "words_of", lambda tag: marked())
    monkeypatch.setattr(papers_module, "leaks_of", lambda file, secrets: [])
    costing = cost_quotes(with_all_remarks(book))
    data = data_of(costing)
    for quote in ("Q-1", "Q-3"):
        for paper in papers_in(costing, quote):
            write_paper(cost_quotes(costing.book, [quote]), paper, tmp_path / "paper.xlsx")
            texts = texts_of(tmp_path / "paper.xlsx")
            assert len(texts) > 12
            assert {text: letters for text in texts if (letters := unmarked(text, data))} == {}


def test_a_german_customer_has_german_papers(costing: Costing, tmp_path: Path) -> None:
    """Titles, dates, stages and terms, why no tax is charged, and no English sentence; the gate lets them pass."""
    said = []
    for paper in papers_in(costing, "Q-3"):
        write_paper(cost_quotes(costing.book, ["Q-3"]), paper, tmp_path / "paper.xlsx")
        said += texts_of(tmp_path / "paper.xlsx")
    whole = "\n".join(said)
    for text in (
        "Auftragsbestätigung", "Zahlungsaufforderung", "Lieferschein", "Zahlungsübersicht", "Last third, 14 Tage netto ab Lieferung",
        "Steuerschuldnerschaft des Leistungsempfängers", "First third, fällig bei Bestellung", "Bezahlt am 2. März 2026",
        "haben Sie bestellt: Nr. 2 und Nr. 3.",
    ):
        assert text in whole, text
    english = {text for text in messages() if "{" not in text and len(text) > 12}
    assert [text for text in english if text in whole] == []


def test_a_sentence_that_is_not_marked_is_found() -> None:
    """The walk can fail."""
    assert unmarked("⟦Valid until ⟦now⟧⟧ and on", ["Ada"]) == "andon"
    assert unmarked("⟦Valid⟧ Ada 12 mm", ["Ada"]) == ""


def test_a_language_changes_no_number(book: PriceBook, tmp_path: Path) -> None:
    """In each language every quote goes through the leak gate, and its cells hold the same numbers and formulas."""
    plain: dict[str, list[object]] = {}
    for tag in LANGUAGES:
        costing = in_language(book, tag)
        for quote, told in zip(costing.quotes, costing.as_json()["quotes"], strict=True):
            assert told.pop("language") == tag
            write_quote(costing, quote, tmp_path / "quote.xlsx")
            sheet = openpyxl.load_workbook(tmp_path / "quote.xlsx").worksheets[0]
            cells = [cell.value for row in sheet.iter_rows() for cell in row if cell.data_type in "nfd" and cell.value is not None]
            numbers = [re.sub(r"\d+", "", value) if isinstance(value, str) else value for value in cells]
            assert plain.setdefault(quote, [told, numbers]) == [told, numbers], (tag, quote)


def test_a_german_customer_is_written_to_in_german(costing: Costing, tmp_path: Path) -> None:
    """Headings, dates, stages, terms of payment and the opening of the maker's own, and no English sentence."""
    write_quote(costing, "Q-3", tmp_path / "quote.xlsx")
    texts = texts_of(tmp_path / "quote.xlsx")
    said = "\n".join(texts)
    for text in ("Angebot", "Gültig bis", "bis zum 1. April 2026", "Last third, 14 Tage netto ab Lieferung", TERMS[1][2], TERMS[3][2],
                 "Steuerschuldnerschaft des Leistungsempfängers", "1 lange Kante abgekantet"):
        assert text in said, text
    assert "Project-Id-Version" not in said
    english = {text for text in messages() if "{" not in text and len(text) > 12}
    assert [text for text in english if text in said] == []


def test_a_language_without_a_catalogue_is_reported(tmp_path: Path) -> None:
    """At the customer and at the setting, with the languages that there are."""
    sheets = terms_book()
    sheets["Customers"][3][10] = "xx"
    sheets["Workshop"].append(["Language", "klingon", None])
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    assert {(each.sheet, each.cell) for each in problems.errors} == {("Customers", "K4"), ("Workshop", f"B{len(sheets['Workshop'])}")}
    assert all("en-GB, en-US, de, fr, es or nl" in str(each) for each in problems.errors)


@pytest.mark.parametrize(("tag", "point"), [("en-GB", "."), ("en-US", "."), ("de", ","), ("fr", ","), ("es", ","), ("nl", ",")])
def test_numbers_are_printed_with_the_separators_of_their_language(tag: str, point: str) -> None:
    """A number format says the language where Babel's locale (CLDR) writes decimals otherwise than English does, and only there."""
    from babel.numbers import get_decimal_symbol

    words = words_of(tag)
    assert get_decimal_symbol(words.locale) == point
    assert bool(words.number_mark) == (point != ".")
    assert words.day_format.startswith(words.number_mark)
