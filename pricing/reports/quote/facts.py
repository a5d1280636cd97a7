"""What a customer's quote says, taken from a costing: names, sizes, weights, prices and totals, and nothing else.

The page is written from this alone, so that what is not here cannot get onto it.
"""

from __future__ import annotations

import datetime
import weakref
from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from pricing import money
from pricing.book.offers import line_numbers
from pricing.book.paper import paper_of
from pricing.book.price_book import NONE
from pricing.book.services import service_rows
from pricing.book.shown_units import INCHES_AND_POUNDS, mass_unit, shown_mass
from pricing.book.uses import uses_of
from pricing.costing.lines.line_pieces import LinePieces
from pricing.costing.lines.own_terms import OwnTerms
from pricing.costing.method.measures import measure_prices, measures_each
from pricing.costing.method.quote_terms import Payment, TaxAmount
from pricing.costing.options import options_of
from pricing.costing.price_table import prices_by_quantity
from pricing.costing.time.lead_time import lead_time_days
from pricing.dataclass import dataclass
from pricing.languages.tags import known_language
from pricing.languages.words import Words, words_of
from pricing.reports.drawing.strokes import LengthUnit
from pricing.reports.quote.private_names import gives_away
from pricing.reports.quote.sizes import ENGLISH_WORDS, piece_text, typed_in_inches
from pricing.reports.quote.wording import LABELS
from pricing.rules.geometry import seen_edges
from pricing.rules.geometry.shape import Shape
from pricing.rules.shapes import SHAPES
from pricing.rules.shapes.piece_drawing import PLAIN, PieceDetails
from pricing.rules.totals import quote_mass
from pricing.text import fold
from pricing.xlsx.writing.safe_text import clean_text, one_line

if TYPE_CHECKING:
    from pricing.costing.method.costing import Costing

#: The heading of the paragraph that opens a quote.
OPENING = "Opening"

#: Figures of a quote that its page shows, by their name in the costing.
TOTALS = (
    "lines_net", "discountable", "discount", "goods_net", "small_order_charge", "carriage", "net", "tax", "gross", "payable",
    "rounding", "deposit", "balance", "quote_mass", "discount_rate",
)


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """A line of a quote.

    Parameters
    ----------
    number : counted from 1
    title : what the customer calls it: the description, or the product's name where there is none
    size, colour : size in words; mix and finish, where these may be shown; empty where there is nothing to say
    note : what the maker typed for this line
    mass : of one piece [the quote's unit of mass]
    quantity : pieces
    unit_price, net : without tax, the price of one of what it is priced by [currency]
    shape : of the piece
    dimensions : with defaults [SI]
    figures : how lengths are written
    details : what it has besides its dimensions
    uses : what it is used as; none where the maker says nothing
    prices : of one of what it is priced by, at each quantity of the quantity table [currency]
    per, measure_each : what it is priced by (``piece``, ``m2``, ``ft``), and how much of that one piece has
    discount : of this line alone [1]
    discountable : False where the customer's discount is not taken off it
    service : True where nothing is cast
    tax : its place among the taxes of the quote, counted from 0
    part_of : the heading of the set that it is a part of; it has no price of its own then
    heading : True for the heading of a set, which has the price of all its parts
    discountable_part : of a heading that is not discountable, what the customer's discount is taken off all the same [currency]
    """

    number: int
    title: str
    size: str
    colour: str
    note: str
    mass: float
    quantity: float
    unit_price: float
    net: float
    shape: Shape
    dimensions: Mapping[str, float]
    figures: LengthUnit
    details: PieceDetails = PLAIN
    uses: tuple[str, ...] = ()
    prices: tuple[float, ...] = ()
    per: str = "piece"
    measure_each: float = 1.0
    discount: float = 0.0
    discountable: bool = True
    service: bool = False
    tax: int = 0
    part_of: QuoteLine | None = None
    heading: bool = False
    discountable_part: float = 0.0


