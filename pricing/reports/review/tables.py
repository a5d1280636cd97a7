"""The working sheets of the review workbook: jobs with their eight parts, items, better standards, and the checks."""

from __future__ import annotations

from typing import Any

from pricing.costing.engine.columns import Text
from pricing.costing.jobs.declared import PARTS, STANDARD_KINDS
from pricing.glossary import GLOSSARY
from pricing.reports.review.book import CAPACITY, ITEMS, JOBS, LOADS, SIGN, STANDARDS, ReviewBook
from pricing.reports.shared.cells import Formula
from pricing.reports.shared.checks import Check, added

#: Columns that stand first in their table, where the key is a number that nobody looks for.
FIRST: dict[str, tuple[str, ...]] = {"ranking": ("quote", "product"), "loads": ("quote", "product", "resource")}

#: Tables by sheet, each with its caption.
PLACES: dict[str, tuple[tuple[str, str], ...]] = {
    JOBS: (("jobs", "What each job cost beyond what was allowed, and the margin that was left"),
           ("job overhead", "Overhead: absorbed by the hours allowed, spent by the hours taken")),
    ITEMS: (("job materials", "Materials, and what else money goes for: price and usage"), ("job labour", "Labour: rate and time"),
            ("job machines", "Machines: spending and time")),
    STANDARDS: (
        ("standards: minutes", "Minutes of steps"), ("standards: coverage", "What a pack unit of a finish covers"),
        ("standards: rejects", "Rejects"), ("standards: casts", "Casts that a mould survives")),
    CAPACITY: (("resources", "What the ordered quotes take, and what a week has"),
               ("ranking", "What to make first: contribution for each hour of what is scarce")),
    LOADS: (("loads", ""),),
}

FIRST_ROW = 6


def place_tables(review: ReviewBook) -> None:
    """Give every table its place; formulas may point forward."""
    for sheet, tables in PLACES.items():
        row = FIRST_ROW
        for table, _ in tables:
            if review.has(table):
                every = [column.name for column in review.model.tables[table].spec.columns]
                names = [*FIRST.get(table, ()), *(name for name in every if name not in FIRST.get(table, ()))]
                block = review.layout.add(table, sheet, row, names)
                row = block.last + 5


def write_tables(review: ReviewBook, name: str, sheet: Any) -> None:
    """The tables of a sheet with their captions."""
    for table, caption in PLACES[name]:
        if review.has(table):
            review.blocks.write(sheet, table)
            sheet.write_string(review.block(table).heading - 2, 0, caption, review.styles.get("text bold"))


def total_row(review: ReviewBook, sheet: Any, table: str, label: str = "Total") -> None:
    """A row of sums below a table: every amount of money and every count of hours of the same sort."""
    block = review.block(table)
    row = block.last
    for column in review.model.tables[table].spec.columns:
        letter, quantity = block.letters[column.name], GLOSSARY.get(column.name)
        adds_up = quantity is not None and quantity.unit in ("currency", "hour") and not isinstance(column, Text)
        if not adds_up:
            sheet.write_blank(f"{letter}{row + 1}", None, review.styles.get("total"))
            continue
        assert quantity is not None
        review.blocks.table = table
        style = review.blocks.number_style(column.name, "total")
        sheet.write_formula(f"{letter}{row + 1}", f"=SUM({block.range(column.name)})", style, review.total(table, column.name))
    words = next(column.name for column in review.model.tables[table].spec.columns if isinstance(column, Text))
    sheet.write_string(f"{block.letters[words]}{row + 1}", label, review.styles.get("total", indent=1))


def write_jobs(review: ReviewBook) -> None:
    """A row for each job: its eight parts, what they come to, and the margins."""
    sheet = review.open_sheet(JOBS, "Jobs", SIGN, screen=True)
    write_tables(review, JOBS, sheet)
    for table in ("jobs", "job overhead"):
        total_row(review, sheet, table)
    block = review.block("jobs")
    row = block.last + 1
    for column, cost in (("margin_quoted", "quote_cost"), ("margin_earned", "cost_earned")):
        net = f"{block.letters['net']}{row}"
        formula = f"IF({net}=0,0,({net}-{block.letters[cost]}{row})/{net})"
        total = review.total("jobs", "net")
        figure = (total - review.total("jobs", cost)) / total if total else 0.0
        style = review.styles.get("total", "0.0%", align="right")
        sheet.write_formula(f"{block.letters[column]}{row}", f"={formula}", style, figure)
    sheet.freeze_panes(block.heading, 3)
    sheet.repeat_columns(0, 2)


