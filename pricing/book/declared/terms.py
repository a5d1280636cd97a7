"""The sheets that say on what terms is sold: taxes, payments, the terms of a quote of its own, and words of the maker's own."""

from __future__ import annotations

from pricing.book.declared.column import Column, SheetDeclaration

#: Categories of tax, letters of UNTDID 5305 as EN 16931 uses them, each with its meaning.
CATEGORIES: dict[str, str] = {
    "S": "taxed at the rate",
    "Z": "taxed at 0 %",
    "E": "exempt; the reason is printed",
    "AE": "reverse charge: the customer owes the tax",
    "G": "export, free of tax",
    "K": "supply within the European Union, free of tax",
    "O": "not within the scope of the tax; never together with another category on one quote",
}

#: Each in a word or two, as a maker may type it.
CATEGORY_WORDS: dict[str, str] = {
    "S": "taxed", "Z": "zero rated", "E": "exempt", "AE": "reverse charge", "G": "export", "K": "within the European Union",
    "O": "out of scope",
}

#: When a stage falls due.
WITH_ORDER, BEFORE_DELIVERY, ON_DELIVERY, AFTER_DELIVERY = WHEN = ("with the order", "before delivery", "on delivery", "after delivery")

TAXES = SheetDeclaration(
    "Taxes", "a tax, by category and rate",
    "Taxes that products and customers name, where the one of the Workshop sheet is not all there is.", "tax", "taxes",
    (
        Column("Tax", "name", "Its name, as the quote prints it.", needed=True, example="Reduced rate", width=22),
        Column("Rate", "percent", "Of the net. Only category S has one.", quantity="own_tax_rate", default=0.0, example="7 %", decimals=1,
               width=9),
        Column("Category", "choice", f"Letter of EN 16931: {', '.join(map(' '.join, CATEGORY_WORDS.items()))}.", choices=tuple(CATEGORIES),
               choices_mean=CATEGORY_WORDS, default="S", width=10),
        Column("Reason", "note", "Why no tax is charged; printed on the quote. Exempt needs it; the others have one of their own.",
               default="", example="Exempt under ...", width=50),
    ),
    key=("tax",), in_starter=False,
)

PAYMENTS = SheetDeclaration(
    "Payments", "a stage of a payment plan", "In which stages quotes are paid; each share is of the amount to pay.", "payment plan",
    "payment plans",
    (
        Column("Payments", "name", "Name of the plan, repeated on every stage of it.", needed=True, example="Thirds", width=20),
        Column("Stage", "name", "What the stage is called on the quote.", needed=True, example="Deposit", width=22),
        Column("Share", "percent", "Of the amount to pay; the shares of a plan add up to 100 %. Blank in one of them: what is left.",
               quantity="share", example="30 %", decimals=1, width=9),
        Column("When", "choice", "When it falls due.", choices=WHEN, needed=True, width=18),
        Column("Days", "number", "Days before or after that; blank: at once, or after delivery the customer's Payment days.", shown="days",
               upper=3650.0, whole=True, example="30", decimals=0, width=9),
    ),
    key=("payments", "stage"), in_starter=False,
)


def payments_column() -> Column:
    """The plan by which a customer or a quote is paid."""
    return Column("Payments", "choice", "Plan of the sheet Payments by which it is paid; blank: the deposit, and the rest.",
                  refers_to="Payments", default="", width=16, in_starter=False)


def language_column(of: str) -> Column:
    """The language in which a customer is written to.

    Parameters
    ----------
    of : what it is the language of
    """
    return Column("Language", "note", f"The language {of}, by its BCP 47 tag: en-GB, en-US, de, fr, es, nl.", default="", example="de",
                  width=10, in_starter=False, brought_by="languages")


QUOTES = SheetDeclaration(
    "Quotes", "a quote with terms of its own", "What holds for one quote instead of what holds for all.", "quote", "quotes with terms",
    (
        Column("Quote", "name", "Number of the quote.", needed=True, example="Q-1001", width=10),
        Column("Reference", "note", "The customer's own reference, printed on the quote.", default="", width=24),
        Column("Site address", "note", "Where the pieces go, if that is not the customer's address.", default="", width=44),
        Column("Discount", "percent", "Of this quote, instead of the customer's.", quantity="discount_rate", example="5 %", decimals=1,
               width=10),
        Column("Valid for", "number", "Days for which this quote holds.", shown="days", lower=1.0, upper=3650.0, whole=True, example="60",
               decimals=0, width=9),
        Column("Deposit", "percent", "Of this quote, instead of the workshop's.", quantity="deposit_share", example="30 %", decimals=0,
               width=9),
        payments_column(),
        language_column("of this quote"),
        Column("Opening", "note", "The sentence that opens this quote.", default="", width=44),
        Column("Terms", "note", "Terms of this quote, printed on it.", default="", width=44),
    ),
    key=("quote",), in_starter=False,
)

TERMS = SheetDeclaration(
    "Terms", "a paragraph of your own",
    "Terms, bank details and whatever else stands on every quote; under the heading Opening, the sentence that opens it.", "paragraph",
    "paragraphs of terms",
    (
        language_column("of the quotes on which it stands; blank: of all"),
        Column("Heading", "note", "What stands above it.", needed=True, example="Terms of payment", width=26),
        Column("Text", "note", "The paragraph, printed as it is.", needed=True, example="Please pay to ...", width=80),
    ),
    in_starter=False,
)


def tax_column(stands: str) -> Column:
    """The tax of a product, a service or a customer.

    Parameters
    ----------
    stands : which one goes before which
    """
    return Column("Tax", "choice", f"A tax of the Taxes sheet; blank: the tax of the Workshop sheet. {stands}", refers_to="Taxes",
                  default="", width=16, in_starter=False, brought_by="taxes")