@dataclass(frozen=True, slots=True)
class QuoteOption:
    """What is offered beside a quote: a line outside the total, or the heading of a set and its parts; the line that it would take the
    place of; what it adds [currency]."""

    line: QuoteLine
    instead_of: int
    adds: float
    parts: tuple[QuoteLine, ...] = ()


@dataclass(frozen=True)
class QuoteFacts:
    """All that a quote says.

    Parameters
    ----------
    business, address, contact, tax_number, tax_name : of the workshop
    customer, customer_address : to whom
    quote : its number, with its revision from the second on
    day, valid_until : its date, and the last day on which it can be ordered
    lead_days : until it is ready [working days]
    currency, digits : ISO 4217 code and decimals of its smallest unit
    paper : ``A4`` or ``Letter``
    one_person_lift : the most that one person should lift [mass_unit]
    cash_step, tax_down : settings of the totals; the step [currency], tax_down 1 or 0
    collected : True where no carriage is arranged
    lines : in order
    totals : by the names of TOTALS
    taxes : by category and rate; at least one
    payments : in which stages it is paid; at least one
    quantities : of the quantity table; empty where none is asked for
    mass_unit : ``kg`` or ``lb``, in which all masses are
    mark : that stands on every page, such as that of a draft; empty where it is a promise
    words : of the language in which it is said
    reference, site, e_mail : of the customer: their own reference, where the pieces go, and where to write; empty where not known
    opening : the maker's own; empty where there is none
    terms : the maker's own, each with its heading
    """

    business: str
    address: str
    contact: str
    tax_number: str
    tax_name: str
    customer: str
    customer_address: str
    quote: str
    day: datetime.date
    valid_until: datetime.date
    lead_days: int
    currency: str
    digits: int
    paper: str
    one_person_lift: float
    cash_step: float
    tax_down: float
    collected: bool
    lines: tuple[QuoteLine, ...]
    totals: Mapping[str, float]
    taxes: tuple[TaxAmount, ...]
    payments: tuple[Payment, ...]
    quantities: tuple[float, ...] = ()
    mass_unit: str = "kg"
    mark: str = ""
    words: Words = ENGLISH_WORDS
    reference: str = ""
    site: str = ""
    e_mail: str = ""
    opening: str = ""
    terms: tuple[tuple[str, str], ...] = ()
    options: tuple[QuoteOption, ...] = ()

    @property
    def every_line(self) -> list[QuoteLine]:
        """Its lines, headings of sets among them, and those that are offered beside it."""
        offered = (line for option in self.options for line in (option.line, *option.parts))
        return [*(line for line in self.charged if line.heading), *self.lines, *offered]

    @cached_property
    def charged(self) -> list[QuoteLine]:
        """What has a price: its lines, and the heading of each set in place of its parts."""
        return list({id(line): line for line in (each.part_of or each for each in self.lines)}.values())

    @cached_property
    def unit_decimals(self) -> int:
        """Decimals that show every unit price in full: those of the currency, or more where a typed price has more."""
        decimals = self.digits
        while decimals < 6 and any(abs(line.unit_price - round(line.unit_price, decimals)) > 1e-9 for line in self.charged):
            decimals += 1
        return decimals

    @property
    def listed(self) -> list[QuoteLine]:
        """Its lines, the heading of each set before its parts."""
        found: list[QuoteLine] = []
        for line in self.lines:
            if line.part_of is not None and (not found or found[-1].part_of is not line.part_of):
                found.append(line.part_of)
            found.append(line)
        return found

    @property
    def pieces(self) -> list[QuoteLine]:
        """The lines that are cast."""
        return [line for line in self.lines if not line.service]


