"""PDF copies of what goes to customers, for every run that writes it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pricing.problems import Problems


def printed(workbooks: Sequence[Path], problems: Problems) -> list[Path]:
    """Make a PDF beside each workbook, of the same name.

    Parameters
    ----------
    problems : takes, as a warning, why there are none, and how LibreOffice is to be had
    """
    from pricing.files.pdf import PdfError, pdfs_beside

    try:
        return pdfs_beside(workbooks)
    except PdfError as error:
        problems.add("no-pdf", str(error), warning=True)
        return []
