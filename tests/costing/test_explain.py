"""Why a figure is what it is: a tree whose every number follows from what stands below it, down to the price book."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import set_cell, small_book, write_book
from spreadsheet_formula import FUNCTIONS, formula_value

from pricing import cost_quotes, explain, load_price_book
from pricing.algebra.expressions import expression_of
from pricing.algebra.simplify import simplified, worth
from pricing.costing.engine.columns import Computed
from pricing.costing.explain.explain import Explainer
from pricing.costing.explain.figure_names import ExplainError, figures
from pricing.costing.explain.text import as_text
from pricing.costing.explain.trace import ABOVE, DEEPER, TYPED, UNUSED, Trace, opened, origin
from pricing.costing.method.costing import Costing

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_book(tmp_path_factory.mktemp("explain") / "small.xlsx", small_book())


@pytest.fixture(scope="module")
def costing(book: Path) -> Costing:
    return cost_quotes(load_price_book(book))


@pytest.fixture(scope="module")
def demo() -> Costing:
    return cost_quotes(load_price_book(DEMO))


@pytest.fixture(scope="module")
def learned(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """What a book may ask for besides: learning, interest, board by whole sheets; pieces with a mould."""
    sheets = small_book()
    sheets["Enquiries"] = [row for row in sheets["Enquiries"] if row[3] != "Block"]
    sheets["Labour"][0].append("Learning")
    for row in sheets["Labour"][1:]:
        row.append("90 %" if row[1] in ("Cast", "Grind") else None)
    sheets["Machines"][0].append("Hours per year")
    sheets["Machines"][1].append(400)
    sheets["Workshop"] += [["Interest rate", "5 %", None], ["Board bought by", "sheets", None]]
    return cost_quotes(load_price_book(write_book(tmp_path_factory.mktemp("learned") / "learned.xlsx", sheets)))


def everything(costing: Costing) -> list[Trace]:
    """Every figure below any figure of any line or quote, each once."""
    explainer = Explainer(costing)
    found: dict[Any, Trace] = {}
    for table, names in figures(costing.model).items():
        for row in range(costing.model.tables[table].count):
            for name in names:
                found |= {trace.key: trace for trace in explainer.trace(table, name, row).all()}
    return list(found.values())


def recomputed(costing: Costing, trace: Trace) -> float:
    """What the children of a figure come to, by the kind of the figure: a rule is read as a formula by another reader."""
    values = [child.value for child in trace.children]
    if trace.kind == "summed":
        return sum(values)
    if trace.kind in ("fetched", "picked"):
        (value,) = values
        return value
    if trace.kind == "ranked":
        own = next(place for place, child in enumerate(trace.children) if child.row == trace.row)
        return float(sum(value > values[own] or (value == values[own] and place < own) for place, value in enumerate(values)))
    if trace.kind == "banded":
        measured, upper, found = values
        assert measured <= upper
        return found
    column = costing.model.column(trace.table, trace.name)
    assert isinstance(column, Computed)
    cells = {name: f"A{number}" for number, name in enumerate((child.name for child in trace.children), 1)}
    formula = expression_of(column.rule).formula(cells)
    if not set(re.findall(r"[A-Z]+(?=\()", formula)) <= {"IF", *FUNCTIONS}:  # the functions of learning and of interest
        return worth(expression_of(column.rule), {child.name: child.value for child in trace.children})
    return formula_value(formula, {cells[child.name]: child.value for child in trace.children})


# every number of every tree


@pytest.mark.parametrize("which", ["costing", "learned", "demo"])
def test_every_figure_follows_from_its_children(which: str, request: pytest.FixtureRequest) -> None:
    """Recomputed from the figures below it, each figure of each tree comes to the value that it shows."""
    costing: Costing = request.getfixturevalue(which)
    traces = everything(costing)
    made = [trace for trace in traces if trace.children]
    assert len(made) > 500
    shared = {"ranked"} if which == "demo" else set()  # what the parts of a set have of its price
    assert {trace.kind for trace in traces} == {"typed", "setting", "worked out", "fetched", "summed", "picked", "banded", *shared}
    for trace in made:
        assert recomputed(costing, trace) == pytest.approx(trace.value, rel=1e-12, abs=1e-15), trace.key
    for trace in traces:
        assert trace.value == float(costing.values.value(trace.table, trace.name)[trace.row])


def test_a_sum_has_all_its_parts_and_a_link_leads_to_the_right_row(costing: Costing) -> None:
    """The parts of a sum are the rows that name it; a fetched figure comes from the row that its key names."""
    steps = costing.model.tables["steps"]
    for line in range(4):
        labour = explain(costing, str(costing.lines.quote[line]), line % 2 + 1, "labour")
        assert [child.row for child in labour.children] == [row for row in range(steps.count) if steps.given["line"][row] == line + 1]
    price = explain(costing, "Q-2", 2, "mix_price")
    assert price.of == "Slab 1000"
    assert (price.children[0].table, price.children[0].of) == ("mixes", "Dark")
    assert {child.of for child in price.children[0].children} == {"Cement", "Sand", "Water", "Black", "Flow"}


def test_what_is_told_shorter_comes_to_the_same(costing: Costing) -> None:
    """Without what its row settles, a formula still gives the figure, and names nothing that was left out."""
    shorter, explainer = 0, Explainer(costing)
    for trace in everything(costing):
        column = costing.model.column(trace.table, trace.name)
        if trace.kind == "worked out" and isinstance(column, Computed):
            values = {child.name: child.value for child in trace.children}
            settled = {child.name: child.value for child in trace.children if explainer.is_settled(child)}
            here = simplified(expression_of(column.rule), settled)
            told = {name: value for name, value in values.items() if name not in trace.hidden}
            assert set(here.names()) == set(told)
            assert worth(here, told) == pytest.approx(trace.value, rel=1e-12, abs=1e-15)
            shorter += bool(trace.hidden)
    assert shorter > 50


_IN_WORDS = re.compile(r"\b(?:if|rounded|larger|smaller|whole|zero|root|sign|logarithm|power)\b")


def test_the_numbers_of_a_formula_can_be_added_up_by_eye(costing: Costing) -> None:
    """The formula with figures, typed into a calculator as it stands, gives the figure to the digits shown."""
    read = 0
    for trace in everything(costing):
        if trace.kind != "worked out" or not trace.numbers or _IN_WORDS.search(trace.numbers):
            continue
        text = trace.numbers
        for child in sorted(trace.children, key=lambda child: -len(child.amount)):
            plain = child.shown.replace(",", "").replace("−", "-")
            figure = plain if not child.unit.startswith("%") else f"{float(plain) / 100:.15g}"
            for shown in (f"{child.shown} {child.unit}", child.shown) if child.unit else (child.shown,):
                text = re.sub(rf"(?<![\d.,]){re.escape(shown)}(?![\d.,])", figure, text)
        for sign, typed in (("×", "*"), ("÷", "/"), ("−", "-"), ("π", "PI()")):
            text = text.replace(sign, typed)
        shown = formula_value(text, {})
        assert shown == pytest.approx(trace.value, rel=5e-3, abs=5e-3), (trace.key, trace.numbers)
        read += 1
    assert read > 300


# the cells of the price book


def meant(sheet: Any, cell: str) -> float:
    """What a cell of the small book means in the unit of the model, read by another library and by its heading."""
    value = sheet[cell].value
    heading = str(sheet[re.sub(r"\d+", "1", cell)].value)
    setting = str(sheet["A" + re.sub(r"\D+", "", cell)].value)
    words = {"yes": 1.0, "no": 0.0, "stock": 1.0, "order": 0.0, "up": 1.0, "nearest": 0.0, "area": 0.0}
    if isinstance(value, str) and value in words:
        return words[value]
    if isinstance(value, str) and value.endswith("%"):
        return float(value[:-1]) / 100
    assert isinstance(value, (int, float)), (sheet.title, cell, heading, setting, value)
    return float(value) * (1e-3 if "(mm)" in heading or "(L)" in heading else 1.0)


def test_every_leaf_has_its_cell_or_was_settled_on_reading(costing: Costing) -> None:
    """A figure that is made of nothing stands in a cell of the price book, or says what it follows from."""
    leaves = [trace for trace in everything(costing) if not trace.children]
    assert len([trace for trace in leaves if trace.place]) > 80
    for trace in leaves:
        assert bool(trace.place) != trace.resolved
        assert trace.kind in ("typed", "setting", "summed")
        assert trace.words
        if trace.resolved:
            assert trace.words != TYPED
            assert trace.place == ""


def test_places_point_at_the_cell_that_holds_the_value(book: Path, costing: Costing) -> None:
    """Read back with another library, the cell that a figure names holds that figure, or nothing where it says so."""
    sheets = openpyxl.load_workbook(book)
    looked_at: Counter[str] = Counter()
    for trace in everything(costing):
        if trace.place:
            name, _, cell = trace.place.partition("!")
            looked_at[name] += 1
            if trace.words.startswith("left blank"):
                assert sheets[name][cell].value is None
            else:
                assert trace.words == TYPED
                assert meant(sheets[name], cell) == pytest.approx(trace.value, rel=1e-12), trace.place
    assert set(looked_at) == {
        "Workshop", "Materials", "Mixes", "Trades", "Machines", "Labour", "Moulds", "Finishes", "Products", "Extras", "Customers",
        "Delivery", "Enquiries",
    }


# by hand, with the round figures of the small book

#: Of four slabs from one mould: setting out, building, casting 4 / 0.95 with a load and, but for the first, a refit each, finishing,
#: packing.
HOURS_OF_A_SLAB = (
    (30 + 60 + 10 * (0.5 + 2 * 1.036 * 0.058 + 2 * 0.5 * 0.058)) / 4 + (12 + 15) / 0.95 + 6 * (4 / 0.95 - 1) / 4
    + (20 * 0.5 + 6 * 3.16) / 0.95 + 10 * 0.62 + 5
) / 60

BY_HAND: list[tuple[str, int, str, str, str, float, list[str]]] = [
    ("Q-1", 1, "cast_volume", "length × width × thickness", "1.000 m × 0.500 m × 0.040 m", 0.02,
     ["Products!D2", "Products!E2", "Products!F2"]),
    ("Q-2", 2, "cast_volume", "length × width × thickness", "1.200 m × 0.500 m × 0.040 m", 0.024,
     ["Enquiries!F5", "Products!E2", "Products!F2"]),
    ("Q-1", 1, "casts", "quantity ÷ (1 − rejects)", "4 pieces ÷ (1 − 5 %)", 4 / 0.95, ["Enquiries!E2", "Products!N2"]),
    ("Q-1", 1, "overhead", "overhead rate × labour hours", "10.00 × 1.652 h", 10 * HOURS_OF_A_SLAB, []),
    ("Q-1", 1, "per_line", "1 ÷ quantity", "1 ÷ 4 pieces", 0.25, ["Enquiries!E2"]),
    ("Q-1", 1, "discounted_net", "net × (1 − customer's discount)", "464.00 × (1 − 0 %)", 464.0, ["Customers!C2"]),
    ("Q-2", 1, "line_net", "quantity × unit price, rounded to 2 places", "12 pieces × 95.00, rounded to 2 places", 1140.0,
     ["Enquiries!E4", "Products!Q4"]),
]


@pytest.mark.parametrize(("quote", "line", "figure", "words", "numbers", "value", "places"), BY_HAND)
def test_a_figure_is_told_as_one_would_tell_it(
    costing: Costing, quote: str, line: int, figure: str, words: str, numbers: str, value: float, places: list[str]
) -> None:
    """Formula in words, formula with figures, value, and the cells of what it was made of."""
    trace = origin(explain(costing, quote, line, figure))
    assert (trace.words, trace.numbers) == (words, numbers)
    assert trace.value == pytest.approx(value, rel=1e-12)
    assert [place for place in (origin(child).place for child in trace.children) if place] == places


def test_a_typed_price_is_explained_by_its_cell(costing: Costing) -> None:
    """Where the enquiry or the list gives the price, the tree is that cell; what would have been charged is left out."""
    for line, place in ((1, "Products!Q4"), (2, "Enquiries!H5")):
        (only,) = opened(explain(costing, "Q-2", line))
        assert (only.first.name, only.trace.place) == ("unit_price", place)


def test_flags_read_as_yes_and_no(costing: Costing) -> None:
    """A question that the price book answers is asked as one."""
    steps = explain(costing, "Q-1", 1, "whole_steps")
    assert steps.numbers == "115.6655 steps, up to a whole number"
    assert (steps.children[0].shown, steps.children[0].place) == ("yes", "Workshop!B10")


# the tree as it is shown


def keys(lines: Iterable[Any]) -> list[Any]:
    return [line.trace.key for line in lines]


def test_what_several_figures_rest_on_is_opened_once(costing: Costing) -> None:
    """A figure met again is referred to; nothing is opened twice, and what is referred to stands above."""
    lines = list(opened(explain(costing, "Q-1", 1)))
    open_keys = keys(line for line in lines if not line.note and line.trace.children)
    assert len(open_keys) == len(set(open_keys))
    seen = set()
    for line in lines:
        if line.note == ABOVE:
            assert line.trace.key in seen
        elif not line.note:
            seen.add(line.trace.key)
    assert any(line.note == ABOVE for line in lines)


def test_every_cell_that_matters_is_reached(costing: Costing) -> None:
    """The tree that is shown names every cell of the price book that the price of the line moves with."""
    shown = {line.trace.place for line in opened(explain(costing, "Q-1", 1)) if line.trace.place and line.note != UNUSED}
    moving = {
        "Materials!E2", "Materials!E3", "Materials!E4", "Mixes!C2", "Mixes!C5", "Trades!B2", "Trades!B3", "Labour!D6", "Products!D2",
        "Products!N2", "Enquiries!E2", "Workshop!B6", "Workshop!B8", "Workshop!B14", "Materials!E7", "Materials!G7", "Materials!J7",
        "Moulds!C2", "Moulds!K2", "Machines!B2", "Workshop!B16", "Finishes!C2", "Materials!E12",
    }
    assert moving <= shown
    assert not shown & {"Materials!E13", "Extras!C2", "Products!Q4"}


@pytest.mark.parametrize("depth", [0, 1, 3])
def test_a_tree_ends_at_the_depth_asked_for(costing: Costing, depth: int) -> None:
    """No line stands deeper, and what goes on below says so."""
    lines = list(opened(explain(costing, "Q-1", 1), depth))
    assert max(line.depth for line in lines) == depth
    assert any(line.note == DEEPER for line in lines)


def test_the_parts_of_a_sum_stand_largest_first_and_zeros_are_counted(costing: Costing) -> None:
    """Nine steps, two of which build the mould: seven are shown, in order of size, and the formula says that two are zero."""
    labour = explain(costing, "Q-1", 1, "labour")
    lines = [line for line in opened(labour, 1) if line.depth == 1]
    values = [line.first.value for line in lines]
    assert len(labour.children) == 9
    assert values == sorted(values, reverse=True)
    assert len(values) == 7
    assert all(values)
    assert labour.numbers.endswith(" + 1 smaller + 2 of zero")


def test_a_factor_of_zero_is_not_opened(costing: Costing) -> None:
    """A piece without a mould: what its mould would cost makes no difference, and is not explained."""
    lines = list(opened(explain(costing, "Q-2", 1, "mould")))
    assert {line.first.name for line in lines if line.note == UNUSED} >= {"board_price", "joint_cost", "moulds_charged"}
    assert not any(line.first.name == "sealant_price" for line in lines)


@pytest.mark.parametrize("width", [80, 100, 120])
def test_the_text_keeps_to_its_width(costing: Costing, width: int) -> None:
    """Each line of the text fits, and every figure of the tree has its value in it."""
    trace = explain(costing, "Q-1", 1)
    text = as_text(trace, None, width)
    assert max(map(len, text)) <= width
    assert text[0].startswith("Unit price (Slab 1000) ...")
    assert text[0].endswith("116.00 EUR")
    assert text[1] == "  = whole steps × price step, rounded to 2 places"
    told = iter(text)
    for line in opened(trace):
        assert any(f" {line.first.amount}" in f"{part} " for part in told), line.first.label


def test_json_holds_the_whole_tree_once(costing: Costing) -> None:
    """Below each figure its parts where it is met first; a figure met again says so and is not repeated."""
    trace = explain(costing, "Q-1", 1)
    found: Counter[tuple[str, int, str]] = Counter()

    def count(node: dict[str, Any]) -> None:
        assert bool(node["children"]) != (node["repeated"] or node["kind"] in ("typed", "setting") or node["resolved"])
        if node["children"]:
            found[node["table"], node["row"], node["figure"]] += 1
        for child in node["children"]:
            count(child)

    count(trace.as_json())
    assert max(found.values()) == 1
    assert trace.as_json(0)["children"] == []


# what is asked for

SPELLINGS: list[tuple[int | None, str, str, str]] = [
    (1, "unit_price", "lines", "unit_price"), (1, "Unit price", "lines", "unit_price"), (1, "UNIT COST", "lines", "unit_cost"),
    (1, "concrete", "lines", "concrete_cost"), (1, "Labour", "lines", "labour_cost"), (1, "machine", "lines", "machine_cost"),
    (1, "volume_m3", "lines", "cast_volume"), (1, "mass_kg", "lines", "mass"), (1, "margin_after_discount", "lines", "discounted_margin"),
    (1, "net", "lines", "line_net"), (None, "net", "quotes", "net"), (1, "cost", "lines", "line_cost"),
    (None, "cost", "quotes", "quote_cost"), (1, "margin", "lines", "line_margin"), (None, "margin", "quotes", "quote_margin"),
    (1, "payable", "quotes", "payable"), (None, "Total with tax", "quotes", "gross"), (None, "mass_kg", "quotes", "quote_mass"),
    (None, "unit_cost", "lines", "unit_cost"), (None, "contribution", "lines", "contribution"), (1, "discount", "quotes", "discount"),
    (1, "Price of a m³", "lines", "mix_price"),
]


@pytest.mark.parametrize(("line", "figure", "table", "name"), SPELLINGS)
def test_a_figure_is_found_by_name_by_label_and_by_its_name_in_json(
    costing: Costing, line: int | None, figure: str, table: str, name: str
) -> None:
    """Letter case makes no difference; what a line and its quote both have is the line's where a line is named."""
    trace = explain(costing, "q-1", line, figure)
    assert (trace.table, trace.name, trace.row) == (table, name, 0)


