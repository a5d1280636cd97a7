"""Every sheet of the price book, each column declared once, in the order of the starter book."""

from __future__ import annotations

import dataclasses
import math

from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.dimensions import DIMENSION_COLUMNS, DIMENSION_NAMES
from pricing.book.declared.pieces import CUT_OUTS, LAYERS, OUTLINES
from pricing.book.declared.selling import LEVELS, SERVICES, SETS
from pricing.book.declared.settings import SETTINGS
from pricing.book.declared.terms import PAYMENTS, QUOTES, TAXES, TERMS, language_column, payments_column, tax_column
from pricing.rules.geometry.seen_edges import ALL_SEEN
from pricing.rules.shapes import SHAPES

KINDS = (
    "binder", "aggregate", "water", "pigment", "admixture", "fibre", "board", "fixing", "sealant", "tape", "release",
    "abrasive", "sealer", "packing", "bought in", "reinforcement", "cast in",
)
PACK_UNITS = ("kg", "L", "m", "m2", "each", "sheet")
BASES = (
    "parts by mass", "parts by volume", "kg/m3", "L/m3", "% of binder", "mL/kg binder", "% of volume",
)
PER = (
    "line", "quote", "batch", "mould", "cast", "piece", "m3", "kg", "m2 face", "m2 underside", "m2 open side", "m arris",
    "m2 mould", "m joint", "m length", "m width",
)
PRICE_PER = ("piece", "m2", "m", "kg", "ft2", "ft", "lb")
#: Words that stood there, each with what is read instead.
FORMER_SURFACE = {"m2 top of mould": "m2 open side"}
FORMER_PER = {"order": "line", **FORMER_SURFACE}
SURFACES = ("m2 face", "m2 underside", "m2 open side", "m2 mould", "m arris", "piece")
MADE_FOR = ("order", "stock")
ACTUAL_KINDS = ("material", "labour", "step", "machine", "overhead", "rejected", "mould casts")


def _low_and_high(column: Column) -> tuple[Column, ...]:
    """The lowest and highest plausible value of a figure that is uncertain: read where they are there."""
    meaning = f"plausible value of {column.heading}, where it is uncertain."
    return tuple(
        dataclasses.replace(
            column, heading=heading, meaning=f"{word} {meaning}", needed=False, default=math.nan, in_starter=False,
            brought_by="estimates",
        )
        for heading, word in (("Low", "Lowest"), ("High", "Highest"))
    )


_PACK_PRICE = Column("Pack price", "number", "Price of one pack without tax.", quantity="pack_price", unit="currency", needed=True,
                     example="18.40", decimals=2, width=11)
_MINUTES = Column("Minutes", "number", "Work in minutes for one of what it is counted by.",
                  quantity="minutes", unit="min", default=0.0, example="12", decimals=1, width=10)
_REJECTS = Column("Rejects", "percent", "Share of the pieces cast that do not pass inspection.", quantity="rejects", default=0.0,
                  example="3 %", decimals=0, width=9)

WORKSHOP = SheetDeclaration(
    "Workshop", "a setting", "Who the workshop is, and the settings that every price rests on.", "setting", "settings",
    (
        Column("Setting", "name", "Name of the setting; leave it as it is.", needed=True, width=30),
        Column("Value", "note", "What it is set to.", default="", width=34),
        Column("From", "date", "Of overhead, productive hours and the electricity price, each of which may stand in several rows: the day "
               "from which this one holds. Blank: it always held.", example="2025-04-01", width=13, in_starter=False, brought_by="wages"),
        Column("Note", "note", "Whatever you want to remember about it.", default="", width=70),
    ),
    key=("setting",), always=True,
)

