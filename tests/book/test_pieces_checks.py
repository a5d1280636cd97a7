"""What cannot be of cut-outs, outlines, layers, steel and models is told with its cell and its remedy, all in one pass."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import trimesh
from books import write_book
from pieces_book import pieces_book

from pricing.book.reading.read import read_price_book

Sheets = dict[str, list[list[Any]]]

#: The place of a column in a sheet of the book, by its heading.
def column(sheets: Sheets, sheet: str, heading: str) -> int:
    return next(number for number, text in enumerate(sheets[sheet][0]) if str(text).partition(" (")[0] == heading)


def changed(sheet: str, row: int, **cells: Any) -> Sheets:
    """The workshop with some cells of a row changed; rows are counted as the spreadsheet counts them."""
    sheets = pieces_book()
    while len(sheets[sheet]) < row:
        sheets[sheet].append([None] * len(sheets[sheet][0]))
    for heading, value in cells.items():
        sheets[sheet][row - 1][column(sheets, sheet, heading.replace("_", " "))] = value
    return sheets


def told(tmp_path: Path, sheets: Sheets) -> list[tuple[str, str, str, str]]:
    _, problems = read_price_book(write_book(tmp_path / "book.xlsx", sheets))
    kinds = {True: "warning", False: "error"}
    return [(problem.code, f"{problem.sheet}!{problem.cell}", problem.message, kinds[problem.warning]) for problem in problems]


WRONG: list[tuple[Sheets, str, str, str]] = [
    (changed("Cut-outs", 11, Form="round", Diameter=50), "cut-out-of-nothing", "Cut-outs!A11", "type Product, or Quote and Line"),
    (changed("Cut-outs", 11, Quote="Q-1", Form="round", Diameter=50), "cut-out-of-nothing", "Cut-outs!C11", "Quote and Line"),
    (changed("Cut-outs", 10, Product="Top"), "cut-out-of-both", "Cut-outs!B10", "clear Product, or Quote and Line"),
    (changed("Cut-outs", 10, Line=7), "unknown-line", "Cut-outs!C10", 'the quote "Q-1" has 3 lines'),
    (changed("Cut-outs", 2, Width=None), "incomplete-cut-out", "Cut-outs!F2", "a rectangle cut-out needs a width"),
    (changed("Cut-outs", 3, Diameter=None), "incomplete-cut-out", "Cut-outs!H3", "a round cut-out needs a diameter"),
    (changed("Cut-outs", 2, From_front=None), "half-a-place", "Cut-outs!J2", "type both, or leave both blank"),
    (changed("Cut-outs", 2, From_front=150), "impossible-cut-out", "Cut-outs!I2", "leaves a rim of 10 mm; 40 mm is the least"),
    (changed("Cut-outs", 2, From_left=1600), "impossible-cut-out", "Cut-outs!I2", "reaches out of the piece"),
    (changed("Cut-outs", 3, From_left=500, From_front=200), "impossible-cut-out", "Cut-outs!I3", "overlap"),
    (changed("Cut-outs", 2, Corner_radius=400), "impossible-cut-out", "Cut-outs!G2", "make Corner radius 230 mm at most"),
    (changed("Cut-outs", 5, Diameter=1900), "impossible-cut-out", "Cut-outs!H5", "with a rim of 40 mm; make Diameter 1420 mm at most"),
    (changed("Cut-outs", 8, From_left=1500), "impossible-cut-out", "Cut-outs!I8", "reaches out of the piece"),
    (changed("Cut-outs", 10, From_front=160), "impossible-cut-out", "Cut-outs!I10", "Lip top: the cut-out of 350 mm x 350 mm reaches out"),
    (changed("Cut-outs", 2, Product="Planter"), "no-cut-outs", "Cut-outs!A2", 'a square planter has no cut-outs here, and "Planter"'),
    (changed("Enquiries", 6, Mix=None, Product="Sill", Length=980), "impossible-cut-out", "Enquiries!D6", "Sill: the cut-out of"),
    (changed("Outlines", 4, Radius=700), "impossible-outline", "Outlines!B4", "make Radius at point 3 less"),
    (changed("Outlines", 6, X=900, Y=-100), "impossible-outline", "Outlines!", "crosses"),
    (changed("Products", 6, Outline=None), "missing-dimension", "Products!O6", "a slab by outline needs an outline"),
    (changed("Products", 6, Outline="Iland"), "unknown-name", "Products!O6", 'is "Island" meant?'),
    (changed("Products", 3, Seen_long_edges=0), "impossible-shape", "Products!P3", "a lip stands at a seen edge"),
    (changed("Products", 2, Seen_short_edges=3), "out-of-range", "Products!Q2", "must be"),
    (changed("Layers", 3, Thickness=60), "impossible-layer", "Layers!C3", 'of "Corner"; make Thickness less'),
    (changed("Layers", 4, Thickness=39), "impossible-layer", "Layers!C4", "the layers come to"),
]

WARNED: list[tuple[Sheets, str, str, str]] = [
    (changed("Cut-outs", 10, Quote="Q-9"), "unknown-line", "Cut-outs!B10", "is not on the sheet Enquiries"),
    (changed("Cut-outs", 3, Length=50), "unused-dimension", "Cut-outs!E3", "a round cut-out has none"),
    (changed("Products", 2, Outline="Island"), "unused-dimension", "Products!O2", "a slab has none"),
    (changed("Products", 8, Seen_long_edges=1), "unused-dimension", "Products!P8", "seen long edges"),
    (changed("Products", 2, Use="worktop, boat"), "unknown-use", "Products!R2", '"boat" is no use that is known here'),
    (changed("Materials", 14, Unit_mass=None), "no-unit-mass", "Materials!O14", '"Bar 8" is cast in and its mass is not known'),
]


def test_the_book_is_sound(tmp_path: Path) -> None:
    """Nothing is wrong with the book that the others differ from in one cell."""
    assert {code for code, *_ in told(tmp_path, pieces_book())} <= {"unit-not-stated"}


@pytest.mark.parametrize(("sheets", "code", "cell", "part"), [*WRONG, *WARNED], ids=lambda each: each if isinstance(each, str) else "")
def test_what_cannot_be_is_told_at_its_cell(tmp_path: Path, sheets: Sheets, code: str, cell: str, part: str) -> None:
    """One sentence, at the cell that has to be changed, with what to do."""
    found = [each for each in told(tmp_path, sheets) if each[0] not in ("unit-not-stated",)]
    assert [(each[0], part in each[2]) for each in found if each[1].startswith(cell)] == [(code, True)], found
    assert {each[3] for each in found} == {"warning" if (sheets, code, cell, part) in WARNED else "error"}


def test_several_faults_are_told_together(tmp_path: Path) -> None:
    """A wrong cut-out hides no wrong outline and no wrong layer."""
    sheets = changed("Cut-outs", 2, From_front=150)
    sheets["Layers"][1][2], sheets["Outlines"][3][4] = 500, 900
    assert {"impossible-cut-out", "impossible-layer", "impossible-outline"} <= {code for code, *_ in told(tmp_path, sheets)}


def test_a_length_that_is_wrong_says_nothing_of_its_cut_outs(tmp_path: Path) -> None:
    """A cut-out that the length of the catalogue has no room for is not told beside the length of the line that is misread."""
    sheets = changed("Cut-outs", 10, From_left=5000)
    sheets["Enquiries"][2][5] = 26000
    assert [cell for _, cell, _, kind in told(tmp_path, sheets) if kind == "error"] == ["Enquiries!F3"]


def solid(model: str | None, **cells: Any) -> Sheets:
    """The workshop with a basin that is measured from a model."""
    sheets = pieces_book()
    sheets["Products"][0] += ["Model", "Volume (L)", "Face area (m2)"]
    for row in sheets["Products"][1:]:
        row += [None, None, None]
    row = [None] * len(sheets["Products"][0])
    values = {"Product": "Basin", "Shape": "solid", "Mix": "Grey", "Labour plan": "Plain", "Model": model, **cells}
    for heading, value in values.items():
        row[column(sheets, "Products", heading)] = value
    sheets["Products"].append(row)
    return sheets


def test_a_solid_is_measured_from_its_model(tmp_path: Path) -> None:
    """Volume, faces and foot come from the file beside the book; what is typed stands before them."""
    tmp_path.joinpath("basin.stl").write_bytes(trimesh.creation.box((500, 400, 200)).export(file_type="stl"))
    book, problems = read_price_book(write_book(tmp_path / "book.xlsx", solid("basin.stl (mm)")))
    assert book is not None, [str(problem) for problem in problems]
    products = book.tables["Products"]
    assert products["volume"][-1] == pytest.approx(0.04, rel=1e-6)
    assert products["face_area"][-1] == pytest.approx(0.2 + 2 * 0.9 * 0.2, rel=1e-6)
    assert products["underside_area"][-1] == pytest.approx(0.2, rel=1e-6)
    typed, _ = read_price_book(write_book(tmp_path / "book.xlsx", solid("basin.stl (mm)", **{"Face area": 0.5})))
    assert typed is not None
    assert typed.tables["Products"]["face_area"][-1] == 0.5
    assert typed.tables["Products"]["volume"][-1] == pytest.approx(0.04, rel=1e-6)


@pytest.mark.parametrize(("cell", "part"), [
    ("basin.stl", "write it after the name: basin.stl (mm)"), ("other.stl (mm)", 'there is no file "other.stl" beside the price book'),
])
def test_a_model_that_cannot_be_measured_is_told_at_its_cell(tmp_path: Path, cell: str, part: str) -> None:
    """And nothing that follows from it is told again."""
    tmp_path.joinpath("basin.stl").write_bytes(trimesh.creation.box((500, 400, 200)).export(file_type="stl"))
    found = [each for each in told(tmp_path, solid(cell)) if each[3] == "error"]
    assert [(code, part in message) for code, _, message, _ in found] == [("unusable-model", True)], found


def test_sizes_over_all_of_a_solid_are_used_where_it_is_drawn_by_them(tmp_path: Path) -> None:
    """Length, width and height typed together are not told as unused; one of them alone draws nothing, and is."""
    sizes = {"Length": 300, "Width": 300, "Height": 450}
    solid_of = {"Volume": 10, "Face area": 0.5}
    assert [each for each in told(tmp_path, solid(None, **solid_of, **sizes)) if each[0] == "unused-dimension"] == []
    alone = told(tmp_path, solid(None, **solid_of, Length=300))
    unused = [message for code, _, message, _ in alone if code == "unused-dimension"]
    assert unused == ["length is given, but a solid has none; it is not used"]


def test_a_solid_without_a_model_has_no_length_to_count_by(tmp_path: Path) -> None:
    """Counted by the metre of length, nothing of it would be there."""
    sheets = solid(None, Volume=10, **{"Face area": 0.5})
    sheets["Extras"].append(["Basin", "Bar 8", 2, "m length"])
    found = [each for each in told(tmp_path, sheets) if each[3] == "error"]
    assert [(code, cell) for code, cell, *_ in found] == [("no-length", f"Extras!D{len(sheets['Extras'])}")]


def test_a_workshop_in_inches_is_told_inches(tmp_path: Path) -> None:
    """A rim that is too narrow, in the measures of the workshop."""
    sheets = changed("Cut-outs", 2, From_front="1 in")
    sheets["Workshop"].append(["Measures", "inches and pounds", None])
    (problem,) = (each for each in told(tmp_path, sheets) if each[3] == "error")
    assert "leaves a rim of 1 in; 1 1/2 in is the least" in problem[2]
