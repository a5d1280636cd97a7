"""What the workbooks of a quote are called."""

from __future__ import annotations

from pricing.xlsx.writing.safe_text import safe_file_name


def quote_file_name(quote: str) -> str:
    """The name of a quote's workbook, made safe for every file system.

    >>> quote_file_name("Q-1041")
    'Q-1041 quote.xlsx'
    """
    return safe_file_name(quote, " quote.xlsx")


def draft_file_name(quote: str) -> str:
    """The name of the workbook of a draft.

    >>> draft_file_name("Q-1041")
    'Q-1041 draft.xlsx'
    """
    return safe_file_name(quote, " draft.xlsx")