MATERIALS = SheetDeclaration(
    "Materials", "a price, from a day on",
    "What is bought. When a price changes, add a row with name, price and day: what it leaves blank is as in the row before it. Earlier "
    "rows stay as the history.",
    "material", "materials",
    (
        Column("Material", "name", "Name under which other sheets know it.", needed=True, example="White cement",
               width=26),
        Column("Kind", "choice", "What it is used as.", choices=KINDS, needed=True, width=11),
        Column("Pack size", "number", "How much one pack holds, in the pack unit.",
               quantity="pack_size", unit_rule="pack unit", needed=True, example="25", width=9),
        Column("Pack unit", "choice", "What the pack is measured in. A sheet's area is its length times its width.",
               choices=PACK_UNITS, needed=True, width=9),
        _PACK_PRICE,
        Column("Carriage", "number", "What bringing one pack in costs, without tax.", quantity="carriage_in", unit="currency", default=0.0,
               example="1.20", decimals=2, width=11),
        Column("Wastage", "percent", "Bought beyond what is used: spills, offcuts, what sets in the tin.",
               quantity="wastage", default=0.0, example="5 %", decimals=0, width=9),
        Column("Density", "number",
               "Mass of a cubic metre of the solid or liquid itself. Needed for whatever goes into a mix.", quantity="density",
               unit="kg/m3", example="2650", decimals=0, width=9),
        Column("Bulk density", "number", "Mass of a cubic metre as it lies loose. Needed for parts by volume.", quantity="bulk_density",
               unit="kg/m3", example="1600", decimals=0, width=9),
        Column("Sheet length", "number", "Length of one sheet of board.", quantity="sheet_length", unit="m", shown="mm",
               example="2440", decimals=0, width=9),
        Column("Sheet width", "number", "Width of one sheet of board.", quantity="sheet_width", unit="m", shown="mm",
               example="1220", decimals=0, width=9),
        Column("Sheet thickness", "number", "Thickness of the board; it makes the mould's sides longer and higher.", quantity="board",
               unit="m", shown="mm", example="18", decimals=0, width=11),
        Column("Supplier", "note", "Who sells it.", default="", width=24),
        Column("Priced on", "date", "The day from which this price holds.", needed=True, example="2025-03-01",
               width=13),
        Column("In stock", "number", "How much of it is in the store.", unit_rule="pack unit", upper=1e9, in_starter=False,
               brought_by="stock"),
        Column("Same as", "choice",
               "Another pack of the same thing: the material that mixes and plans name. The price rests on that one; a cheaper pack is "
               "told of, and the shopping list buys the cheapest.",
               refers_to="Materials", default="", in_starter=False, brought_by="stock"),
        Column("Solids", "percent", "Of an admixture: what is not water; the rest counts in the water / binder ratio.",
               upper=1.0, example="35 %", in_starter=False, brought_by="polymers"),
        Column("Moisture", "percent", "Of an aggregate: all water in it as it lies, as a share of its dry mass.",
               quantity="moisture", example="4 %", in_starter=False, brought_by="damp-sand"),
        Column("Absorption", "percent", "Of an aggregate: water that it soaks up and keeps, as a share of its dry mass.",
               quantity="absorption", example="1 %", in_starter=False, brought_by="damp-sand"),
        Column("Unit mass", "number", "Of what is cast in: mass of one pack unit, so that a piece weighs all that is in it. What is "
               "sold by the kg needs none.", quantity="unit_mass", unit="kg", example="0.617", in_starter=False, brought_by="steel"),
        *_low_and_high(_PACK_PRICE),
    ),
    key=("material", "priced_on"), always=True,
)

MIXES = SheetDeclaration(
    "Mixes", "an ingredient of a mix", "What goes into each mix. Give every ingredient a row; repeat the mix's name.",
    "mix", "mixes",
    (
        Column("Mix", "name", "Name of the mix, repeated on every row of it.", needed=True, example="White face mix",
               width=24),
        Column("Material", "choice", "An ingredient from the Materials sheet; Air needs no price.",
               refers_to="Materials", needed=True, width=26),
        Column("Amount", "number", "How much of it, in the unit that the basis names.", quantity="amount", unit_rule="basis", needed=True,
               example="100", width=10),
        Column("Basis", "choice",
               "What the amount is counted in. Parts are scaled until the mix fills one cubic metre; shares of the "
               "binder are by mass.", choices=BASES, needed=True, width=16),
    ),
    key=("mix", "material", "basis"), always=True,
)

