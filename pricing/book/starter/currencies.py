"""Example prices in other currencies: a round factor each, so that a new book reads as if it were of that country.

Every factor is a rough order of magnitude from memory, not a rate of exchange: the prices are examples to be written over.
"""

from __future__ import annotations

import math

from pricing.book.declared.settings import SETTINGS
from pricing.book.declared.sheets import SHEETS
from pricing.book.starter.data import BookData
from pricing.money import minor_units

#: By what the example's prices are multiplied, and the currencies; 1 for those that are not named. From memory, rough orders of magnitude.
_CODES: dict[float, str] = {
    0.5: "KWD BHD OMR JOD",
    2: "AUD CAD NZD SGD BND FJD BAM",
    5: "PLN RON ILS MYR PEN SAR AED QAR BRL BYN GEL TND",
    10: "SEK NOK DKK CNY HKD MOP TTD BOB GTQ MAD ZAR NAD BWP",
    20: "MXN CZK ZMW MDL UYU",
    50: "TRY UAH TWD THB PHP EGP HNL NIO MKD RUB DOP",
    100: "INR RSD DZD BDT ALL KES NPR KGS JMD HTG ISK",
    200: "JPY PKR LKR",
    500: "HUF AMD KZT CRC ARS XOF XAF",
    1_000: "CLP IQD NGN",
    2_000: "KRW MNT TZS CDF MMK",
    5_000: "COP UGX KHR PYG MGA",
    20_000: "IDR UZS LAK VND",
}
_FACTORS = {code: factor for factor, codes in _CODES.items() for code in codes.split()}

#: What money is rounded to stands in its own sheet of settings: a coin, not a price.
_STEPS = frozenset({"Price step", "Smallest coin", "Cash step"})


def in_currency(data: BookData, currency: str) -> BookData:
    """A book's example prices in another currency, by a rough factor; the figures of prices alone change.

    Parameters
    ----------
    data : prices of about a pound, a euro or a dollar
    currency : ISO 4217 code of the other

    >>> in_currency({"Trades": [{"Trade": "Maker", "Hourly cost": 19.8}]}, "HUF")
    {'Trades': [{'Trade': 'Maker', 'Hourly cost': 9900.0}]}
    """
    factor = _FACTORS.get(currency, 1)
    if factor == 1:
        return data
    columns = {declared.name: declared.columns for declared in SHEETS} | {"Workshop": SETTINGS}
    prices = {sheet: {column.heading for column in columns[sheet] if column.is_money} for sheet in data}
    places = max(minor_units(currency), 2 - math.floor(math.log10(factor)), 0)

    def scaled(heading: str, value: object) -> object:
        if not isinstance(value, int | float) or isinstance(value, bool):
            return value
        if heading in _STEPS:
            return value * 10.0 ** math.floor(math.log10(factor))
        return round(value * factor, places)

    return {
        sheet: [{heading: scaled(heading, value) if heading in prices[sheet] else value for heading, value in row.items()} for row in rows]
        for sheet, rows in data.items()
    }
