"""The first sheet of the review workbook: the sentence that matters, where the money went, then the jobs."""

from __future__ import annotations

from typing import Any

import numpy as np

from pricing.costing.jobs.declared import PARTS
from pricing.costing.jobs.review import AS_ALLOWED, Review, recorded_share
from pricing.glossary import GLOSSARY
from pricing.reports.review.book import SIGN, SUMMARY, ReviewBook, signed
from pricing.reports.shared.cells import Formula, TableColumn
from pricing.reports.shared.charts import EITHER_WAY, add_bars, bar_chart, set_chart
from pricing.reports.shared.plain_table import PlainTable, settle
from pricing.xlsx.writing.safe_text import one_line

#: More bars than this are no picture any more.
MOST_BARS = 12

#: By table of items: its columns of the item's own variance.
_VARIANCES = (("job materials", "material_variance"), ("job labour", "labour_variance"), ("job machines", "machine_variance"))

_FIGURES, _CHART_TOP, _CHART_ROWS = 5, 8, 17


class Summary:
    """The summary sheet while it is written."""

    def __init__(self, review: ReviewBook, found: Review) -> None:
        self.review, self.found = review, found
        self.style = review.styles.get
        self.sheet = review.open_sheet(SUMMARY, "After the job")
        self.moved = self._moved()
        self.jobs_at = _CHART_TOP + _CHART_ROWS + 2
        self.causes_at = self.jobs_at + len(found.jobs) + 5
        self.items_at = self.causes_at + len(PARTS) + 5

    def write(self) -> None:
        """Everything on the sheet, each cell once."""
        jobs = self._jobs()
        causes, items = self._causes(), self._items()
        self._sentence(causes)
        self._figures()
        self._charts(causes, items)
        settle(self.sheet, jobs, causes, items)

    def _linked(self, table: str, column: str, row: int) -> Formula:
        return Formula(self.review.cell(table, column, row), float(self.review.values.value(table, column)[row]))

    def _jobs(self) -> PlainTable:
        amounts = self.review.amounts
        columns = [
            TableColumn("Quote"), TableColumn("Customer", width=194), amounts("Net"), amounts("Cost allowed"),
            amounts("Cost in fact"), amounts("Over allowance", "result", sign=True), TableColumn("Margin quoted", "0.0%"),
            TableColumn("Margin earned", "0.0%", "result"),
        ]
        table = self.review.titled_table(self.sheet, self.jobs_at, "Jobs", columns)
        names = ("net", "quote_cost", "cost_earned", "job_variance", "margin_quoted", "margin_earned")
        for row, job in enumerate(self.found.jobs):
            table.row(row, [job.quote, job.promise.customer, *(self._linked("jobs", name, row) for name in names)])
        return table

    def _causes(self) -> PlainTable:
        """The eight parts over all jobs, the most adverse first."""
        columns = [TableColumn("Cause"), TableColumn(""), self.review.amounts("In all", sign=True)]
        table = self.review.titled_table(self.sheet, self.causes_at, "Where the money went: by cause", columns)
        order = sorted(PARTS, key=lambda part: -round(self.review.total("jobs", part[0]), 6))
        for row, (name, _, _) in enumerate(order):
            figure = Formula(f"SUM({self.review.range('jobs', name)})", self.review.total("jobs", name))
            table.row(row, [GLOSSARY[name].label, None, figure])
        figures = table.range(2, len(order))
        table.row(len(order), ["Over allowance", None, Formula(f"SUM({figures})", self.review.total("jobs", "job_variance"))], "total")
        return table

    def _moved(self) -> list[tuple[str, str, int, float]]:
        """The items that moved the cost most: table, column, row, and by how much."""
        found = []
        for table, column in _VARIANCES:
            recorded = self.review.model.tables[table].text["recorded"].tolist()
            for row, figure in enumerate(self.review.values.value(table, column).tolist()):
                if recorded[row] != AS_ALLOWED and abs(figure) >= 0.5 / 10**self.review.digits:
                    found.append((table, column, row, figure))
        largest = sorted(found, key=lambda each: -abs(each[3]))[:MOST_BARS]
        return sorted(largest, key=lambda each: -each[3])

    def _items(self) -> PlainTable:
        columns = [TableColumn("Quote"), TableColumn("Item"), self.review.amounts("Over allowance", sign=True), TableColumn("For")]
        table = self.review.titled_table(self.sheet, self.items_at, "The items that moved most", columns)
        for row, (name, column, at, _) in enumerate(self.moved):
            text = self.review.model.tables[name].text
            label = one_line(f"{text['item'][at]}, {text['quote'][at]} {text['product'][at]}", 48)
            table.row(row, [str(text["quote"][at]), label, self._linked(name, column, at), str(text["product"][at])])
        if not self.moved:
            self.sheet.write_string(self.items_at, 0, "Nothing that was recorded differs from what was allowed.", self.style("note"))
        return table

    def _sentence(self, causes: PlainTable) -> None:
        """How many jobs cost more than allowed, by how much together, and because of what most."""
        review = self.review
        over, count = review.range("jobs", "job_variance"), len(self.found.jobs)
        figures, total = review.values.value("jobs", "job_variance"), review.total("jobs", "job_variance")
        few = int(np.sum(np.round(figures, 2) > 0))
        noun = "finished job" if count == 1 else "finished jobs"
        amounts, labels = causes.range(2, len(PARTS)), causes.range(0, len(PARTS))
        worst = sorted(((review.total("jobs", name), GLOSSARY[name].label) for name, _, _ in PARTS), key=lambda each: -round(each[0], 6))
        most = worst[0][1] if total > 0 else worst[-1][1]
        text = (
            f'SUMPRODUCT((ROUND({over},2)>0)*1)&" of "&ROWS({over})&" {noun} cost more than was allowed; in all "&TEXT(ABS(SUM({over})),'
            f'"{review.money}")&" {review.currency}"&IF(SUM({over})>0," over."," under.")'
        )
        shown = f"{abs(total):,.{review.digits}f}"
        stored = f"{few} of {count} {noun} cost more than was allowed; in all {shown} {review.currency} {'over' if total > 0 else 'under'}."
        self.sheet.write_formula(1, 0, f"={text}", self.style("text bold"), stored)
        first = f'"Most of it: "&LOWER(INDEX({labels},MATCH(IF(SUM({amounts})>0,MAX({amounts}),MIN({amounts})),{amounts},0)))&". {SIGN}"'
        self.sheet.write_formula(3, 0, f"={first}", self.style("sentence"), f"Most of it: {most.lower()}. {SIGN}")

    def _figures(self) -> None:
        """The figures of the whole, above the pictures."""
        review = self.review
        net, allowed, paid = (review.total("jobs", name) for name in ("net", "quote_cost", "cost_earned"))
        nets, costs, facts = (f"SUM({review.range('jobs', name)})" for name in ("net", "quote_cost", "cost_earned"))
        made: list[tuple[int, str, str, float, str]] = [
            (0, f"Net of the jobs ({review.currency})", nets, net, review.money),
            (1, f"Cost allowed ({review.currency})", costs, allowed, review.money),
            (2, f"Cost in fact ({review.currency})", facts, paid, review.money),
            (4, "Margin quoted", f"IF({nets}=0,0,({nets}-{costs})/{nets})", (net - allowed) / net if net else 0.0, "0.0%"),
            (6, "Margin earned", f"IF({nets}=0,0,({nets}-{facts})/{nets})", (net - paid) / net if net else 0.0, "0.0%"),
        ]
        for column, caption, formula, figure, number in made:
            self.sheet.write_string(_FIGURES - 1, column, caption, self.style("note"))
            style: Any = self.style("result", number, align="left", font_size=12)
            self.sheet.write_formula(_FIGURES, column, f"={formula}", style, figure)
        share = recorded_share(self.found)
        note = f"Recorded: {share:.0%} of what was allowed, by cost; the rest is taken as allowed."
        self.sheet.write_string(_FIGURES + 1, 0, note, self.style("note"))

    def _charts(self, causes: PlainTable, items: PlainTable) -> None:
        left = self._bars("Where the money went, by cause", causes, 0, len(PARTS))
        high = _CHART_ROWS * 20 - 10
        set_chart(self.sheet, _CHART_TOP - 1, 0, left, "Cost beyond what was allowed, by cause", (430, high))
        if self.moved:
            right = self._bars("The items that moved most", items, 1, len(self.moved))
            set_chart(self.sheet, _CHART_TOP - 1, 0, right, "Items whose cost moved most", (470, high), offset=440)

    def _bars(self, title: str, table: PlainTable, labels: int, count: int) -> Any:
        chart = bar_chart(self.review.book, f"{title} ({self.review.currency})")
        number = signed("#,##0.0" if self.review.digits else "#,##0")
        add_bars(chart, SUMMARY, table.range(labels, count), table.range(2, count), number, **EITHER_WAY)
        return chart


def write_summary(review: ReviewBook) -> None:
    """Write the summary sheet."""
    assert review.review is not None
    Summary(review, review.review).write()
