"""Solids whose figures are measured from a model instead of typed."""

from __future__ import annotations

import math

from pricing.book.checking.sheet_view import SheetView
from pricing.book.model_file import ModelFileError, ModelMeasures, measure_model, named_in
from pricing.book.price_book import PriceBook
from pricing.problems import Problems

SOLID = "solid"


def measure_models(book: PriceBook, problems: Problems) -> None:
    """Fill in what the models of solids measure, where the maker has typed nothing else.

    Problems: unusable-model; unused-dimension as a warning.
    """
    view = SheetView(book, problems, "Products")
    known: dict[str, ModelMeasures | str] = {}
    for row, (cell, shape) in enumerate(zip(view.texts("model"), view.texts("shape"), strict=True)):
        if not cell:
            continue
        if shape != SOLID:
            view.report("unused-dimension", "model", row, warning=True, what="a model", shape=shape)
            continue
        if cell not in known:
            known[cell] = _measured(book, cell)
        found = known[cell]
        if isinstance(found, str):
            view.report("unusable-model", "model", row, sentence=found)
            found = ModelMeasures(1e-3, 0.1, 0.01, 0.1, 0.1, 0.1, 0)  # so that what follows is not told again
        else:
            book.models[row] = found
        for name, value in figures_of(found).items():
            if math.isnan(view.table[name][row]):
                view.table[name][row] = value


def _measured(book: PriceBook, cell: str) -> ModelMeasures | str:
    name, unit = named_in(cell)
    try:
        return measure_model(book.path.parent, name, unit)
    except ModelFileError as error:
        return str(error)


def figures_of(model: ModelMeasures) -> dict[str, float]:
    """What a model says of a solid: it stands on its foot, which lies open in the mould; all else is seen [SI].

    >>> figures_of(ModelMeasures(0.01, 1.0, 0.25, 0.5, 0.5, 0.2, 12))["face_area"]
    0.75
    """
    return {
        "volume": model.volume, "face_area": model.area - model.foot_area, "underside_area": model.foot_area,
        "open_side_area": model.foot_area, "release_area": model.area - model.foot_area,
    }
