"""After the job: what finished jobs were allowed against what they took, and the margin that was left.

A job is finished where the Actuals sheet has a row for its quote (``finished_jobs``). Actual minus allowed: positive is
adverse. All figures are computed by the tables of ``review_declared``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from pricing.book.price_book import PriceBook
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model
from pricing.costing.jobs import declared
from pricing.costing.jobs.finished_jobs import OVERHEAD, Item, Job, Promise, finished_quotes, job_of, promise_of
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.rows_builder import RowsBuilder
from pricing.costing.method.standard_usage import LABOUR, MACHINE, MATERIAL, OTHER, overhead_hours
from pricing.costing.run import cost_lines
from pricing.dataclass import dataclass
from pricing.problems import Problems
from pricing.text import fold

#: What stands for the product where a row is for the whole job.
WHOLE_JOB = "whole job"

RECORDED, AS_ALLOWED, UNPLANNED = "yes", "no: as allowed", "yes, not allowed for"

#: By table of items: its kind, and its columns of allowed and taken, of the price side and of the usage side.
ITEMS: tuple[tuple[str, str, tuple[str, str, str, str]], ...] = (
    ("job materials", MATERIAL,
     ("standard_quantity_allowed", "actual_quantity_used", "material_price_variance", "material_usage_variance")),
    ("job labour", LABOUR, ("standard_hours_allowed", "actual_hours", "labour_rate_variance", "labour_time_variance")),
    ("job machines", MACHINE,
     ("standard_hours_allowed", "actual_machine_hours", "machine_spending_variance", "machine_time_variance")),
)


@dataclass
class Review:
    """Finished jobs and their figures.

    Parameters
    ----------
    jobs : in the order of the Actuals sheet
    values : of the tables in ``review_declared``
    """

    currency: str
    jobs: list[Job]
    values: Evaluation

    @property
    def model(self) -> Model:
        """The tables."""
        return self.values.model

    def job(self, column: str) -> list[float]:
        """A figure of every job."""
        found: list[float] = self.values.value("jobs", column).tolist()
        return found

    def as_json(self) -> list[dict[str, Any]]:
        """What programs read of the jobs."""
        parts = {name.removesuffix("_sum"): self.job(name) for name, _, _ in declared.PARTS}
        totals = {shown: self.job(name) for shown, name in (
            ("net", "net"), ("cost_allowed", "quote_cost"), ("cost", "cost_earned"), ("variance", "job_variance"),
            ("margin_quoted", "margin_quoted"), ("margin_earned", "margin_earned"))}
        items = self.items()
        return [
            {
                "quote": job.quote, "customer": job.promise.customer, **{name: figures[row] for name, figures in totals.items()},
                "variances": {name: figures[row] for name, figures in parts.items()}, "items": items[row],
            }
            for row, job in enumerate(self.jobs)
        ]

    def items(self) -> list[list[dict[str, Any]]]:
        """The items of each job, as programs read them."""
        found: list[list[dict[str, Any]]] = [[] for _ in self.jobs]
        for table, kind, columns in ITEMS:
            rows = self.model.tables[table]
            figures = [self.values.value(table, name).tolist() for name in columns]
            for row, job in enumerate(rows.given["job"].astype(int).tolist()):
                allowed, taken, price, usage = (column[row] for column in figures)
                said = {name: str(rows.text[name][row]) for name in ("product", "item", "recorded")}
                found[job - 1].append({
                    "product": said["product"], "item": said["item"], "kind": str(rows.text["kind"][row]) if "kind" in rows.text else kind,
                    "recorded": said["recorded"] != AS_ALLOWED, "allowed": allowed, "taken": taken, "price_variance": price,
                    "usage_variance": usage, "variance": price + usage,
                })
        return found


def review_jobs(
    book: PriceBook, problems: Problems, *, quotes: Sequence[str] | None = None, promised: Mapping[str, Promise] | None = None
) -> Review:
    """Compare what finished jobs took with what they were allowed.

    Parameters
    ----------
    book : with its Actuals sheet
    problems : collects what does not fit: a quote that is not there, a cost without a quantity
    quotes : only these jobs; all finished ones where None
    promised : quotes as they were made, by number; the others are costed by the price book as it is today

    >>> from pricing.costing.jobs.review import AS_ALLOWED
    >>> AS_ALLOWED
    'no: as allowed'
    """
    asked = None if quotes is None else {fold(quote) for quote in quotes}
    wanted = [quote for quote in finished_quotes(book) if asked is None or fold(quote) in asked]
    enquiries = {fold(quote): quote for quote in book.tables["Enquiries"].columns["quote"].tolist()}
    jobs = []
    for quote in wanted:
        promise = (promised or {}).get(quote)
        if promise is None and fold(quote) not in enquiries:
            table = book.tables["Actuals"]
            row = table.columns["quote"].tolist().index(quote)
            text = f'quote "{quote}" is neither on the sheet Enquiries nor ordered in the register; look at its number'
            problems.add("unknown-quote", text, sheet=table.sheet_as_written, cell=table.cell("quote", row))
            continue
        if promise is None:
            costing = cost_lines(book, enquired(book, [enquiries[fold(quote)]]), own := Problems(book.file))
            for problem in own.errors:
                problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell)
            if own.errors:
                continue
            promise = promise_of(costing)
        jobs.append(job_of(book, promise, problems))
    return Review(book.word("currency"), jobs, evaluate(_model(jobs)))


def _model(jobs: Sequence[Job]) -> Model:
    """The tables of a review, filled."""
    specs = (declared.MATERIALS, declared.LABOUR, declared.MACHINES, declared.OVERHEADS, declared.JOBS)
    builders = {spec.name: RowsBuilder(spec) for spec in specs}
    for number, job in enumerate(jobs, 1):
        for item in _in_order(job.items):
            _add_item(builders, number, job, item)
        values = job.promise.values
        overhead = [record for record in job.records if record.kind == OVERHEAD and not np.isnan(record.cost)]
        recorded = sum(record.cost for record in overhead)
        place = overhead[0].places[1] if len(overhead) == 1 else ""
        builders["job overhead"].add(
            overhead_record=number, job=number, quote=job.quote, standard_hours_allowed=overhead_hours(values),
            variable_overhead_rate=float(values.value("settings", "applied_overhead_rate")[0]),
            overhead_is_recorded=float(bool(overhead)), overhead_recorded=(recorded, place),
        )
        totals = {name: float(values.value("quotes", name)[0]) for name in ("net", "quote_cost")}
        builders["jobs"].add(job=number, quote=job.quote, customer=job.promise.customer, **totals)
    return Model(builder.rows() for builder in builders.values())


def _in_order(items: Iterable[Item]) -> list[Item]:
    """What was recorded first, then what was taken as allowed; the dear before the cheap."""
    return sorted(items, key=lambda item: (item.record is None, -item.allowed * item.price))


def _add_item(builders: Mapping[str, RowsBuilder], number: int, job: Job, item: Item) -> None:
    recorded = AS_ALLOWED if item.record is None else RECORDED if item.sources else UNPLANNED
    name = {MATERIAL: "job materials", OTHER: "job materials", MACHINE: "job machines"}.get(item.kind, "job labour")
    builder = builders[name]
    at_quantity, at_cost = item.record.places if item.record else ("", "")
    paid = (item.paid, "" if item.record and np.isnan(item.record.cost) else at_cost)
    taken = (item.taken, at_quantity)
    columns = {
        "job materials": ("standard_quantity_allowed", "standard_material_price", "actual_quantity_used", "actual_material_cost"),
        "job labour": ("standard_hours_allowed", "standard_labour_rate", "actual_hours", "labour_paid"),
        "job machines": ("standard_hours_allowed", "standard_machine_rate", "actual_machine_hours", "machine_spent"),
    }[name]
    cells: dict[str, Any] = dict(zip(columns, (item.allowed, item.price, taken, paid), strict=True))
    cells |= {builder.spec.key: builder.count + 1.0, "pack_unit": item.unit, "kind": item.kind}
    builder.add(job=number, quote=job.quote, product=item.product or WHOLE_JOB, item=item.item, recorded=recorded, **cells)


def recorded_share(review: Review) -> float:
    """How much of what was allowed, by cost, was recorded at all [1]."""
    items = [(item.allowed * item.price, item.record is not None) for job in review.jobs for item in job.items]
    total = sum(cost for cost, _ in items)
    return sum(cost for cost, recorded in items if recorded) / total if total else 0.0


__all__ = ["AS_ALLOWED", "Promise", "Review", "finished_quotes", "promise_of", "recorded_share", "review_jobs"]
