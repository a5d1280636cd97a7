"""The rules of learning, machines, variances, bottlenecks and overheads, read the other two ways."""

from __future__ import annotations

import inspect
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pint
import pytest
import xlsxwriter

from pricing.algebra.expressions import evaluate, expression_of, inputs_of
from pricing.glossary import GLOSSARY
from pricing.rules import bottleneck, learning, machines, overheads, variances
from pricing.units import registry

MODULES = (bottleneck, learning, machines, overheads, variances)
RULES: list[Callable[..., Any]] = [
    rule
    for module in MODULES
    for name, rule in inspect.getmembers(module, inspect.isfunction)
    if rule.__module__ == module.__name__ and name in GLOSSARY
]
DRAWS = 12

#: Always compute, never trust stored results: the setting of the referee's private profile.
PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>"""


def by_name(rule: Callable[..., Any]) -> str:
    return rule.__name__


def some_values(rule: Callable[..., Any]) -> dict[str, np.ndarray]:
    """Figures within the bounds of the glossary, the same in every run; a run of repetitions has one or more."""
    values = {}
    for place, name in enumerate(inputs_of(rule)):
        entry = GLOSSARY[name]
        low = max(entry.lower, 1.0 if name == "repetitions" else -20.0)
        high = min(entry.upper, 60.0)
        drawn = np.random.default_rng([place, len(name)]).uniform(low, high, DRAWS)
        whole = name == "cumulative_average"
        values[name] = np.array([float(f"{figure:.15g}") for figure in (drawn.round() if whole else drawn)])
    if "repetitions" in values:
        values["repetitions"][-2:] = 1000.25, 20_000.5
    return values


def test_no_rule_is_overlooked() -> None:
    """The modules hold the rules that this file reads, and each module has some."""
    assert {rule.__module__ for rule in RULES} == {module.__name__ for module in MODULES}
    assert len(RULES) > 15


@pytest.mark.parametrize("rule", RULES, ids=by_name)
def test_units_work_out(rule: Callable[..., Any]) -> None:
    """Every rule, read with quantities in the units of the glossary, yields the unit of its own name."""
    units = registry()
    values = {
        name: units.Quantity(2.0 if GLOSSARY[name].upper > 2 else 0.6, GLOSSARY[name].unit) for name in inputs_of(rule)
    }
    result = units.Quantity(evaluate(rule, values))
    assert result.check(units.Quantity(1, GLOSSARY[rule.__name__].unit).dimensionality), (
        f"{rule.__name__}: {result.units}"
    )


def test_a_unit_that_does_not_work_out_is_found() -> None:
    """The unit reading is not empty: hours where a price belongs are noticed."""
    units = registry()
    with pytest.raises(pint.DimensionalityError):
        machines.machine_rate(*(units.Quantity(2.0, "hour") for _ in range(6)))


@pytest.mark.parametrize("rule", RULES, ids=by_name)
def test_docstrings_name_what_the_rule_takes_and_gives(rule: Callable[..., Any]) -> None:
    """The docstring of a rule names each parameter and the result, and the result's unit."""
    text = inspect.getdoc(rule) or ""
    for name in (*inputs_of(rule), rule.__name__):
        assert name in text, f"{rule.__name__} does not speak of {name}"
    assert f"{rule.__name__} [{GLOSSARY[rule.__name__].unit}]" in text


@pytest.mark.parametrize("rule", RULES, ids=by_name)
def test_formulas_are_short(rule: Callable[..., Any]) -> None:
    """The spreadsheet formula of a rule has at most 120 characters with cells of three, and no volatile function."""
    formula = expression_of(rule).formula(dict.fromkeys(inputs_of(rule), "B12"))
    assert len(formula) <= 120
    assert not any(word in formula for word in ("INDIRECT", "OFFSET", "RAND", "NOW("))


@pytest.fixture(scope="module")
def computed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[float]]:
    """What a spreadsheet program makes of the formulas of all rules, for the same figures."""
    program = shutil.which("soffice")
    if program is None:
        pytest.skip("LibreOffice is not installed: the spreadsheet reading has no referee here")
    folder = tmp_path_factory.mktemp("cells")
    profile = folder / "profile" / "user"
    profile.mkdir(parents=True)
    (profile / "registrymodifications.xcu").write_text(PROFILE)
    with xlsxwriter.Workbook(folder / "rules.xlsx") as book:
        for number, rule in enumerate(RULES):
            sheet = book.add_worksheet(f"rule {number}")
            cells = {name: chr(ord("A") + place) for place, name in enumerate(inputs_of(rule))}
            values = some_values(rule)
            for row in range(DRAWS):
                for place, name in enumerate(values):
                    sheet.write_number(row, place, values[name][row])
                at = {name: f"{column}{row + 1}" for name, column in cells.items()}
                sheet.write_formula(row, len(cells), "=" + expression_of(rule).formula(at), None, -12345)
    subprocess.run(
        [program, f"-env:UserInstallation={profile.parent.as_uri()}", "--headless", "--convert-to", "xlsx",
         "--outdir", str(folder / "out"), str(folder / "rules.xlsx")],
        check=True, capture_output=True, timeout=120,
    )
    read = openpyxl.load_workbook(Path(folder, "out", "rules.xlsx"), data_only=True)
    return {
        rule.__name__: [row[len(inputs_of(rule))] for row in read[f"rule {number}"].iter_rows(values_only=True)]
        for number, rule in enumerate(RULES)
    }


@pytest.mark.parametrize("rule", RULES, ids=by_name)
def test_cells_and_arrays_agree(rule: Callable[..., Any], computed: dict[str, list[float]]) -> None:
    """A spreadsheet program computes the same number from the rule's formula as the engine does over arrays."""
    expected = np.broadcast_to(evaluate(rule, some_values(rule)), DRAWS)
    assert computed[rule.__name__] == pytest.approx(expected, rel=1e-12, abs=1e-300)