TRADES = SheetDeclaration(
    "Trades", "a kind of labour", "What an hour of each kind of labour costs the workshop. When a wage changes, add a row "
    "with name, wage and day; earlier rows stay as the history.", "trade", "trades",
    (
        Column("Trade", "name", "Name of the trade.", needed=True, example="Maker", width=22, formerly=("Grade",)),
        Column("Hourly cost", "number", "Wage with everything that is paid on top of it, for one hour at work.", quantity="hourly_cost",
               unit="currency/h", needed=True, example="21.50", decimals=2, width=15),
        Column("From", "date", "The day from which this wage holds; blank: it always held.", example="2025-04-01", width=13,
               in_starter=False, brought_by="wages"),
    ),
    key=("trade", "from"), formerly=("Grades",),
)

MACHINES = SheetDeclaration(
    "Machines", "a machine", "What wears out and what draws electricity.", "machine", "machines",
    (
        Column("Machine", "name", "Name of the machine.", needed=True, example="Pan mixer", width=22),
        Column("Price", "number", "What it cost, without tax.", quantity="machine_price", unit="currency", needed=True, example="1850",
               decimals=2, width=12),
        Column("Resale", "number", "What it will bring at the end of its life.", quantity="resale", unit="currency", default=0.0,
               example="300", decimals=2, width=12),
        Column("Life", "number", "Hours it will run.", quantity="life_hours", unit="h", needed=True, example="4000", decimals=0,
               width=10),
        Column("Upkeep", "number", "Repairs and wearing parts for one hour of running.", quantity="upkeep", unit="currency/h", default=0.0,
               example="0.60", decimals=2, width=14),
        Column("Power", "number", "What it draws when it runs.", quantity="power", unit="kW", default=0.0, example="1.5",
               decimals=2, width=10),
        Column("Hours per year", "number", "Hours it runs in a year; needed where interest is charged on machines.",
               quantity="hours_used_per_year",
               unit="h", example="400", in_starter=False, brought_by="interest"),
    ),
    key=("machine",),
)

LABOUR = SheetDeclaration(
    "Labour", "a step of a labour plan",
    "The steps of the work, from the drawing to the packed piece, and the waiting in between.",
    "labour plan", "labour plans",
    (
        Column("Labour plan", "name", "Name of the plan, repeated on every step of it.", needed=True, example="Slab",
               width=20),
        Column("Step", "name", "What is done.", needed=True, example="Cast and vibrate", width=30),
        Column("Trade", "choice", "Who does it; blank for a step of waiting, or a machine that runs alone.",
               refers_to="Trades", default="", width=14, formerly=("Grade",)),
        _MINUTES,
        Column("Per", "choice", "What the minutes are counted by.", choices=PER, former_words=FORMER_PER, default="", width=16,
               counts={"minutes": -1, "low": -1, "high": -1}),
        Column("Machine", "choice", "The machine that runs for these minutes; blank where none does.",
               refers_to="Machines", default="", width=18),
        Column("Wait", "number", "Hours to wait after the step. It costs no wages but sets the lead time.", unit="h",
               default=0.0, upper=10_000.0, example="48", decimals=1, width=10),
        Column("Lost on reject", "yes_no", "Yes where the step is done again for a piece that does not pass.",
               default=0.0, example="yes", width=12),
        Column("Learning", "percent",
               "What the minutes fall to each time the number of pieces, casts, mixer loads or moulds doubles that they are counted by; "
               "what is counted by line or quote is not repeated. Blank or 100 % where nothing is learnt.",
               quantity="learning_slope", example="92 %", in_starter=False),
        Column("Finish", "choice", "The step counts only for pieces of this finish; blank: for all.", refers_to="Finishes", default="",
               in_starter=False, brought_by="steps-by-finish"),
        *_low_and_high(_MINUTES),
    ),
    key=("labour_plan", "step", "finish"), frozen=2,
)

