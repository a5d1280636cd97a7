"""What the maker should look at is told with the cell in which it stands, whatever it is called."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from books import small_book, write_book

from pricing.book.reading.read import load_price_book
from pricing.costing.run import cost_quotes


@pytest.mark.parametrize("name", ["Dark", "Dark [coarse]", "Dark [2026-01-01]", "[Dark", "Dark [a] [b]"])
@pytest.mark.parametrize("several_prices", [False, True])
def test_an_odd_mix_is_told_by_its_name_and_cell(name: str, several_prices: bool, tmp_path: Path) -> None:
    """A mix whose name holds a bracket has its cell like any other, also where lines of several days have prices of their own."""
    sheets = small_book()
    for sheet, column in (("Mixes", 0), ("Products", 9), ("Enquiries", 6)):
        for row in sheets[sheet]:
            row[column] = name if row[column] == "Dark" else row[column]
    sheets["Mixes"][8][2] = "15 %"
    if several_prices:
        sheets["Materials"].append([*sheets["Materials"][1][:4], 11, *sheets["Materials"][1][5:13], datetime.date(2026, 3, 1)])
        dates = [datetime.date(2026, 2, 1), datetime.date(2026, 3, 2)]
        day = sheets["Enquiries"][0].index("Date")
        for row in sheets["Enquiries"][1:]:
            row[day] = dates[row[0] != sheets["Enquiries"][1][0]]
    costing = cost_quotes(load_price_book(write_book(tmp_path / "small.xlsx", sheets)))
    assert any("[2026-" in each for each in costing.model.tables["mixes"].text["mix"].tolist()) == (several_prices or "2026" in name)
    (problem,) = {problem for problem in costing.problems if problem.code == "much-pigment"}
    assert (problem.sheet, problem.cell) == ("Mixes", "A6")
    assert problem.message.startswith(f'mix "{name}": pigment is 15.0% of the binder')
