"""The settings of the Workshop sheet, each declared once: unit, default, range and meaning."""

from __future__ import annotations

from pricing.book.declared.column import Column

#: The settings in the order of the starter book. A default is written into it where a default is sensible.
SETTINGS: tuple[Column, ...] = (
    Column("Business name", "note", "As customers know it; it heads every quote.", needed=True,
           example="the name of the workshop"),
    Column("Address", "note", "Postal address, on the quote.", default=""),
    Column("Contact", "note", "Telephone and e-mail, on the quote.", default=""),
    Column("Tax number", "note", "Tax registration number; blank where there is none.", default=""),
    Column("Currency", "note", "Three letters of ISO 4217, such as GBP or EUR. Every price in this book is in it.",
           needed=True, example="GBP"),
    Column("Smallest coin", "number",
           "It says how many decimal places prices, taxes and totals have: 1 for none, as forints are invoiced, 0.1 for one, 0.01 for two; "
           "blank: as many as the currency's standard (ISO 4217) has. Where small coins are not used, see Cash step.",
           unit="currency", default=0.0, lower=0.0001, upper=1.0, example="0.01", decimals=4),
    Column("Tax name", "note", "What the tax on sales is called on a quote.", default="Tax"),
    Column("Tax rate", "percent", "Tax on sales unless a customer has a rate of their own; 0 % where none is charged.",
           quantity="standard_tax_rate",
           needed=True, example="20 %", decimals=1),
    Column("Target margin", "percent", "Profit wanted, as a share of the selling price (not a mark-up on cost).", quantity="target_margin",
           needed=True, example="40 %", decimals=1),
    Column("Lowest margin", "percent", "A line that earns less than this share of its price is reported.", quantity="lowest_margin",
           default=0.0, example="25 %", decimals=1),
    Column("Overhead per labour hour", "number",
           "Rent, insurance and unproductive time, spread over each paid hour; 0 where there is none. Or leave it blank and give the next "
           "two.", quantity="overhead_per_labour_hour", unit="currency/h", example="14.00", decimals=2,
           dated=True),
    Column("Overhead per year", "number",
           "What the workshop costs in a year before anything is cast, wages of makers left out.",
           quantity="overhead_per_year", unit="currency",
           example="21000", decimals=0, dated=True),
    Column("Productive hours per year", "number",
           "Hours that go into pieces in a normal year; overhead per year divided by them is the overhead per hour.",
           quantity="productive_hours",
           unit="h", example="1500", decimals=0, dated=True),
    Column("Price step", "number", "Calculated prices are rounded to a multiple of this; blank: the smallest coin.", quantity="price_step",
           unit="currency", default=0.0, example="1.00", decimals=2),
    Column("Price rounding", "choice", "Which way calculated prices are rounded to the step.",
           choices=("up", "nearest"), default="up"),
    Column("List price holds", "choice",
           "at any quantity: a list price stands however many are ordered. at the usual run: it stands where the number is the "
           "product's usual run; at any other the calculated price holds. from the usual run: it stands for that number and more.",
           choices=("at any quantity", "at the usual run", "from the usual run"), default="at any quantity"),
    Column("Taken from the price", "percent",
           "Share of every price that commission, cards and warranty take; it stands in the price and not in the cost.",
           quantity="taken_share", default=0.0, example="3 %", decimals=1),
    Column("Smallest order", "number", "An order below this is charged up to it; blank where any order is welcome.",
           quantity="smallest_order",
           unit="currency", default=0.0, example="120.00", decimals=2),
    Column("Quote valid for", "number", "Days from the date of a quote until its prices lapse.",
           unit="day", shown="days", default=30.0, lower=1.0, upper=3650.0, whole=True, example="30", decimals=0),
    Column("Deposit", "percent", "Share of the total to be paid when the order is placed.", quantity="deposit_share", default=0.0,
           example="50 %", decimals=0),
    Column("Mix allowance", "percent", "Mixed beyond what is cast: what stays in the mixer and is ground off.", quantity="mix_allowance",
           default=0.0, example="10 %", decimals=0),
    Column("Mixer load", "number", "Fresh concrete that one load of the mixer gives.", quantity="mixer_load",
           unit="L", needed=True, example="60", decimals=0),
    Column("Aggregates in recipes", "choice",
           "dry: recipes state sand and stone without any water. saturated: with the water that they soak up, as many published ones do.",
           choices=("dry", "saturated"), default="dry"),
    Column("Mixer loads", "choice",
           "each casting day: concrete is mixed on the day on which it is cast, so that a mix takes a load for each of its days. "
           "by volume: for a maker who always pours several jobs from one load.",
           choices=("each casting day", "by volume"), default="each casting day"),
    Column("Moulds chosen", "choice",
           "cheapest: as many moulds stand at once as make the quote cheapest. fewest: as few as its wear and its wanted day allow.",
           choices=("cheapest", "fewest"), default="cheapest"),
    Column("Electricity price", "number", "For the machines; to be typed, if only as 0, where one of them draws electricity.",
           quantity="electricity_price", unit="currency/kWh", default=0.0, example="0.28",
           decimals=3, dated=True),
    Column("Hours per day", "number", "Hours that one person works on pieces in a day; it sets the lead time.",
           unit="h", default=8.0, lower=0.25, upper=24.0, example="7.5", decimals=1),
    Column("One-person lift", "number",
           "A heavier piece is marked as one that one person should not lift. Published guidance, no legal limit: 16 kg (35 lb) for "
           "women and 25 kg (55 lb) for men close to the body at waist height, far less near the floor or at arm's length (HSE L23 and "
           "INDG143), 23 kg (51 lb) at the very best (NIOSH lifting equation).",
           quantity="one_person_lift", unit="kg", default=16.0, example="16", decimals=0),
    Column("Release covers", "number", "Mould face that a litre of release oil or wax covers.", quantity="release_covers",
           unit="m2/L", default=12.0, example="12", decimals=0),
    Column("Refit trade", "choice",
           "Who cleans a mould and makes it ready again; blank: the first trade of the Trades sheet.",
           refers_to="Trades", default="", formerly=("Refit grade",)),
    Column("Tax rounding", "choice", "Which way the tax of a quote is rounded; the law of some countries says down.",
           choices=("nearest", "down"), default="nearest"),
    Column("Cash step", "number",
           "The payable amount is rounded to a multiple of this where small coins are not used; blank: none.", quantity="cash_step",
           unit="currency", default=0.0, example="0.05", decimals=2),
    Column("Start within", "number",
           "Working days from the order until work on it starts; part of the lead time. Where the register has quotes that are ordered "
           "and not yet in Actuals, their work comes first, at Hours per day of all People, if it takes longer.",
           shown="working days", default=5.0, upper=1000.0, whole=True, example="5", decimals=0),
    Column("Working week", "choice", "Days that are worked; the lead time counts them.",
           choices=("Monday to Friday", "Monday to Saturday"), default="Monday to Friday"),
    Column("Holidays", "note",
           "Public holidays on which nothing is worked: the ISO 3166 code of a country or a part of one, such as GB-ENG or DE-BY; blank: "
           "none. Days of your own stand on the sheet Closed.", default="", example="GB-ENG"),
    Column("People", "number", "How many work on pieces; it sets the hours that a week has.", shown="people", default=1.0,
           lower=0.05, upper=100_000.0, example="1", decimals=1),
    Column("Mould places", "number",
           "Moulds of a line that can stand filled at the same time, however many are built; blank where there is always room.",
           shown="moulds",
           lower=1.0, upper=100_000.0, whole=True, example="8", decimals=0),
    Column("Board bought by", "choice",
           "share: a mould pays for the board that is cut for it. sheets: it pays for the whole sheets.",
           choices=("share", "sheets"), default="share"),
    Column("Saw kerf", "number", "What the saw takes away between two panels.", unit="m", shown="mm", default=0.003,
           upper=0.02, example="3", decimals=1),
    Column("Interest rate", "percent", "Interest on the money tied up in machines; blank where none is charged.", quantity="interest_rate",
           default=0.0, example="6 %", decimals=1),
    Column("Learning form", "choice",
           "unit: each doubling brings the minutes of a piece down. cumulative average: the average of the run.",
           choices=("unit", "cumulative average"), default="unit"),
    Column("Scale step", "number", "Smallest step of the scale that mixes are weighed on.",
           quantity="weighing_step", unit="kg", default=0.01, example="0.01", decimals=3),
    Column("Measures", "choice",
           "Sizes and weights on the quotes; blank: sizes as they were typed, weights in kg.",
           choices=("metric", "inches and pounds"), default=""),
    Column("Language", "note",
           "The language in which customers are written to, by its BCP 47 tag: en-GB, en-US, de, fr, es, nl; blank: American English where "
           "the currency is USD, otherwise British. Customers and quotes may have one of their own. Quotes and papers follow "
           "it; stages, taxes, finishes and texts stay as they are typed.", default="", example="de"),
    Column("Page size", "choice", "Paper of the workbooks; blank: by the currency's country.",
           choices=("A4", "Letter"), default=""),
)

_CODES = """
    AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF
    CLF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL
    HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL
    MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON
    RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH
    UGX USD UYU UYW UZS VED VES VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG
"""

#: ISO 4217 codes of currencies in use (list one of the standard, as carried by the Unicode CLDR).
CURRENCIES: frozenset[str] = frozenset(_CODES.split())
