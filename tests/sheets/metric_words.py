"""Where a workbook names a metre, a kilogram or a litre: in its texts, its notes or its number formats."""

from __future__ import annotations

import re

from openpyxl.workbook import Workbook

#: Words of the metric system: raised or plain, alone below a heading's first line, and behind a figure.
METRIC_WORDS = re.compile(
    r"m²|m³|\b[mM][23]\b|\bkg\b|\bmm2?\b|\bcm\b|\bmL\b|[lL]it(?:re|er)s?\b|[kK]ilogram|\b[mM]etres?\b|\b[mM]illimet"
    r"|(?<![\w'.])\d[\d.,]* ?(?:m|L|g|t)\b|\n(?:m|L|t)$|^(?:m|L|t)$|\bper (?:m|L)\b"
)

#: Cells that may name one, by their text: none.
EXCEPTIONS: frozenset[str] = frozenset()


def metric_words(book: Workbook) -> list[str]:
    """Every text, note and number format of a workbook that names a metric unit."""
    return [
        f"{sheet.title}!{cell.coordinate}: {text}"
        for sheet in book.worksheets for row in sheet.iter_rows() for cell in row
        for text in (cell.value if cell.data_type == "s" else None, cell.comment.text if cell.comment else None, cell.number_format)
        if text and text not in EXCEPTIONS and METRIC_WORDS.search(str(text).replace("yyyy-mm-dd", ""))
    ]
