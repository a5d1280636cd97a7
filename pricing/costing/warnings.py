"""What a maker should look at in a costing: thin margins, heavy pieces, odd mixes, deliveries that no band holds."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import NONE, price_row_on
from pricing.book.shown_units import mass_unit, shown_mass
from pricing.costing.engine.packed_columns import Codes, Floats
from pricing.costing.lines.order_lines import place_of
from pricing.costing.method.costing import Costing
from pricing.costing.method.rows_builder import safe_key
from pricing.costing.moulds.price_rises import price_rises, rises_in_words
from pricing.problems import Problems
from pricing.rules.materials import unit_price_of_material

#: Pigment above this share of the binder is reported. Source: ASTM C979, 1.4.
MOST_PIGMENT = 0.10

#: A recipe stated per cubic metre should fill this much of it before air. Source: the open data set of 1,030 mixes
#: (Yeh 1998), whose absolute volumes lie in this range.
PLAUSIBLE_YIELD = (0.93, 1.03)

#: Of the products of a list, so many are told of one by one; quotes are told of every time.
MOST_OF_A_LIST = 100

#: Rounding noise in a comparison of shares.
_HAIR = 1e-9


def report(costing: Costing) -> None:
    """Add to the costing's problems everything in it that the maker should look at; what cannot be used is an error."""
    _mixes(costing)
    _deliveries(costing)
    _priceless(costing)
    _bought_moulds(costing)
    _cheaper_packs(costing)
    if not costing.problems.errors:
        _given_away(costing)
        _nothing_to_pay(costing)
        _margins(costing)
        _weights(costing)


def report_rises(at: Costing, per_line: int, problems: Problems, *, of_list: bool = False) -> None:
    """Add each line of which a piece costs a customer more at one quantity than at a smaller one, and why.

    Parameters
    ----------
    at : lines at so many quantities each, as ``with_quantities`` gives them
    per_line : quantities of each line
    of_list : True where the lines are the products of a list, whatever they were asked for by
    """
    products = at.products()
    for line, told in rises_in_words(price_rises(at, per_line)).items():
        row = int(at.lines.product[line * per_line])
        listed = place_of(at.book.tables["Products"], "product", row).partition("!")[::2]
        sheet, cell = listed if of_list else _enquiry_place(at, line * per_line, "quantity")
        problems.add(
            "dearer-each", f'"{products[line * per_line]}" is {told}; look whether that number is worth offering',
            sheet=sheet, cell=cell, warning=True,
        )


def _enquiry_place(costing: Costing, line: int, column: str) -> tuple[str, str]:
    enquiry = int(costing.lines.enquiry[line])
    table, row = ("Enquiries", enquiry) if enquiry >= 0 else ("Products", int(costing.lines.product[line]))
    name = column if column in costing.book.tables[table].letters else "product"
    sheet, _, cell = place_of(costing.book.tables[table], name, row).partition("!")
    return sheet, cell


def _mixes(costing: Costing) -> None:
    rows = costing.model.tables["mixes"]
    value = {name: costing.values.value("mixes", name) for name in ("pigment_share", "solid_volume", "parts_in_cubic_metre", "mix_price")}
    typed = _typed_mixes(costing)
    for number, mix in enumerate(rows.text["mix"].tolist()):
        if mix == NONE:
            continue
        name, cell = typed.get(mix, (mix, ""))
        share, solid = float(value["pigment_share"][number]), float(value["solid_volume"][number])
        if share > MOST_PIGMENT + _HAIR:
            costing.problems.add(
                "much-pigment", f'mix "{name}": pigment is {share:.1%} of the binder; above 10 % colour gains nothing and '
                "strength suffers (ASTM C979); lower the amount", sheet="Mixes", cell=cell, warning=True)
        low, high = PLAUSIBLE_YIELD
        if not rows.given["has_parts"][number] and not low - _HAIR <= solid <= high + _HAIR:
            costing.problems.add(
                "odd-yield", f'mix "{name}": the amounts stated per cubic metre fill {solid:.3f} m3 before air; '
                f"{low} to {high} is plausible; check the amounts and the densities", sheet="Mixes", cell=cell, warning=True)
        if rows.given["has_parts"][number] and not value["parts_in_cubic_metre"][number] > 0:
            costing.problems.add(
                "overfull-mix", f'mix "{name}": what is stated per cubic metre leaves no room for the parts; lower those amounts',
                sheet="Mixes", cell=cell)


def _typed_mixes(costing: Costing) -> dict[str, tuple[str, str]]:
    """The name and the cell of each mix of the model, found by the cell in which the amount of its first ingredient is typed."""
    ingredients, table = costing.model.tables["ingredients"], costing.book.tables["Mixes"]
    places = {table.cell("amount", row): row for row in range(len(table))}
    found: dict[str, tuple[str, str]] = {}
    for number, mix in enumerate(ingredients.text["mix"].tolist()):
        row = places.get(ingredients.place("amount", number).rpartition("!")[2])
        if mix not in found and row is not None:
            found[mix] = str(table.columns["mix"][row]), table.cell("mix", row)
    return found


