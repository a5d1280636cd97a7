"""What the demo price books yield stands in the repository, and is what is written today.

Workbooks are compared sheet by sheet and cell by cell, value, formula and number format; pictures are left out (their bytes
depend on the drawing library), and so are document properties. They are read by openpyxl, not by the product's own reader. To write
them anew:
``python tests/test_golden.py``
"""

from __future__ import annotations

import shutil
from pathlib import Path

import openpyxl
import pytest

from pricing.api import price_quotes

WORKBOOKS = Path(__file__).parents[1] / "workbooks"

#: Each demo price book and the folder of what it yields.
DEMOS = {"demo price book.xlsx": "demo", "demo price book imperial.xlsx": "demo imperial"}


def content(path: Path) -> dict[str, object]:
    """Every cell of a workbook, by sheet and address."""
    formulas, results = (openpyxl.load_workbook(path, data_only=stored) for stored in (False, True))
    return {
        f"{sheet.title}!{cell.coordinate}": (results[sheet.title][cell.coordinate].value, cell.value, cell.number_format)
        for sheet in formulas.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    }


def written(source: str, out: Path) -> list[Path]:
    """What a demo price book yields today."""
    priced = price_quotes(WORKBOOKS / source, out=out, breaks=(1, 5, 10, 25))
    assert not priced.problems.errors
    return priced.written


@pytest.mark.parametrize("source", DEMOS)
def test_what_the_demo_yields_is_what_stands_in_the_repository(source: str, tmp_path: Path) -> None:
    """The same files, the same sheets, the same cells."""
    today = written(source, tmp_path)
    folder = WORKBOOKS / DEMOS[source]
    assert sorted(path.name for path in today) == sorted(path.name for path in folder.glob("*.xlsx"))
    for path in today:
        now, then = content(path), content(folder / path.name)
        changed = [cell for cell in {*now, *then} if now.get(cell) != then.get(cell)]
        assert changed == [], f"{path.name}: {len(changed)} cells differ, such as {sorted(changed)[:5]}"


if __name__ == "__main__":
    for book, name in DEMOS.items():
        if (WORKBOOKS / book).exists():
            shutil.rmtree(WORKBOOKS / name, ignore_errors=True)
            written(book, WORKBOOKS / name)
