"""A tree of figures as plain text: the figure, how it was made in words and with figures, its value, its cell."""

from __future__ import annotations

import textwrap

from pricing.costing.explain.trace import TYPED, Line, Trace, opened, parts

#: Narrower than this the figures have no room beside the labels; wider than this the eye loses the line.
NARROWEST, WIDEST = 60, 120
_LEAST = 16  # characters that a label needs beside its figure


def as_text(trace: Trace, depth: int | None = None, width: int = 100) -> list[str]:
    """The lines of a tree, indented, with values and places in columns.

    Parameters
    ----------
    depth : levels below the top; all where None
    width : of the text [characters], from 60 to 120
    """
    width = min(max(width, NARROWEST), WIDEST)
    step = 2 if width >= 90 else 1
    lines = list(opened(trace, depth))
    columns = (
        max(len(line.first.shown) for line in lines),
        max(len(line.first.unit) for line in lines),
        max(len(line.note or line.trace.place) for line in lines),
    )
    subjects = [""] * (max(line.depth for line in lines) + 2)
    made: list[str] = []
    for line in lines:
        indent = " " * (step * line.depth)
        of = line.trace.of
        subject = f" ({of})" if of and of != subjects[line.depth] else ""
        subjects[line.depth + 1] = of or subjects[line.depth]
        made.extend(_row(indent, line.first.label + subject, _right(line, columns), width))
        for text in _told(line):
            made.extend(textwrap.wrap(text, width, initial_indent=indent + "  ", subsequent_indent=indent + "    ", break_on_hyphens=False))
    return made


def _right(line: Line, columns: tuple[int, int, int]) -> str:
    value, unit, place = columns
    return f"{line.first.shown:>{value}} {line.first.unit:<{unit}}  {line.note or line.trace.place:<{place}}"


def _row(indent: str, left: str, right: str, width: int) -> list[str]:
    """A label, dots, and the columns at the right; a label too long for that gets lines of its own."""
    room = width - len(right) - len(indent) - 2
    if room < _LEAST:
        alone = textwrap.wrap(left, width - len(indent), initial_indent=indent, subsequent_indent=indent + "  ")
        return [*alone, f"{right:>{width}}".rstrip()]
    folded = textwrap.wrap(left, room, subsequent_indent="  ") or [""]
    dots = "." * (room - len(folded[-1]))
    return [*(indent + part for part in folded[:-1]), f"{indent}{folded[-1]} {dots} {right}".rstrip()]


def _told(line: Line) -> list[str]:
    """What stands below a figure: how it was made, or how it came where it is not plainly typed."""
    if line.note:
        return []
    trace = line.trace
    if not parts(trace):
        return [] if trace.words == TYPED else [f"({trace.words})"]
    plain = trace.numbers in (trace.shown, trace.amount)
    return [f"= {trace.words}"] if plain else [f"= {trace.words}", f"= {trace.numbers}"]
