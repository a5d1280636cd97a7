"""What a quote says besides its figures: how to order, how to care for the pieces, and what to be careful of.

Cautions state what is usual and defer to local codes and licensed practice; none says that anything is safe. A caution
is left out only where the shapes of all pieces rule its subject out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from pricing.dataclass import dataclass
from pricing.languages.spelling import MONTHS
from pricing.languages.words import Words, words_of
from pricing.reports.quote.sizes import ENGLISH_WORDS, SIZE_WORDS
from pricing.text import fold

#: Shapes that cannot be what a caution is about; a shape that is not listed, or not known, can be anything.
_VESSELS = frozenset({"square planter", "round planter"})
_EDGINGS = frozenset({"coping", "sill"})
_STEPS = frozenset({"step"})
_BENCHES = frozenset({"bench"})


@dataclass(frozen=True, slots=True)
class Caution:
    """Something to be careful of.

    Parameters
    ----------
    title : its subject, as it stands at the head of the text
    text : what is usual, and whose rules decide
    uses : what a piece is used as that it is about, where the maker says what that is; anything where empty
    never : shapes that it cannot be about, where the maker does not
    """

    title: str
    text: str
    uses: frozenset[str] = frozenset()
    never: frozenset[str] = frozenset()


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "Walls, floors and fixings.",
        "What carries the pieces must bear their weight and what stands on them: have it judged, and fixings chosen and fitted, by "
        "someone competent, to local codes.",
        uses=frozenset(("worktop", "hearth", "stair", "wall", "seat")),
    ),
    Caution(
        "Cutting and drilling.",
        "Concrete gives off respirable silica dust, which harms the lungs for good: work wet or with extraction made for it, wear "
        "respiratory protection that fits, and follow local rules.",
    ),
    Caution(
        "Fireplaces and stoves.",
        "How large and thick a hearth must be, and how far what burns must be from the fire, is ruled by local codes and the appliance's "
        "manufacturer: ask whoever is licensed to install it before ordering. Strong heat can crack concrete.",
        uses=frozenset(("hearth",)),
        never=_VESSELS | _EDGINGS | _STEPS | _BENCHES,
    ),
    Caution(
        "Stairs and floors.",
        "Rise, going, nosing, load and slip resistance are ruled by local building codes. Sealed and polished faces are slippery "
        "when wet: ask about a surface that suits.",
        uses=frozenset(("stair", "floor")),
        never=_VESSELS | _EDGINGS | _BENCHES,
    ),
    Caution(
        "Food.",
        "Sealer wears and is not everywhere approved for contact with food: prepare food on a board, and ask for its data sheet "
        "where rules apply.",
        uses=frozenset(("worktop", "food")),
        never=_VESSELS | _EDGINGS | _STEPS,
    ),
    Caution(
        "Pieces that stand free.",
        "They can tip or slide: set them on firm, level ground, and have those that people may climb or lean on secured by someone "
        "competent.",
        uses=frozenset(("seat", "vessel")),
        never=_EDGINGS | _STEPS,
    ),
    Caution(
        "Outdoors and frost.",
        "Standing water, frost and de-icing salt wear concrete: let water drain, keep vessels from freezing full, and tell us before "
        "ordering if indoor pieces are to stand outside.",
        uses=frozenset(("garden",)),
    ),
)

#: Uses under a roof, where something may be spilt, cooked or set down.
_INDOORS = frozenset({"worktop", "hearth", "stair", "floor", "seat", "wall", "vessel", "food"})

CARE_ALWAYS = "Wipe with water and a mild, neutral soap."
CARE_INDOORS = "Take up spills at once: wine, oil, vinegar, lemon and descaler stain or etch. Use stands under hot pans, pads under feet."
CARE_OUTDOORS = "Outdoors, brush off leaves, keep drains open, and use no de-icing salt."
CARE_COAT = "Renew the coat of sealed and waxed faces when water no longer beads."

CARE_MATERIAL = (
    "Small pores, shades of colour and fine hair lines belong to the material; colour pales in the first weeks."
)

#: Headings and labels of the page, each once.
LABELS = {
    "quote": "Quote", "date": "Date", "valid": "Valid until", "ready": "Ready in about", "delivery weight": "Weight in all",
    "to": "For", "number": "No.", "piece": "Piece", "weight": "Weight each ({mass})", "quantity": "Quantity",
    "unit price": "Unit price ({currency})", "net": "Net ({currency})", "sum": "Sum of the lines", "discount": "Less discount",
    "discountable": "Of these with discount",
    "options": "Options, not in the total", "adds": "Adds ({currency})", "instead": "Instead of line {number}.",
    "options note": "Tell us which you want when you order. Each is what the total without {tax} changes by, in {currency}, where it "
    "alone is ordered too; where you order several, carriage and small order charge go by all of them together.",
    "priced by": "Prices are for one {unit}.",
    "measured": "{amount} {unit} in all; the price is for one {unit}.",
    "own discount": "Less {discount} on this line.",
    "less discount": "Lines less discount", "small order": "Small order charge", "carriage": "Carriage",
    "goods": "Goods", "charges": "Charges", "rate": "Rate", "taxable": "Taxable", "tax in all": "Sum of {tax}",
    "collected": "Carriage: collected from the workshop", "total net": "Total without {tax}", "total": "Total with {tax}",
    "rounding": "Rounded to steps of", "payable": "To pay ({currency})", "deposit": "Deposit", "balance": "Balance",
    "stage": "{stage}, {due}", "reference": "Your reference", "site": "Site: {site}", "terms": "Terms",
    "breaks": "Price by quantity", "breaks note": "Price of one piece in {currency} without {tax} where so many of it are "
    "ordered by themselves.", "order": "How to order", "care": "Care", "cautions": "Please note",
    "signed": "Name and signature", "signed on": "Date", "page": "{page} of {pages}", "titled": "Quote {quote}",
    "tax number": "{tax} number {number}", "VAT number": "VAT number {number}", "face on": "{face} on {backing}",
    "sketch": "Sketch of piece {number}", "each of": "for", "draft": "Draft, not yet an offer",
}

#: Papers to an order: their titles, labels and sentences.
PAPERS = {
    "confirmation": "Order confirmation", "request": "Request for payment", "delivery": "Delivery note", "statement": "Statement",
}
PAPER_LABELS = {
    "ordered": "Ordered", "next": "What happens next", "due": "When", "invoice": "Invoice", "received": "Received",
    "line weight": "Weight ({mass})", "paid on it": "Paid on it so far", "paid on": "Paid on {day}", "paid back on": "Paid back on {day}",
    "nothing paid": "Nothing is paid yet",
    "still open": "Still open ({currency})", "too much": "Paid too much ({currency})", "open of stage": "of which {stage}",
    "stage due": "{stage}, due {due}", "stage due on": "{stage}, due on {day}",
    "foot": "{paper} {quote}",
}
PAPER_OPENINGS = {
    "confirmation": "Thank you for your order of {ordered}. We confirm it as it stands in quote {quote} of {date}.",
    "request": "To your order of {ordered} by quote {quote} of {date} the following is to be paid: {stage}.",
    "delivery": "To your order of {ordered} by quote {quote} of {date} we deliver the following.",
    "statement": "To your order of {ordered} by quote {quote} of {date}: what is paid, and what is open.",
}
CONFIRMED_WITH = " Of what was offered beside it you ordered: {lines}."
CONFIRMED = (
    "We expect to be ready in about {count} working day, counted as the quote says.",
    "We expect to be ready in about {count} working days, counted as the quote says.",
)
CHANGES = (
    " Changes to sizes, colour or number change the price: please tell us at once if anything here is not as you ordered it."
)
PAY_BY = "Please pay by {due}, and name quote {quote}."
PAY_NOW = "This has been due since {due}: please pay it now, and name quote {quote}."
NO_INVOICE = "This is no tax invoice. The invoice that the law asks for comes from our bookkeeping."
RECEIVED = "Please look the pieces over before they are carried in or fixed, and note here what is missing or damaged."

OPENING = "Thank you for your enquiry. We offer to make the following. Prices are in {currency}; {tax} is added below."
OPENING_WITHOUT_TAX = "Thank you for your enquiry. We offer to make the following. Prices are in {currency}."


ORDER = "To order, please sign this quote and send it back, or write to us with its number, by {until}."
ORDER_WITH_DEPOSIT = " The deposit named above is due with the order."
ORDER_WITH_PAYMENT = " The first payment named above is due with the order."
ORDER_LEAD_TIME = " Working days count from the day on which your order is with us."
ORDER_LEAD_TIME_WITH_DEPOSIT = " Working days count from the day on which your order and the deposit are with us."
ORDER_LEAD_TIME_WITH_PAYMENT = " Working days count from the day on which your order and the first payment are with us."
ORDER_CHANGES = " Changes to sizes, colour or number change the price."

#: The lead time, for one day and for several.
WORKING_DAYS = ("{count} working day", "{count} working days")

#: What a price list says.
PRICE_LIST = {
    "title": "Price list", "dated": "Price list of {day}", "each": "Price each", "per": "Price per {unit}", "price": "Price",
    "opening": "Prices of one piece in {currency}, without {tax}, where so many of it are ordered at once.",
    "opening whatever": "Prices of one piece in {currency}, without {tax}, whatever the number.",
    "opening alike": "Prices of one piece in {currency}, without {tax}, the same for {quantities} of it.",
    "opening measured": "Prices of one piece, or one unit where it is said, in {currency}, without {tax}, where so many pieces are "
    "ordered at once.",
    "opening measured whatever": "Prices of one piece, or one unit where it is said, in {currency}, without {tax}, whatever the number.",
    "opening measured alike": "Prices of one piece, or one unit where it is said, in {currency}, without {tax}, the same for {quantities} "
    "pieces.",
    "carriage": " Carriage is charged by weight.",
    "ordering": "Write to us with the piece, the number and where it is to go. We answer with a quote, and the quote is what counts: "
    "it states the weight, the carriage, the time it takes and how long its prices hold.",
    "requests": " Other sizes, colours and numbers on request.", "requests whatever": " Other sizes and colours on request.",
}

#: When a stage falls due: at once, or {count} days before or after that; on collection where no carriage is arranged.
_NET = ("{count} day net, from delivery", "{count} days net, from delivery")
_NET_COLLECTED = ("{count} day net, from collection", "{count} days net, from collection")
DUE = {
    "with the order": ("with the order", "{count} day after the order", "{count} days after the order"),
    "before delivery": ("before delivery", "{count} day before delivery", "{count} days before delivery"),
    "on delivery": ("on delivery", *_NET), "after delivery": ("on delivery", *_NET),
}
DUE_COLLECTED = {
    "before delivery": ("before collection", "{count} day before collection", "{count} days before collection"),
    "on delivery": ("on collection", *_NET_COLLECTED), "after delivery": ("on collection", *_NET_COLLECTED),
}

#: What prices may be for besides a piece, as a customer reads it.
MEASURES = {"m2": "m²", "m": "m", "kg": "kg", "ft2": "sq ft", "ft": "ft", "lb": "lb"}

#: Headings of the table of taxes, by their names among the labels.
TAX_COLUMNS = ("goods", "charges", "rate", "taxable")

#: Prefixes of identification numbers for value added tax in the European Union, and of Northern Ireland. Source: Directive 2006/112/EC,
#: article 215.
VAT_STATES = frozenset((
    "AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "EL", "ES", "FI", "FR", "HR", "HU", "IE", "IT", "LT", "LU", "LV", "MT", "NL", "PL",
    "PT", "RO", "SE", "SI", "SK", "XI",
))

#: Why no tax is charged, by category, where the maker says nothing: the meanings of the reason codes VATEX-EU-AE, VATEX-EU-G, VATEX-EU-IC
#: and VATEX-EU-O (CEF code list of EN 16931).
REASONS = {
    "AE": "Reverse charge: the customer owes the tax.", "G": "Export: free of tax.",
    "K": "Supply within the European Union: free of tax.", "O": "Not within the scope of the tax.",
}

#: Units in which weights are shown.
MASS_UNITS = ("kg", "lb")

FROM_TO = "{lowest} to {highest}"
WEIGHT_TITLE = "Weight and lifting."
WEIGHT = "Secure slabs that stand on edge. Weights are of the pieces with all that is cast in, without packing."
ONE_HEAVY = "Piece {which} weighs about {weight} {mass}, which is more than one person should lift"
SOME_HEAVY = "Pieces {which} weigh about {weight} {mass} each, which is more than one person should lift"
HEAVY_IN_SET = "Pieces under No. {which} weigh about {weight} {mass} each, which is more than one person should lift"
HEAVY_REMEDY = ": plan for more people or a lifting aid, and a clear way in."
NONE_HEAVY = "Carry slabs on edge, and share the load where it is too much for one person."


def tax_number_words(tax_name: str, number: str, words: Words) -> str:
    """The workshop's tax number with what it is called; empty where there is none.

    Parameters
    ----------
    tax_name : what the tax is called
    number : as typed; one that begins with the letters of a state is a number for value added tax, which each language has a word for

    >>> [tax_number_words("MwSt.", number, words_of("de")) for number in ("DE 123456789", "12/345/678", "")]
    ['USt-IdNr. DE 123456789', 'MwSt.-Nummer 12/345/678', '']
    """
    called = "VAT number" if number[:2] in VAT_STATES and number[2:].strip()[:1].isalnum() else "tax number"
    return words.say(LABELS[called], tax=tax_name, number=number) if number else ""


def stage_words(stage: str, called: str, words: Words) -> str:
    """What a stage of payment is called: as the maker wrote it, or by our own word in the language.

    Parameters
    ----------
    stage : as the price book calls it; empty for the deposit and the balance
    called : ``Deposit`` or ``Balance``, where it is one of these

    >>> stage_words("", "Deposit", words_of("de")), stage_words("First third", "First third", words_of("de"))
    ('Anzahlung', 'First third')
    """
    return stage or words.say(LABELS[called.lower()])


def with_due(stage: str, due: str, words: Words, text: str = LABELS["stage"]) -> str:
    """A stage of payment and when it falls due, which is not said again of a stage that is called by that.

    Parameters
    ----------
    stage, due : in the language
    text : with room for both

    >>> with_due("Balance", "on delivery", words_of("en-GB")), with_due("On delivery", "on delivery", words_of("en-GB"))
    ('Balance, on delivery', 'On delivery')
    """
    return stage if fold(due) in fold(stage) else words.say(text, stage=stage, due=due)


def due_words(when: str, days: int, collected: bool, words: Words) -> str:
    """When a stage of payment falls due.

    Parameters
    ----------
    when, days : with what it falls due, and how many days before or after
    collected : True where no carriage is arranged

    >>> due_words("after delivery", 30, False, words_of("en-GB")), due_words("on delivery", 0, True, words_of("en-GB"))
    ('30 days net, from delivery', 'on collection')
    """
    at_once, one, several = (DUE_COLLECTED if collected else DUE).get(when, DUE[when])
    return words.count(one, several, days) if days else words.say(at_once)


def listed(parts: Sequence[str]) -> str:
    """Parts in a row: commas, and *and* before the last.

    >>> listed(["1"]), listed(["1", "2", "4"])
    ('1', '1, 2 and 4')
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def cautions_for(pieces: Collection[tuple[str, tuple[str, ...]]]) -> list[Caution]:
    """The cautions for some pieces: those that one of them can be about.

    Parameters
    ----------
    pieces : shape of each and what it is used as; where that is not said, its shape decides

    >>> [caution.title for caution in cautions_for([("coping", ())])][-1]
    'Outdoors and frost.'
    >>> [caution.title for caution in cautions_for([("slab", ("floor", "garden"))])]
    ['Cutting and drilling.', 'Stairs and floors.', 'Outdoors and frost.']
    """

    def is_about(caution: Caution, shape: str, uses: tuple[str, ...]) -> bool:
        return not caution.uses or not caution.uses.isdisjoint(uses) if uses else shape not in caution.never

    return [caution for caution in CAUTIONS if any(is_about(caution, shape, uses) for shape, uses in pieces)]


