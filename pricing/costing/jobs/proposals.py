"""Better standards: what finished jobs say of minutes, coverages, reject rates and mould lives.

Each record of a finished job is an observation of a standard in the price book: hours of a step of its minutes, what was
used of a finish of its coverage, pieces rejected of the share of rejects, casts that a mould survived of its life. The
proposed figure lies between today's and what was seen, by the weight of the observations (``credibility``). Nothing changes
by itself.

A job speaks once: those that stand in today's figure already, because a proposal that rested on them was accepted
(``accepted_jobs``), do not move it again. Today's figure then counts as much as them and the five jobs that it was worth before, so
that accepting after every job, or once after all of them, comes to the same.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook, SheetTable
from pricing.book.reading.row_units import pack_unit, surface_unit
from pricing.costing.engine.model import Rows
from pricing.costing.jobs import declared
from pricing.costing.jobs.accepted_jobs import Acceptance, CountedJob, in_force, jobs_of, same
from pricing.costing.jobs.credibility import PRIOR_STRENGTH, Standard, updated_standard
from pricing.costing.jobs.declared import COVERAGE, LIFE, MINUTES, REJECTS
from pricing.costing.jobs.finished_jobs import MOULD_CASTS, REJECTED, STEP, Job
from pricing.costing.jobs.review import Review
from pricing.costing.method.rows_builder import RowsBuilder, safe_key
from pricing.dataclass import dataclass
from pricing.text import fold

#: The columns that tell a standard from the others of its kind.
_KEYS = {
    MINUTES: ("labour_plan", "step"), COVERAGE: ("finish", "material", "surface"), REJECTS: ("product",), LIFE: ("mould_plan",),
}

#: Significant digits of a figure that is written into the price book.
DIGITS = 3


@dataclass(frozen=True, slots=True)
class Observation:
    """What one record of a job says of one standard: its cell's row, the figure seen, and how much it weighs."""

    quote: str
    kind: str
    sheet: str
    column: str
    row: int
    seen: float
    weight: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """A standard that finished jobs would move.

    Parameters
    ----------
    kind : ``minutes``, ``coverage``, ``rejects`` or ``casts``
    name : as it is asked for: ``Catalogue, Fill the mould``
    measure : what the figure is counted in, as a reader sees it
    unit : the same as it is typed: ``min``, ``m2/L``, ``%``; empty for a plain number
    sheet, cell : where it stands: declared name of the sheet, and its cell
    today, seen, value : today's figure, the average seen, and the proposed one, not rounded [unit; a share as 1]; where nothing
        new is known what was seen before
    count : new observations; 0 where nothing new is known
    low, high : range of the true figure
    credibility : weight of the new observations [1]
    standard : which it is, whatever its row: kind and names as JSON
    jobs : the finished jobs that are new
    jobs_in_it : finished jobs that stand in today's figure already
    """

    kind: str
    name: str
    measure: str
    unit: str
    sheet: str
    cell: str
    today: float
    seen: float
    value: float
    count: int
    low: float
    high: float
    credibility: float
    standard: str = ""
    jobs: tuple[CountedJob, ...] = ()
    jobs_in_it: int = 0

    @property
    def nothing_new(self) -> bool:
        """Whether all that is known stands in today's figure already."""
        return self.count == 0

    @property
    def place(self) -> str:
        """``Labour!D7``."""
        return f"{self.sheet}!{self.cell}"

    @property
    def written(self) -> float:
        """The figure as it is written into the price book: three digits, whole where only whole ones make sense.

        >>> Proposal("casts", "", "", "", "", "", 30.0, 40.0, 33.31, 2, 0.0, 0.0, 0.3).written
        33.0
        """
        if self.kind == LIFE:
            return float(max(1, math.floor(self.value + 0.5)))
        return float(f"{self.value:.{DIGITS}g}")

    def as_json(self) -> dict[str, Any]:
        """What programs read."""
        return {
            "kind": self.kind, "name": self.name, "unit": self.unit, "place": self.place, "today": self.today, "seen": self.seen,
            "proposed": self.value, "written": self.written, "observations": self.count, "new_jobs": [job.quote for job in self.jobs],
            "jobs_in_it": self.jobs_in_it, "low": self.low, "high": self.high, "moves_by": self.value - self.today,
            "weight": self.credibility,
        }


