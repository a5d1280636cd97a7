"""The pages keep to what they say: the README's commands, the reference of the price book. The recipes are followed in test_recipes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pricing.book.starter.reference_page import reference
from pricing.cli import COMMANDS

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_reference_of_the_price_book_is_that_of_its_declaration() -> None:
    """The page that lists every sheet and column is printed from the declaration."""
    assert (ROOT / "workbooks" / "price book.md").read_text(encoding="utf-8").strip() == reference().strip()


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme(command: str) -> None:
    """A maker finds each command on the first page."""
    assert f"pricing {command} " in README


def test_pictures_and_pages_that_are_linked_exist() -> None:
    """No link of the pages leads nowhere."""
    for page in (README, DEVELOPERS):
        for target in re.findall(r"\]\((?!http)([^)#]+)\)", page):
            assert (ROOT / target.replace("%20", " ")).exists(), target


def test_the_two_commands_set_everything_up() -> None:
    """The first runs the main job on the demo price book, the second the tests; each makes its own environment."""
    first, second = re.findall(r"```sh\n(.*?)\n```", README, re.DOTALL)[:2]
    assert 'pricing quote "workbooks/demo price book.xlsx"' in first
    assert "pytest" in second
    assert all("python3 -m venv .venv" in command and "apt-get" in command for command in (first, second))
