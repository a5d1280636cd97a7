"""The calendar of a quote: a bar for each stretch of work, wait and casting; and price against lead time."""

from __future__ import annotations

import datetime
import math

from pricing.costing.options import line_labels
from pricing.costing.time.lead_time import working_week
from pricing.costing.time.working_days import WorkingWeek
from pricing.costing.workshop.steps import MOULD, WAIT, WORK
from pricing.costing.workshop.work import Work
from pricing.languages.spelling import written_date
from pricing.reports.shared.cells import Cell, Formula, TableColumn
from pricing.reports.shared.styles import HAIRLINE, SHADES, number_format
from pricing.reports.workshop.overview import first_day
from pricing.reports.workshop.page import DAY, SHORT_DAY, WorkPage

#: The table.
COLUMNS = (
    TableColumn("Piece", width=132), TableColumn("What", width=268), TableColumn("Kind", width=94),
    TableColumn("Begins", SHORT_DAY, width=80), TableColumn("Ends", SHORT_DAY, width=80),
    TableColumn("Working\ndays", "#,##0_)_)", note="Days worked from the first to the last day of the bar.", width=58),
)

#: The columns of bars beside it [pixels].
BARS = [12] * 40

#: The bars' shades, told apart without colour: dark, middle, light.
BARS_OF = ((WORK, SHADES[0]), (MOULD, SHADES[2]), (WAIT, SHADES[7]))
FREE_DAY = "#F1F1F1"

#: Columns of bars under one day, and how that day is shown.
LABELLED, SHORT_LABEL = 5, "d mmm"

_BEGINS, _ENDS, _FIRST = 3, 4, len(COLUMNS)

NOTE = (
    "Dark: work.   Middle: in the mould.   Light: waiting.   Shaded behind: not worked. One pair of hands, line after line, what is wanted "
    "first before the rest; waits and days in the mould run side by side. The casting of a round is taken to fit its day."
)
CHOICES = (
    "More moulds, fewer rounds of casting: earlier, and dearer where the order pays for the moulds. Working days count from the day of the "
    "order, and are cautious: each wait counts in whole working days, so that the calendar may be earlier. A price that was typed "
    "or listed stands whatever the number. Moulds that wear out are made in any case."
)


def write_calendar(page: WorkPage, work: Work) -> None:
    """Write the page."""
    calendar = work.calendar
    start, end = first_day(work), calendar.last
    opening = f"Begun on {written_date(start)}, all ready on {written_date(end)}."
    page.opening(f"Calendar for quote {work.quote}", opening, NOTE)
    step = max(1, math.ceil(((end - start).days + 1) / len(BARS)))
    page.text("Days in a column", 0, 1, "note")
    page.number(float(step), 2, "input", "0", align="right")
    width, dates = page.at(2, page.row + 1), page.row + 1
    _dates(page, start, step, width)
    page.need(16)
    page.next_row()
    _labels(page, dates, start, step)
    page.sheet.repeat_rows(page.row)
    first = page.headings()
    page.sheet.freeze_panes(page.row, 2)
    products, week = work.costing.products(), working_week(work.costing.book)
    weekend = f'"{"".join("0" if day in week.days else "1" for day in range(7))}"{_closed(week, work)}'
    for bar in calendar.bars:
        row = page.row + 1
        days = Formula(f"NETWORKDAYS.INTL({page.at(_BEGINS, row)},{page.at(_ENDS, row)},{weekend})",
                       float(week.between(bar.begins, bar.ends + datetime.timedelta(days=1))))
        _bar(page, row, dates, bar.begins, bar.ends, start, step, width)
        page.cells([products[bar.line], bar.name, bar.kind, bar.begins, bar.ends, days])
    if calendar.bars:
        _shades(page, first, page.row, dates, step, weekend)

def _dates(page: WorkPage, start: datetime.date, step: int, width: str) -> None:
    """The first day of each column of bars, for the formulas: not seen, since a column is too narrow for it."""
    style = page.styles.get("working", ";;;")
    page.sheet.write_datetime(page.row, _FIRST, datetime.datetime.combine(start, datetime.time()), style)
    for column in range(1, len(BARS)):
        formula = f"={page.at(_FIRST + column - 1, page.row + 1)}+${width[0]}${width[1:]}"
        page.sheet.write_formula(page.row, _FIRST + column, formula, style, _serial(start) + column * step)


