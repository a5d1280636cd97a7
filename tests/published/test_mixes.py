"""The method of absolute volumes against published worked examples and an open data set of 1,030 mixes."""

from __future__ import annotations

import numpy as np
import pytest
from books import small_book, write_book
from data_sets import read_rows

from pricing.book.reading.read import load_price_book
from pricing.costing.engine.evaluation import Evaluation, evaluate
from pricing.costing.engine.model import Model, Rows
from pricing.costing.method import declared
from pricing.costing.method.plan_rows import BASES
from pricing.costing.run import cost_quotes
from pricing.rules.mixes import driven_volume

#: Mass of a cubic foot of water as the American examples take it [lb/ft³].
WATER = 62.4


def evaluated(names: list[str], amounts: np.ndarray, densities: list[float], kinds: list[str], basis: str = "kg/m3") -> Evaluation:
    """The model's own mix tables for many recipes at once: one row of *amounts* per mix, one column per ingredient."""
    mixes, ingredients = amounts.shape
    count = mixes * ingredients
    plain, bulk, volume, driver = BASES[basis]
    kind = np.tile(np.array(kinds, dtype=object), mixes)
    mix = np.repeat(np.array([f"mix {number}" for number in range(mixes)], dtype=object), ingredients)
    given = {
        "ingredient": np.arange(1.0, count + 1), "amount": amounts.ravel(), "plain_amount": np.full(count, plain),
        "bulk_amount": np.full(count, bulk), "volume_of_amount": np.full(count, volume),
        **{name: np.full(count, float(driver == name)) for name in ("by_parts", "by_cubic_metre", "by_binder")},
        **{f"is_{name}": (kind == name).astype(float) for name in ("binder", "water", "pigment", "air")},
    }
    size = len(names)
    prices = {name: np.ones(size) for name in ("pack_size", "pack_price", "kilograms_per_pack_unit", "sold_density")}
    prices |= {name: np.zeros(size) for name in ("carriage_in", "wastage", "litres_per_pack_unit", "bulk_density")}
    blank = np.full(count, basis, dtype=object)
    parts = np.full(mixes, float(driver == "by_parts"))
    tables = [
        Rows(declared.MIX_PRICES, size, prices | {"density": np.array(densities)}, {"material": np.array(names, dtype=object)}),
        Rows(declared.INGREDIENTS, count, given, {"mix": mix, "material": np.tile(np.array(names, dtype=object), mixes), "basis": blank}),
        Rows(declared.MIXES, mixes, {"has_parts": parts, "no_parts": 1 - parts}, {"mix": mix[::ingredients]}),
        Rows(declared.SETTINGS, 1, {"one_cubic_metre": np.ones(1)}, {}),
    ]
    return evaluate(Model(tables))


YEH = ["cement", "slag", "fly_ash", "water", "superplasticizer", "coarse", "fine"]
KINDS = ["binder", "binder", "binder", "water", "admixture", "aggregate", "aggregate"]
#: Densities of the regression, and the published statistics of the sum of absolute volumes: minimum, 5 %, median, 95 %,
#: maximum, mean. Source: recomputed from the UCI data set of I-C. Yeh (1998), with these densities.
STATISTICS = [
    ([3150, 2900, 2300, 1000, 1070, 2650, 2650], (0.9384, 0.9584, 0.9855, 1.0066, 1.0286, 0.98472)),
    ([3150, 2900, 2240, 1000, 1070, 2650, 2650], (0.9384, 0.9584, 0.9855, 1.0066, 1.0300, 0.98535)),
    ([3150, 2900, 2300, 1000, 1070, 2700, 2700], (0.9272, 0.9472, 0.9726, 0.9935, 1.0175, 0.97252)),
    ([3150, 2900, 2300, 1000, 1070, 2700, 2600], (0.9386, 0.9564, 0.9840, 1.0051, 1.0275, 0.98354)),
]


def yeh_amounts() -> np.ndarray:
    return np.array([[float(row[name]) for name in YEH] for row in read_rows("concrete_yeh.csv")])


@pytest.mark.parametrize(("densities", "statistics"), STATISTICS)
def test_yields_of_1030_mixes(densities: list[float], statistics: tuple[float, ...]) -> None:
    """The engine's volume before air, over all mixes of the data set, has the published statistics."""
    solid = evaluated(YEH, yeh_amounts(), [float(each) for each in densities], KINDS).value("mixes", "solid_volume")
    assert len(solid) == 1030
    found = (solid.min(), *np.percentile(solid, (5, 50, 95)), solid.max(), solid.mean())
    assert np.allclose(found, statistics, atol=6e-5)