def care_for(uses: Collection[tuple[str, ...]], words: Words = ENGLISH_WORDS) -> str:
    """How some pieces are cared for: in a quote of garden pieces nothing is said of hot pans.

    Parameters
    ----------
    uses : what each piece is used as; empty where that is not said
    words : of the language

    >>> "hot pans" in care_for([("garden",)]), "hot pans" in care_for([("garden",), ()])
    (False, True)
    """
    indoors = any(not each or set(each) & _INDOORS for each in uses)
    outdoors = any("garden" in each for each in uses)
    parts = [CARE_ALWAYS, *([CARE_INDOORS] if indoors else []), *([CARE_OUTDOORS] if outdoors else []), CARE_COAT]
    return " ".join(words.say(part) for part in (*parts, CARE_MATERIAL))


def weight_text(mass: float) -> str:
    """A mass as a sentence says it: three digits are enough.

    >>> weight_text(25.31), weight_text(1981.3)
    ('25.3', '1981')
    """
    return f"{mass:.3g}" if mass < 999.5 else f"{mass:.0f}"


def weight_sentence(
    masses: Iterable[tuple[int, float]], lift: float, unit: str = "kg", words: Words = ENGLISH_WORDS, sets: Collection[int] = ()
) -> str:
    """What has to be said of the weights.

    Parameters
    ----------
    masses : number of each line and mass of one of its pieces [unit]
    lift : the most that one person should lift [unit]
    unit : ``kg`` or ``lb``
    words : of the language
    sets : numbers under which several pieces stand

    >>> weight_sentence([(1, 12.0), (2, 43.2)], 25.0)[:30]
    'Piece 2 weighs about 43.2 kg, '
    >>> weight_sentence([(1, 31.0), (1, 74.0)], 25.0, sets={1})[:50]
    'Pieces under No. 1 weigh about 31 to 74 kg each, w'
    >>> weight_sentence([(1, 31.0), (1, 74.0)], 25.0)[:18]
    'Pieces under No. 1'
    """
    heavy = [(number, mass) for number, mass in masses if mass > lift + 1e-9]
    if not heavy:
        return f"{words.say(NONE_HEAVY)} {words.say(WEIGHT)}"
    lowest, highest = (words.figure(weight_text(end(mass for _, mass in heavy))) for end in (min, max))
    weight = lowest if lowest == highest else words.say(FROM_TO, lowest=lowest, highest=highest)
    numbers = list(dict.fromkeys(str(number) for number, _ in heavy))  # the parts of a set have one number
    which = words.listed(numbers)
    of_set = len(heavy) > len(numbers) or any(number in sets for number, _ in heavy)
    said = HEAVY_IN_SET if of_set else SOME_HEAVY if len(numbers) > 1 else ONE_HEAVY
    sentence = words.say(said, which=which, weight=weight, mass=unit)
    return f"{sentence}{words.say(HEAVY_REMEDY)} {words.say(WEIGHT)}"


