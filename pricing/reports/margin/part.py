"""What a margin workbook says of itself where it is one of several of a run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from pricing.dataclass import dataclass

#: The title of a margin workbook in its properties.
TITLE = "Margin summary"


@dataclass(frozen=True, slots=True)
class MarginPart:
    """One of the margin workbooks of a run.

    Parameters
    ----------
    number, of : which it is, and of how many
    quotes : the quotes that it holds, in order
    remark : a sentence on what it holds, for its first sheet; empty where it holds all
    notes : by quote what stands beside it, in the place of a word on its margin
    """

    number: int
    of: int
    quotes: tuple[str, ...]
    remark: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)

    @property
    def ending(self) -> str:
        """What follows a title: nothing where the workbook is the only one.

        >>> MarginPart(2, 3, ("Q-7", "Q-8")).ending, MarginPart(1, 1, ("Q-7",)).ending
        (', part 2 of 3', '')
        """
        return f", part {self.number} of {self.of}" if self.of > 1 else ""
