"""What is done and used on the lines: steps, consumables of the finishes, and what is bought in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pricing.book.price_book import NONE, PriceBook, SheetTable
from pricing.costing.engine.columns import TableSpec
from pricing.costing.engine.model import Rows
from pricing.costing.engine.packed_columns import Codes, DictionaryColumn, Floats, TextColumn, first_seen
from pricing.costing.lines.line_pieces import CAST_IN
from pricing.costing.method import declared
from pricing.costing.method.piece_declared import in_forms
from pricing.costing.method.price_sets import PricingContext
from pricing.costing.method.rows_builder import column_places

#: What is counted by it is done once for all lines of a quote.
QUOTE = "quote"

#: How a step repeats in a context, by the word it is counted by: as often as counted, or once for each mould; else by the piece.
REPEATED = {
    **dict.fromkeys(("line", "quote", "batch", "mould", "cast", "piece"), "count"), **dict.fromkeys(("m2 mould", "m joint"), "mould"),
}


class Expanded:
    """For every line the rows of a sheet under its name.

    Parameters
    ----------
    sheet, column : where the names stand
    names : the name of each line
    kept : rows of the sheet that are meant; all where None
    """

    def __init__(
        self, context: PricingContext, sheet: str, column: str, names: DictionaryColumn, kept: NDArray[np.bool_] | None = None,
    ) -> None:
        self.context = context
        self.table: SheetTable = context.book.tables[sheet]
        under = DictionaryColumn.of(self.table.columns[column])
        rows = np.argsort(under.codes, kind="stable")
        rows = rows if kept is None else rows[kept[rows]]
        counts = np.bincount(under.codes[rows], minlength=len(under.words) + 1)
        starts = np.cumsum(counts) - counts
        at = {word: code for code, word in enumerate(under.words)}
        group = np.array([at.get(word, len(under.words)) for word in names.words], dtype=np.intp)[names.codes]
        many = counts[group]
        #: The line of each use, counted from 0.
        self.of_line: Codes = np.repeat(np.arange(len(names), dtype=np.int32), many)
        within = np.arange(len(self.of_line), dtype=np.int32) - np.repeat((np.cumsum(many) - many).astype(np.int32), many)
        #: The row of the sheet of each use, counted from 0.
        self.rows: Codes = rows.astype(np.int32)[np.repeat(starts[group].astype(np.int32), many) + within]

    def __len__(self) -> int:
        return len(self.of_line)

    def only(self, kept: NDArray[np.bool_]) -> Expanded:
        """Itself with some of its uses."""
        self.of_line, self.rows = self.of_line[kept], self.rows[kept]
        return self

    def with_more(self, more: Expanded) -> Expanded:
        """Itself with the uses of another column of the same sheet, line by line."""
        of_line, rows = np.concatenate([self.of_line, more.of_line]), np.concatenate([self.rows, more.rows])
        order = np.argsort(of_line, kind="stable")
        self.of_line, self.rows = of_line[order], rows[order]
        return self

    def sets(self) -> Codes:
        """The number of the set of prices of each use."""
        return self.context.set_of_line[self.of_line]

    def materials(self) -> list[tuple[str, str]]:
        """The materials in use, each with the label of its set of prices."""
        used, lines, _ = self.parts
        names = self.table.columns["material"][used].tolist()
        labels = [self.context.labels[number] for number in self.context.set_of_line[lines].tolist()]
        return list(dict.fromkeys(zip(names, labels, strict=True)))

    def material_keys(self, lines: Codes, rows: Codes) -> DictionaryColumn:
        """The key of the material of some rows at the prices of some lines."""
        names = DictionaryColumn.of(self.table.columns["material"])
        return self.context.keys(names.taken(rows), self.context.set_of_line[lines])

    def words(self, column: str) -> DictionaryColumn:
        """A column of words of the sheet, use by use."""
        return DictionaryColumn(self.rows, self.table.columns[column])

    def pieces(self) -> DictionaryColumn:
        """What the line of each use is called."""
        return self.context.product_keys.taken(self.of_line)

    @cached_property
    def parts(self) -> tuple[NDArray[np.intp], Codes, NDArray[np.intp]]:
        """The rows in use, each once for every set of prices; the first line that uses each; and for every use its number."""
        several = max(len(self.context.labels), 1)
        used, first, number = first_seen(self.rows.astype(np.intp) * several + self.sets(), len(self.table) * several)
        return used // several, self.of_line[first], number

    def given(self, key: str, part: str, number: NDArray[np.intp]) -> dict[str, Floats]:
        """The numbers of each use: its own, its line's and its part's, all counted from 1."""
        return {key: np.arange(1.0, len(self) + 1), "line": (self.of_line + 1).astype(np.float64), part: (number + 1).astype(np.float64)}

    def places(self, rows: NDArray[np.intp], **columns: str) -> dict[str, Sequence[str]]:
        """Where columns stand, by their names in the model."""
        return {
            name: column_places(self.table.sheet, self.table.letters.get(column, ""), self.table.rows[rows])
            for name, column in columns.items()
        }


def steps_in_use(context: PricingContext) -> Expanded:
    """The steps of the lines, those of other finishes left out; waits alone cost nothing."""
    columns = context.book.tables["Labour"].columns
    uses = Expanded(context, "Labour", "labour_plan", context.plans["labour_plan"], np.nan_to_num(columns["minutes"]) > 0)
    finishes, own = DictionaryColumn.of(columns["finish"]), context.plans["finish"]
    number = {word: code for code, word in enumerate(finishes.words)}
    if not any(number):
        return uses
    of_line = np.array([number.get(word, -1) for word in own.words], dtype=np.int32)[own.codes]
    wanted = finishes.codes[uses.rows]
    return uses.only((wanted == number.get("", -1)) | (wanted == of_line[uses.of_line]))


def finishes_in_use(context: PricingContext) -> Expanded:
    """The consumables of the lines' finishes."""
    return Expanded(context, "Finishes", "finish", context.plans["finish"])