def test_single_mixes_of_the_data_set() -> None:
    """Rows 1, 3, 101 and 1030 have the published volume and mass; all rows together 1014.265229 m³."""
    values = evaluated(YEH, yeh_amounts(), [float(each) for each in STATISTICS[0][0]], KINDS)
    solid, mass = values.value("mixes", "solid_volume"), values.value("mixes", "fresh_density")
    for row, volume in ((1, 0.983312), (3, 0.958543), (101, 0.996798), (1030, 0.973746)):
        assert solid[row - 1] == pytest.approx(volume, abs=5e-7)
    assert mass[0] == pytest.approx(2420.5, abs=0.05)
    assert mass[2] == pytest.approx(2229.0, abs=0.05)
    assert solid.sum() == pytest.approx(1014.265229, abs=1e-5)
    assert (mass.min(), np.median(mass), mass.max()) == pytest.approx((2194.6, 2349.1, 2551.0), abs=0.06)


def volume_of(mass: float, relative_density: float) -> float:
    """Absolute volume by the engine's rule, in cubic feet."""
    return float(driven_volume(mass, mass, 0.0, relative_density * WATER))


#: A worked example: masses with relative densities [lb], air [ft³], the published volumes, what is left of 27 ft³, the
#: relative density of the fine aggregate and its published mass [lb].
WORKED = [
    pytest.param([(610, 3.15), (305, 1.0), (1735, 2.60)], 1.35, [3.10, 4.89, 10.69], 6.97, 2.65, 1152, 0.006,
                 id="US Navy NAVEDTRA 14070/14071, chapter 17, pages 17-6 and 17-7"),
    pytest.param([(700, 3.15), (280, 1.0), (1701, 2.70)], 1.62, [3.56, 4.49, 10.10], 7.23, 2.65, 1195, 0.011,
                 id="university lecture, absolute volume, 5000 psi (scribd 348480068)"),
    pytest.param([(615, 3.15), (295, 1.0), (1836, 2.68)], 0.81, [3.13, 4.73, 10.98], 7.35, 2.59, 1188, 0.011,
                 id="university homework with answers (coursehero 5230189)"),
    pytest.param([(553, 3.15), (343, 1.0), (1896, 2.68)], 0.05, [2.81, 5.50, 11.34], 7.30, 2.64, 1203, 0.011,
                 id="ACI 211.1-91, example 1, trial batch adjustment, page 211.1-16"),
]


@pytest.mark.parametrize(("masses", "air", "volumes", "left", "density", "fine", "tolerance"), WORKED)
def test_worked_examples_of_absolute_volumes(
    masses: list[tuple[float, float]], air: float, volumes: list[float], left: float, density: float, fine: float, tolerance: float
) -> None:
    """Each published volume, what is left for the fine aggregate, and its mass."""
    found = [volume_of(*each) for each in masses]
    assert found == pytest.approx(volumes, abs=tolerance)
    assert 27 - sum(found) - air == pytest.approx(left, abs=0.011)
    assert (27 - sum(found) - air) * density * WATER == pytest.approx(fine, abs=2.0)


#: Proportions for one cubic foot (Portland Cement Association guide, table in a masonry handbook, figure 3-3): cement, wet
#: sand, coarse aggregate, water [lb], and the sum of their absolute volumes.
CUBIC_FOOT = [
    ((29, 53, 46, 10), 0.9065), ((27, 46, 55, 10), 0.9084), ((25, 42, 65, 10), 0.9345), ((24, 39, 70, 9), 0.9255),
    ((23, 38, 75, 9), 0.9446), ((29, 59, 46, 11), 0.9588), ((27, 53, 55, 11), 0.9668), ((25, 47, 65, 10), 0.9648),
    ((24, 45, 70, 10), 0.9778), ((23, 43, 75, 9), 0.9748),
]


@pytest.mark.parametrize(("pounds", "total"), CUBIC_FOOT)
def test_proportions_for_one_cubic_foot(pounds: tuple[float, ...], total: float) -> None:
    """The handbook's proportions fill the published part of a cubic foot, the rest being air."""
    amounts = np.array([[each / 0.45359237**-1 / 0.3048**3 for each in pounds]])
    densities = [relative * WATER * 16.0184633739601 for relative in (3.15, 2.65, 2.65, 1.0)]
    names, kinds = ["cement", "sand", "coarse", "water"], ["binder", "aggregate", "aggregate", "water"]
    assert evaluated(names, amounts, densities, kinds).value("mixes", "solid_volume")[0] == pytest.approx(total, abs=1e-4)


