"""One glossary: every quantity that a rule takes or yields, with its label, unit, decimals, bounds and meaning.

A rule's parameters and its own name must stand here; the tests read every rule with quantities in these units.
"""

from __future__ import annotations

from collections.abc import Iterable

from pricing.dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """A named quantity.

    Parameters
    ----------
    name : as rules write it, ``face_area``
    label : as a heading shows it, ``Face area``
    unit : in the spelling of the unit registry, ``metre**2``; ``dimensionless`` for a share or a flag
    shown : the unit as a heading shows it, ``m²``; empty where there is none to show
    decimals : places shown in a workbook
    meaning : one sentence for a maker
    lower, upper : what is plausible, in *unit*; the bounds themselves are allowed
    """

    name: str
    label: str
    unit: str
    shown: str
    decimals: int
    meaning: str
    lower: float = 0.0
    upper: float = float("inf")

    @property
    def heading(self) -> str:
        """Label and unit, as a column is headed: ``Face area (m²)``."""
        return f"{self.label} ({self.shown})" if self.shown else self.label


class _Glossary(dict[str, Quantity]):
    """Quantities by name; one that is not defined is told with the remedy."""

    def __missing__(self, name: str) -> Quantity:
        raise KeyError(f"{name} stands nowhere in the glossary; add a Quantity for it to define([...]) beside the rule that is called so")


GLOSSARY: dict[str, Quantity] = _Glossary()


def define(entries: Iterable[Quantity]) -> None:
    """Add quantities to the glossary; a name stands in it once.

    Problems raised: ValueError where a name is defined twice with different content.
    """
    for entry in entries:
        if GLOSSARY.setdefault(entry.name, entry) != entry:
            raise ValueError(f"{entry.name} is defined twice in the glossary")