def propose_standards(book: PriceBook, review: Review, accepted: Sequence[Acceptance] = ()) -> list[Proposal]:
    """What the jobs of a review would move in the price book, sheet by sheet, the largest moves first.

    Parameters
    ----------
    book : as it is today
    review : of finished jobs
    accepted : what was accepted before, in that order; its jobs are not counted again where they stand in today's figure

    Source: Bühlmann-Straub credibility, as in ``credibility``.
    """
    seen: dict[tuple[str, str, str, int], list[Observation]] = {}
    for job in review.jobs:
        for each in (*_minutes(book, job), *_coverages(book, job), *_rejects(book, job), *_lives(book, job)):
            if each.weight > 0:
                seen.setdefault((each.kind, each.sheet, each.column, each.row), []).append(each)
    made = (_proposal(book, observations, accepted) for observations in seen.values())
    order = declared.STANDARD_KINDS.index
    return sorted((each for each in made if each is not None), key=lambda each: (order(each.kind), -_share(each)))


def _share(proposal: Proposal) -> float:
    return abs(proposal.value - proposal.today) / proposal.today if proposal.today else math.inf


def _row(table: SheetTable, **keys: str) -> int | None:
    """The row of a sheet whose names are these keys of the model, counted from 0."""
    found = np.ones(len(table), dtype=bool)
    for column, key in keys.items():
        found &= np.array([bool(name) and safe_key(str(name)) == key for name in table.columns[column].tolist()], dtype=bool)
    rows = np.flatnonzero(found)
    return int(rows[0]) if len(rows) else None


def _minutes(book: PriceBook, job: Job) -> Iterator[Observation]:
    """A step's hours, taken over allowed, times the minutes that it was allowed by; weighed by how often these were allowed."""
    steps, minutes = job.promise.model.tables["plan steps"], job.promise.values.value("plan steps", "minutes")
    for item in job.items:
        if item.kind != STEP or item.record is None or not item.allowed:
            continue
        allowed: dict[int, float] = {}
        for source in item.sources:
            if source.row >= 0:
                allowed[source.row] = allowed.get(source.row, 0.0) + source.quantity
        for plan, hours in allowed.items():
            row = _row(book.tables["Labour"], **{name: safe_key(str(steps.text[name][plan])) for name in ("labour_plan", "step")})
            if row is not None and minutes[plan] > 0:
                each = float(minutes[plan])
                yield Observation(job.quote, MINUTES, "Labour", "minutes", row, each * item.taken / item.allowed, hours / each)


def _coverages(book: PriceBook, job: Job) -> Iterator[Observation]:
    """What a pack unit covered: the coverage that the use was allowed by, times allowed over used; weighed by what it was to cover."""
    parts, covers = job.promise.model.tables["finish parts"], job.promise.values.value("finish parts", "covers")
    for item in job.items:
        if item.record is None or not item.taken or not item.sources or {source.source for source in item.sources} != {"finish"}:
            continue
        allowed: dict[int, float] = {}
        for source in item.sources:
            allowed[source.row] = allowed.get(source.row, 0.0) + source.quantity
        for part, quantity in allowed.items():
            keys = {name: safe_key(str(parts.text[name][part])) for name in ("finish", "material", "surface")}
            row = _row(book.tables["Finishes"], **keys)
            if row is not None:
                each = float(covers[part])
                yield Observation(job.quote, COVERAGE, "Finishes", "covers", row, each * item.allowed / item.taken, quantity * each)


def _rejects(book: PriceBook, job: Job) -> Iterator[Observation]:
    """Pieces rejected of all that were cast; a row for the whole job counts where the job has one product."""
    pieces = job.pieces
    rejected: dict[str, float] = {}
    for record in job.records:
        product = record.product or (next(iter(pieces)) if len(pieces) == 1 else "")
        if record.kind == REJECTED and product in pieces:
            rejected[product] = rejected.get(product, 0.0) + record.quantity
    for product, count in rejected.items():
        row = _row(book.tables["Products"], product=product)
        if row is not None:
            cast = pieces[product] + count
            yield Observation(job.quote, REJECTS, "Products", "rejects", row, count / cast, cast)


def _lives(book: PriceBook, job: Job) -> Iterator[Observation]:
    """Casts that each worn-out mould had given."""
    for record in job.records:
        row = _row(book.tables["Moulds"], mould_plan=record.item) if record.kind == MOULD_CASTS else None
        if row is not None:
            for casts in record.amounts:
                if casts > 0:
                    yield Observation(job.quote, LIFE, "Moulds", "lasts", row, casts, 1.0)