def messages() -> list[str]:
    """Every text of ours that a quote, a price list or a paper to an order may hold, in English."""
    dues = (text for texts in (*DUE.values(), *DUE_COLLECTED.values()) for text in texts)
    return list(dict.fromkeys([
        *(part for caution in CAUTIONS for part in (caution.title, caution.text)), CARE_MATERIAL, CARE_ALWAYS, CARE_INDOORS,
        CARE_OUTDOORS, CARE_COAT, *LABELS.values(), OPENING, OPENING_WITHOUT_TAX, ORDER, ORDER_WITH_DEPOSIT, ORDER_WITH_PAYMENT,
        ORDER_LEAD_TIME, ORDER_LEAD_TIME_WITH_DEPOSIT, ORDER_LEAD_TIME_WITH_PAYMENT, ORDER_CHANGES, *WORKING_DAYS, *dues,
        *REASONS.values(), FROM_TO, WEIGHT_TITLE, WEIGHT, ONE_HEAVY, SOME_HEAVY, HEAVY_IN_SET, HEAVY_REMEDY, NONE_HEAVY, *SIZE_WORDS,
        *PRICE_LIST.values(), *PAPERS.values(), *PAPER_LABELS.values(), *PAPER_OPENINGS.values(), CONFIRMED_WITH,
        *CONFIRMED, CHANGES, PAY_BY, PAY_NOW, NO_INVOICE, RECEIVED,
    ]))


def fixed_wording(languages: Iterable[str] = ("en-GB",)) -> list[str]:
    """Every text of ours that a quote in some languages may hold: what the page says by itself gives nothing away."""
    said = [text for tag in languages for text in words_of(tag).every(messages())]
    return [*said, *messages(), *MONTHS, *MASS_UNITS, *MEASURES.values()]
