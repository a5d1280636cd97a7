"""What a price book says of its pieces reaches every figure: take-off, mass, mixes, loads, work, price, record, explanation."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from books import small_book, write_book
from pieces_book import BAR_8, BAR_10, MESH, pieces_book

from pricing.book.pieces import cut_out_at
from pricing.book.reading.read import load_price_book
from pricing.costing.comparison.compare import Comparison
from pricing.costing.engine.evaluation import evaluate
from pricing.costing.explain.explain import explain
from pricing.costing.lines.order_lines import enquired
from pricing.costing.method.costing import Costing
from pricing.costing.method.mould_boards import cuts_of
from pricing.costing.run import cost_lines
from pricing.costing.workshop.steel import whole_bars
from pricing.costing.workshop.work import prepare
from pricing.register.kept.stored_model import restored, stored
from pricing.rules.shapes import SHAPES


def costed(folder: Path, sheets: dict[str, list[list[Any]]]) -> Costing:
    book = load_price_book(write_book(folder / "book.xlsx", sheets))
    return cost_lines(book, enquired(book))


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    """All quotes of the workshop with pieces of every kind."""
    return costed(tmp_path_factory.mktemp("pieces"), pieces_book())


def line(costing: Costing, product: str) -> int:
    return costing.products().index(product)


def without(*sheets: str) -> dict[str, list[list[Any]]]:
    """The workshop without some sheets, and with nothing that is not of them."""
    book = pieces_book()
    for name in sheets:
        del book[name]
    return book


def test_a_top_weighs_its_concrete_and_its_steel(costing: Costing) -> None:
    """Three bars along it, four across, six sockets: by hand."""
    top = line(costing, "Top")
    steel = (3 * 2.2 + 4 * 0.62) * BAR_8 + 6 * 0.08
    cut = 0.76 * 0.46 - (4 - np.pi) * 0.015**2 + np.pi / 4 * 0.035**2
    concrete = (2.2 * 0.62 - cut) * 0.04 * float(costing.values.value("mixes", "fresh_density")[0])
    assert costing.line("cast_in_mass")[top] == pytest.approx(steel, rel=1e-12)
    assert costing.line("mass")[top] == pytest.approx(concrete + steel, rel=1e-12)
    table, corner = line(costing, "Table"), line(costing, "Corner")
    assert costing.line("cast_in_mass")[table] == pytest.approx(0.9 * (np.pi / 4 * (0.81 - 0.045**2)) * MESH, rel=1e-12)
    assert costing.line("cast_in_mass")[corner] == pytest.approx(2 * 1.8 * BAR_10, rel=1e-12)


def test_weights_and_carriage_rest_on_all_that_is_in_a_piece(costing: Costing) -> None:
    """The mass of the quote is that of its pieces, steel among it."""
    rows = costing.lines_of("Q-1")
    whole = sum(costing.line("mass")[row] * costing.line("quantity")[row] for row in rows)
    assert costing.quote("quote_mass")[0] == pytest.approx(whole, abs=0.01)


def test_a_line_has_its_own_cut_outs_instead_of_its_products(costing: Costing) -> None:
    """The vanity of the enquiry has one of 350 x 350 with corners of 30, and its list price would not stand."""
    own = costing.line("cut_volume")[line(costing, "Lip top")]
    assert own == pytest.approx((0.35**2 - (4 - np.pi) * 0.03**2) * 0.03, rel=1e-12)
    assert bool(costing.lines.overrides[line(costing, "Lip top")])
    assert not costing.lines.overrides[line(costing, "Top")]


def test_layers_share_the_piece_with_its_own_mix(costing: Costing) -> None:
    """White on grey: volumes, masses and costs of all mixes add up to the piece's."""
    values, corner = costing.values, line(costing, "Corner")
    of_line = values.value("layers", "line").astype(int) - 1
    volumes = values.value("layers", "layer_volume")
    for product in ("Corner", "Planter"):
        row = line(costing, product)
        assert costing.line("backing_volume")[row] + volumes[of_line == row].sum() == pytest.approx(costing.line("cast_volume")[row])
    masses = values.value("layers", "layer_mass")[of_line == corner].sum()
    density = values.value("mixes", "fresh_density")[list(costing.model.tables["mixes"].text["mix"]).index("Grey")]
    concrete = costing.line("backing_volume")[corner] * density + masses
    assert costing.line("mass")[corner] == pytest.approx(concrete + costing.line("cast_in_mass")[corner], rel=1e-12)