@dataclass
class CostingIndex:
    """What is looked up for every quote of a costing, made once."""

    pieces: LinePieces
    lines: dict[str, list[int]] = field(default_factory=dict)
    number: dict[str, int] = field(default_factory=dict)
    customers: dict[str, int] = field(default_factory=dict)
    inches: bool = False

    #: Whether the maker chose how sizes and weights are shown, so that nothing is told from what was typed.
    chosen: bool = False

    #: Unit of mass that is shown.
    mass_unit: str = "kg"

    #: What quotes and customers have of their own; in which stages each quote is paid.
    terms: OwnTerms = field(kw_only=True)
    payments: list[list[Payment]] = field(default_factory=list)

    #: Taxes of each quote, and for each line its place among those of its quote.
    taxes: list[list[TaxAmount]] = field(default_factory=list)
    tax_of_line: dict[int, int] = field(default_factory=dict)

    #: For each row of the Enquiries sheet its number in its quote, where lines are offered; otherwise they follow each other.
    numbers: list[int] = field(default_factory=list)


_INDEXES: weakref.WeakKeyDictionary[Costing, CostingIndex] = weakref.WeakKeyDictionary()


def index_of(costing: Costing) -> CostingIndex:
    """The index of a costing: lines and number of each quote, rows of the customers, and the maker's measure."""
    found = _INDEXES.get(costing)
    if found is None:
        found = CostingIndex(LinePieces(costing.book, costing.lines), terms=costing.own_terms, payments=costing.payments)
        for line, quote in enumerate(costing.lines.quote.tolist()):
            found.lines.setdefault(quote, []).append(line)
        found.number = {quote: number for number, quote in enumerate(found.lines)}
        found.customers = {name: row for row, name in enumerate(costing.book.tables["Customers"].columns["customer"].tolist())}
        measures = costing.book.settings.get("measures")
        found.chosen = bool(measures)
        found.inches = measures == INCHES_AND_POUNDS
        if not measures:
            found.inches = bool(typed_in_inches(np.concatenate([np.zeros(0), *costing.lines.dimensions.values()]).tolist()))
        found.mass_unit = mass_unit(costing.book)
        numbered = costing.lines.sets is not None or (costing.book.tables["Enquiries"]["offer"] != "").any()
        found.numbers = line_numbers(costing.book) if numbered else []
        found.taxes = costing.taxes
        found.tax_of_line = {line: place for taxes in found.taxes for place, tax in enumerate(taxes) for line in tax.lines}
        _INDEXES[costing] = found
    return found


def quote_facts(
    costing: Costing, quote: str, breaks: Costing | None = None, mark: str = "", *, label: str = "", language: str = ""
) -> QuoteFacts:
    """What the quote says.

    Parameters
    ----------
    costing : a costing without errors that holds the quote
    quote : its number
    breaks : the same lines at other quantities, as ``at_quantities(costing, quantities)`` gives them
    mark : that stands on every page
    label : what it is called on its page; its number where empty
    language : of the words, by its tag; that of the quote where empty

    Problems raised: KeyError where the costing has no such quote.
    """
    index = index_of(costing)
    rows, number = index.lines[quote], index.number[quote]
    setting, own, words = costing.book.word, index.terms, words_of(language or costing.language_of(quote))
    customer = str(costing.lines.customer[rows[0]])
    customer_row = index.customers.get(customer)
    address = "" if customer_row is None else str(costing.book.tables["Customers"].columns["address"][customer_row])
    day = costing.lines.day[rows[0]].astype("datetime64[D]").astype(object)
    assert isinstance(day, datetime.date)
    currency = costing.currency
    per_line = 0 if breaks is None else len(breaks.lines) // max(len(costing.lines), 1)
    return QuoteFacts(
        business=one_line(setting("business_name")), address=clean_text(setting("address")),
        contact=clean_text(setting("contact")), tax_number=one_line(setting("tax_number")),
        tax_name=one_line(setting("tax_name")) or "tax", customer=one_line(customer), customer_address=clean_text(address),
        quote=one_line(label or quote), day=day, valid_until=own.valid_until(quote, day),
        lead_days=lead_time_days(costing, quote), currency=currency, digits=money.minor_units(currency),
        paper=paper_of(currency, setting("page_size")), one_person_lift=_shown_mass(costing, costing.setting("one_person_lift")),
        cash_step=costing.setting("cash_step"), tax_down=costing.setting("tax_down"),
        collected=costing.model.tables["quotes"].text["zone"][number] == NONE,
        lines=_lines(costing, rows, _numbers(costing, rows), breaks, words),
        taxes=tuple(replace(each, tax=one_line(each.tax)) for each in index.taxes[number]),
        payments=tuple(replace(each, stage=one_line(each.stage)) for each in index.payments[number]),
        reference=one_line(str(own.of_quote(quote, "reference") or "")), site=clean_text(own.text(quote, customer, "site_address")),
        e_mail=one_line(str(own.of_customer(customer, "e_mail") or "")), opening=_opening(costing, quote, words.tag),
        terms=_terms(costing, quote, words),
        totals={name: float(costing.quote(name)[number]) for name in TOTALS} | {"quote_mass": _delivery_mass(costing, rows)},
        quantities=() if breaks is None else tuple(quantities_of(breaks, per_line)), mass_unit=index.mass_unit,
        mark=words.say(mark), words=words, options=_options(costing, quote, words),
    )


