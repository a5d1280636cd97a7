"""What if prices moved: changes as they are typed, and published price indices."""

from __future__ import annotations

import datetime
import math
from pathlib import Path

import pytest
from books import DAY, small_book, write_book
from data_sets import data_file, read_rows

from pricing.book.price_book import PriceBook
from pricing.book.price_index import PriceIndexError, read_price_index
from pricing.book.reading.read import load_price_book
from pricing.costing.comparison.what_if import WhatIfError, change_of, with_changes, with_factor


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> PriceBook:
    """The small workshop."""
    return load_price_book(write_book(tmp_path_factory.mktemp("what if") / "small.xlsx", small_book()))


def prices(book: PriceBook) -> dict[str, float]:
    """Pack price by material."""
    columns = book.tables["Materials"].columns
    return dict(zip(columns["material"].tolist(), columns["pack_price"].tolist(), strict=True))


@pytest.mark.parametrize(
    ("text", "factor", "value"),
    [
        ("Cement=+12%", 1.12, math.nan), ("Cement = -3 %", 0.97, math.nan), ("Cement=−12,5 %", 0.875, math.nan),
        ("Cement=9.80", math.nan, 9.8), ("Cement=£9.80", math.nan, 9.8), ("Target margin=42 %", math.nan, 0.42),
        ("A=B=5", math.nan, 5.0),
    ],
)
def test_a_sign_changes_and_none_replaces(text: str, factor: float, value: float) -> None:
    """A signed percentage changes what stands there, a plain figure takes its place."""
    change = change_of(text)
    assert (change.factor, change.value) == pytest.approx((factor, value), nan_ok=True)


def test_each_kind_of_name(small: PriceBook) -> None:
    """A material, a supplier, a kind, a trade, a machine, a product and a setting can each be moved; the book stays as it is."""
    before = prices(small)
    new = with_changes(small, [
        "cement=+10%", "Board Barn=+50%", "pigment=-50%", "Maker=30", "Mixer=+10%", "Block=96", "Electricity price=+100%",
        "Lowest margin=30 %",
    ])
    assert prices(new) == before | {
        "Cement": 11.0, "Melamine": 72.0, "Silicone": 9.0, "Screws": 12.0, "Tape": 7.5, "Wax": 75.0, "Black": 15.0,
    }
    assert new.tables["Trades"].columns["hourly_cost"].tolist() == [30.0, 18.0]
    assert new.tables["Machines"].columns["price"].tolist() == [2200.0]
    assert new.tables["Products"].columns["list_price"][2] == 96.0
    assert (new.settings["electricity_price"], new.settings["lowest_margin"]) == (0.5, 0.3)
    assert prices(small) == before
    assert small.settings["electricity_price"] == 0.25


def test_a_material_comes_before_a_kind_of_its_name(small: PriceBook) -> None:
    """Water is the material, though there is a kind of that name."""
    assert prices(with_changes(small, ["Water=+50%"]))["Water"] == 3.0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Cement", "is no change"), ("=+5%", "is no change"), ("Cement=", "is no change"), ("Cement=dear", "no number"),
        ("Cement=+5", "a change with a sign is a percentage"), ("Cement=-100%", "fall by 100%"),
        ("Cemnt=+5%", "near it is Cement"), ("Hill Merchants=5", "several prices"), ("Slab 1000=+5%", "no list price"),
        ("Mix allowance=120 %", "cannot be 1.2"), ("Overhead per year=+5%", "is not set"), ("Quote valid for=0", "cannot be 0"),
        ("Cement=1,234", "thousands"), ("Cement=12%", "write Cement=+12% where it rises"), ("Maker=12 %", "may be a rise"),
        ("Cement=9 kg", "Pack price is a figure in EUR"), ("Cement=£9", "without a unit"), ("Cement=9 EUR/kg", "without a unit"),
        ("Hours per day=8 kg", "a figure in h"), ("People=2 h", "a figure in people"), ("Target margin=45 h", "such as Target margin="),
        ("Target margin=45", "cannot be 45; write a percentage with its sign"), ("Saw kerf=30", "between 0 mm and 20 mm"),
    ],
)
def test_what_cannot_be_understood_is_said_in_a_sentence(text: str, words: str, small: PriceBook) -> None:
    """Each refusal quotes what was typed and says what to write instead."""
    with pytest.raises(WhatIfError) as caught:
        with_changes(small, [text])
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("cement", "near it are Grey cement, White cement"), ("Cement ", "near it are Grey cement, White cement"),
        ("Grey cemnt", "near it is Grey cement"), ("ce", "write it as the price book does"),
        ("Shelf", "near it are Shelf 800, Shelf 1, Shelf 2, Shelf 3, Shelf 4"), ("margin", "near it are Target margin, Lowest margin"),
    ],
)
def test_a_part_of_a_name_offers_every_name_that_holds_it(typed: str, offered: str, tmp_path: Path) -> None:
    """Of two cements both are offered, each once though it has two prices; of many things the first few, of two letters none."""
    sheets = small_book()
    for row in [row for row in sheets["Materials"] if row[0] == "Cement"]:
        row[0] = "Grey cement"
        sheets["Materials"].append([*row[:13], DAY + datetime.timedelta(days=30)])
        sheets["Materials"].append(["White cement", *row[1:]])
    for row in sheets["Mixes"]:
        row[1] = "Grey cement" if row[1] == "Cement" else row[1]
    for number in range(1, 7):
        sheets["Products"].append([f"Shelf {number}", *sheets["Products"][2][1:]])
    book = load_price_book(write_book(tmp_path / "book.xlsx", sheets))
    with pytest.raises(WhatIfError) as caught:
        with_changes(book, [f"{typed}=+12%"])
    assert str(caught.value).endswith(f"; {offered}")