def test_loads_are_counted_by_mix_and_shared_by_whoever_takes_of_it(costing: Costing) -> None:
    """What lines and layers take of a mix is its batch; its loads come back to the lines without rest."""
    values = costing.values
    assert costing.line("mixed_volume").sum() == pytest.approx(values.value("batches", "mixed_volume_of_mix").sum(), rel=1e-12)
    assert costing.line("loads_of_line").sum() == pytest.approx(values.value("batches", "loads").sum(), rel=1e-12)
    first = prepare(costing, "Q-1", seconds=0.1)
    assert {sheet.mix for sheet in first.batches} == {"Grey", "Dark", "Bucket"}


def test_a_finish_carries_work(costing: Costing, tmp_path: Path) -> None:
    """The table is polished; the same piece sealed takes fewer hours, by the minutes of that step alone."""
    sheets = pieces_book()
    row = next(row for row in sheets["Enquiries"] if row[3] == "Table")
    row[7] = "Sealed"
    sealed = costed(tmp_path, sheets)
    table = line(costing, "Table")
    minutes = 25 * costing.line("face")[table]
    assert costing.line("labour_hours")[table] - sealed.line("labour_hours")[table] == pytest.approx(minutes / 60, rel=1e-12)
    assert "Polish to a shine" not in {step.step for step in prepare(sealed, "Q-3", seconds=0.1).steps}
    assert "Polish to a shine" in {step.step for step in prepare(costing, "Q-3", seconds=0.1).steps}


def test_edges_at_a_wall_are_in_the_mould_and_not_in_face_and_arris(costing: Costing, tmp_path: Path) -> None:
    """The top's back edge: 2.2 m of edge and of arris and its two corners less, the mould as before."""
    sheets = pieces_book()
    for row in sheets["Products"][1:]:
        row[15] = row[16] = None
    seen, top = costed(tmp_path, sheets), line(costing, "Top")
    assert seen.line("face")[top] - costing.line("face")[top] == pytest.approx(2.2 * 0.04, rel=1e-9)
    assert seen.line("arris")[top] - costing.line("arris")[top] == pytest.approx(2.2 + 2 * 0.04, rel=1e-9)
    for column in ("mould_board", "joint", "release_face", "cast_volume", "open_side"):
        assert seen.line(column)[top] == costing.line(column)[top]


def test_the_cut_list_has_every_board_that_is_paid_for(costing: Costing) -> None:
    """Cores and the sides of outlines are in the cut list, and their areas are those that the lines charge."""
    for product in costing.products():
        row = line(costing, product)
        listed = sum(cut.length * cut.width * cut.count for cut in cuts_of(costing, row))
        assert listed == pytest.approx(costing.line("mould_board")[row], rel=1e-9), product
    names = {cut.name for cut in cuts_of(costing, line(costing, "Island"))}
    assert {"base", "side 1 to 2", "corner 2", "cut-out former"} <= names


def test_a_book_without_pieces_has_none_of_their_tables(tmp_path: Path) -> None:
    """The model is that of before, table by table and column by column."""
    plain = costed(tmp_path, small_book())
    assert not {"cut-outs", "layers", "outlines", "outline points"} & set(plain.model.tables)
    names = {column.name for column in plain.model.tables["lines"].spec.columns}
    assert not {"whole_volume", "backing_volume", "per_length", "cast_in_mass"} & names


def test_a_record_of_such_a_quote_is_costed_again_as_it_was(costing: Costing) -> None:
    """What the register keeps is enough for every figure."""
    model = restored(stored(costing.model))
    assert model is not None
    values = evaluate(model)
    for column in ("mass", "unit_cost", "unit_price", "loads_of_line"):
        assert np.array_equal(values.value("lines", column), costing.line(column))


def test_a_record_of_before_is_read_beside_a_book_with_pieces(costing: Costing, tmp_path: Path) -> None:
    """A model without pieces comes back as it was."""
    plain = costed(tmp_path, small_book())
    model = restored(stored(plain.model))
    assert model is not None
    assert set(model.tables) == set(plain.model.tables)
    assert np.array_equal(evaluate(model).value("lines", "unit_cost"), plain.line("unit_cost"))


def test_a_dearer_layer_and_a_larger_cut_out_are_causes(costing: Costing, tmp_path: Path) -> None:
    """Two states compared: what the mix of the layer and the cut-out change adds up to the change of the cost."""
    sheets = pieces_book()
    sheets["Cut-outs"][1][4] = 800
    sheets["Layers"][1][2] = 15
    later = costed(tmp_path, sheets)
    compared = Comparison(costing.model, later.model)
    kinds = {cause.name for cause in compared.causes}
    assert {"Cut-outs", "Layers"} <= kinds


def test_the_volume_of_an_island_is_told_down_to_its_corners(costing: Costing) -> None:
    """The explanation walks from the volume to the X and Y of the Outlines sheet."""
    told: list[str] = []

    def walk(trace: Any) -> None:
        told.append(trace.place)
        for child in trace.children:
            walk(child)

    walk(explain(costing, "Q-2", 2, "cast_volume"))
    assert {"Outlines!C3", "Outlines!D4", "Outlines!E3", "Cut-outs!E8"} <= set(told)