def _numbers(costing: Costing, rows: list[int]) -> list[int]:
    """The numbers of the lines of a quote: options between them have numbers too, the parts of a set have one."""
    numbers, asked = index_of(costing).numbers, costing.lines.enquiry[rows].tolist()
    return [numbers[row] if numbers and row >= 0 else place for place, row in enumerate(asked, 1)]


def _lines(
    costing: Costing, rows: Sequence[int], numbers: Sequence[int], breaks: Costing | None, words: Words
) -> tuple[QuoteLine, ...]:
    """Some lines of a quote, each part of a set with the heading of its set.

    Parameters
    ----------
    rows, numbers : of the lines in the costing, counted from 0, and in the quote
    """
    made = [_line(costing, row, number, breaks, words) for row, number in zip(rows, numbers, strict=True)]
    sets = costing.lines.sets
    places: dict[int, list[int]] = {}
    for place, row in enumerate(rows if sets is not None else ()):
        assert sets is not None
        if sets.number[row] >= 0:
            places.setdefault(int(sets.number[row]), []).append(place)
    for of in places.values():
        heading = heading_of(costing, [rows[place] for place in of], [made[place] for place in of], breaks)
        for place in of:
            made[place] = replace(made[place], part_of=heading)
    return tuple(made)


def _options(costing: Costing, quote: str, words: Words) -> tuple[QuoteOption, ...]:
    """What is offered beside a quote."""
    options = options_of(costing)
    if options.costing is None:
        return ()
    found = []
    for each in options.of_quote.get(quote, ()):
        lines = _lines(options.costing, each.rows, [each.offer.line] * len(each.rows), None, words)
        of_set = lines[0].part_of
        found.append(QuoteOption(of_set or lines[0], each.offer.instead_of, each.adds, lines if of_set else ()))
    return tuple(found)


