"""What is done and used on the lines: steps, consumables of the finishes, and what is bought in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.arrays import distinct, rows_under
from pricing.book.price_book import NONE, SheetTable
from pricing.costing.engine.columns import TableSpec
from pricing.costing.engine.model import Alike, Rows
from pricing.costing.engine.packed_columns import Chosen, Codes, DictionaryColumn, Floats, TextColumn, first_seen
from pricing.costing.lines.order_lines import places_of
from pricing.costing.method import declared
from pricing.costing.method.piece_declared import in_forms
from pricing.costing.method.price_sets import PricingContext

#: What is counted by it is done once for all lines of a quote.
QUOTE = "quote"

#: How a step repeats in a context, by the word it is counted by: as often as counted, or once for each mould; else by the piece.
REPEATED = {
    **dict.fromkeys(("line", "quote", "batch", "mould", "cast", "piece"), "count"), **dict.fromkeys(("m2 mould", "m joint"), "mould"),
}


class Expanded:
    """For every line the rows of a sheet under its name.

    Lines of the same name and set of prices use the same rows. What is the same for all of them is kept once: a *kind* of use is a row
    of the sheet at a set of prices, for such lines.

    Parameters
    ----------
    sheet : where the names stand
    held : the name that each row of the sheet stands under, by its number counted from 0; -1 where it stands under none of them
    names, count : the name of each line by its number, and how many names there are
    meant : which rows of the sheet are meant by a name and by a further word of the line, counted from 0; all under the name where None
    further : the further word of each line
    """

    def __init__(
        self, context: PricingContext, sheet: str, held: Codes, names: Codes, count: int,
        meant: Callable[[NDArray[np.intp], str], NDArray[np.intp]] | None = None, further: DictionaryColumn | None = None,
    ) -> None:
        self.context = context
        self.table: SheetTable = context.book.tables[sheet]
        several, others = max(len(context.labels), 1), 1 if further is None else len(further.words)
        together = names if further is None else names.astype(np.intp) * others + further.codes
        if several > 1:
            together = together.astype(np.intp) * several + context.set_of_line
        used, first, group = first_seen(together, count * others * several)
        rows, counts = rows_under(held, count, used // several // others)
        if meant is not None and further is not None:
            words = [further.words[each // several % others] for each in used.tolist()]
            chosen = [meant(each, word) for each, word in zip(np.split(rows, np.cumsum(counts))[:-1], words, strict=True)]
            rows, counts = np.concatenate([rows[:0], *chosen]), np.array([len(each) for each in chosen], dtype=np.int32)
        #: Of each kind the row of the sheet, the set of prices, and the first line that has it; all counted from 0.
        self.kinds = (rows, np.repeat(used % several, counts), np.repeat(first, counts))
        #: Which lines have the same uses.
        self.alike: Alike | None = Alike("line", group, counts, first)
        many = counts[group]
        #: The line of each use, counted from 0.
        self.of_line: Codes = np.repeat(np.arange(len(names), dtype=np.int32), many)
        #: The kind of each use.
        self.kind: Codes = np.arange(len(self.of_line), dtype=np.int32)
        self.kind += np.repeat((np.cumsum(counts) - counts)[group].astype(np.int32) - (np.cumsum(many) - many).astype(np.int32), many)

    @classmethod
    def by_words(
        cls, context: PricingContext, sheet: str, column: str, names: DictionaryColumn,
        meant: Callable[[NDArray[np.intp], str], NDArray[np.intp]] | None = None, further: DictionaryColumn | None = None,
    ) -> Expanded:
        """The same where a column of the sheet has the names as words."""
        own, of_sheet = len(names.words), context.book.tables[sheet].words(column)
        both = names.every_word().followed_by(of_sheet.every_word())
        return cls(context, sheet, both.codes[own:][of_sheet.codes], both.codes[:own][names.codes], len(both.words), meant, further)

    def __len__(self) -> int:
        return len(self.of_line)

    def with_more(self, more: Expanded) -> Expanded:
        """Itself with the uses of another column of the same sheet, line by line."""
        own, self.alike = len(self.kinds[0]), None
        kinds = [np.concatenate(each) for each in zip(self.kinds, more.kinds, strict=True)]
        in_turn = np.argsort(kinds[2], kind="stable")
        place = np.empty(len(in_turn), dtype=np.int32)
        place[in_turn] = np.arange(len(in_turn))
        of_line, kind = np.concatenate([self.of_line, more.of_line]), np.concatenate([self.kind, more.kind + own])
        order = np.argsort(of_line, kind="stable")
        self.kinds = (kinds[0][in_turn], kinds[1][in_turn], kinds[2][in_turn])
        self.of_line, self.kind = of_line[order], place[kind[order]]
        return self

    def materials(self) -> list[tuple[str, str]]:
        """The materials in use, each with the label of its set of prices."""
        used, lines, _ = self.parts
        names, several = self.table.words("material").taken(used), max(len(self.context.labels), 1)
        pairs, _, _ = first_seen(names.codes * several + self.context.set_of_line[lines], len(names.words) * several)
        return [(names.words[pair // several], self.context.labels[pair % several]) for pair in pairs.tolist()]

    def material_keys(self, rows: Codes, sets: Codes) -> DictionaryColumn:
        """The key of the material of some rows at some sets of prices."""
        return self.context.keys(self.table.words("material").taken(rows), sets)

    def words(self, column: str) -> Chosen:
        """A column of words of the sheet, use by use."""
        return Chosen(self.table.words(column).taken(self.kinds[0]), self.kind)

    def pieces(self) -> Chosen:
        """What the line of each use is called."""
        return Chosen(self.context.product_keys, self.of_line)

    @cached_property
    def parts(self) -> tuple[NDArray[np.intp], Codes, NDArray[np.intp]]:
        """The rows in use, each once for every set of prices; the first line that uses each; and for every kind its number."""
        several, (rows, sets, lines) = max(len(self.context.labels), 1), self.kinds
        used, first, number = first_seen(rows * several + sets, len(self.table) * several)
        return used // several, lines[first], number

    def given(self, key: str, part: str, number: NDArray[np.intp]) -> dict[str, Codes]:
        """The numbers of each use: its own, its line's and its part's, all counted from 1.

        Parameters
        ----------
        number : of the part of each kind, counted from 0
        """
        own = np.arange(1, len(self) + 1, dtype=np.int32)
        return {key: own, "line": self.of_line + np.int32(1), part: (number + 1).astype(np.int32)[self.kind]}

    def places(self, rows: NDArray[np.intp], **columns: str) -> dict[str, Sequence[str]]:
        """Where columns stand, by their names in the model."""
        return {name: places_of(self.table, column, rows) for name, column in columns.items()}


def steps_in_use(context: PricingContext) -> Expanded:
    """The steps of the lines, those of other finishes left out; waits alone cost nothing."""
    columns = context.book.tables["Labour"].columns
    works, finishes = np.nan_to_num(columns["minutes"]) > 0, columns["finish"]

    def meant(rows: NDArray[np.intp], finish: str) -> NDArray[np.intp]:
        fits = works[rows] & ((finishes[rows] == "") | (finishes[rows] == finish))
        return rows[np.flatnonzero(fits)]

    return Expanded.by_words(context, "Labour", "labour_plan", context.plans["labour_plan"], meant, context.plans["finish"])


def finishes_in_use(context: PricingContext) -> Expanded:
    """The consumables of the lines' finishes."""
    return Expanded.by_words(context, "Finishes", "finish", context.plans["finish"])


