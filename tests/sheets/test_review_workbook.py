"""The review workbook against the engine, with a spreadsheet program as the referee."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import small_book, write_book
from referee import differences, formulas_of, recalculated_all, stored, with_stored_result
from test_practice import faults

from pricing.algebra.expressions import expression_of
from pricing.register.review_jobs import Reviewed, look_back
from pricing.reports.review.book import signed
from pricing.reports.review.workbook import write_review
from pricing.rules import variances

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"

ACTUALS: list[list[Any]] = [
    ["Quote", "Product", "Item", "Kind", "Quantity", "Cost"],
    ["Q-1", "Slab 1000", "Cast", "step", 1.2, 30], ["Q-1", "", "Sealer", "material", 0.9, 19], ["Q-1", "", "Mixer", "machine", 1, 2],
    ["Q-1", "Slab 1000", "@SUM(A1)", "rejected", 2, None], ["Q-1", "", "Melamine", "mould casts", 6, None],
    ["Q-1", "", "http://crane.invalid", "overhead", 1, 60], ["Q-1", "", "+1-1", "overhead", 1, 5],
]


#: What is left of a difference of amounts that are the same: the 15th digit of amounts of up to thousands [currency].
NOISE = 1e-10


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Reviewed, Path]]:
    """The review of the demo workshop with orders at hand, of a small one, and of jobs or orders alone."""
    folder = tmp_path_factory.mktemp("review")
    small = write_book(folder / "small.xlsx", {**small_book(), "Actuals": ACTUALS})
    found = {}
    for name, source, quotes in (
        ("demo", DEMO, ["Q-1041", "Q-1043", "Q-1042", "Q-1044", "Q-1045"]), ("small", small, None),
        ("ahead", small, ["Q-2"]),
    ):
        looked = look_back(source, quotes=quotes)
        assert looked.book is not None
        assert not looked.problems.errors
        path = folder / f"{name} review.xlsx"
        write_review(looked.book, path, looked.review, looked.proposals, looked.capacity)
        found[name] = looked, path
    return found


@pytest.mark.usefixtures("requires_office")
def test_every_figure_is_what_a_spreadsheet_makes_of_its_formula(made: dict[str, tuple[Reviewed, Path]], tmp_path: Path) -> None:
    """Computed from blank stored results, every cell has the engine's figure; a planted wrong one is noticed."""
    _, path = made["demo"]
    formulas = formulas_of(path)
    assert len(formulas) > 500
    cell = next(cell for (sheet, cell), text in formulas.items() if sheet == "Jobs" and text.startswith("=SUMIF("))
    number = openpyxl.load_workbook(path).sheetnames.index("Jobs") + 1
    planted = tmp_path / "planted.xlsx"
    with_stored_result(path, planted, f"xl/worksheets/sheet{number}.xml", cell, 123.45)
    paths = [each for _, each in made.values()]
    for each, computed in zip((*paths, planted), recalculated_all([*paths, planted]), strict=True):
        wrong = differences(stored(each), computed, NOISE)
        assert [line.split(":")[0] for line in wrong if line.startswith("Jobs!")][:1] == ([f"Jobs!{cell}"] if each == planted else [])
        if each != planted:
            assert wrong == [], each.name


@pytest.mark.parametrize("name", ["demo", "small", "ahead"])
def test_workbooks_keep_good_practice(made: dict[str, tuple[Reviewed, Path]], name: str) -> None:
    """No constants in formulas, no IF in IF, no volatile or late functions, nothing hidden, no links."""
    assert faults(made[name][1]) == []


@pytest.mark.parametrize("name", ["demo", "small", "ahead"])
def test_the_checks_are_zero(made: dict[str, tuple[Reviewed, Path]], name: str) -> None:
    """Each figure by two ways is the same figure."""
    sheet = stored(made[name][1])["Checks"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=7, max_col=4)]
    assert len(rows) >= 2
    for claim, one, other, difference in rows:
        assert one == pytest.approx(other, rel=1e-9, abs=1e-9), claim
        assert difference == 0


def test_it_opens_on_the_sentence_that_matters(made: dict[str, tuple[Reviewed, Path]]) -> None:
    """How many jobs cost more, by how much, because of what; the sign convention; then two pictures."""
    book = stored(made["demo"][1])
    sheet = book[book.sheetnames[0]]
    assert book.active == sheet
    # 89.49 overhead and 80.27 wages for 3.81 h beyond the 48.99 allowed, 19.53 material usage, 7.84 the rest, less 16.50 bought cheaper
    assert sheet["A2"].value == "2 of 2 finished jobs cost more than was allowed; in all 180.63 GBP over."
    assert sheet["A4"].value.startswith("Most of it: overhead time. Actual minus allowed: + is adverse")
    assert len(openpyxl.load_workbook(made["demo"][1])["Summary"]._charts) == 2