def extras_in_use(context: PricingContext) -> Expanded:
    """What the lines' products need besides."""
    uses = Expanded(context, "Extras", "product", context.pieces.among(context.book.tables["Extras"].columns["product"].tolist()))
    if not (context.book.tables["Extras"].columns["quote"] != "").any():
        return uses
    return uses.with_more(Expanded(context, "Extras", "quote", DictionaryColumn.of(context.lines.quote)))


def step_rows(uses: Expanded) -> list[Rows]:
    """The steps of the plans in use, and those of the lines, which point at them."""
    columns = uses.table.columns
    several = len(uses.context.rate_labels)
    pairs = uses.rows.astype(np.intp) * several + uses.sets() if several > 1 else uses.rows
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
    text = {"product": uses.pieces(), "step": uses.words("step"), "per": uses.words("per")}
    spec = in_forms(declared.steps_table(learning=learning), uses.context.forms)
    return [_plan_steps(uses, used, sets, slope, learning), Rows(spec, len(uses), given, text)]


def _plan_steps(uses: Expanded, used: NDArray[np.intp], sets: NDArray[np.intp], slope: Floats, learning: bool) -> Rows:
    columns, context = uses.table.columns, uses.context
    labels = [context.rate_labels[number] for number in sets.tolist()]
    keyed = {
        name: np.array([context.rate_keyed(*each) for each in zip(np.where(words == "", NONE, words), labels, strict=True)], dtype=object)
        for name, words in (("trade", columns["trade"][used]), ("machine", columns["machine"][used]))
    }
    spec = declared.plan_steps_table(learning=learning, interest=bool(context.book.number("interest_rate")))
    per = columns["per"][used]
    good = _per_good_piece(per)
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
        {**uses.places(used, minutes="minutes", learning_slope="learning"), **_lost_places(uses, used, good)},
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
        "finish": columns["finish"][used], "material": uses.material_keys(lines, used), "surface": columns["surface"][used],
    }
    parts = Rows(declared.FINISH_PARTS, len(used), given, text, uses.places(used, coats="coats", covers="covers"))
    return [parts, _uses(declared.FINISHES, uses, "finish", number, "surface")]


