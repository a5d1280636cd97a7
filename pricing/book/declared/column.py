"""What a sheet of the price book is: its columns, each declared once.

The same declaration reads and checks the sheet, writes the starter book and prints the reference table.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from pricing.book.declared.choices import twin_of
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY
from pricing.rules import labour, learning, machines, materials, mixes, moisture, moulds, overheads, prices, shares, totals

#: The rules that define the quantities of the columns.
_RULES = (labour, learning, machines, materials, mixes, moisture, moulds, overheads, prices, shares, totals)

ColumnKind = Literal["name", "note", "number", "percent", "date", "yes_no", "choice"]

#: What the unit of a column's figures depends on where it differs from row to row.
UnitRule = Literal["", "pack unit", "basis", "surface per pack unit", "pack unit of material", "item"]


def option_name(heading: str) -> str:
    """What a heading or a sheet is called as an option of a command.

    >>> option_name("Cut-outs"), option_name("Moulds kept")
    ('cut-outs', 'moulds-kept')
    """
    return heading.casefold().replace(" ", "-")


@functools.lru_cache(maxsize=4096)
def snake_case(heading: str) -> str:
    """The name under which programs know a heading.

    >>> snake_case("Pack size"), snake_case("One-person lift")
    ('pack_size', 'one_person_lift')
    """
    return heading.casefold().replace("-", " ").replace(" ", "_")


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a sheet, or a setting of the Workshop sheet.

    Parameters
    ----------
    heading : as it is written above the column, without its unit
    kind : what stands in a cell of it
    meaning : one or two sentences for a maker
    quantity : its name in the glossary, whose bounds of sense hold for it; empty where it has none
    unit : the unit inside the engine: ``m``, ``kg``, ``currency``; empty for plain numbers and texts
    shown : the unit of plain numbers under a heading without one, and of the starter book; *unit* where empty
    unit_rule : what the unit depends on where it differs from row to row
    needed : True where every row has to have it
    default : what a blank cell stands for; nan or empty where a blank stays blank
    lower, upper : what is plausible [unit]; the bounds themselves are allowed
    whole : True where only whole numbers make sense
    choices : the words that may stand in it, for a choice
    refers_to : the sheet whose key its cells name
    also : other sheets whose keys they may name
    example : a figure or word as a maker may type it
    decimals : places shown in the starter book; None where they differ from row to row
    width : of the column in the starter book [characters]
    in_starter : False for a column that is read where it is there, and not written into the starter book
    brought_by : the option of a new book that brings it, where it is not in every one; its own heading where empty
    formerly : headings that it had; they go on being read
    former_words : words that it had, each with the one that it is read as
    counts : the columns whose figures its words count, and the power: -1 of minutes for each m2, 1 of the m2 that a litre covers; its words
        may count by the foot and the pound as well
    choices_mean : what choices that are mere letters mean; it may be typed instead of them
    dated : True for a setting that may stand in several rows, each with the day from which it holds
    """

    heading: str
    kind: ColumnKind
    meaning: str
    quantity: str = ""
    unit: str = ""
    shown: str = ""
    unit_rule: UnitRule = ""
    needed: bool = False
    default: float | str = math.nan
    lower: float = 0.0
    upper: float = math.inf
    whole: bool = False
    choices: tuple[str, ...] = ()
    refers_to: str = ""
    also: tuple[str, ...] = ()
    example: str = ""
    decimals: int | None = None
    width: float = 0.0
    in_starter: bool = True
    brought_by: str = ""
    formerly: tuple[str, ...] = ()
    former_words: Mapping[str, str] = field(default_factory=dict)
    counts: Mapping[str, int] = field(default_factory=dict)
    choices_mean: Mapping[str, str] = field(default_factory=dict)
    dated: bool = False

    def __post_init__(self) -> None:
        if self.quantity:
            known = GLOSSARY[self.quantity]
            object.__setattr__(self, "lower", known.lower)
            object.__setattr__(self, "upper", known.upper)

    @property
    def name(self) -> str:
        """The name under which programs know it: ``pack_size``."""
        return snake_case(self.heading)

    @property
    def headings(self) -> tuple[str, ...]:
        """All headings under which it is read: its own, and those that it had."""
        return (self.heading, *self.formerly)

    @property
    def twins(self) -> dict[str, str]:
        """The words that count by the foot or the pound, each with the one that counts the same by the metre or the kilogram."""
        return {twin: word for word in self.choices if (twin := twin_of(word))} if self.counts else {}

    @property
    def other_words(self) -> dict[str, str]:
        """Words that are read besides its choices, each with the choice that it stands for."""
        return {**self.former_words, **{meaning: choice for choice, meaning in self.choices_mean.items()}}

    @property
    def explained_choices(self) -> tuple[str, ...]:
        """Its choices as a sentence lists them, with what they mean where that is known."""
        means = self.choices_mean
        return tuple(f"{choice} ({means[choice]})" if choice in means else choice for choice in self.choices)

    @property
    def is_number(self) -> bool:
        """True where its cells become floats."""
        return self.kind in ("number", "percent", "yes_no")

    @property
    def plain_unit(self) -> str:
        """The unit of a plain number under a heading that carries none."""
        return self.shown or self.unit

    @property
    def is_money(self) -> bool:
        """True where its figures are money, alone or per something."""
        return self.unit.split("/")[0] == "currency"

    @property
    def option(self) -> str:
        """The option of a new book that brings it; empty where every book has it."""
        return self.brought_by or ("" if self.in_starter else option_name(self.heading))

    def headed(self) -> str:
        """Heading and unit as the starter book writes them: ``Length (mm)``, ``Pack price``, ``Hourly cost (per h)``.

        The currency is that of the book, which one setting says.
        """
        unit = "%" if self.kind == "percent" else self.plain_unit
        if self.is_money:
            unit = unit.removeprefix("currency").replace("/", "per ")
        return f"{self.heading} ({unit})" if unit and not self.names_its_unit else self.heading

    @property
    def names_its_unit(self) -> bool:
        """True where the heading itself says the unit, as Minutes does."""
        return self.heading.casefold().endswith("minutes")


@dataclass(frozen=True, slots=True)
class SheetDeclaration:
    """A sheet of the price book.

    Parameters
    ----------
    name : as its tab says it
    one_row_is : what one row of it stands for
    purpose : one sentence for a maker, under the title
    thing, things : what is counted in it, ``mix`` and ``mixes``
    columns : in the order of the starter book; the first one is what other sheets name
    key : names of the columns that together may stand in one row only; empty where rows may repeat
    always : True where no price book can do without it
    in_starter : False for a sheet that is read where it is there, and written into a starter book only where it has rows
    brought_by : the option of a new book that brings it, where it is not in every one; its own name where empty
    frozen : how many columns stay in sight
    formerly : names that it had; they go on being read
    """

    name: str
    one_row_is: str
    purpose: str
    thing: str
    things: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    always: bool = False
    in_starter: bool = True
    brought_by: str = ""
    frozen: int = 1
    formerly: tuple[str, ...] = ()

    @property
    def option(self) -> str:
        """The option of a new book that brings it; empty where every book has it."""
        return self.brought_by or ("" if self.in_starter else option_name(self.name))

    @property
    def names(self) -> tuple[str, ...]:
        """All names under which it is read: its own, and those that it had."""
        return (self.name, *self.formerly)

    def column(self, name: str) -> Column:
        """The column of this name; KeyError where there is none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    @property
    def starter_columns(self) -> tuple[Column, ...]:
        """The columns that the starter book writes."""
        return tuple(column for column in self.columns if column.in_starter)
