"""Nesting of panels on whole sheets: nothing overlaps, nothing is lost, and cuts as long as the edges they make."""

from __future__ import annotations

import itertools
import sys
from collections import Counter, defaultdict
from itertools import combinations

import pytest
from cutting_instances import need_solver
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.costing.nesting import guillotine
from pricing.costing.nesting.bounds import Size
from pricing.costing.nesting.nest import Nest, NestingError, Panel, Placement, nest
from pricing.costing.nesting.offcuts import NARROWEST, offcuts
from pricing.costing.nesting.whole_sheets import Sheet, panels_of, sheet_share
from pricing.rules.geometry.shape import Cut

Box = tuple[int, int, int, int]  # nearest and farthest corner in hundredths of a millimetre: x, y, far x, far y


def hundredths(metres: float) -> int:
    return round(metres * 100_000)


def box(place: Placement) -> Box:
    x, y = hundredths(place.x), hundredths(place.y)
    return x, y, x + hundredths(place.length), y + hundredths(place.width)


def by_sheet(plan: Nest) -> dict[int, list[Box]]:
    sheets: dict[int, list[Box]] = defaultdict(list)
    for place in plan.placements:
        sheets[place.sheet].append(box(place))
    return sheets


def check(plan: Nest, panels: list[Panel], trim: float = 0.0) -> None:
    """The referee: everything is placed once, in its own size, inside the sheet, and a kerf from every other panel."""
    by_name = {panel.name: panel for panel in panels}
    assert Counter(place.panel for place in plan.placements) == Counter({panel.name: panel.count for panel in panels if panel.count})
    for place in plan.placements:
        panel = by_name[place.panel]
        sides = (panel.width, panel.length) if place.turned else (panel.length, panel.width)
        assert (place.length, place.width) == sides
        assert panel.rotate or not place.turned
    border, kerf = hundredths(trim), hundredths(plan.kerf)
    length, width = hundredths(plan.sheet_length), hundredths(plan.sheet_width)
    sheets = by_sheet(plan)
    assert sorted(sheets) == list(range(1, plan.sheets + 1))
    for boxes in sheets.values():
        for x, y, far_x, far_y in boxes:
            assert border <= x < far_x <= length - border
            assert border <= y < far_y <= width - border
        for one, two in combinations(boxes, 2):
            assert max(one[0] - two[2], two[0] - one[2], one[1] - two[3], two[1] - one[3]) >= kerf


def through_cuts_do_it(boxes: list[Box]) -> bool:
    """Whether straight cuts from edge to edge, then within each part, set every panel free."""
    if len(boxes) < 2:
        return True
    for axis in (0, 1):
        for line in {one[axis + 2] for one in boxes}:
            low = [one for one in boxes if one[axis + 2] <= line]
            high = [one for one in boxes if one[axis] >= line]
            if high and len(low) + len(high) == len(boxes):
                return through_cuts_do_it(low) and through_cuts_do_it(high)
    return False


SIZES = st.integers(1, 60).map(lambda steps: steps / 20)  # 0.05 m to 3 m
CUT_LISTS = st.lists(st.tuples(SIZES, SIZES, st.integers(1, 4), st.booleans()), min_size=1, max_size=7)


def cut_list(rows: list[tuple[float, float, int, bool]]) -> list[Panel]:
    return [Panel(f"panel {row}", *given) for row, given in enumerate(rows)]


@settings(deadline=None, max_examples=25)
@given(CUT_LISTS, st.sampled_from([0.0, 0.003, 0.0042]), st.sampled_from([0.0, 0.01]))
def test_every_panel_lies_on_a_sheet_a_kerf_from_its_neighbours(
    rows: list[tuple[float, float, int, bool]], kerf: float, trim: float
) -> None:
    """Every panel is placed once, unturned unless it may turn, inside the trimmed sheet, a kerf from the others;
    through cuts alone set the panels free; and the same list gives the same plan."""
    panels = cut_list(rows)
    plan = nest(panels, 3.1, 3.1, kerf, trim, method="guillotine")
    check(plan, panels, trim)
    assert plan.method == "guillotine"
    assert all(through_cuts_do_it(boxes) for boxes in by_sheet(plan).values())
    assert nest(panels, 3.1, 3.1, kerf, trim, method="guillotine") == plan
    area = sum(panel.length * panel.width * panel.count for panel in panels)
    assert plan.used_share == pytest.approx(area / (plan.sheets * 3.1 * 3.1), rel=1e-12)


