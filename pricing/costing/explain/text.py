"""A tree of figures as plain text: the figure, how it was made in words and with figures, its value, its cell."""

from __future__ import annotations

import itertools
import textwrap

from pricing.costing.explain.trace import DEEPER, TYPED, Line, Trace, opened, parts

#: Narrower than this the figures have no room beside the labels; wider than this the eye loses the line.
NARROWEST, WIDEST = 60, 120
_MOST_NAMED = 12  # figures that are folded
_LEAST = 16  # characters that a label needs beside its figure


def on_a_screen(trace: Trace, rows: int, width: int = 100) -> list[str]:
    """As many levels of a tree as a screen has rows for, and what is folded, with how to open it.

    Parameters
    ----------
    rows : of the screen
    width : of the text [characters], from 60 to 120
    """
    shown = as_text(trace, 0, width)
    for depth in itertools.count(1):
        folded = folded_at(trace, depth)
        told = as_text(trace, depth, width)
        told += textwrap.wrap(_opening(folded, depth), min(max(width, NARROWEST), WIDEST)) if folded else []
        if len(told) > rows and depth > 1:
            break
        shown = told
        if not folded:
            break
    return shown


def folded_at(trace: Trace, depth: int) -> list[Trace]:
    """The figures that go deeper than a depth, each once."""
    found = {line.trace.key: line.first for line in opened(trace, depth) if line.note == DEEPER}
    return list(found.values())


def _opening(folded: list[Trace], depth: int) -> str:
    """What is folded, and how it is opened."""
    names = [each.label for each in folded]
    listed = ", ".join(names[:_MOST_NAMED]) + (f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else "")
    own = next((each for each in folded if each.table == "lines"), None)
    one = f"Open one with --figure, such as --figure {own.name}; one" if own is not None else "One"
    return f"Folded here (goes deeper): {listed}. {one} level more: --depth {depth + 1}; all: --depth 99."


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
