"""What a maker should look at in a costing: thin margins, heavy pieces, odd mixes, deliveries that no band holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from pricing.costing.lines import place_of

if TYPE_CHECKING:
    from pricing.costing.costing import Costing

#: Pigment above this share of the binder is reported. Source: ASTM C979, 1.4.
MOST_PIGMENT = 0.10

#: A recipe stated per cubic metre should fill this much of it before air. Source: the open data set of 1,030 mixes
#: (Yeh 1998), whose absolute volumes lie in this range.
PLAUSIBLE_YIELD = (0.93, 1.03)

#: Rounding noise in a comparison of shares.
_HAIR = 1e-9


def report(costing: Costing) -> None:
    """Add to the costing's problems everything in it that the maker should look at; what cannot be used is an error."""
    _mixes(costing)
    _deliveries(costing)
    _priceless(costing)
    if not costing.problems.errors:
        _margins(costing)
        _weights(costing)


def _enquiry_place(costing: Costing, line: int, column: str) -> tuple[str, str]:
    enquiry = int(costing.lines.enquiry[line])
    table, row = ("Enquiries", enquiry) if enquiry >= 0 else ("Products", int(costing.lines.product[line]))
    name = column if column in costing.book.tables[table].letters else "product"
    sheet, _, cell = place_of(costing.book.tables[table], name, row).partition("!")
    return sheet, cell


def _mixes(costing: Costing) -> None:
    rows = costing.model.tables["mixes"]
    value = {name: costing.values.value("mixes", name) for name in ("pigment_share", "solid_volume", "parts_in_cubic_metre", "mix_price")}
    table = costing.book.tables["Mixes"]
    for number, mix in enumerate(rows.text["mix"].tolist()):
        name = mix.split(" [")[0]
        found = np.flatnonzero(table.columns["mix"] == name)
        cell = table.cell("mix", int(found[0])) if len(found) else ""
        share, solid = float(value["pigment_share"][number]), float(value["solid_volume"][number])
        if share > MOST_PIGMENT + _HAIR:
            costing.problems.add(
                "much-pigment", f'mix "{name}": pigment is {share:.1%} of the binder; above 10 % colour gains nothing and '
                "strength suffers (ASTM C979); lower the amount", sheet="Mixes", cell=cell, warning=True)  # fmt: skip
        low, high = PLAUSIBLE_YIELD
        if not rows.given["has_parts"][number] and not low - _HAIR <= solid <= high + _HAIR:
            costing.problems.add(
                "odd-yield", f'mix "{name}": the amounts stated per cubic metre fill {solid:.3f} m3 before air; '
                f"{low} to {high} is plausible; check the amounts and the densities", sheet="Mixes", cell=cell, warning=True)  # fmt: skip
        if rows.given["has_parts"][number] and not value["parts_in_cubic_metre"][number] > 0:
            costing.problems.add(
                "overfull-mix", f'mix "{name}": what is stated per cubic metre leaves no room for the parts; lower those amounts',
                sheet="Mixes", cell=cell)  # fmt: skip


def _deliveries(costing: Costing) -> None:
    quotes = costing.model.tables["quotes"]
    carriage = costing.quote("carriage")
    mass = costing.quote("quote_mass")
    for number in np.flatnonzero(np.isnan(carriage)).tolist():
        line = costing.lines_of(quotes.text["quote"][number])[0]
        sheet, cell = _enquiry_place(costing, line, "customer")
        costing.problems.add(
            "no-band", f'quote {quotes.text["quote"][number]} weighs {mass[number]:.1f} kg; zone "{quotes.text["zone"][number]}" '
            "has no band for so much; add a row to Delivery", sheet=sheet, cell=cell)  # fmt: skip


def _priceless(costing: Costing) -> None:
    """A line without a finite cost and price is an error: no figure of it may reach anybody."""
    sound = np.isfinite(costing.line("unit_cost")) & np.isfinite(costing.line("unit_price"))
    products = costing.products()
    for line in np.flatnonzero(~sound).tolist():
        sheet, cell = _enquiry_place(costing, line, "product")
        costing.problems.add(
            "no-price", f'quote {costing.lines.quote[line]}, "{products[line]}": no cost comes out of these figures; look for a zero '
            "where one divides, such as a mix without volume", sheet=sheet, cell=cell)  # fmt: skip


def _margins(costing: Costing) -> None:
    lowest = costing.setting("lowest_margin")
    margin, products = costing.line("discounted_margin"), costing.products()
    for line in np.flatnonzero(costing.line("below_lowest")).tolist():
        sheet, cell = _enquiry_place(costing, line, "unit_price")
        costing.problems.add(
            "low-margin", f'quote {costing.lines.quote[line]}, "{products[line]}": margin {margin[line]:.1%} after discount is '
            f"below the lowest of {lowest:.1%}; raise the price or lower the cost", sheet=sheet, cell=cell, warning=True)  # fmt: skip
    quotes, whole = costing.model.tables["quotes"].text["quote"], costing.quote("quote_margin")
    for number in np.flatnonzero(whole < lowest - _HAIR).tolist():
        line = costing.lines_of(quotes[number])[0]
        sheet, cell = _enquiry_place(costing, line, "quote")
        costing.problems.add(
            "low-quote-margin", f"quote {quotes[number]}: margin {whole[number]:.1%} is below the lowest of {lowest:.1%}",
            sheet=sheet, cell=cell, warning=True)  # fmt: skip


def _weights(costing: Costing) -> None:
    lift = costing.setting("one_person_lift")
    mass, products = costing.line("mass"), costing.products()
    for line in np.flatnonzero(costing.line("too_heavy")).tolist():
        sheet, cell = _enquiry_place(costing, line, "product")
        costing.problems.add(
            "heavy-piece", f'quote {costing.lines.quote[line]}, "{products[line]}": one piece weighs {mass[line]:.1f} kg, more than '
            f"the {lift:g} kg that one person should lift; plan for two people or a lifting aid",
            sheet=sheet, cell=cell, warning=True)  # fmt: skip
