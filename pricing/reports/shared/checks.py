"""The checks at the end of a workbook: each takes a figure by two ways and shows the difference, which is zero."""

from __future__ import annotations

from collections.abc import Sequence

from pricing.dataclass import dataclass
from pricing.money import round_half_away
from pricing.reports.shared.cells import Formula, write_cell
from pricing.reports.shared.plain_table import set_widths
from pricing.reports.shared.report_book import ReportBook

CHECKS = "Checks"

#: The row of the headings, and of the difference of all checks together, counted from 0.
_HEADING, _TOGETHER = 5, 3
_NUMBER = "#,##0.0000"


@dataclass(frozen=True, slots=True)
class Check:
    """A figure by two ways.

    Parameters
    ----------
    claim : what holds where both are the same
    one, other : the two ways
    apart : how far they are apart, where that is more than the difference of both
    """

    claim: str
    one: Formula
    other: Formula
    apart: Formula | None = None


def added(*parts: Formula, less: Sequence[Formula] = ()) -> Formula:
    """The sum of some figures less others, which are sums or products themselves.

    >>> added(Formula("A1", 5.0), Formula("A2", 2.0), less=[Formula("A3", 1.0)])
    Formula(text='A1+A2-A3', result=6.0)
    """
    text = "+".join(part.text for part in parts) + "".join(f"-{part.text}" for part in less)
    return Formula(text, sum(float(part.result) for part in parts) - sum(float(part.result) for part in less))


def write_checks(book: ReportBook, checks: Sequence[Check]) -> None:
    """Write the sheet of checks; its first line says what all differences come to."""
    sentence = "Each figure by two ways. Every difference is zero, or the workbook has been broken."
    sheet, style = book.open_sheet(CHECKS, CHECKS, sentence, screen=True), book.styles.get
    for column, text in enumerate(("Check", "One way", "Another way", "Difference")):
        sheet.write_string(_HEADING, column, text, style("heading right" if column else "heading"))
    number, result = style("working", _NUMBER, align="right"), style("result", _NUMBER, align="right")
    together = 0.0
    for row, check in enumerate(checks, _HEADING + 1):
        difference = float(round_half_away(float(check.one.result) - float(check.other.result), 6))
        apart = check.apart or Formula(f"ROUND(B{row + 1}-C{row + 1},6)", difference)
        together += abs(float(apart.result))
        sheet.write_string(row, 0, check.claim, style("text"))
        for column, (way, form) in enumerate(((check.one, number), (check.other, number), (apart, result)), 1):
            write_cell(sheet, row, column, way, form)
    first, last = _HEADING + 2, _HEADING + 1 + len(checks)
    sheet.write_string(_TOGETHER, 0, "All differences together", style("text bold"))
    write_cell(sheet, _TOGETHER, 3, Formula(f"SUMPRODUCT(ABS(D{first}:D{last}))", together), result)
    broken = book.book.add_format({"bg_color": "#E8B4A0", "bold": True})
    sheet.conditional_format(_TOGETHER, 3, _TOGETHER, 3, {"type": "cell", "criteria": "!=", "value": 0, "format": broken})
    set_widths(sheet, (560, 117, 117, 117))