def extras_in_use(context: PricingContext) -> Expanded:
    """What the lines' products need besides."""
    extras, products = (context.book.tables[sheet] for sheet in ("Extras", "Products"))
    uses = Expanded(context, "Extras", extras.rows_in("product", products), context.lines.product, len(products))
    if not any(extras.words("quote").words):
        return uses
    return uses.with_more(Expanded.by_words(context, "Extras", "quote", DictionaryColumn.of(context.lines.quote)))


def step_rows(uses: Expanded) -> list[Rows]:
    """The steps of the plans in use, and those of the lines, which point at them."""
    columns = uses.table.columns
    several, (rows, price_sets, _) = len(uses.context.rate_labels), uses.kinds
    pairs = rows * several + price_sets if several > 1 else rows
    met = np.zeros(len(uses.table) * max(several, 1), dtype=np.bool_)
    met[pairs] = True
    at = np.flatnonzero(met)
    used, sets = np.divmod(at, max(several, 1))
    number = np.cumsum(met) - 1
    slope = columns.get("learning", np.full(len(uses.table), np.nan))[used]
    slope = np.where(np.isnan(slope), 1.0, slope)
    learning = bool((slope != 1.0).any())
    given = {
        **uses.given("step_number", "plan_step", number[pairs]), "lines_sharing": _lines_sharing(uses, "step"),
        "average_minutes_factor": np.broadcast_to(1.0, len(uses)),
    }
    text: dict[str, TextColumn] = {"product": uses.pieces(), "step": uses.words("step"), "per": uses.words("per")}
    spec = in_forms(declared.steps_table(learning=learning), uses.context.forms)
    return [_plan_steps(uses, used, sets, slope, learning), Rows(spec, len(uses), given, text, alike=uses.alike)]


