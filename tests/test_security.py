"""What the README says of security, sentence by sentence, each with the tests that hold it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pricing.xlsx.package.archive import LARGEST_FILE
from pricing.xlsx.package.limits import MEBIBYTE, MOST_CELLS, MOST_ROWS

ROOT = Path(__file__).parents[1]

FAULTS = "faults/test_faults.py test_each_file_is_read_right_or_refused_with_its_reason"
CELLS = "book/test_checking.py test_a_wrong_cell_is_reported_at_its_place_with_the_remedy"
TEXTS = "sheets/test_leaks_in_texts.py test_what_a_note_gives_away_is_found"
PASSES = "sheets/test_leaks_in_texts.py test_what_a_note_may_say_passes"
PLANTED = "sheets/test_leaks.py test_a_planted_leak_is_found"
OF_ONE_QUOTE = "sheets/test_leaks_in_texts.py test_what_every_quote_says_passes_and_what_is_typed_for_one_is_searched"
SOUND = "test_outputs.py test_every_workbook_is_sound"

#: How each sentence begins, and the tests that hold it; none where it is advice.
HELD: dict[str, tuple[str, ...]] = {
    "Reading. A price book may come from anywhere.": (FAULTS, "faults/test_fuzz.py test_many_mutations_never_make_the_reading_fail"),
    "Size, ratio, number of parts": (
        FAULTS, "book/test_guard.py test_a_file_of_great_size_is_refused_without_reading_it",
        "book/test_growing_rows.py test_rows_that_work_would_multiply_by_are_told_before_it_grows"),
    "DTDs, doubled or overlapping parts": (FAULTS,),
    "Formulas are never calculated": (FAULTS, "book/test_guard.py test_a_relationship_that_leads_out_is_refused"),
    "A formula without a stored result": (CELLS,),
    "Your file. Only publish": (
        "test_outputs.py test_only_what_publishes_writes_into_the_price_book",
        "register/test_places.py test_no_command_writes_over_the_price_book"),
    "They change the named cells": (
        "book/test_writeback.py test_every_other_member_keeps_its_bytes",
        "book/test_writeback.py test_the_backup_holds_the_old_file_under_the_time_given"),
    "Writing. What is typed stays text": (
        SOUND, "test_outputs.py test_no_formula_comes_from_a_name", "test_outputs.py test_nothing_steers_the_terminal",
        "test_outputs.py test_programs_read_the_names_as_they_were_typed", "test_outputs.py test_the_foot_of_a_page_shows_the_name"),
    "Every workbook is written beside": (
        "register/test_killed.py test_the_command_itself_is_killed",
        "test_stopped_runs.py test_the_next_run_removes_what_a_killed_one_left"),
    "File names made of quote numbers": (
        "sheets/test_safe_text.py test_any_name_makes_a_file", "sheets/test_safe_text.py test_different_names_make_different_files"),
    "Leaks. Every customer's workbook": (SOUND, "sheets/test_leaks.py test_no_part_of_a_demo_quote_holds_a_cost_or_a_supplier"),
    "Before it takes its place": (
        PLANTED, "sheets/test_leaks.py test_a_leak_is_not_delivered", "cli/test_papers_command.py "
        "test_a_paper_that_gives_something_away_is_not_delivered", "sheets/test_leaks_in_texts.py "
        "test_a_quote_that_is_refused_stops_neither_those_after_it_nor_the_margin_workbook"),
    "A PDF is printed": ("register/test_places.py test_every_command_that_writes_for_customers_makes_pdfs",),
    "Found are suppliers": (PLANTED, TEXTS, "sheets/test_leaks.py test_names_of_user_and_machine_are_searched"),
    "the quote's own costs": (PLANTED, TEXTS, "sheets/test_leaks.py test_every_part_of_a_cost_is_searched"),
    "in texts also the cost": (
        TEXTS, "sheets/test_leaks_in_texts.py test_a_cost_of_two_digits_is_found_beside_a_word_of_cost_alone"),
    "What passes. A figure": (
        PASSES, "sheets/test_leaks_in_texts.py test_a_percentage_does_not_pass_as_a_length_of_the_same_figure",
        "sheets/test_leaks_in_texts.py test_a_description_is_searched_but_its_bare_numbers_are_names"),
    "So does what stands on every quote": (OF_ONE_QUOTE,),
    "The opening and the terms": (OF_ONE_QUOTE,),
    "A customer or supplier whose name": (
        "sheets/test_leaks_in_texts.py test_a_customer_called_like_a_piece_stops_no_other_quote",
        "sheets/test_leaks_in_texts.py test_a_piece_called_after_a_customer_is_not_sold_to_another_under_that_name"),
    "Many at once. Runs over one folder": ("test_load.py test_eight_runs_at_once_in_one_folder",),
    "What a stopped run left": (
        "test_load.py test_a_run_that_is_stopped_leaves_nothing_behind", "test_stopped_runs.py "
        "test_reissuing_again_completes_what_was_begun"),
    "The search finds neither": ("sheets/test_leaks_in_texts.py test_what_is_not_promised_is_not_found",),
    "A single word in your own note": (
        PASSES, "sheets/test_leaks.py test_a_note_that_names_somebody_else_stops_the_quote"),
    "Read a quote before": (),
    "The margin, repricing": (),
    "They hold costs": (SOUND,),
    "Do not send them": (),
    "Limits are set for honest work": ("test_security.py test_the_limits_are_those_of_the_page",),
    "A file made to sit just inside": ("faults/test_hostile_books.py test_each_book_is_done_with_in_three_seconds",),
    "The program does not protect": (),
    "Weights, cautions and lead times": (),
    "Local codes and licensed practice decide.": (),
}


def sentences() -> list[str]:
    """The sentences of the README on security, without marks of emphasis; each kind of find is one."""
    text = (ROOT / "README.md").read_text(encoding="utf-8").partition("## Security\n")[2].partition("\n## ")[0]
    found = []
    for point in re.split(r"\n\s*- ", re.sub(r"\*\*.*?\*\*", "", text).replace("*", "").replace("`", ""))[1:]:
        plain = " ".join(point.split())
        found += re.split(r"(?<=(?<!Reading)(?<!file)(?<!Writing)(?<!Leaks)(?<!passes)(?<!once)\.) (?=[A-Z])", plain)
    place = found.index("Found are")
    return [*found[:place], f"Found are {found[place + 1]}", *found[place + 2 :]]


def test_each_sentence_on_security_is_held_by_a_test() -> None:
    """No sentence is without an entry, in order, and no entry without its sentence."""
    told = sentences()
    assert len(told) == len(HELD), told
    assert [sentence for sentence, begins in zip(told, HELD, strict=True) if not sentence.startswith(begins)] == []


@pytest.mark.parametrize("node", sorted({node for nodes in HELD.values() for node in nodes}))
def test_the_tests_that_hold_it_are_there(node: str) -> None:
    """Each test that is named stands in its file."""
    file, name = node.split()
    assert re.search(rf"def {name}\(", (ROOT / "tests" / file).read_text(encoding="utf-8"))


def test_the_limits_are_those_of_the_page() -> None:
    """The README names the limits that are kept."""
    says = f"files to {LARGEST_FILE // MEBIBYTE} MiB, {MOST_CELLS // 1_000_000} million cells, {MOST_ROWS:,} rows of a sheet."
    assert any(sentence.endswith(says) for sentence in sentences())