MOULDS = SheetDeclaration(
    "Moulds", "a way of building moulds",
    "How moulds are built, how often one can be used, and what making it ready again takes.",
    "mould plan", "mould plans",
    (
        Column("Mould plan", "name", "Name of the plan.", needed=True, example="Melamine once", width=22),
        Column("Board", "choice", "What the mould is built of; blank where moulds are bought in.",
               refers_to="Materials", default="", width=24),
        Column("Lasts", "number", "How many casts a mould survives.", quantity="casts_per_mould", needed=True,
               shown="casts", whole=True, example="1", decimals=0, width=9, formerly=("Casts",)),
        Column("Sealant", "choice", "Fillet in the inner joints; blank where there is none.", refers_to="Materials",
               default="", width=22),
        Column("Sealant radius", "number", "Radius of the fillet of sealant.",
               quantity="sealant_radius", unit="m", shown="mm", example="5", decimals=1, width=10),
        Column("Fixing", "choice", "Screws or nails of the joints; blank where there are none.",
               refers_to="Materials", default="", width=22),
        Column("Fixing spacing", "number", "Distance from one fixing to the next.",
               quantity="fixing_spacing", unit="m", shown="mm", example="150", decimals=0, width=10),
        Column("Tape", "choice", "Tape along the joints; blank where there is none.", refers_to="Materials",
               default="", width=18),
        Column("Release", "choice", "Release oil or wax; blank where there is none.", refers_to="Materials",
               default="", width=18),
        Column("Refit every", "number", "Casts between one making ready and the next; blank where it is never done.",
               quantity="refit_every",
               shown="casts", example="1", decimals=0, width=10),
        Column("Refit minutes", "number", "Minutes to clean a mould and make it ready again; they need a number under Refit every.",
               quantity="refit_minutes", unit="min", default=0.0, example="10", decimals=0, width=11),
        Column("Pieces per mould", "number", "Pieces that one filling gives, for a mould with several places; blank: 1.",
               quantity="pieces_per_mould", shown="pieces", default=1.0, whole=True, example="4", decimals=0, width=10,
               in_starter=False, brought_by="bought-moulds"),
        Column("Price", "number", "What a mould costs that is bought ready; steps by mould, m2 mould and m joint do not count for it.",
               quantity="mould_price", unit="currency", default=0.0, example="85.00", decimals=2, width=12, in_starter=False,
               brought_by="bought-moulds"),
        Column("Pattern price", "number", "What the pattern costs from which moulds are taken.", quantity="pattern_price",
               unit="currency", default=0.0, example="240.00", decimals=2, width=12, in_starter=False, brought_by="bought-moulds"),
        Column("Moulds of a pattern", "number", "How many moulds are taken from one pattern; blank: 1.", quantity="moulds_of_pattern",
               shown="moulds", default=1.0, whole=True, example="5", decimals=0, width=10, in_starter=False, brought_by="bought-moulds"),
        Column("Resale", "number", "What a worn or idle mould still brings; blank: nothing.", quantity="mould_resale",
               unit="currency", default=0.0, example="10.00", decimals=2, width=12, in_starter=False, brought_by="bought-moulds"),
    ),
    key=("mould_plan",),
)

FINISHES = SheetDeclaration(
    "Finishes", "a consumable of a finish", "What grinding, polishing and sealing use up.", "finish", "finishes",
    (
        Column("Finish", "name", "Name of the finish, repeated on every row of it.", needed=True,
               example="Honed and sealed", width=22),
        Column("Material", "choice", "What is used up.", refers_to="Materials", needed=True, width=26),
        Column("Covers", "number", "What one pack unit of it does: 8 m2 for a litre of sealer, 6 m2 for a pad.", quantity="covers",
               unit_rule="surface per pack unit", needed=True, example="8", decimals=1, width=10),
        Column("Coats", "number", "How many times it is applied.", quantity="coats", default=1.0, example="2",
               decimals=0, width=9),
        Column("Surface", "choice", "What it is applied to.", choices=SURFACES, former_words=FORMER_SURFACE, needed=True, width=16,
               counts={"covers": 1}),
    ),
    key=("finish", "material", "surface"),
)


