"""Few rows by which much work would multiply, and cells that hold nothing that is seen: each ends in a sentence."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from books import DAY, small_book, write_book
from click.testing import CliRunner

from pricing.book.reading.read import read_business_name, read_price_book
from pricing.cli import main

Sheets = dict[str, list[list[Any]]]


def _taxes(sheets: Sheets) -> None:
    sheets["Taxes"] = [["Tax", "Rate", "Category"], *([f"Tax {number}", "5 %", "S"] for number in range(501))]


def _parts_of_a_set(sheets: Sheets) -> None:
    sheets["Products"] += [[f"Slab {number}", *sheets["Products"][1][1:]] for number in range(201)]
    sheets["Sets"] = [["Set", "Product", "Quantity"], *(["Many", f"Slab {number}", 1] for number in range(201))]


def _sets(sheets: Sheets) -> None:
    sheets["Sets"] = [["Set", "Product", "Quantity"], ["Two", "Slab 1000", 1], ["Two", "Shelf 800", 1]]
    sheets["Enquiries"] = [sheets["Enquiries"][0], *([f"Q-{number}", DAY, "Ada Field", "Two", 1] for number in range(6))]


def _options(sheets: Sheets) -> None:
    head = [*sheets["Enquiries"][0][:5], "Offer"]
    offered = ([*sheets["Enquiries"][1][:5], "option"] for _ in range(101))
    sheets["Enquiries"] = [head, [*sheets["Enquiries"][1][:5], None], *offered]


def _options_of_a_long_quote(sheets: Sheets) -> None:
    _options(sheets)
    sheets["Enquiries"] = [*sheets["Enquiries"][:92], *([*sheets["Enquiries"][1][:5], None] for _ in range(210))]


def _stages(sheets: Sheets) -> None:
    stages = (["Lots", f"Stage {number}", "0.5 %", "with the order"] for number in range(101))
    sheets["Payments"] = [["Payments", "Stage", "Share", "When"], *stages]


def _terms(sheets: Sheets) -> None:
    sheets["Terms"] = [["Heading", "Text"], *([f"Term {number}", "long " * 6000] for number in range(11))]


#: Few rows that much work hangs on, what is told of them, and where.
GROWING: dict[str, tuple[Callable[[Sheets], None], str, str]] = {
    "taxes": (_taxes, "Taxes!A502", 'sheet "Taxes" has 501 rows'),
    "parts of a set": (_parts_of_a_set, "Sets!A202", 'set "Many" has 201 rows'),
    "lines of sets": (_sets, "Enquiries!D7", "the sets that are asked for come to 12 lines, and 10 is the most"),
    "options of a quote": (_options, "Enquiries!F103", 'the quote "Q-1" has 101 options'),
    "options of a long quote": (_options_of_a_long_quote, "Enquiries!F69", 'the quote "Q-1" has 90 options, and 66 is the most'),
    "stages of payment": (_stages, "Payments!A102", 'payments "Lots" has 101 rows'),
    "letters of the terms": (_terms, "Terms!B11", "the paragraphs of the terms have 330"),
}


@pytest.mark.parametrize("kind", GROWING)
def test_rows_that_work_would_multiply_by_are_told_before_it_grows(kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A small file in which each of many lines meets each of many rows ends in a sentence at the first row too many."""
    monkeypatch.setattr("pricing.book.checking.lengths.MOST_PARTS", 10)
    monkeypatch.setattr("pricing.book.checking.lengths.MOST_WITH_OPTIONS", 20_000)
    make, place, says = GROWING[kind]
    sheets = small_book()
    make(sheets)
    book, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    assert book is None
    assert [(problem.place, problem.message[: len(says)]) for problem in problems.errors] == [(place, says)]


def test_a_cell_of_nothing_that_is_seen_is_blank(tmp_path: Path) -> None:
    """Where something is needed, it is missing: a name and a word too."""
    sheets = small_book()
    sheets["Products"][1][9], sheets["Labour"][1][4] = "\u200b", "\u2060"
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    assert [(problem.code, problem.place) for problem in problems.errors] == [
        ("missing-value", "Products!J2"), ("incomplete-step", "Labour!E2"),
    ]


#: Every command that reads a price book.
COMMANDS = {
    "check": [], "quote": ["--out", "out"], "reprice": ["--out", "out"], "publish": [], "workshop": ["--out", "out"],
    "review": ["--out", "out"], "explain": ["--quote", "Q-1"], "catalogue": ["--out", "out"],
}


@pytest.fixture(scope="module")
def with_many_faults(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A price book with more faults than the tests let one have."""
    sheets = small_book()
    sheets["Workshop"] += [[setting, "much", None] for setting in ("People", "Saw kerf", "Mould places", "Scale step", "Interest rate")]
    sheets["Enquiries"] += [["Q-1", "yesterday", "Ada Field", "Slab 1000", 4] for _ in range(20)]
    return write_book(tmp_path_factory.mktemp("faults") / "book.xlsx", sheets)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_ends_with_a_sentence_where_reading_ends_early(
    command: str, with_many_faults: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a price book with more faults than anybody mends, the first are told, and that there are many more."""
    monkeypatch.setattr("pricing.book.wording.reporter.MOST_ERRORS", 10)
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(main, [command, str(with_many_faults), *COMMANDS[command]], catch_exceptions=False)
    assert result.exit_code == 1
    assert "there are many more problems; mend these first" in result.stderr
    assert "yesterday" in result.stderr


def test_whose_book_it_is_is_not_known_of_one_whose_settings_are_all_wrong(with_many_faults: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where reading ends among the settings, no business is named, and nothing else stops."""
    monkeypatch.setattr("pricing.book.wording.reporter.MOST_ERRORS", 2)
    assert read_business_name(with_many_faults) == ""


def test_a_file_of_variants_with_very_many_faults_ends_in_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first are told, and that there are many more."""
    monkeypatch.setattr("pricing.book.wording.reporter.MOST_ERRORS", 10)
    monkeypatch.chdir(tmp_path)
    write_book(tmp_path / "book.xlsx", small_book())
    write_book(tmp_path / "variants.xlsx", {"Variants": [["Product", "Quantity"], *([f"Slab {number}", "many"] for number in range(30))]})
    arguments = ["catalogue", "variants.xlsx", "--book", "book.xlsx", "--out", "out"]
    result = CliRunner().invoke(main, arguments, catch_exceptions=False)
    assert result.exit_code == 1
    assert "many more problems; mend these first" in result.stderr