def _told(costing: Costing, flagged: Floats | NDArray[np.bool_], code: str, words: str, *, warning: bool = True) -> Iterator[int]:
    """The lines to be told of: every enquired one, and of the products of a list the first; the rest is counted, and *words* said of it."""
    lines = np.flatnonzero(flagged)
    listed = costing.lines.enquiry[lines] < 0
    rest = np.cumsum(listed) > MOST_OF_A_LIST
    yield from lines[~(listed & rest)].tolist()
    more = int((listed & rest).sum())
    if more:
        costing.problems.add(code, f"{more:,} more products of the list {words}", sheet="Products", warning=warning)


def _first_lines(costing: Costing, flagged: NDArray[np.bool_]) -> tuple[NDArray[np.bool_], Codes]:
    """The flags of some quotes, each at its first line; and for each line the number of its quote."""
    number = costing.model.lookup("lines", "quote_number", "quotes").rows
    if not flagged.any():
        return np.zeros(len(number), dtype=np.bool_), number
    first = np.full(len(flagged), len(number), dtype=np.intp)
    first[number[::-1]] = np.arange(len(number) - 1, -1, -1)
    opening = np.zeros(len(number), dtype=np.bool_)
    opening[first[flagged]] = True
    return opening, number


def _deliveries(costing: Costing) -> None:
    quotes = costing.model.tables["quotes"]
    mass, unit = costing.quote("quote_mass"), mass_unit(costing.book)
    opening, number_of = _first_lines(costing, np.isnan(costing.quote("carriage")))
    for line in _told(costing, opening, "no-band", "weigh more than any band of their zone", warning=False):
        number = number_of[line]
        sheet, cell = _enquiry_place(costing, line, "customer")
        costing.problems.add(
            "no-band", f'quote {quotes.text["quote"][number]} weighs {shown_mass(float(mass[number]), unit):,.1f} {unit}; zone '
            f'"{quotes.text["zone"][number]}" has no band for so much; add a row to Delivery', sheet=sheet, cell=cell)


def _priceless(costing: Costing) -> None:
    """A line without a finite cost and price is an error: no figure of it may reach anybody."""
    sound = np.isfinite(costing.line("unit_cost")) & np.isfinite(costing.line("unit_price"))
    for line in _told(costing, ~sound, "no-price", "have no cost that comes out of their figures", warning=False):
        sheet, cell = _enquiry_place(costing, line, "product")
        costing.problems.add(
            "no-price", f'quote {costing.lines.quote[line]}, "{costing.product(line)}": no cost comes out of these figures; look for a '
            "zero where one divides, such as a mix without volume", sheet=sheet, cell=cell)


def _bought_moulds(costing: Costing) -> None:
    """A mould plan in use without a board has to say what its moulds cost."""
    rows, table = costing.model.tables["moulds"], costing.book.tables["Moulds"]
    free = (rows.given["is_bought"] > 0) & (costing.values.value("moulds", "bought_mould_cost") <= 0)
    keys, of_lines = set(rows.text["mould_plan"][np.flatnonzero(free)].tolist()), costing.model.tables["lines"].text.words("mould_plan")
    unpaid = np.array([word in keys for word in of_lines.words], dtype=np.bool_)[of_lines.codes]
    for plan in sorted({str(name) for name in costing.lines.plans["mould_plan"][unpaid].tolist() if name}):
        row = int(np.flatnonzero(table.columns["mould_plan"] == plan)[0])
        sheet, _, cell = place_of(table, "mould_plan", row).partition("!")
        costing.problems.add(
            "free-mould", f'mould plan "{plan}" has neither a Board nor a Price, so that its moulds cost nothing; type what one costs '
            "under Price, or under Pattern price with Moulds of a pattern", sheet=sheet, cell=cell, warning=True)