def _plans(default: bool) -> tuple[Column, ...]:
    blank = "" if default else " Blank: as in the catalogue."
    plans = (
        Column("Mix", "choice", f"What it is cast of.{blank}", refers_to="Mixes", default="", needed=default, width=20),
        Column("Mould plan", "choice", f"How its mould is built.{blank}", refers_to="Moulds", default="", width=20),
        Column("Labour plan", "choice", f"How it is made.{blank}", refers_to="Labour", default="", width=20),
        Column("Finish", "choice", f"How it is finished.{blank or ' Blank where nothing is used up.'}",
               refers_to="Finishes", default="", width=20),
    )
    return plans if default else tuple(dataclasses.replace(plan, in_starter=False, brought_by="plans-of-lines") for plan in plans)


def _of_the_piece(line: bool) -> tuple[Column, ...]:
    """What a piece has besides its dimensions, of a product or of a line that overrides it."""
    blank = " Blank: as in the catalogue." if line else " Blank: all."
    seen = "How many of the two edges along the {} are seen; one at a wall is neither ground nor polished."
    return (
        Column("Outline", "choice", f"Of a slab by outline: its outline.{' Blank: as in the catalogue.' if line else ''}",
               refers_to="Outlines", default="", in_starter=False, brought_by="outlines"),
        *(
            Column(name.capitalize().replace("_", " "), "number", f"{seen.format(along)}{blank}", quantity=name, whole=True, example="1",
                   decimals=0, width=11, in_starter=False, brought_by="seen-edges")
            for name, along in zip(ALL_SEEN, ("length", "width"), strict=True)
        ),
    )


PRODUCTS = SheetDeclaration(
    "Products", "a catalogue piece",
    "The catalogue. Fill in the dimensions that the shape has; leave the others blank.",
    "product", "products",
    (
        Column("Product", "name", "Name or number of the piece.", needed=True, example="Shelf 600", width=22),
        Column("Description", "note", "As the customer reads it on the quote.", default="", width=36),
        Column("Shape", "choice", "Its shape, which says what dimensions it has.", choices=tuple(SHAPES), needed=True,
               width=18),
        *DIMENSION_COLUMNS,
        *_of_the_piece(line=False),
        Column("Model", "note", "Of a solid: a file of triangles beside this book (STL, OBJ, PLY, 3MF), from which its volume and its "
               "areas are measured. Write the unit of the file behind its name: basin.stl (mm).", default="", example="basin.stl (mm)",
               in_starter=False, brought_by="models"),
        Column("Use", "note", "What it is used as, which chooses the cautions and the words on care: worktop, hearth, stair, floor, seat, "
               "wall, vessel, garden, food; several with commas. Blank: by the shape.", default="", example="worktop, food",
               in_starter=False, brought_by="uses"),
        *_plans(True),
        _REJECTS,
        Column("Made for", "choice",
               "order: the moulds are paid by this order. stock: a mould's cost is spread over all the casts it "
               "survives.", choices=MADE_FOR, default="order", width=10),
        Column("Moulds kept", "number",
               "Moulds that already stand in the rack: they are not built again. Blank: none; for a product made for stock, as many as "
               "one mixer load fills.", quantity="moulds_kept", shown="moulds", whole=True, example="2", decimals=0, width=9,
               in_starter=False),
        Column("Usual run", "number", "How many are usually ordered at once; blank: 1.", quantity="usual_run", shown="pieces",
               whole=True, example="4", decimals=0, width=9),
        Column("List price", "number", "Price in your printed list, without tax; blank where it is calculated.", quantity="given_price",
               unit="currency", example="145.00", decimals=2, width=12),
        Column("Price per", "choice", "What its prices are for: one piece, or a measure of it. m2 or ft2: of its underside. m or "
               "ft: of its length. Blank: piece.", choices=PRICE_PER, default="", in_starter=False),
        Column("On list", "yes_no", "no: it is left out of the price list for customers. Blank: yes.", example="no", in_starter=False),
        tax_column("A tax of the customer stands before it."),
        *_low_and_high(_REJECTS),
    ),
    key=("product",), always=True,
)