def test_a_basin_from_a_model_is_priced_like_its_figures(tmp_path: Path) -> None:
    """Measured or typed, the same solid costs the same; a bar along it has its length."""
    tmp_path.joinpath("basin.stl").write_bytes(trimesh.creation.box((500, 400, 200)).export(file_type="stl"))

    def sheets(model: str | None, *figures: float | None) -> dict[str, list[list[Any]]]:
        book = pieces_book()
        book["Products"][0] += ["Model", "Volume (L)", "Face area (m2)", "Underside area (m2)", "Open side area (m2)", "Release area (m2)"]
        for row in book["Products"][1:]:
            row += [None] * 6
        values = dict(zip(book["Products"][0], ["Basin", None, "solid"], strict=False)) | {"Mix": "Grey", "Labour plan": "Plain"}
        row = [values.get(heading) for heading in book["Products"][0]]
        row[-6:] = [model, *figures]
        book["Products"].append(row)
        book["Extras"].append(["Basin", "Bar 8", 2, "m length" if model else "piece"])
        book["Enquiries"].append(["Q-4", book["Enquiries"][1][1], "Ada Field", "Basin", 2, None, None, None, None, None])
        return book

    measured = costed(tmp_path, sheets("basin.stl (mm)", None, None, None, None, None))
    typed = costed(tmp_path, sheets(None, 40.0, 0.56, 0.2, 0.2, 0.56))
    assert measured.line("cast_volume")[-1] == pytest.approx(0.04, rel=1e-6)
    assert measured.line("labour_cost")[-1] == pytest.approx(typed.line("labour_cost")[-1], rel=1e-6)
    assert measured.line("cast_in_mass")[-1] == pytest.approx(2 * 0.5 * BAR_8, rel=1e-6)


def test_every_shape_with_a_length_has_it_in_the_model(costing: Costing) -> None:
    """What is counted by length is asked of each shape."""
    lengths = dict(zip(costing.products(), costing.line("length_of_piece").tolist(), strict=True))
    assert lengths == pytest.approx({
        "Top": 2.2, "Lip top": 1.2, "Corner": 1.8, "Sill": 1.5, "Island": 1.8, "Planter": 0.5, "Table": 0.9,
    })
    assert set(SHAPES) - {"solid"} >= {"slab by outline"}


def test_the_list_of_steel_has_lengths_counts_kilograms_and_whole_bars(costing: Costing) -> None:
    """Three of 2200 and four of 620 for the top are cut from two bars of 6 m; they weigh what the piece's mass holds."""
    steel = prepare(costing, "Q-1", seconds=0.1).steel
    top = [(row.material, row.each, round(row.size, 3), row.count) for row in steel.rows if row.product == "Top"]
    assert top == [("Bar 8", 3.0, 2.2, 3.0), ("Bar 8", 4.0, 0.62, 4.0), ("Sockets", 6.0, 1.0, 6.0)]
    needs = {need.material: need for need in steel.needs}
    assert (needs["Bar 8"].packs, needs["Bar 10"].packs, needs["Sockets"].packs) == (2, 1, 1)
    assert needs["Bar 8"].kilograms == pytest.approx((6.6 + 2.48) * BAR_8)
    rows = costing.lines_of("Q-1")
    held = sum(costing.line("cast_in_mass")[row] * costing.line("quantity")[row] for row in rows)
    assert sum(need.kilograms for need in steel.needs) == pytest.approx(held, rel=1e-12)
    assert prepare(costing, "Q-2", seconds=0.1).steel.rows == ()


@pytest.mark.parametrize(("lengths", "bar", "bars"), [
    ([(2.0, 3)], 6.0, 1), ([(2.1, 3)], 6.0, 2), ([(3.0, 2), (1.5, 4)], 6.0, 2), ([(6.0, 2)], 6.0, 2), ([(8.0, 2)], 6.0, 3), ([], 6.0, 0),
])
def test_whole_bars(lengths: list[tuple[float, int]], bar: float, bars: int) -> None:
    """Each length comes from one bar where a bar is long enough; what is left of a lapped one is used."""
    assert whole_bars(lengths, bar) == bars


def test_cut_outs_without_a_place_are_alike(costing: Costing) -> None:
    """A cut-out that is read twice is the same one, where its place is left blank too: what was drawn of it once is known again."""
    table = costing.book.tables["Cut-outs"]
    read = [[cut_out_at(table, row) for row in range(len(table["product"]))] for _ in range(2)]
    assert not all(each.is_placed for each in read[0])
    assert read[0] == read[1]