def test_a_new_figure_is_in_the_unit_of_its_heading_or_in_the_one_typed(small: PriceBook) -> None:
    """Three is 3 mm of saw kerf, not 3 m; a typed unit of the same dimension is turned into the book's."""
    new = with_changes(small, ["Saw kerf=3", "Hours per day=450 min", "Maker=€30/h", "Helper=19 EUR", "Cement=9.80 EUR"])
    assert (new.settings["saw_kerf"], new.settings["hours_per_day"]) == (0.003, 7.5)
    assert new.tables["Trades"].columns["hourly_cost"].tolist() == [30.0, 19.0]
    assert prices(new)["Cement"] == 9.8


def test_a_factor_on_chosen_materials(small: PriceBook) -> None:
    """A factor moves each named material once, however it is named; all of them where none is."""
    new = prices(with_factor(small, ["Cement", "binder", "Hill Merchants"], 2.0))
    assert (new["Cement"], new["Sand"], new["Black"]) == (20.0, 5.0, 30.0)
    assert prices(with_factor(small, [], 2.0)) == {name: 2 * price for name, price in prices(small).items()}
    with pytest.raises(WhatIfError, match="near it is Cement"):
        with_factor(small, ["Cemen"], 2.0)


#: U.S. Bureau of Labor Statistics, producer price index by commodity, 1982 = 100, series WPU1322 (cement) and WPU1333
#: (ready-mix concrete); ratios and annual means restated in the project's references from that source.
BLS = "bls_ppi_concrete_materials.csv"


@pytest.mark.parametrize(
    ("series", "start", "end", "ratio"),
    [("ready_mix_WPU1333", "2019-01", "2023-01", 1.284815), ("cement", "2019-01", "2023-01", 1.270860),
     ("ready_mix", "2019", "2022", 326.4832 / 278.1833), ("ready mix", "2020", "2021", 296.1022 / 285.2583)],
)
def test_a_published_index_between_two_dates(series: str, start: str, end: str, ratio: float) -> None:
    """Months, and means of whole years, give the published movement."""
    index = read_price_index(data_file(BLS))
    assert index.ratio(index.named(series), start, end) == pytest.approx(ratio, abs=1e-6)


def test_years_and_months_in_two_columns() -> None:
    """A file with year and month apart is read too; 2020 of new housing averages 112.65 (UK Department for Business and
    Trade, Building Materials and Components statistics, bulletin 591, table 1, 2015 = 100), which is published as 112.7."""
    index = read_price_index(data_file("uk_dbt_construction_material_price_index_monthly.csv"))
    assert index.at("new_housing", "2020") == pytest.approx(112.650, abs=1e-9)
    assert index.at("all_work", "2019-01") == 111.8
    rows = read_rows("uk_dbt_construction_material_price_index_monthly.csv")
    assert index.ratio("all_work", "2019-01", "2022-06") == float(rows[-1]["all_work"]) / 111.8


def asked_for(path: Path, series: str, date: str) -> float:
    """The figure of a series at a date."""
    index = read_price_index(path)
    return index.at(index.named(series), date)


@pytest.mark.parametrize(
    ("content", "series", "date", "words"),
    [
        ("month,a\n2020-01,100\n", "b", "2020-01", 'no series "b"; name one of a'),
        ("month,a,b\n2020-01,100,100\n", "", "2020-01", "more than one series"),
        ("month,a\n2020-01,100\n", "a", "2020-02", "it runs from 2020-01 to 2020-01"),
        ("month,a\n2020-01,100\n", "a", "2020", "no figure for 2020-02"),
        ("month,a\n2020-01,100\n", "a", "January", "is no month"),
        ("month,a\n2020-13,100\n", "a", "2020-01", "line 2"),
        ("month,a\n2020-01,-5\n", "a", "2020-01", "is no index"),
        ("month,a\n2020-01,n/a\n", "a", "2020-01", "is no index"),
        ("date,a\n2020-01,100\n", "a", "2020-01", "no column month"),
        ("", "a", "2020-01", "empty"),
    ],
)
def test_an_index_that_does_not_answer(content: str, series: str, date: str, words: str, tmp_path: Path) -> None:
    """What is missing or wrong in an index is said in one sentence that names the file."""
    path = tmp_path / "index.csv"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(PriceIndexError) as caught:
        asked_for(path, series, date)
    assert words in str(caught.value)


def test_an_index_that_is_no_text(tmp_path: Path) -> None:
    """A file that is not text, or not there, is refused."""
    (tmp_path / "index.csv").write_bytes(b"\xff\xfe\x00\x01")
    for path in (tmp_path / "index.csv", tmp_path / "none.csv", tmp_path):
        with pytest.raises(PriceIndexError):
            read_price_index(path)