def test_the_formulas_are_those_of_the_rules(made: dict[str, tuple[Reviewed, Path]]) -> None:
    """A variance in a cell is the algebra of its rule over the cells of its row."""
    sheet = openpyxl.load_workbook(made["demo"][1])["Items"]
    headings = {str(cell.value).partition("\n")[0]: cell.column_letter for cell in sheet[6] if cell.value}
    usage = expression_of(variances.material_usage_variance).formula({
        "actual_quantity_used": f"{headings['Used']}7", "standard_quantity_allowed": f"{headings['Allowed use']}7",
        "standard_material_price": f"{headings['Standard price']}7",
    })
    assert sheet[f"{headings['Usage variance']}7"].value == f"={usage}"


def test_totals_add_up(made: dict[str, tuple[Reviewed, Path]]) -> None:
    """The row below the jobs holds their sums, and the margins of all of them together."""
    looked, path = made["demo"]
    assert looked.review is not None
    sheet = stored(path)["Jobs"]
    headings = {str(cell.value).partition("\n")[0]: cell.column for cell in sheet[6] if cell.value}
    total = 7 + len(looked.review.jobs)
    assert sheet.cell(total, headings["Over allowance"]).value == pytest.approx(sum(looked.review.job("job_variance")))
    net, cost = (sum(looked.review.job(name)) for name in ("net", "cost_earned"))
    assert sheet.cell(total, headings["Margin earned"]).value == pytest.approx((net - cost) / net)


def test_what_was_typed_is_tinted_and_leads_back(made: dict[str, tuple[Reviewed, Path]]) -> None:
    """Recorded figures are open cells; the proposals name the cell that they would go into."""
    book = openpyxl.load_workbook(made["demo"][1])
    opened = [cell for row in book["Items"].iter_rows() for cell in row if not cell.protection.locked]
    assert len(opened) > 20
    places = {cell.value for row in book["Standards"].iter_rows() for cell in row if isinstance(cell.value, str)}
    assert {proposal.place for proposal in made["demo"][0].proposals} <= places


def test_texts_of_the_book_stay_texts(made: dict[str, tuple[Reviewed, Path]]) -> None:
    """A step or a name that looks like a formula or a link is neither."""
    book = openpyxl.load_workbook(made["small"][1])
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.hyperlink is None
                assert not str(cell.value).startswith(("@", "+")) or cell.data_type == "s"


def test_a_sheet_is_left_out_where_there_is_nothing(made: dict[str, tuple[Reviewed, Path]]) -> None:
    """Jobs without orders have no capacity sheet, orders without jobs open on it."""
    assert openpyxl.load_workbook(made["small"][1]).sheetnames == ["Summary", "Jobs", "Items", "Standards", "Checks"]
    assert openpyxl.load_workbook(made["ahead"][1]).sheetnames == ["Capacity", "Loads", "Checks"]
    assert stored(made["ahead"][1])["Capacity"]["A2"].value == "1 ordered quote: the bottleneck is Hands, with 0.2 weeks of work."


def test_the_same_review_gives_the_same_bytes(made: dict[str, tuple[Reviewed, Path]], tmp_path: Path) -> None:
    """Nothing of the hour or the machine is in the file."""
    looked, path = made["small"]
    assert looked.book is not None
    write_review(looked.book, tmp_path / "again.xlsx", looked.review, looked.proposals, looked.capacity)
    assert (tmp_path / "again.xlsx").read_bytes() == path.read_bytes()


def test_it_never_says_that_something_is_safe_and_defers(made: dict[str, tuple[Reviewed, Path]]) -> None:
    """Tax falls due by local law; curing is not to be shortened."""
    cells = [cell for sheet in stored(made["demo"][1]).worksheets for row in sheet.iter_rows() for cell in row]
    words = " ".join(str(cell.value) for cell in cells if cell.value)
    assert not re.search(r"\b(safe|safely|guarantee\w*)\b", words, re.IGNORECASE)
    assert "ruled by local law" in words
    assert "not to be shortened" in words
    assert "strip early" in words


@pytest.mark.parametrize(("number", "made_of"), [
    ("0.0%", "[>=0.0005]+0.0%;[<=-0.0005]-0.0%;0.0%"), ("#,##0", "[>=0.5]+#,##0;[<=-0.5]-#,##0;#,##0"),
])
def test_signs_stand_before_what_is_shown_as_something(number: str, made_of: str) -> None:
    """What rounds to nothing has no sign."""
    assert signed(number) == made_of