def _labels(page: WorkPage, dates: int, start: datetime.date, step: int) -> None:
    """The day of every fifth column, over the five."""
    style = page.styles.get("heading", SHORT_LABEL, align="left", left=1, left_color=HAIRLINE)
    for column in range(0, len(BARS), LABELLED):
        first = _FIRST + column
        page.sheet.merge_range(page.row, first, page.row, first + LABELLED - 1, "", style)
        page.sheet.write_formula(page.row, first, f"={page.at(first, dates)}", style, _serial(start) + column * step)


def _serial(day: datetime.date) -> int:
    """A date as a spreadsheet counts it."""
    return (day - datetime.date(1899, 12, 30)).days


def _bar(
    page: WorkPage, row: int, dates: int, begins: datetime.date, ends: datetime.date, start: datetime.date, step: int, width: str
) -> None:
    """A row of bars: 1 in every column whose days the bar touches, else 0; the shade makes it seen."""
    style = page.styles.get("working", ";;;")
    fixed = f"${width[0]}${width[1:]}"
    for column in range(len(BARS)):
        day = f"{page.at(_FIRST + column, dates).rstrip('0123456789')}${dates}"
        opens = start + datetime.timedelta(days=column * step)
        touched = begins <= opens + datetime.timedelta(days=step - 1) and ends >= opens
        formula = f"=IF(AND(${page.at(_BEGINS, row)}<={day}+{fixed}-1,${page.at(_ENDS, row)}>={day}),1,0)"
        page.sheet.write_formula(row - 1, _FIRST + column, formula, style, int(touched))


def _closed(week: WorkingWeek, work: Work) -> str:
    """The closed days within the calendar, as a formula takes them after the free days of the week."""
    bars = work.calendar.bars
    if not bars:
        return ""
    first, last = min(bar.begins for bar in bars), max(bar.ends for bar in bars)
    days = [(day - datetime.date(1899, 12, 30)).days for day in week.holidays if first <= day <= last]
    return f",{{{','.join(map(str, days))}}}" if days else ""


def _shades(page: WorkPage, first: int, last: int, dates: int, step: int, weekend: str) -> None:
    """Shade the bars by kind, and the days that are not worked where a column is a day."""
    corner = page.at(_FIRST, first)
    area = (first - 1, _FIRST, last - 1, _FIRST + len(BARS) - 1)
    for kind, shade in BARS_OF:
        made = page.styles.book.add_format({"bg_color": shade})
        page.sheet.conditional_format(*area, {"type": "formula", "criteria": f'=AND({corner}=1,$C{first}="{kind}")', "format": made,
                                              "stop_if_true": True})
    if step == 1:
        day = f"{page.at(_FIRST, dates).rstrip('0123456789')}${dates}"
        free = page.styles.book.add_format({"bg_color": FREE_DAY})
        page.sheet.conditional_format(*area, {"type": "formula", "criteria": f"=NETWORKDAYS.INTL({day},{day},{weekend})=0", "format": free})


def choices_columns(currency: str) -> tuple[TableColumn, ...]:
    """The columns of the page of price against lead time.

    Parameters
    ----------
    currency : ISO 4217 code
    """
    money = number_format("money", 2, currency)
    return (
        TableColumn("Piece", width=172), TableColumn("Moulds\nin use at once", "#,##0", width=84), TableColumn("Ready on", DAY, width=128),
        TableColumn("Lead time\nworking days", "#,##0", width=84), TableColumn(f"Cost of one\n{currency}", money, width=84),
        TableColumn(f"Price of one\n{currency}", money, width=84), TableColumn("", width=150),
    )


def write_choices(page: WorkPage, work: Work) -> None:
    """Write the page of price against lead time: a row for each useful number of moulds of each line."""
    lines = [choices for choices in work.choices if len(choices) > 1]
    opening = (
        f"{len(lines)} of {len(work.choices)} lines can be ready earlier with more moulds." if lines
        else "No number of moulds makes any line ready earlier."
    )
    page.opening(f"Price against lead time of quote {work.quote}", opening, CHOICES)
    page.only_on_screen()
    page.headings()
    labels, products, made = line_labels(work.costing), work.costing.products(), work.costing.line("moulds_at_once").tolist()
    for line, choices in enumerate(work.choices):
        for place, choice in enumerate(choices):
            stands = choice.moulds == max(round(made[line]), 1)
            name, note = "" if place else f"{labels[line]}. {products[line]}", "as the quote has it" if stands else ""
            figures: list[Cell] = [float(choice.moulds), choice.ready, float(choice.working_days), choice.unit_cost, choice.unit_price]
            page.cells([name, *figures, note], bold=stands)
