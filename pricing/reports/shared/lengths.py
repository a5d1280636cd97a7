"""Inches, feet and yards in one formula: each figure is brought to one length by the whole number between the two."""

from __future__ import annotations

from collections.abc import Sequence

from pricing.costing.method.shown_measures import INCHES, length_shown, powers
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY

#: Cubic inches in a US gallon. Source: NIST Handbook 44, appendix C (from memory).
_CUBIC_INCHES = 231


@dataclass(frozen=True, slots=True)
class Lengths:
    """The length that a formula is in.

    Parameters
    ----------
    base : ``in``, ``ft`` or ``yd``
    """

    base: str

    @classmethod
    def of(cls, names: Sequence[str]) -> Lengths:
        """The length in which a formula of some quantities needs the fewest numbers; feet where it is all the same."""
        lengths = [length_shown(name) for name in names if _power(name)]
        return cls(max(("ft", "in", "yd"), key=lambda each: sum(length == each for length in lengths)))

    def based(self, name: str, text: str) -> str:
        """A figure of a quantity as it is shown, in this length: ``(K7/12)``.

        >>> Lengths("ft").based("thickness", "K7"), Lengths("in").based("thickness", "K7"), Lengths("ft").based("mix_price", "K7")
        ('(K7/12)', 'K7', '(K7/27)')
        """
        told = _times(text, length_shown(name), self.base, _power(name))
        return text if told == text else f"({told})"

    def shown(self, name: str, text: str) -> str:
        """A figure in this length, as its quantity is shown; the text binds as tightly as a product.

        >>> Lengths("in").shown("volume", "A7*B7*C7"), Lengths("ft").shown("volume", "A7*B7*C7")
        ('A7*B7*C7/1728', 'A7*B7*C7')
        """
        return _times(text, self.base, length_shown(name), _power(name))

    @property
    def gallons_in_volume(self) -> str:
        """The gallons in the cube of this length.

        >>> Lengths("ft").gallons_in_volume
        '(1728/231)'
        """
        return f"({INCHES[self.base] ** 3}/{_CUBIC_INCHES})"


def _power(name: str) -> int:
    return powers(GLOSSARY[name].unit).get("metre", 0)


def _times(text: str, given: str, wanted: str, power: int) -> str:
    """A figure in a power of one length, in that of another."""
    if given == wanted or not power:
        return text
    more, less = (INCHES[given], INCHES[wanted]) if power > 0 else (INCHES[wanted], INCHES[given])
    size = abs(power)
    return f"{text}*{(more // less) ** size}" if more > less else f"{text}/{(less // more) ** size}"