EXTRAS = SheetDeclaration(
    "Extras", "something bought in for a product",
    "Brackets, inserts, packing: whatever a product needs besides concrete.",
    "extra", "extras",
    (
        Column("Product", "choice", "The product that needs it, or the service.", refers_to="Products", also=("Services",), default="",
               width=22),
        Column("Quote", "name", "Instead of a product: the quote that it is bought for, for every line of it; counted by the quote, once.",
               default="", example="Q-1001", width=10, in_starter=False),
        Column("Material", "choice", "What it needs.", refers_to="Materials", needed=True, width=26),
        Column("Amount", "number", "How much, in the material's pack unit.", quantity="extra_amount", unit_rule="pack unit of material",
               needed=True, example="2", width=10),
        Column("Per", "choice", "What the amount is counted by.", choices=PER, former_words=FORMER_PER, needed=True, width=16,
               counts={"amount": -1}),
        Column("Lost on reject", "yes_no", "yes: a rejected piece takes it with it. Blank: yes for what is cast in, no for the rest.",
               example="no", width=10, in_starter=False),
    ),
    key=("product", "quote", "material", "per"),
)

CUSTOMERS = SheetDeclaration(
    "Customers", "a customer", "Who buys, on what terms, and where it goes.", "customer", "customers",
    (
        Column("Customer", "name", "Name of the customer.", needed=True, example="the name of the customer", width=26),
        Column("Address", "note", "As on an envelope.", default="", width=44),
        Column("Discount", "percent", "Off every price for this customer.", quantity="discount_rate", default=0.0, example="10 %",
               decimals=1, width=10),
        Column("Tax rate", "percent", "Of what is not exempt; blank: the rate of the Workshop sheet. 0 % where no tax is charged.",
               quantity="own_tax_rate", example="20 %", decimals=1, width=10),
        Column("Delivery zone", "choice", "Zone of the Delivery sheet; blank where the customer collects.",
               refers_to="Delivery", default="", width=16),
        Column("Level", "choice", "Prices and discounts of the Levels sheet; blank: list prices.", refers_to="Levels", default="",
               in_starter=False, brought_by="levels"),
        tax_column("It stands before the tax of a product."),
        Column("E-mail", "note", "Printed below the address.", default="", width=28, in_starter=False),
        Column("Site address", "note", "Where the pieces go, if that is not the address.", default="", width=44, in_starter=False),
        payments_column(),
        Column("Payment days", "number", "Days after delivery until the balance is due; blank: on delivery.", shown="days", upper=3650.0,
               whole=True, example="30", decimals=0, width=9, in_starter=False),
        language_column("in which this customer is written to"),
    ),
    key=("customer",),
)

DELIVERY = SheetDeclaration(
    "Delivery", "a weight band of a zone", "What carriage to a customer costs, by zone and weight.", "zone", "zones",
    (
        Column("Zone", "name", "Name of the zone, repeated on every row of it.", needed=True, example="Local",
               width=18),
        Column("Up to", "number", "Heaviest delivery of this band.", quantity="up_to", unit="kg", needed=True,
               example="50", decimals=0, width=12),
        Column("Charge", "number", "What the customer pays for it, without tax; nothing where nothing weighs, as with services alone.",
               quantity="charge", unit="currency", needed=True, example="35.00", decimals=2, width=13),
    ),
    key=("zone", "up_to"),
)