def _plan_steps(uses: Expanded, used: NDArray[np.intp], sets: NDArray[np.intp], slope: Floats, learning: bool) -> Rows:
    columns, context = uses.table.columns, uses.context
    labels = [context.rate_labels[number] for number in sets.tolist()]
    keyed = {
        name: np.array([context.rate_keyed(*each) for each in zip(np.where(words == "", NONE, words), labels, strict=True)], dtype=object)
        for name, words in (("trade", columns["trade"][used]), ("machine", columns["machine"][used]))
    }
    spec = declared.plan_steps_table(learning=learning, interest=bool(context.book.number("interest_rate")))
    per = columns["per"][used]
    good = _per_good_piece(uses)[used]
    repeated = {
        f"by_{name}": np.array([float(REPEATED.get(word, "piece") == name) for word in per]) for name in ("count", "piece", "mould")
    }
    return Rows(
        context.by_day(spec), len(used),
        {
            "plan_step": np.arange(1.0, len(used) + 1), "minutes": columns["minutes"][used].astype(np.float64),
            "lost_on_reject": np.where(good, np.nan_to_num(columns["lost_on_reject"][used]), 0.0),
            "attended": np.array([float(bool(name)) for name in columns["trade"][used]]),
            "builds_mould": np.array([float(word in declared.BUILDS_MOULD) for word in per]), "learning_slope": slope, **repeated,
        },
        {
            "labour_plan": columns["labour_plan"][used], "step": columns["step"][used], "per": per,
            **keyed, "rates": np.array(labels, dtype=object),
        },
        {**uses.places(used, minutes="minutes", learning_slope="learning"), **_lost_places(uses, used)},
    )


def finish_rows(uses: Expanded) -> list[Rows]:
    """The consumables of the finishes in use, and those of the lines, which point at them."""
    columns = uses.table.columns
    used, lines, number = uses.parts
    given = {
        "finish_part": np.arange(1.0, len(used) + 1), "covers": columns["covers"][used].astype(np.float64),
        "coats": np.where(np.isnan(columns["coats"][used]), 1.0, columns["coats"][used]),
    }
    text: dict[str, TextColumn] = {
        "finish": columns["finish"][used], "surface": columns["surface"][used],
        "material": uses.material_keys(used, uses.context.set_of_line[lines]),
    }
    parts = Rows(declared.FINISH_PARTS, len(used), given, text, uses.places(used, coats="coats", covers="covers"))
    return [parts, _uses(declared.FINISHES, uses, "finish", number, "surface")]