@settings(deadline=None, max_examples=15)
@given(CUT_LISTS)
def test_leave_to_turn_panels_never_costs_a_sheet(rows: list[tuple[float, float, int, bool]]) -> None:
    """A cut list whose panels may all be turned needs no more sheets than the same list as it lies."""
    turning = [Panel(f"panel {row}", *given[:3], True) for row, given in enumerate(rows)]
    lying = [Panel(panel.name, panel.length, panel.width, panel.count, False) for panel in turning]
    assert nest(turning, 3, 3, method="guillotine").sheets <= nest(lying, 3, 3, method="guillotine").sheets


@settings(deadline=None, max_examples=10)
@given(CUT_LISTS, st.sampled_from([0.0, 0.003]))
def test_the_exact_plan_is_sound_and_never_needs_more_sheets(rows: list[tuple[float, float, int, bool]], kerf: float) -> None:
    """The exact search places everything soundly, on no more sheets than through cuts, the same on every run."""
    need_solver()
    panels = cut_list(rows)
    plan = nest(panels, 3, 3, kerf, method="exact", seconds=0.2)
    check(plan, panels)
    quick = nest(panels, 3, 3, kerf, method="guillotine")
    assert plan.sheets <= quick.sheets
    assert plan.sheets == quick.sheets or not quick.proven
    assert nest(panels, 3, 3, kerf, method="exact", seconds=0.2) == plan


PINWHEEL = [Panel("flat", 2, 1, 2, rotate=False), Panel("tall", 1, 2, 2, rotate=False), Panel("middle", 1, 1, 1)]


def test_a_pinwheel_needs_cuts_that_stop_inside_the_sheet() -> None:
    """Five panels that fill a sheet as a pinwheel need two sheets by through cuts, and one by the exact plan."""
    need_solver()
    quick, exact = (nest(PINWHEEL, 3, 3, kerf=0, method=method) for method in ("guillotine", "auto"))
    assert (quick.sheets, quick.method, quick.proven) == (2, "guillotine", False)
    assert (exact.sheets, exact.method, exact.proven, exact.used_share) == (1, "exact", True, 1.0)
    check(exact, PINWHEEL)
    assert not through_cuts_do_it(by_sheet(exact)[1])


@pytest.mark.parametrize(
    ("panels", "kerf", "trim", "sheets"),
    [
        pytest.param([Panel("whole", 2.0, 1.0, 1)], 0.003, 0.0, 1, id="a whole sheet"),
        pytest.param([Panel("half", 1.0, 1.0, 2)], 0.0, 0.0, 1, id="two halves"),
        pytest.param([Panel("half", 1.0, 1.0, 2)], 0.003, 0.0, 2, id="the kerf leaves one half short"),
        pytest.param([Panel("strip", 2.0, 0.4985, 2)], 0.003, 0.0, 1, id="two strips a kerf apart"),
        pytest.param([Panel("strip", 2.0, 0.45, 2, False)], 0.003, 0.0, 1, id="two strips and an off-cut"),
        pytest.param([Panel("quarter", 1.0, 0.5, 4)], 0.0, 0.0, 1, id="four quarters"),
        pytest.param([Panel("inner", 1.98, 0.98, 1)], 0.003, 0.01, 1, id="a trimmed border"),
        pytest.param([Panel("none", 1.0, 1.0, 0)], 0.003, 0.0, 0, id="nothing to cut"),
    ],
)
def test_sheets_worked_by_hand(panels: list[Panel], kerf: float, trim: float, sheets: int) -> None:
    """How many sheets of 2 m x 1 m a few panels take, worked by hand: the kerf and the trim count."""
    plan = nest(panels, 2.0, 1.0, kerf, trim)
    check(plan, panels, trim)
    assert plan.sheets == sheets
    assert plan.proven


