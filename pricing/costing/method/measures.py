"""What lines are priced by, whether the model knows of measures or not."""

from __future__ import annotations

import numpy as np

from pricing.costing.engine.evaluation import Evaluation
from pricing.costing.engine.packed_columns import Floats


def _has_measures(values: Evaluation) -> bool:
    return values.model.column("lines", "measure_each") is not None


def measures_each(values: Evaluation) -> Floats:
    """How much of what it is priced by is in one piece of each line; 1 where it is priced by the piece."""
    return values.value("lines", "measure_each") if _has_measures(values) else np.ones(values.model.tables["lines"].count)


def measure_prices(values: Evaluation) -> Floats:
    """The price of one of what each line is priced by [currency]."""
    return values.value("lines", "measure_price" if _has_measures(values) else "unit_price")