def heading_of(costing: Costing, rows: Sequence[int], parts: Sequence[QuoteLine], breaks: Costing | None) -> QuoteLine:
    """The heading of a set: what the customer calls it, how many are asked for, and what one and all of them come to.

    Where the parts have discounts of their own, or one price does not come out to the coin, the price of one is not a number.

    Parameters
    ----------
    rows : the lines of its parts, counted from 0
    parts : the same lines as they are said
    """
    sets, enquiries = costing.lines.sets, costing.book.tables["Enquiries"].columns
    assert sets is not None
    first, enquiry, digits = rows[0], int(costing.lines.enquiry[rows[0]]), money.minor_units(costing.currency)
    said = [clean_text(text) for text in (enquiries["description"][enquiry], enquiries["set_description"][enquiry], sets.name[first])]
    net = float(money.round_half_away(sum(part.net for part in parts), digits))
    count, typed, pieces = float(sets.count[first]), float(sets.price[first]), sets.pieces[list(rows)].tolist()
    discounts = {part.discount for part in parts}
    price = sum(part.unit_price * number for part, number in zip(parts, pieces, strict=True))
    if np.isnan(typed) and len(discounts) > 1:
        one = net / count
        price = one if abs(one - round(one, digits)) < 1e-9 else np.nan
    by_quantity = [] if breaks is None else list(zip(*(part.prices for part in parts), strict=True))
    at = [sum(each * number for each, number in zip(prices, pieces, strict=True)) for prices in by_quantity]
    discountable = [part.net for part in parts if part.discountable]
    return replace(
        parts[0], title=next(text for text in said if text), size="", colour="", note=clean_text(enquiries["note"][enquiry]), mass=0.0,
        quantity=count, unit_price=round(price, 9) if np.isnan(typed) else typed, net=net, details=PLAIN,
        prices=tuple(round(each, 9) for each in at) if np.isnan(typed) else (typed,) * len(at), per="piece", measure_each=1.0,
        discount=discounts.pop() if len(discounts) == 1 else 0.0, discountable=len(discountable) == len(parts), heading=True,
        discountable_part=sum(discountable) if len(discountable) < len(parts) else 0.0,
        service=all(part.service for part in parts),
    )


def quantities_of(breaks: Costing, count: int) -> list[float]:
    """The quantities of a quantity table: of sets, where its first line is a part of one.

    Parameters
    ----------
    count : of quantities
    """
    sets, asked = breaks.lines.sets, breaks.lines.quantity[:count]
    found: list[float] = (asked if sets is None else np.where(np.isnan(sets.count[:count]), asked, sets.count[:count])).tolist()
    return found


def _paragraphs(costing: Costing, tag: str) -> list[tuple[str, str]]:
    """The maker's own paragraphs in a language, each with its heading."""
    table = costing.book.tables["Terms"]
    rows = zip(*(table[name].tolist() for name in ("language", "heading", "text")), strict=True)
    return [(one_line(heading), clean_text(text)) for asked, heading, text in rows if not asked or known_language(asked) == tag]


def _opening(costing: Costing, quote: str, tag: str) -> str:
    own = clean_text(str(costing.own_terms.of_quote(quote, "opening") or ""))
    return own or next((text for heading, text in _paragraphs(costing, tag) if fold(heading) == fold(OPENING)), "")


def _terms(costing: Costing, quote: str, words: Words) -> tuple[tuple[str, str], ...]:
    own = clean_text(str(costing.own_terms.of_quote(quote, "terms") or ""))
    of_all = [(heading, text) for heading, text in _paragraphs(costing, words.tag) if fold(heading) != fold(OPENING)]
    return (*([(words.say(LABELS["terms"]), own)] if own else []), *of_all)


def _shown_mass(costing: Costing, mass: float) -> float:
    """A mass [kg] in the unit that the quote shows."""
    return shown_mass(mass, index_of(costing).mass_unit)


def _delivery_mass(costing: Costing, rows: list[int]) -> float:
    """The weight in all as it follows from the weights shown."""
    quantities = costing.lines.quantity[rows].tolist()
    shown = [_shown_mass(costing, mass) for mass in costing.line("mass")[rows].tolist()]
    return float(quote_mass(sum(quantity * mass for quantity, mass in zip(quantities, shown, strict=True))))


