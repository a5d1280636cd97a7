"""The maker's margin workbook while it is written: a model that can be followed by eye, every figure a live formula."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pricing.costing.method.costing import Costing
from pricing.costing.method.shown_measures import ShownMeasures
from pricing.reports.margin.part import MarginPart
from pricing.reports.margin.sheet_limits import WholeWorksheet
from pricing.reports.shared.formulas import Layout
from pricing.reports.shared.model_table import BlockWriter
from pricing.reports.shared.report_book import House, ReportBook

#: A workbook of fewer rows than this is put together in memory, which is faster than in temporary files.
_SMALL = 20_000


class MarginBook(ReportBook):
    """One margin workbook while it is written.

    Parameters
    ----------
    bare : True for the model alone: no notes on headings, no sheets that look into it from outside
    part : which of several of a run it is
    """

    def __init__(self, costing: Costing, path: Path, *, bare: bool = False, part: MarginPart | None = None) -> None:
        self.costing, self.model, self.bare = costing, costing.model, bare
        self.part = part or MarginPart(1, 1, tuple(costing.quotes))
        small = sum(rows.count for rows in self.model.tables.values()) < _SMALL
        super().__init__(str(path), House.of(costing.book), in_memory=small)
        self.book.worksheet_class = WholeWorksheet
        self.measures = ShownMeasures.of(costing.book, self.model.tables)
        self.layout = Layout(self.model, self.measures)
        self.blocks = BlockWriter(self.layout, costing.values, self.styles, costing.currency)

    def open_sheet(self, name: str, title: str, sentence: str = "", **more: Any) -> Any:
        """Title, sentence, key and page set-up of a sheet; the title says which part of a run the workbook is."""
        said = self.measures.said
        return super().open_sheet(name, f"{said(title)}{self.part.ending}", said(sentence), **{"key": True, **more})
