"""How the figures of a run are asked for: by name, by the name that programs read, or by label; and the quotes by number."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pricing.book.wording.sentences import near_matches
from pricing.costing.engine.columns import Text
from pricing.costing.engine.model import Model
from pricing.costing.method.declared import WORDS
from pricing.glossary import GLOSSARY
from pricing.problems import PricingError
from pricing.text import fold

#: The names that programs read in the result of a run, besides the parts of a unit cost, by table, and the column that each means.
_JSON_NAMES: dict[str, dict[str, str]] = {
    "lines": {"volume_m3": "cast_volume", "mass_kg": "mass", "net": "line_net", "cost": "line_cost", "margin": "line_margin",
              "margin_after_discount": "discounted_margin"},
    "quotes": {"cost": "quote_cost", "margin": "quote_margin", "mass_kg": "quote_mass"},
}


class ExplainError(PricingError, LookupError):
    """Raised where a quote, a line or a figure is not there; its text is a sentence that names what is."""

    code = "unknown-figure"


def known_quote(quote: str, quotes: Iterable[str]) -> str:
    """A quote as the price book spells it.

    Problems raised: ExplainError where there is none of that number.

    >>> known_quote("q-1041", ["Q-1041", "Q-1042"])
    'Q-1041'
    """
    names = {fold(name): name for name in quotes}
    if fold(quote) not in names:
        listed = ", ".join(list(names.values())[:12]) + (", …" if len(names) > 12 else "")
        raise ExplainError(f'there is no quote "{quote}"; ' + (f"the quotes are {listed}" if names else "the price book has none"))
    return names[fold(quote)]


def figures(model: Model) -> dict[str, list[str]]:
    """The figures that can be explained: names of the columns with numbers, of the lines and of the quotes.

    >>> from pricing.costing.method import declared
    >>> from pricing.costing.engine.model import Rows
    >>> figures(Model([Rows(declared.LINES, 0), Rows(declared.QUOTES, 0)]))["quotes"][:2]
    ['discount_rate', 'tax_rate']
    """
    columns = {table: model.tables[table].spec.columns for table in ("lines", "quotes")}
    keys = {rows.spec.key for rows in model.tables.values()}  # they only number what they stand for
    return {
        table: [column.name for column in found if not isinstance(column, Text) and column.name not in keys]
        for table, found in columns.items()
    }


def json_names(model: Model) -> dict[str, dict[str, str]]:
    """The names that programs read in the result of a run, by table, and the column that each means."""
    return {table: {**names, **dict(model.tables[table].spec.parts)} for table, names in _JSON_NAMES.items()}


def named_figure(model: Model, figure: str, *, of_line: bool) -> tuple[str, str]:
    """The table, lines or quotes, and the column that a spelling means; letter case makes no difference.

    Parameters
    ----------
    of_line : True where a line is meant: what it has in common with its quote is then the line's

    Problems raised: ExplainError where nothing is called so, with what comes near.
    """
    known, read = figures(model), json_names(model)
    for table, spellings in _spellings(known, read, of_line):
        name = spellings.get(_key(figure))
        if name in known[table]:
            return table, name
    near = _near(figure, known, read)
    nearest = f"the nearest {'is' if len(near) == 1 else 'are'} {', '.join(near)}"
    hint = nearest if near else "some of them are unit_price, unit_cost, concrete, labour, net, payable"
    what = f'"{figure}" is a word and not one of the figures' if _key(figure) in WORDS else f'there is no figure "{figure}"'
    raise ExplainError(f"{what}; {hint}")


def _key(text: str) -> str:
    return fold(text).replace(" ", "_")


def _spellings(
    known: dict[str, list[str]], read: dict[str, dict[str, str]], of_line: bool
) -> Iterator[tuple[str, dict[str, str]]]:
    """Every spelling with the column that it means, in the order in which they are tried."""
    names = {table: {name: name for name in columns} for table, columns in known.items()}
    labels = {table: {_key(GLOSSARY[name].label): name for name in reversed(columns)} for table, columns in known.items()}
    if of_line:
        order = (("lines", names), ("lines", read), ("quotes", names), ("quotes", read), ("lines", labels), ("quotes", labels))
    else:
        order = (("lines", names), ("quotes", names), ("quotes", read), ("lines", read), ("quotes", labels), ("lines", labels))
    for table, spelling in order:
        yield table, spelling[table]


def _near(figure: str, known: dict[str, list[str]], read: dict[str, dict[str, str]]) -> list[str]:
    """Up to five names that are spelled much like what was asked for, by themselves or by their labels, or share a word."""
    every = list(dict.fromkeys([*known["lines"], *read["lines"], *known["quotes"], *read["quotes"]]))
    labels = {GLOSSARY[name].label: name for columns in known.values() for name in columns}
    near = near_matches(_key(figure), every, 5) or [labels[label] for label in near_matches(figure, labels, 5)]
    return near or [name for name in every if any(part in name for part in _key(figure).split("_") if len(part) > 3)][:5]