def extra_rows(uses: Expanded) -> list[Rows]:
    """What the products in use need besides, and what the lines need, which points at it."""
    columns = uses.table.columns
    used, lines, number = uses.parts
    given = {
        "extra_part": np.arange(1.0, len(used) + 1), "extra_amount": columns["amount"][used].astype(np.float64),
        "lost_on_reject": _lost_extras(uses.context.book, used),
    }
    text: dict[str, TextColumn] = {
        "product": uses.context.product_keys.taken(lines), "material": uses.material_keys(lines, used), "per": columns["per"][used],
    }
    spec = in_forms(declared.EXTRA_PARTS, uses.context.forms)
    if spec.column("is_cast_in") is not None:
        kinds = uses.context.pieces.kinds
        given["is_cast_in"] = np.array([float(kinds.get(name) in CAST_IN) for name in columns["material"][used].tolist()])
    places = {**uses.places(used, extra_amount="amount"), **_lost_places(uses, used, _per_good_piece(columns["per"][used]))}
    parts = Rows(spec, len(used), given, text, places)
    used_on_lines = _uses(declared.EXTRAS, uses, "extra", number, "per")
    used_on_lines.given["lines_sharing"] = _lines_sharing(uses, "material")
    return [parts, used_on_lines]


def _lines_sharing(uses: Expanded, name: str) -> Floats:
    """Among how many lines each use is shared out: those of the quote that have the same, where it is counted by the quote [lines].

    Parameters
    ----------
    name : the column that says what is the same
    """
    shared = np.flatnonzero((uses.table.columns["per"] == QUOTE)[uses.rows])
    found = np.ones(len(uses))
    if len(shared):
        names = DictionaryColumn.of(uses.table.columns[name]).codes[uses.rows[shared]]
        pairs = np.stack([uses.context.lines.order[uses.of_line[shared]], names])
        _, number, count = np.unique(pairs, axis=1, return_inverse=True, return_counts=True)
        found[shared] = count[number.reshape(-1)]
    return found


def _per_good_piece(per: Iterable[str]) -> NDArray[np.bool_]:
    """Whether something is counted by what a good piece has, so that a reject can take it with it."""
    return np.array([word in declared.DRIVERS_PER_GOOD_PIECE for word in per], dtype=np.bool_)


def _lost_places(uses: Expanded, used: NDArray[np.intp], good: NDArray[np.bool_]) -> dict[str, list[str]]:
    """Where it stands whether a reject takes something with it; nowhere where it is not asked."""
    places = uses.places(used, lost_on_reject="lost_on_reject")["lost_on_reject"]
    return {"lost_on_reject": [place if asked else "" for place, asked in zip(places, good.tolist(), strict=True)]}


def _lost_extras(book: PriceBook, used: NDArray[np.intp]) -> Floats:
    """1 for each row of the Extras sheet that a rejected piece takes with it; blank: what is cast into the piece."""
    columns, materials = book.tables["Extras"].columns, book.tables["Materials"].columns
    kinds = dict(zip(materials["material"].tolist(), materials["kind"].tolist(), strict=True))
    cast_in = np.array([float(kinds.get(name) in CAST_IN) for name in columns["material"][used]])
    typed = columns.get("lost_on_reject", np.full(len(columns["material"]), np.nan))[used]
    lost: Floats = np.where(_per_good_piece(columns["per"][used]), np.where(np.isnan(typed), cast_in, typed), 0.0)
    return lost


def _uses(spec: TableSpec, uses: Expanded, kind: str, number: NDArray[np.intp], which: str) -> Rows:
    text = {"product": uses.pieces(), "material": uses.material_keys(uses.of_line, uses.rows), which: uses.words(which)}
    return Rows(in_forms(spec, uses.context.forms), len(uses), uses.given(f"{kind}_number", f"{kind}_part", number), text)
