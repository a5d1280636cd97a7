"""Writes the maker's margin workbook: the sheets that answer first, then the model that they look into."""

from __future__ import annotations

from pathlib import Path

from pricing.costing.analysis.uncertain_inputs import uncertain_figures
from pricing.costing.method.costing import Costing
from pricing.files.atomic import written_beside
from pricing.problems import Problems
from pricing.reports.margin.book import MarginBook
from pricing.reports.margin.checks import checks_of
from pricing.reports.margin.model_sheets import lay_out, sheets_of, write_model
from pricing.reports.margin.part import TITLE, MarginPart
from pricing.reports.margin.risk import write_risk
from pricing.reports.margin.sensitivity import SENSITIVITY, WORKINGS, write_sensitivity
from pricing.reports.margin.summary import write_summary
from pricing.reports.margin.why import NAME as WHY
from pricing.reports.margin.why import write_why
from pricing.reports.shared.checks import CHECKS, write_checks


def write_margin(costing: Costing, path: Path, part: MarginPart | None = None) -> None:
    """Write the margin workbook of a costing.

    Parameters
    ----------
    path : where it goes; it is written beside and moved into place
    part : which of several of a run it is

    Problems raised: OSError where the folder cannot be written; RowsError where it would need more rows than a sheet has.
    """
    with written_beside(path) as beside:
        write_sheets(MarginBook(costing, beside, part=part))


def write_sheets(margin: MarginBook) -> None:
    """Lay everything out, then write it: formulas may point forward."""
    costing, found = margin.costing, Problems()
    unsure = uncertain_figures(costing.book, costing.lines, margin.model, found)
    for problem in found:
        costing.problems.add(problem.code, problem.message, sheet=problem.sheet, cell=problem.cell, warning=True)
    printed = ["Summary"] if margin.bare else ["Summary", SENSITIVITY, WHY]
    sure, workings = (["How sure"] if unsure and not margin.bare else []), ([] if margin.bare else [WORKINGS])
    margin.add_sheets((*printed, *sure, *(name for name, *_ in sheets_of(margin.model)), "Settings", *workings, CHECKS))
    captions = lay_out(margin)
    write_model(margin, captions)
    write_summary(margin)
    if not margin.bare:
        write_sensitivity(margin)
        if unsure:
            write_risk(margin)
        write_why(margin)
    write_checks(margin, checks_of(margin))
    margin.blocks.settle_widths(margin.sheets)
    margin.protect(but=[WHY])  # its rows fold, which a protected sheet does not let them
    margin.close(f"{TITLE}{margin.part.ending}", max(costing.lines.day.tolist(), default=None))
