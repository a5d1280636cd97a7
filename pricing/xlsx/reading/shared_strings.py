"""The shared strings of a workbook, and what the texts of a workbook may hold."""

from __future__ import annotations

import re
import sys

from pricing.xlsx.package.archive import LARGEST_STRINGS, Package
from pricing.xlsx.package.markup import DEEPEST, MAIN, Feeder, unescaped
from pricing.xlsx.refused import damaged

LONGEST_TEXT = 32_767  # characters, what a cell can hold
LONGEST_STORED = 64 * LONGEST_TEXT  # characters, beyond which the reading stops

_ODD = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffd-\uffff\u202a-\u202e\u2066-\u2069]")


def is_odd(text: str) -> bool:
    """True where a text holds control characters or characters that turn the direction of what is shown.

    >>> is_odd("grey slab"), is_odd("grey\u202eslab")
    (False, True)
    """
    return _ODD.search(text) is not None


class Strings:
    """The shared strings of a workbook, and which of them hold characters that must not be there."""

    def __init__(self) -> None:
        self.texts: list[str] = []
        self.odd: set[int] = set()
        self.long: set[int] = set()

    def add(self, text: str) -> None:
        """Add the next string."""
        text = unescaped(text)
        if is_odd(text):
            self.odd.add(len(self.texts))
        if len(text) > LONGEST_TEXT:
            self.long.add(len(self.texts))
        self.texts.append(text)


def read_strings(package: Package, part: str) -> Strings:
    """The shared strings, without the phonetic readings that some of them carry."""
    found = Strings()
    if not part or part not in package:
        return found
    names: list[str] = []
    chunks: list[str] = []
    length = count = strings = spent = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal count
        count += 1
        namespace, _, local = name.rpartition(" ")
        names.append(local if namespace in MAIN else "")
        if len(names) > DEEPEST:
            raise damaged(part, "it is nested too deep")
        if count > 0x10000:
            package.budget.spend(idle=count)
            count = 0

    def end(name: str) -> None:
        nonlocal length, count, strings, spent
        if names.pop() == "si" and len(names) == 1:
            text = chunks[0] if len(chunks) == 1 else "".join(chunks)
            chunks.clear()
            length = 0
            found.add(text)
            spent += sys.getsizeof(text) + 8
            strings += 1
            count -= 2  # itself and its text
            if strings > 0x1000:
                package.budget.spend(cells=strings, idle=max(0, count), memory=spent)
                count = strings = spent = 0

    def characters(text: str) -> None:
        nonlocal length
        if names[-1] == "t" and "rPh" not in names:
            length += len(text)
            if length > LONGEST_STORED:
                raise damaged(part, "a text in it is too long")
            chunks.append(text)

    feeder = Feeder(part)
    feeder.parser.StartElementHandler = start
    feeder.parser.EndElementHandler = end
    feeder.parser.CharacterDataHandler = characters
    feeder.feed_all(package.blocks(part, LARGEST_STRINGS))
    package.budget.spend(cells=strings, idle=max(0, count), memory=spent)
    return found
