"""The sheets that say on what terms is sold: taxes."""

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

TAXES = SheetDeclaration(
    "Taxes", "a tax, by category and rate",
    "Taxes that products and customers name, where the one of the Workshop sheet is not all there is.", "tax", "taxes",
    (
        Column("Tax", "name", "Its name, as the quote prints it.", needed=True, example="Reduced rate", width=22),
        Column("Rate", "percent", "Of the net. Only category S has one.", quantity="own_tax_rate", default=0.0, example="7 %", decimals=1,
               width=9),
        Column("Category", "choice", "Letter of EN 16931: S taxed, Z zero rated, E exempt, AE reverse charge, G export, K supply "
               "within the European Union, O out of scope.", choices=tuple(CATEGORIES), needed=True, width=10),
        Column("Reason", "note", "Why no tax is charged; printed on the quote. Exempt needs it; the others have one of their own.",
               default="", example="Exempt under ...", width=50),
    ),
    key=("tax",), in_starter=False,
)


def tax_column(stands: str) -> Column:
    """The tax of a product, a service or a customer.

    Parameters
    ----------
    stands : which one goes before which
    """
    return Column("Tax", "choice", f"A tax of the Taxes sheet; blank: the tax of the Workshop sheet. {stands}", refers_to="Taxes",
                  default="", width=16, in_starter=False)
