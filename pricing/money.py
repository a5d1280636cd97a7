"""Money: currencies, their minor units, and the rounding that agrees with a spreadsheet.

Rounding is half away from zero on the decimal number that a person reads, that is on 15 significant digits:
``2.675`` to two places is ``2.68`` although the nearest binary number lies a little below it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from numpy.typing import NDArray

#: Half a unit in the fifteenth digit, relative: lifts a typed tie that binary arithmetic left just below it.
_LIFT = 1.0 + 2.0**-50

#: ISO 4217 minor units that differ from two. Source: ISO 4217 list one, as carried by the Unicode CLDR.
MINOR_UNITS: dict[str, int] = {
    **dict.fromkeys((
        "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF", "XPF",
    ), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
    **dict.fromkeys(("CLF", "UYW"), 4),
}

#: Amounts have no more decimal places than this.
MOST_PLACES = 4

#: Signs under which a currency is commonly typed, by ISO 4217 code (common practice; "$" and "kr" are shared by several).
SIGNS: dict[str, str] = {
    "GBP": "£", "EUR": "€", "USD": "$", "CAD": "$", "AUD": "$", "NZD": "$", "JPY": "¥", "CNY": "¥", "INR": "₹",
    "KRW": "₩", "SEK": "kr", "NOK": "kr", "DKK": "kr", "ISK": "kr", "CHF": "CHF", "PLN": "zł", "CZK": "Kč",
}


class Currency(str):
    """The code of a currency whose smallest coin is not that of ISO 4217.

    Parameters
    ----------
    places : decimal places of its amounts
    """

    __slots__ = ("places",)
    places: int

    def __new__(cls, code: str, places: int) -> Currency:
        """The code, with the places."""
        made = super().__new__(cls, code)
        made.places = places
        return made

    def __reduce__(self) -> tuple[type[Currency], tuple[str, int]]:
        """What it takes to make it again in another process."""
        return Currency, (str(self), self.places)


def with_smallest_coin(currency: str, coin: float) -> str:
    """A currency whose amounts have the decimal places of its smallest coin; as it is where the coin is 0.

    >>> minor_units(with_smallest_coin("HUF", 1.0)), minor_units(with_smallest_coin("HUF", 0.0)), with_smallest_coin("HUF", 1.0)
    (0, 2, 'HUF')
    """
    if not coin > 0:
        return currency
    places = next((places for places in range(MOST_PLACES) if abs(round(coin, places) - coin) < 1e-9 * coin), MOST_PLACES)
    return Currency(currency, places)


def with_places(currency: str, places: object) -> str:
    """A currency whose amounts have so many decimal places; as it is where no number of them is known.

    >>> minor_units(with_places("HUF", 0.0)), minor_units(with_places("HUF", None))
    (0, 2)
    """
    return Currency(currency, int(places)) if isinstance(places, int | float) and 0 <= places <= MOST_PLACES else currency


def minor_units(currency: str) -> int:
    """Decimal places of a currency's smallest unit: of its smallest coin where one is set, else by ISO 4217.

    >>> minor_units("EUR"), minor_units("JPY"), minor_units("KWD")
    (2, 0, 3)
    """
    return currency.places if isinstance(currency, Currency) else MINOR_UNITS.get(currency, 2)


def with_code(amount: float, currency: str) -> str:
    """An amount with its decimal places and its currency.

    >>> with_code(1234.5, "EUR"), with_code(920.0, with_smallest_coin("HUF", 1.0))
    ('1,234.50 EUR', '920 HUF')
    """
    return f"{amount:,.{minor_units(currency)}f} {currency}"


def round_half_away(value: Any, digits: Any) -> Any:
    """Round to *digits* decimal places, halves away from zero, as a spreadsheet's ROUND does.

    Parameters
    ----------
    value : number or array [any unit]
    digits : whole number or array of the same shape [decimal places]; may be negative

    Returns
    -------
    number or array [unit of value]

    Source: EN 16931 amounts (round half up in magnitude); agreement with a spreadsheet measured in the tests.

    >>> float(round_half_away(2.675, 2)), float(round_half_away(-365.125, 2))
    (2.68, -365.13)
    """
    import numpy as np

    values: NDArray[np.float64] = np.asarray(value, dtype=np.float64)
    if np.ndim(digits) == 0 and digits >= 0:
        power = 10.0 ** float(digits)
        return np.sign(values) * np.floor(np.abs(values) * power * _LIFT + 0.5) / power
    places = np.asarray(digits, dtype=np.float64)
    up = 10.0 ** np.maximum(places, 0.0)
    down = 10.0 ** np.maximum(-places, 0.0)
    return np.sign(values) * np.floor(np.abs(values) * up / down * _LIFT + 0.5) / up * down


def whole_up(value: Any) -> Any:
    """The next whole number at or above *value*, after rounding to six places.

    57 / 0.57 is a hair over 100 in binary; it needs 100, not 101.

    >>> float(whole_up(57 / 0.57)), float(whole_up(0.3 / 0.1)), float(whole_up(2.01))
    (100.0, 3.0, 3.0)
    """
    import numpy as np

    return np.ceil(round_half_away(value, 6))


def whole_nearest(value: Any) -> Any:
    """The nearest whole number, halves away from zero, after rounding to six places.

    >>> float(whole_nearest(2.5)), float(whole_nearest(2.4999999999))
    (3.0, 3.0)
    """
    return round_half_away(round_half_away(value, 6), 0)


def whole_down(value: Any) -> Any:
    """The next whole number at or below *value*, after rounding to six places.

    >>> float(whole_down(2.9999999999)), float(whole_down(2.9))
    (3.0, 2.0)
    """
    import numpy as np

    return np.floor(round_half_away(value, 6))


def round_down(value: Any, digits: Any) -> Any:
    """Round towards zero to *digits* decimal places, after rounding to six places.

    >>> float(round_down(1.239999, 2)), float(round_down(1.24 - 1e-12, 2))
    (1.23, 1.24)
    """
    import numpy as np

    power = 10.0**digits
    values = round_half_away(value, 6)
    return np.sign(values) * np.floor(np.abs(values) * power * _LIFT) / power
