"""The steps of the work in order, with their minutes, their waits, and what to be careful of at each."""

from __future__ import annotations

from dataclasses import replace

from pricing.book.shown_units import shown_amount
from pricing.costing.options import line_labels
from pricing.costing.workshop.steps import WorkStep
from pricing.costing.workshop.work import Work
from pricing.reports.quote.facts import QuoteFacts
from pricing.reports.shared.cells import Cell, Formula, Shown, TableColumn
from pricing.reports.workshop.cautions import CAUTIONS, DEFERENCE, cautions_of, in_measures, short_text
from pricing.reports.workshop.page import WorkPage

COLUMNS = (
    TableColumn("☐", note="Tick what is done.", width=28), TableColumn("Step", width=178), TableColumn("Who", width=72),
    TableColumn("Machine", width=104), TableColumn("Minutes", "#,##0.0", width=62), TableColumn("for each", width=128),
    TableColumn("Times", "#,##0.00", note="How many of it for all pieces: rejected pieces and what a run teaches are counted in. "
                "Of a mould made for stock, the share that these casts use up; of what is done once for the quote, the share of this "
                "line.", width=58),
    TableColumn("Total\nmin", "#,##0.0", "result", width=66),
    TableColumn("Wait\nh", "#,##0.0", note="On the clock, after the step; it costs no wages.", width=52),
    TableColumn("Usual caution", width=330),
)
_MINUTES, _TIMES, _TOTAL = 4, 6, 7

#: So many steps at least stand below the title of a line, and above its total, on the same page.
_TOGETHER = 2


def write_steps(page: WorkPage, work: Work, facts: QuoteFacts) -> None:
    """Write the page."""
    hours = sum(step.total for step in work.steps) / 60
    page.opening(f"Steps for quote {work.quote}", f"{hours:.1f} hours of work in all; waits come between.", DEFERENCE)
    totals, opened = [], []
    labels = line_labels(work.costing)
    repeated = page.row  # on every further page
    page.headings()
    page.sheet.repeat_rows(repeated)
    for row, line in enumerate(facts.lines):
        if line.service:  # nothing is made
            continue
        pieces = f"{line.quantity:,.0f} {'piece' if line.quantity == 1 else 'pieces'}"
        opened.append(page.row)
        page.section(f"{labels[row]}. {work.costing.products()[row]}, {pieces}")
        first = page.row + 1
        mine = [step for step in work.steps if step.line == row]
        for step in mine:
            short = short_text(step, line.mass, facts.one_person_lift, facts.mass_unit)
            page.cells(_cells(page, in_pounds_and_feet(step) if facts.mass_unit == "lb" else step, short))
        totals.append(page.row + 1)
        total = sum(step.total for step in mine)
        cells: list[Cell] = [None, "All steps of the line", *[None] * 8]
        cells[_TOTAL] = Formula(f"SUM({page.down(_TOTAL, first, page.row)})" if mine else "0", total)
        page.cells(cells, role="total")
        page.gap(10)
    cells = [None, "All lines", *[None] * 8]
    cells[_TOTAL] = Formula("+".join(page.at(_TOTAL, row) for row in totals) or "0", hours * 60)
    page.cells(cells, role="grand total")
    for number, (head, total_row) in enumerate(zip(opened, totals, strict=True), 1):
        _undivided(page, head, page.row if number == len(totals) else total_row, total_row, page.height(repeated, repeated + 1))
    page.gap(10)
    usual = page.row
    page.section("What is usual")
    page.gap(3)
    named = {caution.title for step in work.steps for caution in cautions_of(step)}
    for each in CAUTIONS:
        if each.title in named:
            page.titled(f"{each.title}.", in_measures(each.full, facts.mass_unit), 0, page.last)
    page.sentence(DEFERENCE, "note wrapped")
    page.keep_together(usual, min(usual + 3, page.row), page.room, page.height(repeated, repeated + 1))


def _undivided(page: WorkPage, head: int, end: int, total: int, repeated: float) -> None:
    """Keep the title of a line with its first steps, and its last steps with what is summed below them.

    Parameters
    ----------
    head : the row of its title, counted from 0
    end : the row below everything that is kept with its total
    total : the row of its total, counted from 1
    repeated : height of the headings that stand on every further page [points]
    """
    first, last = head + 1, total - 1
    if last - first <= 2 * _TOGETHER:
        page.keep_together(head, end, page.room, repeated)
        return
    page.keep_together(head, first + _TOGETHER, page.room, repeated)
    page.keep_together(last - _TOGETHER, end, page.room, repeated)


def in_pounds_and_feet(step: WorkStep) -> WorkStep:
    """A step that is counted by the kilogram or the metre, by the pound or the foot: fewer minutes each, more often."""
    unit, _, of = step.per.partition(" ")
    shown, amount = shown_amount(unit, 1.0)
    return replace(step, per=f"{shown} {of}".strip(), minutes=step.minutes / amount, times=step.times * amount)


def _cells(page: WorkPage, step: WorkStep, caution: str) -> list[Cell]:
    row = page.row + 1
    total = Formula(f"{page.at(_MINUTES, row)}*{page.at(_TIMES, row)}", step.total) if step.minutes else None
    wait = step.wait or None
    minutes = Shown(step.minutes, "#,##0.00" if step.minutes < 1 else "#,##0.0") if step.minutes else None
    return [
        "☐", step.step, step.trade, step.machine, minutes, f"{step.per}{', each round' if step.repeats and step.wait else ''}",
        step.times if step.minutes else None, total, wait, caution,
    ]
