"""Whether taxes are as EN 16931 lets them be, and payments and the terms of quotes as they can be kept."""

from __future__ import annotations

import math

from pricing.book.checking.sheet_view import SheetView
from pricing.book.declared.terms import CATEGORIES
from pricing.book.price_book import PriceBook
from pricing.book.wording.reporter import Reporter
from pricing.book.wording.sentences import listed, number_text, quoted
from pricing.languages.tags import LANGUAGES, known_language
from pricing.problems import Problems
from pricing.text import fold

#: Categories under which the customer has to be told the workshop's tax number (BR-S-02, BR-AE-02, BR-IC-02, BR-G-02 and their like).
_ASK_FOR_NUMBER = frozenset({"AE", "G", "K"})


def check_terms(book: PriceBook, problems: Problems) -> None:
    """Report what does not fit together.

    Problems: tax-needs-rate, tax-takes-no-rate, tax-needs-reason, two-taxes, out-of-scope-with-others, shares-of-plan,
    two-rests, payments-and-deposit, unknown-language; reason-not-printed, no-tax-number, terms-of-no-quote as warnings.
    """
    _taxes(book, problems)
    _taxes_of_customers(book, problems)
    _out_of_scope_stands_alone(book, problems)
    _plans(book, problems)
    _terms_of_quotes(book, problems)
    _languages(book, problems)


def _taxes(book: PriceBook, problems: Problems) -> None:
    """Only what is taxed has a rate (BR-S-05, BR-Z-05 and their like), only what is not has a reason (BR-S-10, BR-E-10 and their like)."""
    at = SheetView(book, problems, "Taxes")
    told = bool(book.word("tax_number"))
    rows = zip(at.texts("tax"), at.numbers("rate"), at.texts("category"), at.texts("reason"), strict=True)
    for row, (tax, rate, category, reason) in enumerate(rows):
        if category not in CATEGORIES or at.is_wrong("category", row):
            continue
        name = quoted(tax)
        if category == "S" and not rate > 0:
            at.report("tax-needs-rate", "rate", row, tax=name)
        elif category != "S" and rate > 0:
            at.report("tax-takes-no-rate", "rate", row, tax=name, category=category, found=f"{number_text(round(rate * 100, 6))} %")
        if category == "E" and not reason:
            at.report("tax-needs-reason", "reason", row, tax=name)
        elif category in ("S", "Z") and reason:
            at.report("reason-not-printed", "reason", row, warning=True, tax=name, category=category)
        if category in _ASK_FOR_NUMBER and not told:
            at.report("no-tax-number", "category", row, warning=True, tax=name, means=CATEGORIES[category])
            told = True


def _taxes_of_customers(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Customers")
    for row, (name, tax, rate) in enumerate(zip(at.texts("customer"), at.texts("tax"), at.numbers("tax_rate"), strict=True)):
        if tax and not math.isnan(rate):
            at.report("two-taxes", "tax", row, customer=quoted(name))


def _out_of_scope_stands_alone(book: PriceBook, problems: Problems) -> None:
    """A quote with something out of scope has nothing else (BR-O-11 to BR-O-14)."""
    taxes = SheetView(book, problems, "Taxes")
    category = dict(zip(taxes.texts("tax"), taxes.texts("category"), strict=True))
    if "O" not in category.values():
        return
    tables = book.tables
    terms = zip(*(tables["Customers"][name].tolist() for name in ("customer", "tax", "tax_rate")), strict=True)
    settled = {customer for customer, tax, rate in terms if tax or not math.isnan(rate)}
    products = {name: tax for sheet, column in (("Services", "service"), ("Products", "product"))
                for name, tax in zip(tables[sheet][column].tolist(), tables[sheet]["tax"].tolist(), strict=True)}
    products |= {name: products.get(part, "") for name, part in zip(tables["Sets"]["set"].tolist(), tables["Sets"]["product"].tolist(),
                                                                    strict=True) if name not in products}
    at = SheetView(book, problems, "Enquiries")
    first: dict[str, tuple[bool, int]] = {}
    for row, (quote, customer, product) in enumerate(zip(*(at.texts(name) for name in ("quote", "customer", "product")), strict=True)):
        if not quote or customer in settled:
            continue
        outside = category.get(products.get(product, ""), "") == "O"
        before, other = first.setdefault(quote, (outside, row))
        if before != outside:
            at.report("out-of-scope-with-others", "product", row, quote=quoted(quote), row=int(at.table.rows[other]))


def _plans(book: PriceBook, problems: Problems) -> None:
    """The shares of a plan are all of what is paid."""
    at = SheetView(book, problems, "Payments")
    shares, plans = at.numbers("share"), dict[str, list[int]]()
    for row, plan in enumerate(at.texts("payments")):
        if plan:
            plans.setdefault(plan, []).append(row)
    for plan, rows in plans.items():
        blank = [row for row in rows if math.isnan(shares[row])]
        whole = round(sum(shares[row] for row in rows if row not in blank), 9)
        found = f"{number_text(round(whole * 100, 6))} %"
        if len(blank) > 1:
            at.report("two-rests", "share", blank[1], plan=quoted(plan), row=int(at.table.rows[blank[0]]))
        elif whole > 1 or (whole != 1 and not blank):
            at.report("shares-of-plan", "share", rows[-1], plan=quoted(plan), found=found)


def _terms_of_quotes(book: PriceBook, problems: Problems) -> None:
    at = SheetView(book, problems, "Quotes")
    known = {fold(name) for name in book.tables["Enquiries"]["quote"].tolist()}
    for row, (quote, plan, deposit) in enumerate(zip(at.texts("quote"), at.texts("payments"), at.numbers("deposit"), strict=True)):
        if plan and not math.isnan(deposit):
            at.report("payments-and-deposit", "deposit", row, quote=quoted(quote))
        if quote and fold(quote) not in known:
            at.report("terms-of-no-quote", "quote", row, warning=True, quote=quoted(quote))


def _languages(book: PriceBook, problems: Problems) -> None:
    """There is a catalogue of each language that is asked for."""
    for sheet in ("Customers", "Quotes", "Terms"):
        at = SheetView(book, problems, sheet)
        for row, tag in enumerate(at.texts("language")):
            if tag and not known_language(tag):
                at.report("unknown-language", "language", row, found=quoted(tag), known=listed(LANGUAGES))
    tag = book.word("language")
    if tag and not known_language(tag):
        report = Reporter(problems, book.tables["Workshop"].sheet_as_written).report
        report("unknown-language", book.setting_cells.get("language", ""), found=quoted(tag), known=listed(LANGUAGES))