def _cheaper_packs(costing: Costing) -> None:
    """Of each material in use what another pack of it would save; the price rests on the material that is named."""
    materials, book = costing.book.tables["Materials"], costing.book
    if "same_as" not in materials.columns or not len(costing.lines):
        return
    day, sheet = costing.lines.day.max(), materials.columns
    used = {str(key) for table in costing.model.members("prices") for key in costing.model.tables[table].text["material"].tolist()}

    def price(row: int) -> float:
        carriage = float(np.nan_to_num(sheet["carriage"][row]))
        return float(unit_price_of_material(float(sheet["pack_price"][row]), carriage, float(sheet["pack_size"][row]), 0.0))

    for name in dict.fromkeys(sheet["material"].tolist()):
        row = price_row_on(book, name, day)
        main = str(sheet["same_as"][row]) if row is not None else ""
        own = price_row_on(book, main, day) if main else None
        if row is None or own is None or not any(safe_key(main) == key.partition(" [")[0] for key in used):
            continue
        if sheet["pack_unit"][own] == sheet["pack_unit"][row] and price(row) < price(own) * (1 - _HAIR):
            costing.problems.add(
                "cheaper-pack",
                f'"{name}" costs {price(row):.4g} {costing.currency} a {sheet["pack_unit"][row]}, "{main}" {price(own):.4g}: '
                f"{1 - price(row) / price(own):.1%} less; what is priced rests on \"{main}\"; where you always buy the other, name it in "
                "the mixes and plans", sheet="Materials", cell=materials.cell("pack_price", row), warning=True)


def _given_away(costing: Costing) -> None:
    given = (costing.line("line_net") <= 0) & (costing.line("line_cost") > 0)
    for line in _told(costing, given, "given-away", "bring nothing"):
        sheet, cell = _enquiry_place(costing, line, "unit_price")
        costing.problems.add(
            "given-away", f'quote {costing.lines.quote[line]}, "{costing.product(line)}": it costs {costing.line("line_cost")[line]:,.2f} '
            f"{costing.currency} and brings nothing; type a price if that is not meant", sheet=sheet, cell=cell, warning=True)


def _nothing_to_pay(costing: Costing) -> None:
    """Quotes of which the step of cash leaves nothing to be paid."""
    gross, payable = costing.quote("gross"), costing.quote("payable")
    nothing = (gross > 0) & (payable == 0)
    if not nothing.any():
        return
    opening, number_of = _first_lines(costing, nothing)
    for line in np.flatnonzero(opening).tolist():
        number, (sheet, cell) = number_of[line], _enquiry_place(costing, line, "quote")
        comes, step = f"{gross[number]:,.2f} {costing.currency}", costing.setting("cash_step")
        text = f"quote {costing.lines.quote[line]} comes to {comes}, of which nothing is to pay in steps of cash of {step:,.2f}"
        costing.problems.add(
            "nothing-to-pay", f"{text}; make the Cash step on the sheet Workshop smaller",
            sheet=sheet, cell=cell, warning=True)


def _margins(costing: Costing) -> None:
    lowest = costing.setting("lowest_margin")
    margin = costing.line("discounted_margin")
    for line in _told(costing, costing.line("below_lowest"), "low-margin", f"have a margin below the lowest of {lowest:.1%}"):
        sheet, cell = _enquiry_place(costing, line, "unit_price")
        costing.problems.add(
            "low-margin", f'quote {costing.lines.quote[line]}, "{costing.product(line)}": margin {margin[line]:.1%} after discount is '
            f"below the lowest of {lowest:.1%}; raise the price or lower the cost", sheet=sheet, cell=cell, warning=True,
            together=f"lines have a margin after discount below the lowest of {lowest:.1%}; raise the price or lower the cost",
            short=f"{costing.lines.quote[line]} {costing.product(line)} {margin[line]:.1%}")
    quotes, whole = costing.model.tables["quotes"].text["quote"], costing.quote("quote_margin")
    opening, number_of = _first_lines(costing, whole < lowest - _HAIR)
    for line in _told(costing, opening, "low-quote-margin", f"make an order whose margin is below the lowest of {lowest:.1%}"):
        number = number_of[line]
        sheet, cell = _enquiry_place(costing, line, "quote")
        costing.problems.add(
            "low-quote-margin", f"quote {quotes[number]}: margin {whole[number]:.1%} is below the lowest of {lowest:.1%}",
            sheet=sheet, cell=cell, warning=True)


def _weights(costing: Costing) -> None:
    lift = costing.setting("one_person_lift")
    mass, unit = costing.line("mass"), mass_unit(costing.book)
    most = f"{shown_mass(lift, unit):g} {unit}"
    for line in _told(costing, costing.line("too_heavy"), "heavy-piece", f"weigh more than the {most} that one person should lift"):
        sheet, cell = _enquiry_place(costing, line, "product")
        costing.problems.add(
            "heavy-piece", f'quote {costing.lines.quote[line]}, "{costing.product(line)}": one piece weighs '
            f"{shown_mass(float(mass[line]), unit):.1f} {unit}, more than the {most} that one person should lift; "
            "plan for more people or a lifting aid", sheet=sheet, cell=cell, warning=True,
            together=f"lines have pieces of more than the {most} that one person should lift; plan for more people or a lifting aid",
            short=f"{costing.lines.quote[line]} {costing.product(line)} {shown_mass(float(mass[line]), unit):.1f} {unit}")
