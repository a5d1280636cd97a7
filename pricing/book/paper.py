"""The paper that pages are printed on: as the maker wants, otherwise by the currency's country."""

from __future__ import annotations

#: Currencies of the countries where office paper is Letter; in all others it is A4. Source: Unicode CLDR, supplemental data,
#: paperSize (Belize, Canada, Chile, Colombia, Costa Rica, Guatemala, Mexico, Nicaragua, Panama, Philippines, Puerto Rico,
#: El Salvador, United States, Venezuela); from memory.
LETTER = frozenset({"BZD", "CAD", "CLP", "COP", "CRC", "GTQ", "MXN", "NIO", "PAB", "PHP", "SVC", "USD", "VED", "VES"})


def paper_of(currency: str, wanted: str = "") -> str:
    """``A4`` or ``Letter``.

    Parameters
    ----------
    currency : ISO 4217 code
    wanted : what the maker chose; empty for the paper of the currency's country

    >>> paper_of("USD"), paper_of("EUR"), paper_of("USD", "A4")
    ('Letter', 'A4', 'A4')
    """
    return wanted or ("Letter" if currency in LETTER else "A4")