def _proposal(book: PriceBook, seen: Sequence[Observation], accepted: Sequence[Acceptance]) -> Proposal | None:
    first = seen[0]
    table = book.tables[first.sheet]
    today, cell = float(np.nan_to_num(table.columns[first.column][first.row])), table.cell(first.column, first.row)
    if not cell:
        return None
    key = _key(book, first)
    standing = in_force([each for each in accepted if each.standard == key], today)
    counted = jobs_of(standing)
    new = [each for each in seen if fold(each.quote) not in counted]
    jobs = [*counted.values(), *_jobs(new)]
    ordinary = sum(job.weight for job in jobs) / sum(job.observations for job in jobs)
    strength = PRIOR_STRENGTH
    if standing and same(standing[-1].after, today):  # a figure that was typed over them since does not hold them
        strength += sum(job.weight for job in counted.values()) / ordinary
    figures, weights = [each.seen for each in new], [each.weight / ordinary for each in new]
    if first.kind == REJECTS:
        standard = _updated_share(today, figures, weights, ordinary, strength)
    else:
        standard = updated_standard(today, figures, weights, strength, bounds=(1.0 if first.kind == LIFE else 0.0, math.inf))
    mean = float(np.average([each.seen for each in new or seen], weights=[each.weight for each in new or seen]))
    name, measure, unit = _named(book, first)
    return Proposal(
        first.kind, name, measure, unit, first.sheet, cell, today, mean, standard.value, standard.count, standard.low, standard.high,
        standard.credibility, key, _jobs(new), len(counted),
    )


def _key(book: PriceBook, seen: Observation) -> str:
    """Kind and names of a standard, by which it is known again wherever its row stands."""
    columns = book.tables[seen.sheet].columns
    return json.dumps([seen.kind, *(fold(str(columns[name][seen.row])) for name in _KEYS[seen.kind])], ensure_ascii=False)


def _jobs(seen: Sequence[Observation]) -> tuple[CountedJob, ...]:
    """The jobs of some observations, each with the weight of all of its own."""
    found: dict[str, CountedJob] = {}
    for each in seen:
        job = found.get(fold(each.quote), CountedJob(each.quote, 0.0, 0))
        found[fold(each.quote)] = CountedJob(job.quote, job.weight + each.weight, job.observations + 1)
    return tuple(found.values())


def _updated_share(today: float, figures: Sequence[float], weights: Sequence[float], cast: float, strength: float) -> Standard:
    """A share of rejects: what is rejected of *cast* pieces scatters as a binomial count, by as much as half a piece at least.

    Shares are moved as what passes is, from 1 up, so that a share of 0 has a scatter of its own: a weighted average and its
    scatter do not depend on where counting begins.
    """
    share = min(max(today, 0.5 / cast), 0.5)
    spread = math.sqrt(share * (1 - share) / cast) / (1 + today)
    moved = updated_standard(1 + today, [1 + figure for figure in figures], weights, strength, prior_spread=spread, bounds=(1.0, 2.0))
    return replace(moved, value=moved.value - 1, low=moved.low - 1, high=moved.high - 1)


def _named(book: PriceBook, seen: Observation) -> tuple[str, str, str]:
    """Name, measure and unit of a standard."""
    columns = {name: str(values[seen.row]) for name, values in book.tables[seen.sheet].columns.items() if values.dtype.kind == "O"}
    if seen.kind == MINUTES:
        return f"{columns['labour_plan']}, {columns['step']}", f"minutes per {columns['per']}", "min"
    if seen.kind == COVERAGE:
        materials = book.tables["Materials"].columns
        row = materials["material"].tolist().index(columns["material"])
        sold, done = pack_unit(str(materials["pack_unit"][row])), surface_unit(columns["surface"])
        return f"{columns['finish']}, {columns['material']}", f"{columns['surface']} per {sold}", f"{done}/{sold}"
    if seen.kind == REJECTS:
        return f"{columns['product']}, rejects", "share of pieces cast", "%"
    return f"{columns['mould_plan']}, casts", "casts of a mould", ""


def standards_tables(proposals: Iterable[Proposal]) -> list[Rows]:
    """The tables of proposals, computed and written like every other; none for a kind that has no proposal."""
    builders: dict[str, RowsBuilder] = {}
    for each in proposals:
        builder = builders.setdefault(each.kind, RowsBuilder(declared.standards_table(each.kind)))
        builder.add(
            standard_number=builder.count + 1, standard=each.name, measure=each.measure, place=each.place,
            standard_today=(each.today, each.place), jobs_in_standard=each.jobs_in_it, jobs_new=len(each.jobs),
            observations=each.count, observed_mean=each.seen, credibility=each.credibility,
            standard_low=each.low, standard_high=each.high,
        )
    return [builders[kind].rows() for kind in declared.STANDARD_KINDS if kind in builders]