def test_yield_from_batch_and_density() -> None:
    """A batch of 3,886 lb at 145.0 lb/ft³ yields 26.80 ft³, 0.993 of 27 (ASTM C138 yield and relative yield)."""
    batch = 564 + 1800 + 1240 + 282
    assert volume_of(batch, 145.0 / WATER) == pytest.approx(26.80, abs=0.001)
    assert volume_of(batch, 145.0 / WATER) / 27 == pytest.approx(0.993, abs=0.001)


def test_free_moisture_of_aggregates_adds_up() -> None:
    """1,768 lb at 2 % and 1,083 lb at 6 % carry 100.34 lb of water (US Army Engineer School, EN5466A, page 2-42)."""
    assert pytest.approx(100.34, abs=0.005) == 1768 * 0.02 + 1083 * 0.06


def mix_of(tmp_path_factory: pytest.TempPathFactory, rows: list[list[object]]) -> dict[str, float]:
    """A recipe of the price book, read and evaluated as the mix of a product."""
    sheets = small_book()
    other = [["Dark", "Cement", 500, "kg/m3"], ["Dark", "Sand", 1450, "kg/m3"], ["Dark", "Water", 220, "L/m3"]]
    sheets["Mixes"] = [sheets["Mixes"][0], *rows, *other]
    for row in sheets["Products"][1:]:
        row[9] = "Grey"
    path = write_book(tmp_path_factory.mktemp("mix") / "book.xlsx", sheets)
    values = cost_quotes(load_price_book(path), ["Q-1"]).values
    names = ("solid_volume", "placed_volume", "fresh_density", "binder_content", "water_binder_ratio", "pigment_share", "mix_price")
    return {name: float(values.value("mixes", name)[0]) for name in names}


#: One recipe, 1 : 2 : 0.4 by mass, written on each basis that can say it; densities as in the small workshop.
SAME_RECIPE = {
    "parts by mass": [["Grey", "Cement", 1, "parts by mass"], ["Grey", "Sand", 2, "parts by mass"],
                      ["Grey", "Water", 0.4, "parts by mass"]],
    "parts by volume": [["Grey", "Cement", 1 / 1500, "parts by volume"], ["Grey", "Sand", 2 / 1600, "parts by volume"],
                        ["Grey", "Water", 0.4 / 1000, "parts by volume"]],
    "share of the binder": [["Grey", "Cement", 1, "parts by mass"], ["Grey", "Sand", "200 %", "% of binder"],
                            ["Grey", "Water", 400, "mL/kg binder"]],
    "per cubic metre": [["Grey", "Cement", 1 / 0.00147218, "kg/m3"], ["Grey", "Sand", 2 / 0.00147218, "kg/m3"],
                        ["Grey", "Water", 0.4 / 0.00147218, "L/m3"]],
}


@pytest.mark.parametrize("basis", SAME_RECIPE)
def test_one_recipe_is_one_mix_whatever_its_basis(basis: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    """By mass, by volume, by share of the binder or per cubic metre: the same recipe has the same content and price.

    By hand: one part fills 1/3150 + 2/2650 + 0.4/1000 = 0.00147218 m³.
    """
    part = 1 / 3150 + 2 / 2650 + 0.4 / 1000
    found = mix_of(tmp_path_factory, SAME_RECIPE[basis])
    exact = 1e-5 if basis == "per cubic metre" else 1e-9
    assert found["placed_volume"] == pytest.approx(1, rel=exact)
    assert found["binder_content"] == pytest.approx(1 / part, rel=exact)
    assert found["fresh_density"] == pytest.approx(3.4 / part, rel=exact)
    assert found["water_binder_ratio"] == pytest.approx(0.4, rel=1e-9)
    assert found["mix_price"] == pytest.approx((1 * 0.4 + 2 * 0.1 + 0.4 * 0.002) / part, rel=exact)


def test_air_takes_room_and_costs_nothing(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Six per cent of air leave 0.94 m³ for the rest, which costs 0.94 as much."""
    dense = mix_of(tmp_path_factory, SAME_RECIPE["parts by mass"])
    airy = mix_of(tmp_path_factory, [*SAME_RECIPE["parts by mass"], ["Grey", "Air", "6 %", "% of volume"]])
    assert airy["placed_volume"] == pytest.approx(1)
    assert airy["solid_volume"] == pytest.approx(0.94)
    assert airy["mix_price"] == pytest.approx(0.94 * dense["mix_price"])


def test_pigment_by_share_of_the_binder(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Four per cent of the binder is usual (common practice, no source): 8.0 kg of cement take 0.32 kg."""
    found = mix_of(tmp_path_factory, [*SAME_RECIPE["parts by mass"], ["Grey", "Black", "4 %", "% of binder"]])
    assert found["pigment_share"] == pytest.approx(0.04)
    assert found["pigment_share"] * 8.0 == pytest.approx(0.32)
    assert found["placed_volume"] == pytest.approx(1)