def extra_rows(uses: Expanded) -> list[Rows]:
    """What the products in use need besides, and what the lines need, which points at it."""
    columns = uses.table.columns
    used, lines, number = uses.parts
    given = {
        "extra_part": np.arange(1.0, len(used) + 1), "extra_amount": columns["amount"][used].astype(np.float64),
        "lost_on_reject": _lost_extras(uses)[used],
    }
    text: dict[str, TextColumn] = {
        "product": uses.context.product_keys.taken(lines), "per": columns["per"][used],
        "material": uses.material_keys(used, uses.context.set_of_line[lines]),
    }
    spec = in_forms(declared.EXTRA_PARTS, uses.context.forms)
    if spec.column("is_cast_in") is not None:
        given["is_cast_in"] = uses.context.pieces.is_cast_in[used]
    places = {**uses.places(used, extra_amount="amount"), **_lost_places(uses, used)}
    parts = Rows(spec, len(used), given, text, places)
    used_on_lines = _uses(declared.EXTRAS, uses, "extra", number, "per")
    used_on_lines.given["lines_sharing"] = _lines_sharing(uses, "material")
    return [parts, used_on_lines]


def _lines_sharing(uses: Expanded, name: str) -> Floats:
    """Among how many lines each use is shared out: those of the quote that have the same, where it is counted by the quote [lines].

    What is bought for a quote is another thing than what its products need of the same material.

    Parameters
    ----------
    name : the column that says what is the same
    """
    one, (opening, quotes) = np.broadcast_to(1.0, len(uses)), uses.context.quote_numbers
    once = uses.table.words("per").is_among((QUOTE,))
    if len(opening) == len(quotes) or not once.any():
        return one
    shared = np.flatnonzero(once[uses.kinds[0]][uses.kind])
    if not len(shared):
        return one
    columns, lines = uses.table.columns, uses.of_line[shared]
    names, quotes, bought = uses.table.words(name), quotes[lines], columns.get("quote", np.array(""))
    kinds = names.codes.astype(np.int64) + len(names.words) * (bought != "")
    several = 2 * len(names.words)
    _, _, number = first_seen(quotes * several + kinds[uses.kinds[0]][uses.kind[shared]], (int(quotes.max()) + 1) * several)
    once_a_line = distinct(number.astype(np.int64) * len(uses.context.lines) + lines)
    count = np.bincount(once_a_line // len(uses.context.lines))
    if (count == 1).all():
        return one
    found = one.copy()
    found[shared] = count[number]
    return found


def _per_good_piece(uses: Expanded) -> NDArray[np.bool_]:
    """Whether each row of the sheet is counted by what a good piece has, so that a reject can take it with it."""
    return uses.table.words("per").is_among(declared.DRIVERS_PER_GOOD_PIECE)


def _lost_places(uses: Expanded, used: NDArray[np.intp]) -> dict[str, Sequence[str]]:
    """Where it stands whether a reject takes something with it; nowhere where it is not asked."""
    return {"lost_on_reject": places_of(uses.table, "lost_on_reject", used, _per_good_piece(uses)[used])}


def _lost_extras(uses: Expanded) -> Floats:
    """1 for each row of the Extras sheet that a rejected piece takes with it; blank: what is cast into the piece."""
    columns = uses.table.columns
    typed = columns.get("lost_on_reject", np.full(len(uses.table), np.nan))
    lost: Floats = np.where(_per_good_piece(uses), np.where(np.isnan(typed), uses.context.pieces.is_cast_in, typed), 0.0)
    return lost


def _uses(spec: TableSpec, uses: Expanded, kind: str, number: NDArray[np.intp], which: str) -> Rows:
    keys = uses.material_keys(*uses.kinds[:2])
    text: dict[str, TextColumn] = {"product": uses.pieces(), "material": Chosen(keys, uses.kind), which: uses.words(which)}
    given = uses.given(f"{kind}_number", f"{kind}_part", number)
    return Rows(in_forms(spec, uses.context.forms), len(uses), given, text, alike=uses.alike)
