"""PDF copies of quotes: made by LibreOffice where there is one; a sentence where there is none."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

import pricing
from pricing.cli import main
from pricing.files import pdf

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"


@pytest.mark.usefixtures("requires_office")
def test_a_pdf_stands_beside_each_quote(tmp_path: Path) -> None:
    """The PDF has the name of the workbook and begins as a PDF file does (ISO 32000-1, 7.5.2); nothing else is left in the folder."""
    book = shutil.copy(DEMO, tmp_path / "book.xlsx")
    done = pricing.quote(book, quotes=["Q-1041"], out=tmp_path / "out", pdf=True)
    assert {path.name for path in done.written} == {"Q-1041 quote.xlsx", "Q-1041 margin.xlsx", "Q-1041 quote.pdf"}
    assert (tmp_path / "out" / "Q-1041 quote.pdf").read_bytes().startswith(b"%PDF-")
    assert {path.name for path in (tmp_path / "out").iterdir()} == {path.name for path in done.written}


def test_where_there_is_no_office_a_sentence_says_how_to_get_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The workbooks are written all the same, and the command ends well."""
    monkeypatch.setattr(pdf, "office", lambda: None)
    book = shutil.copy(DEMO, tmp_path / "book.xlsx")
    result = CliRunner().invoke(main, ["quote", str(book), "--quote", "Q-1041", "--out", str(tmp_path / "out"), "--pdf", "--draft"])
    assert result.exit_code == 0, result.output
    assert "no PDF was made: there is no LibreOffice on this machine; install LibreOffice" in result.output
    assert (tmp_path / "out" / "Q-1041 draft.xlsx").exists()


def test_an_office_that_fails_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that ends badly, or makes nothing, gives a sentence and no traceback."""
    made = tmp_path / "book.xlsx"
    made.write_bytes(b"")
    for program in ("/bin/false", "/bin/true"):
        monkeypatch.setattr(pdf, "office", lambda program=program: program)
        with pytest.raises(pdf.PdfError, match="no PDF was made"):
            pdf.pdfs_beside([made])