def test_a_large_cut_list_is_nested_well_above_half_of_the_board() -> None:
    """400 panels of a run of slabs use more than 85 % of the board, by through cuts."""
    panels = [Panel("bottom", 0.9, 0.33, 100), Panel("side", 0.96, 0.058, 200), Panel("end", 0.3, 0.058, 100)]
    plan = nest(panels, 2.44, 1.22, method="guillotine")
    check(plan, panels)
    assert plan.used_share > 0.85


@pytest.mark.parametrize(
    ("panels", "given", "words"),
    [
        ([Panel("long side", 2.5, 0.1, 1)], {}, ["long side", "2.5 m", "2 m x 1 m", "larger sheet"]),
        ([Panel("side", 1.5, 0.1, 1), Panel("tall", 0.9, 1.5, 1, False)], {}, ["tall", "must not be turned"]),
        ([Panel("whole", 2.0, 1.0, 1)], {"trim": 0.01}, ["whole", "0.01 m is trimmed"]),
        ([Panel("side", -1.0, 0.1, 1)], {}, ["length", "side", "-1 m"]),
        ([Panel("side", 1.0, float("nan"), 1)], {}, ["width", "side", "nan"]),
        ([Panel("side", 1.0, 0.1, -2)], {}, ["number of panels", "side", "-2"]),
        ([Panel("side", 0.1, 0.1, 9999)], {}, ["9999 panels", "order by order"]),
        ([Panel("side", 1.0, 0.1, 1)], {"kerf": -0.003}, ["kerf", "-0.003"]),
        ([Panel("side", 1.0, 0.1, 1)], {"trim": 0.6}, ["border", "0.6"]),
        ([Panel("side", 1.0, 0.1, 1)], {"method": "best"}, ["best", "guillotine"]),
        ([Panel("side", 1.0, 0.1, 1)], {"seconds": 0.0}, ["0 s", "more than"]),
    ],
)
def test_what_cannot_be_nested_is_refused_with_a_sentence(panels: list[Panel], given: dict[str, object], words: list[str]) -> None:
    """Each refusal is one sentence that names the panel or the setting, its value, and what would do."""
    with pytest.raises(NestingError) as refused:
        nest(panels, 2.0, 1.0, **given)  # type: ignore[arg-type]
    for word in words:
        assert word in str(refused.value)
    assert str(refused.value).endswith(".")