def test_lines_are_counted_within_their_quote(costing: Costing) -> None:
    """The second line of the second quote is the fourth of the model."""
    assert explain(costing, "Q-2", 2).row == 3
    assert explain(costing, "Q-2", 2, "payable").row == 1


UNKNOWN: list[tuple[str, int | None, str, list[str]]] = [
    ("Q-9", 1, "unit_price", ['no quote "Q-9"', "Q-1", "Q-2"]),
    ("Q-1", 3, "unit_price", ["Q-1 has no line 3; its lines are 1 and 2"]),
    ("Q-1", 0, "unit_price", ["Q-1 has no line 0"]),
    ("Q-1", 1, "unitprice", ['no figure "unitprice"', "unit_price"]),
    ("Q-1", 1, "Target prise", ['no figure "Target prise"', "target_price"]),
    ("Q-1", 1, "total cost", ['no figure "total cost"', "_cost"]),
    ("Q-1", 1, "customer", ['"customer" is a word']),
    ("Q-1", 1, "zzz", ['no figure "zzz"', "unit_cost", "payable"]),
    ("Q-1", 1, "", ['no figure ""', "unit_cost"]),
]


@pytest.mark.parametrize(("quote", "line", "figure", "said"), UNKNOWN)
def test_what_is_not_there_is_refused_with_what_is(costing: Costing, quote: str, line: int | None, figure: str, said: list[str]) -> None:
    """One sentence that names what was asked for, and what is near it."""
    with pytest.raises(ExplainError) as refusal:
        explain(costing, quote, line, figure)
    assert all(word in str(refusal.value) for word in said), str(refusal.value)


def test_a_changed_cell_shows_in_the_tree(tmp_path: Path) -> None:
    """A spacing left blank is told as left blank; a longer lip shows its new length."""
    sheets = small_book()
    set_cell(sheets, "Moulds", "Melamine", "Refit every", None)
    set_cell(sheets, "Moulds", "Melamine", "Refit minutes", None)
    set_cell(sheets, "Products", "Shelf 800", "Drop", 60)
    changed = cost_quotes(load_price_book(write_book(tmp_path / "changed.xlsx", sheets)))
    found = {trace.key: trace for trace in explain(changed, "Q-1", 2).all()}
    refit = next(trace for trace in found.values() if trace.name == "refit_every" and not trace.children)
    assert (refit.place, refit.words) == ("Moulds!J2", "left blank in the price book: 0 stands")
    drop = next(trace for trace in found.values() if trace.name == "drop")
    assert (drop.amount, drop.place) == ("0.060 m", "Products!G3")