ENQUIRIES = SheetDeclaration(
    "Enquiries", "a line of a quote",
    "What customers ask for. A dimension or plan given here stands instead of the catalogue's.",
    "quote", "quotes",
    (
        Column("Quote", "name", "Number of the quote, repeated on every line of it.", needed=True, example="Q-1001",
               width=10),
        Column("Date", "date", "Date of the quote; prices of that day are used.", needed=True, example="2025-03-01",
               width=13),
        Column("Customer", "choice", "Who asks.", refers_to="Customers", needed=True, width=26),
        Column("Product", "choice", "What for: a product, a service, or a set.", refers_to="Products", also=("Services", "Sets"),
               needed=True, width=22),
        Column("Quantity", "number", "How many good pieces, or sets.", quantity="quantity", shown="pieces", needed=True,
               whole=True, example="4", decimals=0, width=10),
        Column("Unit price", "number", "A price agreed for one piece, one set, or one of what the product is priced by, without tax; it "
               "stands whatever the piece costs, and no customer's discount is taken off it.",
               quantity="given_price",
               unit="currency", example="160.00", decimals=2, width=12),
        Column("Offer", "note", "option: priced as an order of its own and not in the total; the quote says what it would change by "
               "with it, discount, carriage and small order charge among it. instead of 2: an alternative to line 2 of the quote. Ordered "
               "later with: pricing register --mark Q-1041=ordered --with 4. Blank: asked for.", default="", example="option",
               in_starter=False),
        Column("Margin", "percent", "Profit wanted on this line, instead of the target margin and of any list price.",
               quantity="own_margin", example="35 %", decimals=1, in_starter=False),
        Column("Discount", "percent", "Off the price of this line, instead of the customer's discount; 0 % for none.",
               quantity="own_discount", example="5 %", decimals=1, in_starter=False),
        Column("Description", "note", "As the customer reads it on this quote. Blank: the product's.", default="", in_starter=False),
        Column("Wanted by", "date", "Last day that will do; as many moulds are made as that needs.", example="2025-05-01",
               in_starter=False),
        Column("Note", "note", "Printed with the line on the quote.", default="", width=40),
        *DIMENSION_COLUMNS,
        *_of_the_piece(line=True),
        *_plans(False),
    ),
    frozen=4,
)

ACTUALS = SheetDeclaration(
    "Actuals", "what a finished job really took",
    "What a finished job took, to compare with what was allowed.", "record", "records",
    (
        Column("Quote", "name", "Number of the quote.", needed=True, example="Q-1001", width=10),
        Column("Product", "choice", "The line it was for, a product or a service; blank where it was for the whole job.",
               refers_to="Products", also=("Services",), default="", width=22),
        Column("Item", "name",
               "The material, trade, step or machine; the mould plan for mould casts; for overhead and rejected whatever "
               "you want to call it, or blank.", default="", example="White cement", width=26),
        Column("Kind", "choice", "What the item is; hours of a step are not written again under labour.",
               choices=ACTUAL_KINDS, needed=True, width=13),
        Column("Quantity", "number",
               "How much: pack units of a material, hours of a trade, step or machine, pieces rejected, casts that a mould "
               "survived.", unit_rule="item", needed=True, upper=1e9, example="12.5", width=10),
        Column("Cost", "number", "What that cost in all, without tax. Blank: at the standard price, wage or rate.",
               unit="currency", upper=1e13, example="54.30", decimals=2, width=12),
    ),
)

CLOSED = SheetDeclaration(
    "Closed", "days on which nothing is worked", "Holidays of the workshop: concrete cures through them, and nobody works.",
    "closure", "closures",
    (
        Column("From", "date", "First day on which the workshop is closed.", needed=True, example="2025-12-22", width=13),
        Column("To", "date", "Last such day; blank: that day alone.", example="2026-01-02", width=13),
        Column("Why", "note", "For yourself.", default="", width=30),
    ),
    in_starter=False,
)

#: The sheets in the order of the starter book; a sheet comes after those that it names, Customers after Delivery.
SHEETS: tuple[SheetDeclaration, ...] = (
    WORKSHOP, TAXES, PAYMENTS, MATERIALS, MIXES, TRADES, MACHINES, LABOUR, MOULDS, FINISHES, OUTLINES, PRODUCTS, LAYERS, SERVICES, SETS,
    EXTRAS, DELIVERY, LEVELS, CUSTOMERS, ENQUIRIES, QUOTES, TERMS, CUT_OUTS, ACTUALS, CLOSED,
)

#: Those of an empty starter book.
STARTER_SHEETS = tuple(declared for declared in SHEETS if declared.in_starter)

__all__ = ["DIMENSION_COLUMNS", "DIMENSION_NAMES", "SETTINGS", "SHEETS"]