def write_items(review: ReviewBook) -> None:
    """Every material, hour and machine of every job, allowed against taken."""
    sheet = review.open_sheet(ITEMS, "Items", SIGN, screen=True)
    sheet.write_string(3, 0, "What was allowed and not recorded is taken as allowed. All that was used is taken as bought for the job, "
                       "so that price and usage add up to the difference of cost.", review.styles.get("note"))
    write_tables(review, ITEMS, sheet)
    for table, _ in PLACES[ITEMS]:
        if review.has(table):
            total_row(review, sheet, table)
    sheet.freeze_panes(4, 5)


def write_standards(review: ReviewBook) -> None:
    """What finished jobs say of the standards."""
    sentence = "What finished jobs say of the price book's standards. Nothing changes by itself."
    sheet = review.open_sheet(STANDARDS, "Better standards", sentence, screen=True)
    note = (
        "Proposed = today + weight × (seen − today), by Bühlmann-Straub credibility: today's figure counts as much as five jobs and those "
        "already in it, so that few jobs move it little. The true figure lies between low and high four times in five."
    )
    sheet.write_string(3, 0, note, review.styles.get("note"))
    write_tables(review, STANDARDS, sheet)
    row = max(review.block(table).last for table, _ in PLACES[STANDARDS] if review.has(table)) + 2
    fresh = next((each.place for each in review.proposals if not each.nothing_new), "")
    how = f'To write one into the price book: pricing review "{review.price_book.file}" --accept "{fresh}" (or its name; several allowed).'
    for line in (
        how if fresh else "Nothing new is known of any of them.",
        "Jobs speak once: those from which a proposal was accepted are in today's figure and do not move it again. Where no job is new, "
        "nothing new is known, and seen is what they showed.",
        "Hours count where they are recorded by step; hours of a trade say nothing about a single step.",
        "Minutes are of work. Times of curing, and the care that wet cement, dust and weight ask for, are not to be shortened.",
    ):
        sheet.write_string(row, 0, line, review.styles.get("note"))
        row += 1
    sheet.freeze_panes(4, 2)


def _sum(review: ReviewBook, table: str, column: str) -> Formula:
    return Formula(f"SUM({review.range(table, column)})", review.total(table, column))


def checks_of(review: ReviewBook) -> list[Check]:
    """Each figure of the review by two ways."""
    made: list[Check] = []
    if review.review:
        for table, paid, allowed, variance, claim in (
            ("job materials", "actual_material_cost", "material_allowed_cost", "material_variance", "Price and usage of the materials"),
            ("job labour", "labour_paid", "labour_allowed_cost", "labour_variance", "Rate and time of the labour"),
            ("job machines", "machine_spent", "machine_allowed_cost", "machine_variance", "Spending and time of the machines"),
            ("job overhead", "variable_overhead_spent", "overhead_allowed", "overhead_variance", "Spending and time of the overhead"),
        ):
            if review.has(table):
                difference = added(_sum(review, table, paid), less=[_sum(review, table, allowed)])
                made.append(Check(f"{claim} add up to what was paid less what was allowed", _sum(review, table, variance), difference))
        for parts, claim in ((PARTS[:4], "Parts of materials and labour"), (PARTS[4:], "Parts of machines and overhead")):
            items = [_sum(review, table, column) for _, table, column in parts if review.has(table)]
            made.append(Check(f"{claim} are the same in the jobs as in the items",
                         added(*(_sum(review, "jobs", name) for name, _, _ in parts)), added(*items)))
        cost = added(_sum(review, "jobs", "cost_earned"), less=[_sum(review, "jobs", "quote_cost")])
        made.append(Check("The jobs' variances are their cost in fact less their cost allowed", _sum(review, "jobs", "job_variance"), cost))
    for kind in STANDARD_KINDS:
        table = f"standards: {kind}"
        if review.has(table):
            moved = added(_sum(review, table, "standard_today"), _sum(review, table, "standard_movement"))
            made.append(Check(f"Today and the moves add up to what is proposed ({kind})", moved, _sum(review, table, "proposed_standard")))
    if review.capacity:
        made.append(Check("What the lines take adds up to what is wanted", _sum(review, "loads", "resource_load"),
                     _sum(review, "resources", "resource_wanted")))
        made += review.cash_checks
    return made