def _line(costing: Costing, row: int, number: int, breaks: Costing | None, words: Words) -> QuoteLine:
    lines, products = costing.lines, costing.book.tables["Products"].columns
    product = int(lines.product[row])
    shape = SHAPES[products["shape"][product]]
    dimensions = _dimensions(costing, row, shape)
    inches = typed_in_inches(value for name, value in dimensions.items() if name in shape.dimensions and value > 0)
    index = index_of(costing)
    figures: LengthUnit = "in" if (index.inches if inches is None or index.chosen else inches) else "mm"
    enquiry = int(lines.enquiry[row])
    of_set = lines.sets is not None and lines.sets.number[row] >= 0  # what is said of the line is said of the set
    note, described = ("", "") if enquiry < 0 or of_set else (
        str(costing.book.tables["Enquiries"].columns[name][enquiry]) for name in ("note", "description"))
    details, service = details_of(costing, row, shape), bool(service_rows(costing.book, lines.product[[row]])[0])
    return QuoteLine(
        number=number,
        title=clean_text(described) or clean_text(products["description"][product]) or clean_text(products["product"][product]),
        size="" if service else piece_text(shape, dimensions, details, figures, words),
        colour=_colour(costing, row, words), note=clean_text(note),
        mass=_shown_mass(costing, float(costing.line("mass")[row])), quantity=float(lines.quantity[row]),
        unit_price=float(measure_prices(costing.values)[row]), net=float(costing.line("line_net")[row]),
        shape=shape, dimensions=dimensions, figures=figures, details=details, uses=uses_of(str(products["use"][product])),
        prices=() if breaks is None else prices_by_quantity(costing, row, breaks), per=str(products["price_per"][product]) or "piece",
        measure_each=float(measures_each(costing.values)[row]), discount=float(costing.line("own_discount")[row]),
        discountable=not costing.line("discount_is_own")[row], service=service,
        tax=index.tax_of_line[row],
    )


def details_of(costing: Costing, row: int, shape: Shape) -> PieceDetails:
    """What the piece of a line has besides its dimensions."""
    pieces, book = index_of(costing).pieces, costing.book
    layers = book.tables["Layers"].columns
    at = np.array([row])
    edges = {name: int(values[0]) for name, values in pieces.edges(at).items()} if shape.name in seen_edges.RULES else {}
    return PieceDetails(
        tuple(pieces.cut_outs_of(row)), pieces.outline_of(row) if shape.measured else None, **edges,
        layers=tuple((str(layers["on"][each]), float(layers["thickness"][each])) for each in pieces.layers.of(row)),
        extent=_extent(costing, row, shape),
    )


def _extent(costing: Costing, row: int, shape: Shape) -> tuple[float, float, float] | None:
    """Length, width and height of a solid: of its model, or as typed; None where they are not known."""
    if not shape.drawn_by:
        return None
    model = costing.book.models.get(int(costing.lines.product[row]))
    if model is not None:
        return model.length, model.width, model.height
    typed = [float(costing.lines.dimensions[name][row]) for name in shape.drawn_by]
    return None if any(np.isnan(size) for size in typed) else (typed[0], typed[1], typed[2])


def _dimensions(costing: Costing, row: int, shape: Shape) -> dict[str, float]:
    found = {name: float(value) for name, value in costing.lines.sizes(shape, row).items()}
    outlined = index_of(costing).pieces.outline_figures(np.array([row]), shape.measured)
    return found | {name: float(value[0]) for name, value in outlined.items()}


def _colour(costing: Costing, row: int, words: Words) -> str:
    """Mixes, that of the face first, and finish by their names: the customer chose them. A name that gives away whom we buy from or sell
    to is left out.
    """
    layers, customer = costing.book.tables["Layers"].columns, str(costing.lines.customer[row])
    faces = [str(layers["mix"][each]) for each in index_of(costing).pieces.layers.of(row) if "face" in str(layers["on"][each])]

    def shown(name: str) -> bool:
        return bool(fold(name)) and not gives_away(costing, name, customer)

    mix, finish = (clean_text(costing.lines.plans[plan][row]) for plan in ("mix", "finish"))
    mixes = [name for name in map(clean_text, [*dict.fromkeys(faces), mix]) if shown(name)]
    seen = words.say(LABELS["face on"], face=mixes[0], backing=mixes[-1]) if len(mixes) > 1 else "".join(mixes)
    return ", ".join([*([seen] if seen else []), *([finish] if shown(finish) else [])])