def test_without_the_solver_the_exact_plan_is_refused_and_the_rest_works(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where ortools is absent, `exact` says what to install, and `auto` gives the plan by through cuts, unproven."""
    monkeypatch.setitem(sys.modules, "ortools.sat.python.cp_model", None)
    with pytest.raises(NestingError, match=r"ortools.*not installed.*guillotine"):
        nest(PINWHEEL, 3, 3, kerf=0, method="exact")
    plan = nest(PINWHEEL, 3, 3, kerf=0)
    assert (plan.sheets, plan.method, plan.proven) == (2, "guillotine", False)


@settings(max_examples=60, deadline=None, derandomize=True, database=None)
@given(st.lists(st.tuples(st.integers(2, 20), st.integers(2, 12), st.integers(1, 4)), min_size=1, max_size=8))
def test_offcuts_lie_between_the_panels(sizes: list[tuple[int, int, int]]) -> None:
    """None overlaps a panel or another offcut, each lies on the sheet and is wide enough to keep."""
    plan = nest([Panel(str(number), a / 10, b / 10, count) for number, (a, b, count) in enumerate(sizes)], 2.44, 1.22, method="guillotine")
    for sheet in range(1, plan.sheets + 1):
        left = offcuts(plan, sheet)
        taken = [(place.x, place.y, place.length, place.width) for place in plan.placements if place.sheet == sheet]
        for each in left:
            assert min(each.length, each.width) >= NARROWEST
            assert each.x >= 0
            assert each.y >= 0
            assert each.x + each.length <= 2.44 + 1e-9
            assert each.y + each.width <= 1.22 + 1e-9
            for x, y, length, width in taken:
                assert min(x + length, each.x + each.length) - max(x, each.x) <= 1e-9 or \
                    min(y + width, each.y + each.width) - max(y, each.y) <= 1e-9
            taken.append((each.x, each.y, each.length, each.width))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.floats(0.05, 1.2), st.floats(0.05, 0.9), st.integers(1, 3)), min_size=1, max_size=4), st.integers(1, 40))
def test_what_a_mould_pays_of_whole_sheets_buys_what_is_cut(sizes: list[tuple[float, float, int]], moulds: int) -> None:
    """The sheets that moulds are charged are whole, at least their panels' area, and no fewer than the cutting plan needs."""
    cuts = [Cut(f"panel {number}", length, width, count) for number, (length, width, count) in enumerate(sizes)]
    sheet = Sheet(2.44, 1.22)
    charged = sheet_share(cuts, moulds, sheet) * moulds / sheet.area
    assert charged == pytest.approx(round(charged), rel=1e-12)
    assert charged * sheet.area >= sum(cut.length * cut.width * cut.count for cut in cuts) * moulds * (1 - 1e-12)
    if moulds * sum(cut.count for cut in cuts) <= 30:
        assert nest(panels_of(cuts, moulds), sheet.length, sheet.width, method="guillotine").sheets <= round(charged)


@pytest.mark.parametrize(("sides", "moulds", "sheets"), [
    ((0.34, 0.37, 0.08), 37, 4), ((0.32, 0.20, 0.06), 20, 1), ((0.80, 0.56, 0.04), 60, 12), ((0.63, 0.43, 0.03), 20, 3),
])
def test_many_moulds_are_cut_as_a_maker_cuts_them(sides: tuple[float, float, float], moulds: int, sheets: int) -> None:
    """As many moulds from each sheet, or each two or three, as go in; a plan of them all, tried at length, needs no fewer sheets."""
    length, width, depth = sides
    cuts = [Cut("base", length, width, 1), Cut("side", length, depth, 2), Cut("end", width, depth, 2)]
    sheet = Sheet(2.44, 1.22)
    assert sheet_share(cuts, moulds, sheet) * moulds == pytest.approx(sheets * sheet.area, rel=1e-12)
    if moulds < 40:
        assert nest(panels_of(cuts, moulds), sheet.length, sheet.width, method="guillotine").sheets >= sheets


def test_a_free_rectangle_is_measured_once_for_each_size_of_panel(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice as many panels of the same two sizes are measured little more than twice as often."""
    measured: Counter[int] = Counter()
    score = guillotine._score

    def counted(choice: str, free: guillotine.Free, along: int, across: int) -> tuple[int, ...]:
        measured[each] += 1
        return score(choice, free, along, across)

    monkeypatch.setattr(guillotine, "_score", counted)
    for each in (40, 80):
        sizes = [Size(60, 35, True), Size(41, 7, True)] * each
        for choice in ("area", "first sheet"):
            guillotine.one_plan(sizes, 250, 125, range(len(sizes)), choice, "short")
    assert measured[80] < 2.5 * measured[40]


def test_more_moulds_never_take_fewer_sheets() -> None:
    """From one mould to two hundred, and each takes no more than its own sheet more."""
    cuts, sheet = [Cut("base", 0.61, 0.37, 1), Cut("side", 0.61, 0.09, 2), Cut("end", 0.37, 0.09, 2)], Sheet(2.44, 1.22)
    taken = [round(sheet_share(cuts, moulds, sheet) * moulds / sheet.area) for moulds in range(1, 201)]
    assert all(fewer <= more <= fewer + 1 for fewer, more in itertools.pairwise(taken))
