"""The fixed words that may stand in the choice columns, each with its meaning."""

from __future__ import annotations

from pricing.rules.shapes import SHAPES

#: Words by the heading of the columns that take them.
WORDS: dict[str, dict[str, str]] = {
    "Kind": {
        "binder": "cement and whatever hardens with it; shares of the binder are counted from it",
        "aggregate": "sand, stone",
        "water": "water for mixing",
        "pigment": "colour",
        "admixture": "plasticiser, polymer, retarder",
        "fibre": "glass or other fibre",
        "board": "what moulds are built of",
        "fixing": "screws, nails",
        "sealant": "fillet in the mould's inner joints",
        "tape": "tape along the joints",
        "release": "release oil or wax",
        "abrasive": "pads, discs, paper",
        "sealer": "sealer, oil, wax on the finished piece",
        "packing": "wrap, guards, crates",
        "bought in": "whatever goes out with the piece: brackets, wastes, inserts",
        "reinforcement": "bars and mesh, cast in; their unit mass is added to the piece's",
        "cast in": "sockets, lifting anchors, frames: cast in, and their unit mass added to the piece's",
    },
    "Pack unit": {
        "kg": "kilograms",
        "L": "litres",
        "m": "metres",
        "m2": "square metres",
        "each": "pieces",
        "sheet": "whole sheets; the area of one is its length times its width",
    },
    "Basis": {
        "parts by mass": "parts on the scales; all parts together are scaled until the mix fills a cubic metre",
        "parts by volume": "parts in the bucket, by bulk density; scaled in the same way",
        "kg/m3": "kilograms in a cubic metre of concrete",
        "L/m3": "litres in a cubic metre of concrete",
        "% of binder": "share of the binder's mass",
        "mL/kg binder": "millilitres for each kilogram of binder",
        "% of volume": "share of the concrete's volume: air, or fibre",
    },
    "Per": {
        "line": "once for the line of a quote",
        "quote": "once for the quote, in equal parts for all of its lines that have the step, or need the thing",
        "batch": "each mixer load",
        "mould": "each mould that is built",
        "cast": "each piece cast, those that do not pass included",
        "piece": "each good piece",
        "m3": "cubic metre of concrete",
        "kg": "kilogram of the piece, what is cast in left out",
        "m2 face": "square metre of seen faces",
        "m2 underside": "square metre of underside",
        "m2 open side": "square metre of the side that lies open in the mould",
        "m arris": "metre of outer edges",
        "m2 mould": "square metre of mould board",
        "m joint": "metre of inner joints of the mould",
        "m length": "metre of the length of the piece, over all",
        "m width": "metre of the width of the piece, over all",
    },
    "Price per": {
        "piece": "one piece",
        "m2": "a square metre of its underside, which is what it covers",
        "m": "a metre of its length",
        "kg": "a kilogram of its mass, what is cast in left out",
        "ft2": "a square foot of its underside, which is what it covers",
        "ft": "a foot of its length",
        "lb": "a pound of its mass, what is cast in left out",
    },
    "When, in Services": {
        "before": "before the first cast, as measuring is",
        "after": "after the last piece is ready, as fitting is",
    },
    "Made for": {
        "order": "the moulds are paid by this order",
        "stock": "a mould's cost is spread over all the casts it survives",
    },
    "Kind, in Actuals": {
        "material": "a material used, in its pack unit",
        "labour": "hours of a trade",
        "step": "hours of one step of the labour plan; what teaches better minutes",
        "machine": "hours of a machine",
        "overhead": "overhead that the job is known to have caused; otherwise its hours carry it",
        "rejected": "pieces that did not pass; write 0 where all passed, so that it counts",
        "mould casts": "casts that one mould survived before it was worn out, a row for each mould",
    },
    "Form": {
        "rectangle": "with a length and a width, its corners sharp or rounded",
        "round": "with a diameter",
    },
    "On": {
        "face": "what is seen and finished; of a vessel only its outside and its rim",
        "underside": "what lies below",
        "face and inside": "what is seen and finished, the inside of a vessel among it",
    },
    "Shape": {shape.name: shape.meaning for shape in SHAPES.values()},
}

#: The units of words that count, each with the unit of feet and pounds that may stand instead, and how the meaning says it.
_TWINS = {
    "m3": ("ft3", "cubic metre", "cubic foot"), "kg": ("lb", "kilogram", "pound"), "m2": ("ft2", "square metre", "square foot"),
    "m": ("ft", "metre", "foot"),
}


def twin_of(word: str) -> str:
    """The word that counts the same by the foot or the pound; empty where a word counts by neither the metre nor the kilogram.

    >>> twin_of("m2 face"), twin_of("kg"), twin_of("piece")
    ('ft2 face', 'lb', '')
    """
    unit, _, rest = word.partition(" ")
    return f"{_TWINS[unit][0]} {rest}".strip() if unit in _TWINS else ""


def unit_of_word(word: str) -> str:
    """The unit in which a word counts; empty where it counts things.

    >>> unit_of_word("ft2 face"), unit_of_word("m3"), unit_of_word("piece")
    ('ft2', 'm3', '')
    """
    unit = word.partition(" ")[0]
    return unit if any(unit in (own, twin) for own, (twin, *_) in _TWINS.items()) else ""


def with_twins(words: dict[str, str]) -> dict[str, str]:
    """Words and what they mean, and behind them those that count the same by the foot or the pound.

    >>> with_twins({"m arris": "metre of outer edges", "piece": "each good piece"})
    {'m arris': 'metre of outer edges', 'piece': 'each good piece', 'ft arris': 'foot of outer edges'}
    """
    twins = {twin: meaning.replace(*_TWINS[word.partition(" ")[0]][1:]) for word, meaning in words.items() if (twin := twin_of(word))}
    return {**words, **twins}
