"""PDF copies of workbooks, made by LibreOffice where there is one."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from itertools import islice
from pathlib import Path

from pricing.files.hidden_folders import hidden_folder

#: Where LibreOffice stands on systems that do not find it by its name.
PLACES = ("/Applications/LibreOffice.app/Contents/MacOS/soffice", r"C:\Program Files\LibreOffice\program\soffice.exe")

#: How many workbooks it is given at once, and how long it may take to begin, and for each [seconds].
AT_ONCE, TO_BEGIN, FOR_EACH = 50, 60, 20

HOW_TO_GET = "install LibreOffice (on Debian and Ubuntu: apt-get install libreoffice-calc-nogui), or print the workbook to a PDF file"


class PdfError(Exception):
    """Why there is no PDF, in a sentence with the remedy."""


def office() -> str | None:
    """The path of LibreOffice; None where there is none."""
    return shutil.which("soffice") or shutil.which("libreoffice") or next((place for place in PLACES if Path(place).exists()), None)


def pdfs_beside(workbooks: Sequence[Path]) -> list[Path]:
    """Make a PDF beside each workbook, of the same name.

    Problems raised: PdfError where there is no LibreOffice, or it does not make them; OSError where a folder cannot be written.
    """
    program = office()
    if program is None:
        raise PdfError(f"no PDF was made: there is no LibreOffice on this machine; {HOW_TO_GET}")
    made: list[Path] = []
    left = iter(workbooks)
    while some := list(islice(left, AT_ONCE)):
        with hidden_folder(some[0].parent, "printing") as folder:
            _convert(program, some, folder)
            for workbook in some:
                pdf = folder / f"{workbook.stem}.pdf"
                if not pdf.exists():
                    raise PdfError(f"no PDF was made of {workbook}: LibreOffice could not read it; {HOW_TO_GET}")
                os.replace(pdf, workbook.with_suffix(".pdf"))
                made.append(workbook.with_suffix(".pdf"))
    return made


def _convert(program: str, workbooks: Sequence[Path], folder: Path) -> None:
    with tempfile.TemporaryDirectory() as profile:  # a profile of its own, so that it does not matter whether the program is open
        command = [program, f"-env:UserInstallation={Path(profile).as_uri()}", "--headless", "--convert-to", "pdf", "--outdir"]
        limit = TO_BEGIN + FOR_EACH * len(workbooks)
        try:
            subprocess.run([*command, str(folder), *map(str, workbooks)], capture_output=True, timeout=limit, check=True)
        except (subprocess.SubprocessError, OSError) as error:
            raise PdfError(f"no PDF was made: LibreOffice did not end well ({type(error).__name__}); {HOW_TO_GET}") from error
