"""The reference of sheets and columns as a Markdown table, printed from their declarations.

Run ``python -m pricing.book.starter.reference_page`` to print it.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

from pricing.book.declared.choices import WORDS, with_twins
from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.settings import SETTINGS
from pricing.book.declared.sheets import SHEETS
from pricing.book.wording.reporter import figure_words, range_words
from pricing.book.wording.sentences import listed, number_text

_OPENING = """# The price book

One spreadsheet that stays yours: everything that a price rests on. Each section below is a sheet, each row of its table a column. Sheets
and columns may stand in any order and any letter case, with titles above them; what is not named here is left alone. A sheet that you do
not need may be missing, and a column that you leave blank means what stands under *Blank means*. What was called otherwise in an earlier
version goes on being read under that name.
"""

#: Words that are not everybody's, explained once.
_TERMS = (
    ("take-off", "what a piece needs, measured from its dimensions: concrete, faces, edges, boards of its mould"),
    ("arris", "an outer edge of a piece, where two faces meet; it is polished by the metre"),
    ("mix", "a recipe for concrete"), ("mixer load", "what the mixer gives at once; also called a batch"),
    ("cast", "one filling of a mould; with *Pieces per mould* one filling gives several pieces"),
    ("rejects", "the share of pieces that do not pass inspection"), ("usual run", "how many of a product are usually ordered at once"),
    ("standard", "what the price book allows for a job: minutes, amounts, prices; finished jobs are held against it"),
    ("register", "the file beside the price book that remembers every quote that went out"),
    ("margin", "the share of a price that is left after all costs, overhead among them"),
    ("overhead", "what the workshop costs whether anything is cast or not: rent, insurance, hours that nobody pays"),
    ("made for stock", "cast for the shelf: a mould is paid by all the casts that it survives, not by one order"),
)


def reference() -> str:
    """All sheets, settings and words.

    >>> reference().splitlines()[0]
    '# The price book'
    """
    parts = [_OPENING, "## Words used on this page\n", _table(("Word", "Meaning"), _TERMS), "## Sheets\n"]
    for declared in SHEETS:
        parts.append(_sheet(declared))
        if declared.name == "Workshop":
            parts.append(
                _table(
                    ("Setting", "What stands in it", "Blank means", "Meaning"), [_row(setting) for setting in SETTINGS]
                )
            )
    parts.append("### Words\n")
    said = {heading: with_twins(words) if heading == "Per" else words for heading, words in WORDS.items()}
    rows = [(heading, f"`{word}`", meaning) for heading, words in said.items() for word, meaning in words.items()]
    parts.append(_table(("Heading", "Word", "Meaning"), rows))
    return "\n".join(parts)


def _sheet(declared: SheetDeclaration) -> str:
    needed = "always needed" if declared.always else "needed where something names it"
    if declared.name in ("Enquiries", "Actuals", "Extras"):
        needed = "where there are any"
    former = f" A sheet that is called {listed(declared.formerly)} is read as this one." if declared.formerly else ""
    head = f"### {declared.name}\n\nOne row is {declared.one_row_is}; {needed}. {declared.purpose}{former}\n"
    return f"{head}\n" + _table(
        ("Column", "What stands in it", "Blank means", "Meaning"), [_row(column) for column in declared.columns]
    )


def _meaning(column: Column) -> str:
    """What a column means, and what it was called."""
    former = [f"heading `{heading}`" for heading in column.formerly]
    former += [f"`{word}` for `{now}`" for word, now in column.other_words.items()]
    return f"{column.meaning} Also read: {listed(former, 'and')}." if former else column.meaning


def _row(column: Column) -> tuple[str, str, str, str]:
    return (column.heading, _content(column), _blank(column), _meaning(column))


def _content(column: Column) -> str:
    if column.refers_to:
        return f"a name from {column.refers_to}"
    if column.choices:
        return "a word" if len(column.choices) > 4 else " or ".join(f"`{word}`" for word in column.choices)
    if column.kind == "number":
        unit = column.plain_unit or _RULES.get(column.unit_rule, "")
        bounds = range_words(column)
        return f"number{f' [{unit}]' if unit else ''}, {bounds}{', whole' if column.whole else ''}"
    return {
        "percent": f"percentage, {range_words(column)}",
        "date": "date",
        "yes_no": "`yes` or `no`",
        "name": "name",
    }.get(column.kind, "text")


_RULES = {
    "pack unit": "pack unit", "basis": "by basis", "surface per pack unit": "surface per pack unit",
    "pack unit of material": "the material's pack unit", "item": "the item's unit",
}


def _blank(column: Column) -> str:
    if column.needed:
        return "**needed**"
    if isinstance(column.default, float):
        return (
            ""
            if column.default != column.default
            else "no"
            if column.kind == "yes_no"
            else _default(column, column.default)
        )
    return f"`{column.default}`" if column.default else ""


def _default(column: Column, value: float) -> str:
    return figure_words(column, value) if column.shown or column.kind == "percent" else number_text(value)


def _table(headings: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    lines = [headings, tuple("---" for _ in headings), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(reference())
