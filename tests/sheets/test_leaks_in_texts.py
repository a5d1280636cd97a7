"""What a maker types into a note or a description: each sentence of the README on leaks, with figures and names as people write them."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from quote_books import costed, demo, line

from pricing.api import price_quotes
from pricing.costing.method.costing import Costing
from pricing.reports.leaks.gate import LeakError
from pricing.reports.quote.facts import index_of, quote_facts
from pricing.reports.quote.secrets import secrets_of_facts
from pricing.reports.quote.skeleton import leaks_of
from pricing.reports.quote.workbook import write_facts, write_quote

QUOTE, FEW_DIGITS, OTHER = "Q-1042", "Q-1043", "Q-1044"
SUPPLIER = "Coldharbour Cements"

#: A supplier whom the terms of every quote name, as they may.
CARE = "Quayside Soaps"


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    data = demo()
    for material in data["Materials"]:
        material["Supplier"] = SUPPLIER
    data["Materials"][0]["Supplier"] = "Hart-Mann_Minerals"
    data["Materials"][0]["Pack price"], data["Materials"][1]["Pack price"] = 31.0, 23.45
    data["Materials"][2]["Supplier"], data["Materials"][3]["Supplier"] = "O'Brien Sands", CARE
    data["Materials"][3]["Pack price"] = 17.19
    data["Terms"] = [{"Language": "", "Heading": "Care", "Text": f"Wipe with the soap of {CARE}, at 17.19 a bottle."}]
    data["Quotes"] = [{"Quote": OTHER, "Opening": f"We buy from {SUPPLIER}.", "Terms": "Pigment at 23.45 a bag."}]
    return costed(data, tmp_path_factory.mktemp("texts"))


def leaks_with(costing: Costing, note: str = "", title: str = "", quote: str = QUOTE) -> list[str]:
    """What the workbook of a quote gives away whose first line has this note, and this title where one is given."""
    index, facts = index_of(costing), quote_facts(costing, quote)
    first = replace(facts.lines[0], note=note, title=title or facts.lines[0].title)
    facts = replace(facts, lines=(first, *facts.lines[1:]))
    page = io.BytesIO()
    write_facts(facts, page)
    return leaks_of(page, secrets_of_facts(costing, facts, index.lines[quote], index.number[quote]))


class Told:
    """Figures of the quote as a maker knows them."""

    def __init__(self, costing: Costing) -> None:
        row = max(costing.lines_of(QUOTE), key=lambda line: float(costing.lines.quantity[line]))
        number = costing.quotes.index(QUOTE)
        self.cost = float(costing.line("unit_cost")[row])
        self.concrete = float(costing.line("concrete_cost")[row])
        self.line_cost = float(costing.line("line_cost")[row])
        self.quote_cost = float(costing.quote("quote_cost")[number])
        self.margin = float(costing.line("line_margin")[row])
        self.price = float(costing.line("unit_price")[row])
        self.payable = float(costing.quote("payable")[number])
        self.elsewhere = float(costing.quote("payable")[costing.quotes.index(OTHER)])
        self.wage = float(max(costing.book.tables["Trades"].columns["hourly_cost"].tolist()))
        self.whole_pack, self.pack = costing.book.tables["Materials"].columns["pack_price"][:2].tolist()
        self.machine = max(costing.values.value("machines", "machine_price").tolist())


def wide(text: str) -> str:
    """A text in letters and figures of full width."""
    return "".join(chr(ord(letter) + 0xFEE0) for letter in text)


def european(value: float) -> str:
    """A figure with points between its thousands and a decimal comma."""
    return f"{value:,.2f}".replace(",", "~").replace(".", ",").replace("~", ".")


#: What is typed, and what the finding calls it.
FOUND: dict[str, tuple[Callable[[Told], str], str]] = {
    "a cost with its pence": (lambda t: f"cost {t.cost:.2f}", "unit cost"),
    "a cost with separators": (lambda t: f"{t.quote_cost:,.2f} in all", "cost"),
    "a cost with spaces between thousands": (lambda t: f"{t.quote_cost:,.2f} in all".replace(",", "\u202f"), "cost"),
    "a cost with a decimal comma": (lambda t: f"Kosten {european(t.quote_cost)}", "cost"),
    "a cost with a sign": (lambda t: f"£{t.cost:.2f} each", "unit cost"),
    "a cost with a code": (lambda t: f"{t.line_cost:.2f} GBP", "cost"),
    "a cost with one decimal": (lambda t: f"about {t.cost:.1f}", "unit cost"),
    "a cost rounded to whole pounds": (lambda t: f"cost {t.cost:.0f}", "unit cost"),
    "a cost cut off at whole pounds": (lambda t: f"cost {int(t.cost)}", "unit cost"),
    "a cost that nothing marks": (lambda t: f"made for {t.cost:.0f} so far", "unit cost"),
    "a cost with a dash for its pence": (lambda t: f"{t.cost:.0f},-", "unit cost"),
    "a cost right behind a code": (lambda t: f"GBP{t.cost:.2f}", "unit cost"),
    "a cost with thin spaces": (lambda t: f"{t.quote_cost:,.2f} in all".replace(",", "\u2009"), "quote cost"),
    "a cost with hard spaces and a comma": (lambda t: f"{european(t.quote_cost)} EUR".replace(".", "\u00a0"), "quote cost"),
    "a cost with an apostrophe": (lambda t: f"CHF{t.quote_cost:,.2f}".replace(",", "'"), "quote cost"),
    "a cost with a typographer's apostrophe": (lambda t: f"{t.quote_cost:,.2f} in all".replace(",", "\u2019"), "quote cost"),
    "a cost with points throughout": (lambda t: f"{t.quote_cost:,.2f}".replace(",", "."), "quote cost"),
    "a cost with a raised point": (lambda t: f"{t.quote_cost:.2f}".replace(".", "\u00b7"), "quote cost"),
    "a cost with a mark in it that nobody sees": (lambda t: f"{t.quote_cost:.2f}".replace(".", ".\u200b"), "quote cost"),
    "a cost in wide figures": (lambda t: wide(f"{t.quote_cost:.2f}"), "quote cost"),
    "a cost with a filler between its figures": (lambda t: "\u3164".join(f"{t.quote_cost:.2f}"), "quote cost"),
    "a cost with grave accents": (lambda t: f"{t.quote_cost:,.2f}".replace(",", "`"), "quote cost"),
    "a cost in quotation marks": (lambda t: f'"{t.cost:.2f}" or \'{t.cost:.2f}\'', "unit cost"),
    "a cost times a number": (lambda t: f"{t.cost:.2f} x 4", "unit cost"),
    "a cost right behind a cross": (lambda t: f"4x{t.cost:.2f}", "unit cost"),
    "a cost right behind a word": (lambda t: f"EK{t.cost:.2f}", "unit cost"),
    "a cost before a size": (lambda t: f"{t.cost:.2f}, 20 mm thick", "unit cost"),
    "a cost as the end of a range of money": (lambda t: f"£150-{t.cost:.0f}", "unit cost"),
    "a cost as the beginning of one": (lambda t: f"{t.cost:.0f} to 292 EUR", "unit cost"),
    "a cost right behind the letters of a coin": (lambda t: f"zł{t.cost:.2f}", "unit cost"),
    "a cost right behind the code of a rare currency": (lambda t: f"KWD{t.cost:.2f}", "unit cost"),
    "the cost of the quote, whole and grouped": (lambda t: f"all of it {t.quote_cost:,.0f}", "cost"),
    "a part of a cost": (lambda t: f"concrete {t.concrete:.2f}", "concrete cost"),
    "a margin with a decimal": (lambda t: f"margin {t.margin:.1%}", "margin"),
    "a margin in whole percent": (lambda t: f"margin {t.margin:.0%}", "margin"),
    "a margin with a space": (lambda t: f"{t.margin * 100:.0f} % is left", "margin"),
    "a margin in words for percent": (lambda t: f"{t.margin * 100:.0f} per cent for us", "margin"),
    "a margin in wide figures": (lambda t: wide(f"{t.margin * 100:.0f}%"), "margin"),
    "a margin in other words for percent": (lambda t: f"{t.margin * 100:.0f} por ciento, {t.margin * 100:.0f} pour-cent", "margin"),
    "a margin behind its word": (lambda t: f"our margin is {t.margin * 100:.0f} here", "margin"),
    "a margin behind its word and an abbreviation": (lambda t: f"margin ca. {t.margin * 100:.0f}", "margin"),
    "a margin behind its word, without its nought": (lambda t: f"margin {t.margin:.2f}".replace("0.", "."), "margin"),
    "a margin behind its word, as a part of one": (lambda t: f"margin {t.margin:.2f}", "margin"),
    "a wage": (lambda t: f"the caster gets {t.wage:.2f} an hour", "hourly cost"),
    "a wage without its pence": (lambda t: f"at £{t.wage:.0f} an hour", "hourly cost"),
    "the price of a pack": (lambda t: f"bags at {t.pack:.2f}", "pack price"),
    "the price of a pack without pence": (lambda t: f"pigment £{t.whole_pack:.0f}", "price"),
    "the price of a machine": (lambda t: f"we paid {t.machine:,.0f} for the mixer", "machine price"),
    "what another customer pays": (lambda t: f"the other one was {t.elsewhere:.2f}", "of a quote"),
    "a supplier": (lambda t: f"cement by {SUPPLIER}", "a supplier"),
    "a supplier with a hyphen": (lambda t: "cement by Coldharbour-Cements", "a supplier"),
    "a supplier with an underscore": (lambda t: "see coldharbour_cements.pdf", "a supplier"),
    "a supplier with a stroke": (lambda t: "Coldharbour/Cements, grey", "a supplier"),
    "a supplier with a point": (lambda t: "write to coldharbour.cements@post.example", "a supplier"),
    "a supplier with a long dash": (lambda t: "COLDHARBOUR \u2013 CEMENTS", "a supplier"),
    "a supplier with a backslash": (lambda t: "Coldharbour\\Cements", "a supplier"),
    "a supplier with a hard space and a hyphen nobody sees": (lambda t: "Cold\u00adharbour\u00a0Cements", "a supplier"),
    "a supplier in wide letters": (lambda t: wide("Coldharbour") + " Cements", "a supplier"),
    "a supplier with another apostrophe": (lambda t: "by O\u2019Brien Sands", "a supplier"),
    "a supplier of two parts, spaced": (lambda t: "from Hart Mann Minerals", "a supplier"),
    "another customer with hyphens": (lambda t: "as for Vellmoor-Garden-Rooms", "another customer"),
    "another quote with a space": (lambda t: "as in Q 1044", "another quote"),
}


@pytest.fixture(scope="module")
def told(costing: Costing) -> Told:
    return Told(costing)


@pytest.mark.parametrize("kind", FOUND)
def test_what_a_note_gives_away_is_found(kind: str, costing: Costing, told: Told) -> None:
    """Costs, margins, wages, prices and names are found as a maker would write them."""
    typed, says = FOUND[kind]
    leaks = leaks_with(costing, typed(told))
    assert any(says in leak for leak in leaks), (typed(told), leaks)


PASSING_SHARE = 0.5

PASSING: dict[str, Callable[[Told], str]] = {
    "the price that the line shows": lambda t: f"£{t.price:.2f} each as agreed, {t.price:.0f} in words",
    "what there is to pay": lambda t: f"{t.payable:,.2f} in all",
    "the deposit in percent": lambda t: f"{PASSING_SHARE:.0%} with the order",
    "a day": lambda t: "prices of 26 November 2026, le 26 nov. 2026",  # the demo's wage is 26 an hour
    "a size": lambda t: f"{t.cost:.0f} mm above the floor",
    "sizes": lambda t: f"recess {t.cost:.0f} x {t.line_cost:.0f} and 600 × {t.cost:.0f}",
    "a weight": lambda t: f"about {t.cost:.1f} kg",
    "a telephone number": lambda t: f"ring 0171 {t.cost:.0f} 4420",
    "words of measures": lambda t: "# millimetres, # kilos, # sq m, # wide, # pavers".replace("#", f"{t.cost:.0f}"),
    "a range of sizes": lambda t: "# to 900 mm, #\u2013900 mm, #, 900 and 950 mm".replace("#", f"{t.cost:.0f}"),
    "sizes with other signs": lambda t: "# by 600, 600 by #, #*600, \u00f8 #, h = #".replace("#", f"{t.cost:.0f}"),
    "a number that says which one": lambda t: "order #, Room #, drawing no. #, Zimmer #, RAL #".replace("#", f"{t.cost:.0f}"),
    "sizes without their unit": lambda t: "height #, overhang of #, H # D 40, Höhe: #".replace("#", f"{t.cost:.0f}"),
    "sizes by what stands behind": lambda t: "cut back # each side, # dia, # above the floor".replace("#", f"{t.cost:.0f}"),
    "a number of a year or a week": lambda t: "ready in spring #, week #, KW #".replace("#", f"{t.line_cost:.0f}"),
    "a number of a house": lambda t: f"to {t.cost:.0f} High Street",
    "a number of a year": lambda t: f"your enquiry {t.cost:.0f}/2026",
    "words that are codes of currencies": lambda t: "all # mm, top # mm, try # mm".replace("#", f"{t.cost:.0f}"),
    "a date": lambda t: "See the drawing of 3.4.2025",
    "a colour by number": lambda t: f"edge as RAL {t.quote_cost:.0f}",
    "an amount that is nothing of ours": lambda t: "12.345,67 agreed with the architect",
    "a word of a name": lambda t: "coldharbour colour",
}


@pytest.mark.parametrize("kind", PASSING)
def test_what_a_note_may_say_passes(kind: str, costing: Costing, told: Told) -> None:
    """What the page shows by right, and figures that are a length, a weight, a count or part of a longer number, stop nothing."""
    assert leaks_with(costing, PASSING[kind](told)) == []


def test_what_every_quote_says_passes_and_what_is_typed_for_one_is_searched(costing: Costing) -> None:
    """Terms that stand on all quotes may name a supplier; the opening and the terms of one quote are searched as a note is."""
    assert leaks_with(costing) == []
    assert [leak.partition(" ")[2] for leak in leaks_with(costing, quote=OTHER)] == [
        'names a supplier: "coldharbour cements"', "holds a pack price: 23.45",
    ]


NOT_FOUND: dict[str, Callable[[Told], str]] = {
    "a cost with a space for its point": lambda t: f"{t.quote_cost:.2f}".replace(".", " "),
    "a cost in pence": lambda t: f"{t.quote_cost * 100:.0f} pence",
    "a cost in words": lambda t: "two hundred and two pounds",
    "a cost in thousands": lambda t: f"{t.quote_cost / 1000:.1f}k",
    "a margin as a factor": lambda t: f"times {1 / (1 - t.margin):.2f}",
    "a cost rounded to tens": lambda t: f"about {round(t.quote_cost, -1):.0f}",
    "a name in one word": lambda t: "ColdharbourCements",
    "a name with a comma": lambda t: "Coldharbour, Cements",
    "a name misspelt": lambda t: "Coldharbor Cements",
}


@pytest.mark.parametrize("kind", NOT_FOUND)
def test_what_is_not_promised_is_not_found(kind: str, costing: Costing, told: Told) -> None:
    """The page that says what the search does not find says no less than is so."""
    assert leaks_with(costing, NOT_FOUND[kind](told)) == []


def test_a_cost_of_two_digits_is_found_beside_a_word_of_cost_alone(costing: Costing) -> None:
    """Bare figures of two digits are met by chance."""
    cost = max(each for each in costing.line("unit_cost")[list(costing.lines_of(FEW_DIGITS))].tolist() if each < 100)
    assert any("unit cost" in leak for leak in leaks_with(costing, f"cost us {cost:.0f}", quote=FEW_DIGITS))
    assert leaks_with(costing, f"{cost:.0f} of them", quote=FEW_DIGITS) == []


def test_the_deposit_of_the_test_is_that_of_the_demo(costing: Costing) -> None:
    """The percentage that passes above is one that the page shows."""
    assert costing.setting("deposit_share") == PASSING_SHARE


def test_a_percentage_does_not_pass_as_a_length_of_the_same_figure(costing: Costing, told: Told) -> None:
    """A margin is found although the page shows the same figure as something else."""
    share = f"{told.margin * 100:.0f}"
    title = f"Worktop {share} mm"
    assert any("margin" in leak for leak in leaks_with(costing, f"{share} %", title))


@pytest.mark.parametrize(
    ("title", "found"),
    [("Worktop {cost:.0f}", False), ("Worktop, cost {cost:.0f}", True), ("Worktop {cost:.2f}", True), ("Worktop for £{cost:.0f}", True)],
)
def test_a_description_is_searched_but_its_bare_numbers_are_names(title: str, found: bool, costing: Costing, told: Told) -> None:
    """A piece may be called by a number; a figure with pence, or one that is marked as money, is found there too."""
    assert bool(leaks_with(costing, title=title.format(cost=told.cost))) == found


def book_with(folder: Path, customers: Sequence[str], notes: Sequence[str]) -> Path:
    data = demo()
    data["Enquiries"] = [
        line(f"N-{number}", customer, "Worktop 1800" if number % 2 else "Shelf 900", 1, note)
        for number, (customer, note) in enumerate(zip(customers, notes, strict=True), 1)
    ]
    data["Customers"] += [{"Customer": customer, "Address": ""} for customer in customers if customer == "Kitchen worktop"]
    costed(data, folder)
    return folder / "price-book.xlsx"


def test_a_customer_called_like_a_piece_stops_no_other_quote(tmp_path: Path) -> None:
    """The words of descriptions are no names: five quotes go out where a customer is called as a worktop is."""
    customers = ["Ottilie Marrable", "Kitchen worktop", "Vellmoor Garden Rooms", "Atelier Ozwelin", "Ottilie Marrable"]
    priced = price_quotes(book_with(tmp_path, customers, [""] * 5), out=tmp_path / "out")
    assert [problem.message for problem in priced.problems.errors] == []
    assert len(priced.written) == 6


def test_a_piece_called_after_a_customer_is_not_sold_to_another_under_that_name(tmp_path: Path) -> None:
    """A name stays a name where a description holds it whole, and only there."""
    data = demo()
    data["Products"][0]["Description"] = "Shelf after Vellmoor Garden Rooms"
    data["Enquiries"] = [line("N-1", "Ottilie Marrable", data["Products"][0]["Product"], 1)]
    costing = costed(data, tmp_path)
    with pytest.raises(LeakError, match="another customer"):
        write_quote(costing, "N-1", tmp_path / "quote.xlsx")


def test_a_quote_that_is_refused_stops_neither_those_after_it_nor_the_margin_workbook(tmp_path: Path) -> None:
    """The first of five is held back with a sentence; four quotes and the margin workbook are written."""
    notes = [f"cement by {SUPPLIER}", "", "", "as for Atelier Ozwelin", ""]
    data = demo()
    data["Materials"][0]["Supplier"] = SUPPLIER
    customers = ["Ottilie Marrable", "Vellmoor Garden Rooms", "Ottilie Marrable", "Vellmoor Garden Rooms", "Atelier Ozwelin"]
    told = enumerate(zip(customers, notes, strict=True), 1)
    data["Enquiries"] = [line(f"N-{number}", customer, "Shelf 900", 1, note) for number, (customer, note) in told]
    costed(data, tmp_path)
    priced = price_quotes(tmp_path / "price-book.xlsx", out=tmp_path / "out")
    assert [problem.code for problem in priced.problems.errors] == ["leak", "leak"]
    assert sorted(path.name for path in priced.written) == ["N-2 quote.xlsx", "N-3 quote.xlsx", "N-5 quote.xlsx", "margin summary.xlsx"]
