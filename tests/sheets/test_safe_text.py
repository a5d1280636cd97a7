"""Whatever a person typed becomes a cell's text and a file's name without harm."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.reports.quote.file_names import quote_file_name
from pricing.xlsx.writing.safe_text import CELL_LIMIT, clean_text, one_line, safe_file_name

ANY_TEXT = st.text(st.characters(codec=None), max_size=60)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("=1+1", "=1+1"),
        ("https://shelves.invalid", "https://shelves.invalid"),
        ("a\x00b\x07c\x1bd\x7fe\x9f", "abcde"),
        ("half \ud800 a pair", "half  a pair"),
        ("Quote \u202e1401\u202c", "Quote 1401"),
        ("\u2066isolated\u2069 \ufeffmark", "isolated mark"),
        ("no character \uffff\ufdd0\U0001ffff", "no character"),
        ("one\r\ntwo\rthree\u2028four", "one\ntwo\nthree\nfour"),
        ("tab\there", "tab here"),
        ("Grün · 石 · 🪨", "Grün · 石 · 🪨"),
        ("", ""),
    ],
)
def test_only_what_no_reader_sees_is_taken_away(typed: str, kept: str) -> None:
    """Control characters, half pairs, marks of direction and code points that are none go; all else stays."""
    assert clean_text(typed) == kept


def test_text_longer_than_a_cell_is_cut_at_its_limit() -> None:
    """What a cell cannot hold is cut off, counted as spreadsheet programs count, and the cut is marked."""
    for text in ("x" * 40_000, "🪨" * 20_000):
        cut = clean_text(text)
        assert len(cut.encode("utf-16-le")) // 2 <= CELL_LIMIT
        assert cut.endswith("…")
    assert clean_text("x" * CELL_LIMIT) == "x" * CELL_LIMIT


@settings(max_examples=60, deadline=None)
@given(typed=ANY_TEXT)
def test_a_cell_gives_back_what_was_written(typed: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Cleaned text survives the way through a workbook unchanged."""
    path = tmp_path_factory.mktemp("cells") / "text.xlsx"
    text = clean_text(typed)
    with xlsxwriter.Workbook(str(path), {"in_memory": True}) as book:
        book.add_worksheet().write_string(0, 0, text)
    assert (openpyxl.load_workbook(path).worksheets[0]["A1"].value or "") == text


@given(ANY_TEXT)
def test_one_line_has_no_line_end(typed: str) -> None:
    """A page's foot and a document's title take one line."""
    assert len(one_line(typed).splitlines()) <= 1


@settings(max_examples=100, deadline=None)
@given(name=ANY_TEXT)
def test_any_name_makes_a_file(name: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Whatever a quote is called, its file lies in the folder it was meant for, under a name that no system refuses."""
    folder = tmp_path_factory.mktemp("names")
    path = folder / quote_file_name(name)
    path.write_bytes(b"")
    assert [child.name for child in folder.iterdir()] == [path.name]
    assert len(path.name.encode("utf-8")) <= 255
    assert not set(path.name) & set('<>:"/\\|?*')
    assert not any(unicodedata.category(letter) in ("Cc", "Cs") for letter in path.name)


@pytest.mark.parametrize("name", ["CON", "nul", "com1", "LPT9.old", "..", ".", "", " ", "a" * 500, "石" * 200, "../../etc", "C:\\x"])
def test_awkward_names_become_plain_ones(name: str) -> None:
    """Names of devices, of folders and of nothing are changed; long ones are cut."""
    made = safe_file_name(name)
    assert Path(made).name == made
    assert made.strip(" .") == made != ""
    assert made.casefold().split(".")[0] not in {"con", "nul", "com1", "lpt9"}
    assert len(made.encode("utf-8")) <= 255


@given(st.lists(ANY_TEXT, min_size=2, max_size=2, unique_by=lambda name: unicodedata.normalize("NFC", name)))
def test_different_names_make_different_files(names: list[str]) -> None:
    """No quote takes another's place because its number had to be changed."""
    assert safe_file_name(names[0]) != safe_file_name(names[1])


def test_a_plain_name_is_left_as_it_is() -> None:
    """A name that every system takes is not touched."""
    assert quote_file_name("Q-1041") == "Q-1041 quote.xlsx"
    assert quote_file_name("2025 März 3") == "2025 März 3 quote.xlsx"
