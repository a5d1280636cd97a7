"""Catalogues of any size: each figure is what a quote of the same piece says, whoever works it out and in whatever parts."""

from __future__ import annotations

import datetime
import multiprocessing
import os
import platform
import signal
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from books import write_book as write_sheets
from click.testing import CliRunner
from numpy.testing import assert_array_equal

import pricing
from pricing.book.price_book import PriceBook
from pricing.book.reading.read import load_price_book
from pricing.book.starter.demo import DEMO
from pricing.book.starter.write import write_book
from pricing.cli import main
from pricing.costing.catalogue.engines import Priced, followed, price_catalogue
from pricing.costing.catalogue.job import Job, PartDone, part_path, prepare, price_part
from pricing.costing.catalogue.pricer import ALL_FIGURES, Pricer
from pricing.costing.catalogue.variants import AtQuantities, Grid, Products, Table, VariantError
from pricing.costing.run import cost_catalogue, cost_quotes
from pricing.files.left_behind import unfinished_name
from pricing.problems import BookError

pyarrow = pytest.importorskip("pyarrow", reason="pyarrow, which reads and writes Parquet files, is not installed")
parquet = pytest.importorskip("pyarrow.parquet")

DAY = datetime.date(2026, 11, 26)
FIGURES = ("mass", "unit_cost", "unit_price", "discounted_margin", "labour_hours")

#: The axes of a small grid, in metres.
AXES: dict[str, list[Any]] = {
    "product": ["Shelf 900", "Worktop 1800", "Sill 1100"],
    "length": [0.8, 0.95, 1.1, 1.3],
    "mix": ["White face mix", "Charcoal mix"],
    "finish": ["Waxed", "Sealed only"],
    "quantity": [1, 5, 12],
    "price of White cement": [1.0, 1.25],
}


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("catalogue") / "book.xlsx"
    write_book(made, DEMO)
    return made


@pytest.fixture(scope="module")
def book(path: Path) -> PriceBook:
    return load_price_book(path)


def array(values: list[Any]) -> Any:
    return np.array(values, dtype=object if isinstance(values[0], str) else np.float64)


def grid() -> Grid:
    return Grid({name: array(values) for name, values in AXES.items()})


def test_products_cost_what_a_catalogue_says(book: PriceBook) -> None:
    """Every product at four quantities: each column of its line is the same number as in a costing of the list."""
    listed = cost_catalogue(book, DAY, (1, 5, 10, 25))
    variants = AtQuantities(Products(book), (1, 5, 10, 25))
    found = Pricer(book, DAY, ALL_FIGURES).priced(variants.part(0, variants.count))
    for name in ALL_FIGURES:
        if name not in ("line", "quote_number", "batch"):
            assert_array_equal(found[name], listed.line(name), err_msg=name)


def test_a_variant_costs_what_a_quote_of_it_says(book: PriceBook, tmp_path: Path) -> None:
    """Forty variants, written as enquiries into the price book, cost the same to the last bit."""
    made = grid()
    chosen = np.linspace(0, made.count / 2 - 1, 40).astype(int)  # the half at today's prices
    rows = []
    for number in chosen.tolist():
        part = made.part(number, number + 1)
        word = {name: str(part[name].words[part[name].codes[0]]) if hasattr(part[name], "words") else str(part[name][0])
                for name in ("product", "mix", "finish")}
        rows.append({
            "Quote": f"V-{number}", "Date": DAY, "Customer": "Atelier Ozwelin", "Product": word["product"], "Mix": word["mix"],
            "Finish": word["finish"], "Length": float(part["length"][0]) * 1000, "Quantity": int(part["quantity"][0]),
        })
    asked = tmp_path / "asked.xlsx"
    write_book(asked, {**DEMO, "Enquiries": rows, "Actuals": []})
    quoted = cost_quotes(load_price_book(asked))
    found = Pricer(book, DAY, FIGURES).priced(made.part(0, made.count))
    for name in FIGURES:
        assert_array_equal(found[name][chosen], quoted.line(name), err_msg=name)


def test_a_factor_is_a_price_multiplied(book: PriceBook, tmp_path: Path) -> None:
    """A price at 1.25 times, and a wage at 1.1, are what a price book says in which they are typed so."""
    data = {
        **DEMO,
        "Materials": [{**row, "Pack price": float(str(row["Pack price"])) * 1.25} if row["Material"] == "White cement" else row
                      for row in DEMO["Materials"]],
        "Trades": [{**row, "Hourly cost": float(str(row["Hourly cost"])) * 1.1} if row["Trade"] == "Maker" else row
                   for row in DEMO["Trades"]],
    }
    dearer = tmp_path / "dearer.xlsx"
    write_book(dearer, data)
    products = Products(book)
    part = products.part(0, products.count)
    factors = {"price of White cement": np.full(products.count, 1.25), "wage of Maker": np.full(products.count, 1.1)}
    found = Pricer(book, DAY, FIGURES).priced({**part, **factors})
    typed = Pricer(load_price_book(dearer), DAY, FIGURES).priced(part)
    plain = Pricer(book, DAY, FIGURES).priced(part)
    assert (found["unit_cost"] > plain["unit_cost"]).all()
    np.testing.assert_allclose(found["unit_cost"], typed["unit_cost"], rtol=1e-12)  # 17.2 x 1.25 is not typed to 17 digits


def test_a_day_of_its_own_has_the_prices_of_that_day(book: PriceBook) -> None:
    """A column of dates prices each variant as the list of that day does; a blank is today's."""
    product = np.array(["Shelf 900"] * 3, dtype=object)
    days = np.array(["2026-06-15", "2026-09-30", "NaT"], dtype="datetime64[D]")
    found = Pricer(book, DAY, FIGURES).priced({"product": product, "date": days, "quantity": np.ones(3)})
    row = book.tables["Products"].columns["product"].tolist().index("Shelf 900")
    for number, day in enumerate((datetime.date(2026, 6, 15), datetime.date(2026, 9, 30), DAY)):
        assert found["unit_cost"][number] == cost_catalogue(book, day, (1,)).line("unit_cost")[row]
    assert found["unit_cost"][0] == found["unit_cost"][1] < found["unit_cost"][2]  # cement is dearer from October


@pytest.mark.parametrize("size", [1, 7, 100, 10_000])
def test_the_size_of_a_part_changes_nothing(size: int, book: PriceBook) -> None:
    """Priced one at a time, by sevens or all at once, the figures are the same to the last bit."""
    made, pricer = grid(), Pricer(book, DAY, FIGURES)
    whole = pricer.priced(made.part(0, 100))
    parts = [pricer.priced(columns) for _, columns in made.chunks(0, 100, size)]
    for name in FIGURES:
        assert_array_equal(np.concatenate([part[name] for part in parts]), whole[name])


def test_a_piece_that_cannot_exist_has_no_price(book: PriceBook) -> None:
    """A planter whose wall is thicker than itself is left without figures, and its neighbours are not."""
    variants = Table({"product": np.array(["Planter 400"] * 2, dtype=object), "wall": np.array([0.03, 0.3])})
    found = Pricer(book, DAY, FIGURES).priced(variants.part(0, 2))
    assert np.isfinite(found["unit_price"]).tolist() == [True, False]
    assert np.isnan(found["mass"][1])


def written(axes: dict[str, list[Any]], file: Path) -> Path:
    """The combinations of some axes as a Parquet file with one row each, in three row groups."""
    made = Grid({name: array(values) for name, values in axes.items()})
    part = made.part(0, made.count)
    table = pyarrow.table({
        name: pyarrow.array(column.array().tolist() if hasattr(column, "words") else column.tolist()) for name, column in part.items()
    })
    parquet.write_table(table, file, row_group_size=max(made.count // 3, 1))
    return file


def axes_sheet(file: Path) -> Path:
    """The axes as a maker would type them: headings of the price book, millimetres, lists of different length."""
    workbook = openpyxl.Workbook()
    sheet = workbook.worksheets[0]
    headings = {"length": "Length (mm)", "price of White cement": "Price of white cement"}
    for column, (name, values) in enumerate(AXES.items(), 1):
        sheet.cell(1, column, headings.get(name, name.capitalize()))
        for row, value in enumerate(values, 2):
            sheet.cell(row, column, round(value * 1000) if name == "length" else value)
    workbook.save(file)
    return file


def job(path: Path, variants: Path | None = None, **more: Any) -> Job:
    return replace(Job(path, variants, False, (), DAY, at_once=50, part=100), **more)


def parts_of(out: Path) -> dict[str, bytes]:
    assert not [file.name for file in out.iterdir() if file.name.startswith(".")]
    return {file.name: file.read_bytes() for file in sorted(out.glob("*.parquet"))}


@pytest.fixture(scope="module")
def small(path: Path, tmp_path_factory: pytest.TempPathFactory) -> Job:
    return job(path, axes_sheet(tmp_path_factory.mktemp("axes") / "axes.xlsx"), grid=True)


@pytest.fixture(scope="module")
def by_one(small: Job, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    out = tmp_path_factory.mktemp("one")
    done = price_catalogue(small, out)
    assert (done.parts, done.kept, done.variants, done.priceless) == (3, 0, 288, 0)
    return parts_of(out)


def test_a_grid_in_a_sheet_is_the_same_as_its_rows_in_a_parquet_file(small: Job, path: Path, tmp_path: Path) -> None:
    """Lists in millimetres, every combination of them, cost what a Parquet file with a row for each costs, in metres."""
    rows = job(path, written(AXES, tmp_path / "rows.parquet"))
    by_grid, by_rows = prepare(small), prepare(rows)
    assert by_grid.variants.count == by_rows.variants.count == 288
    found = [list(each.priced(0, 288)) for each in (by_grid, by_rows)]
    for name in FIGURES:
        one, other = (np.concatenate([figures[name] for _, _, figures in each]) for each in found)
        assert_array_equal(one, other)


def test_a_folder_of_parquet_files_is_one_table(path: Path, tmp_path: Path) -> None:
    """Files of a folder follow one another by name; parts begin with their row groups."""
    folder = tmp_path / "many"
    folder.mkdir()
    for number, product in enumerate(AXES["product"]):
        written({**AXES, "product": [product]}, folder / f"{number}.parquet")
    prepared = prepare(job(path, folder, part=30))
    assert prepared.variants.count == 288
    assert prepared.cuts[:4] == [0, 30, 32, 62]
    found = np.concatenate([figures["unit_cost"] for _, _, figures in prepared.priced(0, 288)])
    parts = [figures["unit_cost"] for first, last in zip(prepared.cuts, prepared.cuts[1:], strict=False)
             for _, _, figures in prepared.priced(first, last)]
    assert_array_equal(np.concatenate(parts), found)


@pytest.mark.parametrize("processes", [2])
def test_several_processes_write_the_same_files(processes: int, small: Job, by_one: dict[str, bytes], tmp_path: Path) -> None:
    """Two processes of this machine give byte for byte the files of one."""
    told: list[tuple[int, int]] = []
    price_catalogue(small, tmp_path, processes=processes, done=lambda *each: told.append(each))
    assert parts_of(tmp_path) == by_one
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no signal that ends a process at once")
def test_a_process_that_is_killed_ends_in_a_sentence(small: Job, by_one: dict[str, bytes], tmp_path: Path) -> None:
    """Where a process is ended from outside, no part is half written, and the same run again finishes what is missing."""
    here = set(multiprocessing.active_children())

    def kill_one() -> None:
        while not (begun := [each for each in multiprocessing.active_children() if each not in here and each.pid]):
            time.sleep(0.01)
        os.kill(begun[0].pid or 0, signal.SIGKILL)

    killing = threading.Thread(target=kill_one, daemon=True)
    killing.start()
    with pytest.raises(VariantError, match=r"ended from outside.*run the same command again"):
        price_catalogue(small, tmp_path, processes=2)
    killing.join()
    written = {file.name: file.read_bytes() for file in tmp_path.glob("part-*.parquet")}
    assert written.items() <= by_one.items()
    price_catalogue(small, tmp_path)
    assert parts_of(tmp_path) == by_one


@pytest.mark.parametrize(("jobs", "begun"), [(1, 1), (2, 2), (64, 3), (None, 3)])
def test_no_more_processes_price_than_there_are_processors(
    jobs: int | None, begun: int, small: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On three processors more than three would only take turns."""
    seen: list[int] = []

    def priced(*_: object, processes: int, **more: object) -> Priced:
        seen.append(processes)
        return Priced(3, 0, 288, 0)

    monkeypatch.setattr("os.sched_getaffinity", lambda _: {0, 1, 2}, raising=False)
    monkeypatch.setattr("pricing.costing.catalogue.engines.price_catalogue", priced)
    pricing.catalogue(small.book, variants=small.variants, grid=True, out=tmp_path / "out", jobs=jobs)
    assert seen == [begun]


def test_a_run_that_was_stopped_is_taken_up(small: Job, by_one: dict[str, bytes], tmp_path: Path) -> None:
    """Finished parts are kept as they are; what is missing or damaged is priced again, and a leftover does no harm."""
    price_catalogue(small, tmp_path)
    part_path(tmp_path, 0).unlink()
    part_path(tmp_path, 1).write_bytes(by_one[part_path(tmp_path, 1).name][:500])
    left = unfinished_name("part-000001.parquet", ".parquet").replace(f"-{os.getpid()}-", "-999999999-")
    (tmp_path / left).write_bytes(b"by a process that was killed")
    kept = part_path(tmp_path, 2).stat().st_mtime_ns
    done = price_catalogue(small, tmp_path)
    assert (done.kept, done.variants) == (1, 200)
    assert parts_of(tmp_path) == by_one
    assert part_path(tmp_path, 2).stat().st_mtime_ns == kept


@pytest.mark.parametrize("change", [{"quantities": (2.0,)}, {"day": datetime.date(2024, 12, 1)}, {"figures": ("mass",)}, {"part": 50}])
def test_a_folder_is_filled_from_one_catalogue(change: dict[str, Any], small: Job, tmp_path: Path) -> None:
    """Another day, other quantities, figures or parts do not go into a folder that is begun."""
    price_catalogue(small, tmp_path)
    with pytest.raises(VariantError, match="holds a catalogue of other products, prices or quantities; name another folder"):
        price_catalogue(replace(small, **change), tmp_path)


def test_the_folder_is_one_table(small: Job, tmp_path: Path) -> None:
    """What reads a folder of Parquet files reads the whole catalogue: what else lies there is passed over."""
    price_catalogue(small, tmp_path)
    table = parquet.read_table(tmp_path)
    assert table.num_rows == sum(parquet.read_table(file).num_rows for file in sorted(tmp_path.glob("part-*.parquet"))) > 0


def test_a_part_that_fails_leaves_nothing(path: Path, tmp_path: Path) -> None:
    """An unknown product in the last row of a part: nothing of that part stands in the folder."""
    rows = written({**AXES, "product": ["Shelf 900", "Shelf 901"]}, tmp_path / "rows.parquet")
    out = tmp_path / "out"
    with pytest.raises(VariantError, match='there is no product "Shelf 901" in the price book; is "Shelf 90'):
        price_catalogue(job(path, rows, part=1000), out)
    assert sorted(file.name for file in out.iterdir()) == ["_catalogue.json"]


def test_memory_does_not_grow_with_the_catalogue(path: Path, small: Job) -> None:
    """Ten times the variants in a part need no more memory than one portion of them."""
    import tracemalloc

    axes = {**AXES, "length": np.linspace(0.7, 1.4, 700).round(4).tolist()}
    variants = Grid({name: array(values) for name, values in axes.items()})
    prepared = replace(prepare(replace(small, at_once=5_000)), variants=variants)
    peaks = []
    for last in (5_000, 50_000):
        tracemalloc.start()
        for _ in prepared.priced(0, last):
            pass
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert variants.count == 50_400
    assert peaks[1] < peaks[0] * 1.3
    assert peaks[0] < 5_000 * 6_500  # bytes a variant, with plans of some twenty steps


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="other C libraries are not told to keep what is freed")
def test_memory_that_is_free_again_is_not_fetched_anew(small: Job) -> None:
    """A process that prices parts works in the memory that it has: arrays of 13 MB, twenty times over, fault in no new pages."""
    import resource

    def worked() -> int:
        before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
        for _ in range(20):
            [np.ones(200_000) for _ in range(8)]
        return resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before

    small.prepared()
    worked()
    assert worked() < 3_000  # of 60,000 where it is given back each time


WRONG: dict[str, tuple[Callable[[dict[str, list[Any]]], None], str]] = {
    "a product that is not there": (lambda axes: axes.update(product=["Shelf 999"]), 'no product "Shelf 999" in the price book; is'),
    "a mix that is not there": (lambda axes: axes.update(mix=["Grey mix"]), 'no mix "Grey mix" in the price book'),
    "a heading that says nothing": (lambda axes: axes.update(colour=["red"]), 'the column "colour" says nothing about a variant'),
    "a heading nearly right": (lambda axes: axes.update(lenght=[1.0]), "name it length, or take it out"),
    "no product": (lambda axes: axes.pop("product"), "there is no column product"),
    "words for a length": (lambda axes: axes.update(length=["long"]), 'the column "length" holds string; numbers are needed'),
    "numbers for a mix": (lambda axes: axes.update(mix=[1.0]), 'the column "mix" holds double; words are needed'),
    "numbers for a day": (lambda axes: axes.update(date=[1.0]), 'the column "date" holds double; dates are needed'),
    "half a piece": (lambda axes: axes.update(quantity=[0.5]), "a quantity of 0.5 is no number of pieces"),
    "a factor below nothing": (lambda axes: axes.update({"price of White cement": [-1.0]}), "a factor of -1 on a price is not meant"),
    "a material that is not there": (lambda axes: axes.update({"price of Gold": [1.1]}), 'the column "price of Gold" says nothing'),
}


@pytest.mark.parametrize("kind", WRONG)
def test_what_cannot_be_priced_is_said_in_a_sentence(kind: str, path: Path, tmp_path: Path) -> None:
    """The command names what is wrong with the variants and what to do, and leaves with 1."""
    change, says = WRONG[kind]
    axes = dict(AXES)
    change(axes)
    rows = written(axes, tmp_path / "rows.parquet")
    run = CliRunner().invoke(main, ["catalogue", str(rows), "--book", str(path), "--out", str(tmp_path / "out"), "--jobs", "1"])
    assert run.exit_code == 1, run.output
    assert says in run.stderr
    assert len(run.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["rows.parquet"], "name the price book of their products with --book"),
        (["nothing.xlsx"], "there is no such file"),
        (["nothing.parquet", "--book", "book.xlsx"], "cannot be read as Parquet"),
        (["book.xlsx", "--figures", "beauty"], 'there is no figure "beauty"'),
        (["book.xlsx", "--quantities", "none"], "Invalid value for '--quantities': 'none' is no list of quantities"),
        (["variants.xlsx"], "name the price book of their products with --book"),
        (["many.xlsx", "--book", "book.xlsx"], 'quantity "many" holds no number; type a whole number, such as 4'),
        (["book.xlsx", "--engine", "dask", "--scheduler", "tcp://127.0.0.1:9"], "no scheduler answers there"),
    ],
)
@pytest.mark.filterwarnings("ignore")
def test_what_cannot_be_begun_is_said_in_a_sentence(
    arguments: list[str], says: str, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wrong arguments, missing files and a cluster that does not answer end in a sentence, never in a traceback."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "book.xlsx").write_bytes(path.read_bytes())
    write_sheets(tmp_path / "variants.xlsx", {"Variants": [["Product", "Quantity"], ["Shelf 900", 4]]})
    write_sheets(tmp_path / "many.xlsx", {"Variants": [["Product", "Quantity"], ["Shelf 900", "many"]]})
    monkeypatch.setattr("pricing.costing.catalogue.engines.PATIENCE", "1s")
    run = CliRunner().invoke(main, ["catalogue", *arguments, "--out", "out"])
    assert run.exit_code in (1, 2)
    assert says in " ".join(run.stderr.split()), run.stderr
    assert "Traceback" not in run.stderr


@pytest.mark.parametrize(
    ("module", "arguments", "says"),
    [
        ("pyarrow", [], "pyarrow, which reads and writes Parquet files, is not installed; install it with: pip install"),
        ("distributed", ["--engine", "dask"], "dask, which shares the work between machines, is not installed; install it with"),
    ],
)
def test_a_library_that_is_absent_is_said(
    module: str, arguments: list[str], says: str, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the extra's libraries the command says what to install; a workbook needs none of them."""
    monkeypatch.setitem(sys.modules, module, None)
    run = CliRunner().invoke(main, ["catalogue", str(path), "--out", str(tmp_path), *arguments])
    assert run.exit_code == 1
    assert says in " ".join(run.stderr.split())
    run = CliRunner().invoke(main, ["catalogue", str(path), "--out", str(tmp_path), "--format", "xlsx"])
    assert run.exit_code == 0, run.output


def test_a_workbook_holds_the_same_figures(small: Job, path: Path, tmp_path: Path) -> None:
    """The rows of the sheet are those of the Parquet files; what has no price is blank, and the command says how many."""
    rows = written({"product": ["Planter 400", "Shelf 900"], "wall": [0.03, 0.3]}, tmp_path / "rows.parquet")
    arguments = ["catalogue", str(rows), "--book", str(path), "--out", str(tmp_path / "out"), "--date", str(DAY)]
    run = CliRunner().invoke(main, [*arguments, "--format", "xlsx"])
    assert run.exit_code == 0, run.output
    assert "4 variants priced" in run.stdout
    assert "1 of them has no price" in run.stderr
    sheet = openpyxl.load_workbook(tmp_path / "out" / "catalogue.xlsx").worksheets[0]
    assert CliRunner().invoke(main, arguments).exit_code == 0
    assert (sheet.print_title_rows, sheet.sheet_properties.pageSetUpPr.fitToPage, sheet.page_setup.fitToHeight) == ("$1:$1", True, 0)
    table = parquet.read_table(part_path(tmp_path / "out", 0)).to_pylist()
    assert [cell.value for cell in sheet[1]][:4] == ["Product", "Wall\nm", "Mass\nkg", "Unit cost\nGBP"]
    for cells, row in zip(sheet.iter_rows(min_row=2, values_only=True), table, strict=True):
        del row["variant"]
        expected = [None if value is None else value if isinstance(value, str) else float(f"{value:.16g}") for value in row.values()]
        assert list(cells) == expected


def test_a_sheet_is_never_too_long(small: Job, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """More variants than a sheet has rows are refused before anything is priced."""
    from pricing.reports.lists import catalogue as catalogue_sheet

    monkeypatch.setattr(catalogue_sheet, "MOST_ROWS", 287)
    with pytest.raises(VariantError, match="288 variants are more than the 287 rows of a sheet; write them as Parquet files"):
        catalogue_sheet.write_catalogue(prepare(small), tmp_path / "catalogue.xlsx")
    assert list(tmp_path.iterdir()) == []


def test_a_faulty_sheet_of_variants_is_told_of_cell_by_cell(path: Path, tmp_path: Path) -> None:
    """A length in kilograms is reported with its cell, as in the price book."""
    workbook = openpyxl.Workbook()
    workbook.worksheets[0].append(["Product", "Length (mm)"])
    workbook.worksheets[0].append(["Shelf 900", "12 kg"])
    workbook.save(tmp_path / "variants.xlsx")
    with pytest.raises(BookError, match=r"variants.xlsx  Sheet!B2"):
        prepare(job(path, tmp_path / "variants.xlsx"))


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no signal that ends a process at once")
@pytest.mark.filterwarnings("ignore")
def test_a_cluster_gives_the_same_files_though_a_worker_is_killed(small: Job, by_one: dict[str, bytes], tmp_path: Path) -> None:
    """Two workers of dask, one of them killed while it works: the files are those of this machine alone, byte for byte."""
    distributed = pytest.importorskip("distributed", reason="dask, which shares the work between machines, is not installed")
    fine = replace(small, part=12)
    alone = tmp_path / "alone"
    price_catalogue(fine, alone)
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        workers = client.run(os.getpid)
        assert len(set(workers.values()) - {os.getpid()}) == 2
        done: list[PartDone] = []
        for each in followed(client, fine, tmp_path / "out", range(24)):
            done.append(each)
            if len(done) == 4:
                os.kill(next(iter(workers.values())), signal.SIGKILL)
    assert sorted(each.number for each in done) == list(range(24))
    assert sum(each.rows for each in done) == 288
    finished = {file.name: file.read_bytes() for file in sorted((tmp_path / "out").glob("part-*.parquet"))}
    assert finished == parts_of(alone)


def test_a_part_is_a_function_of_its_number(small: Job, by_one: dict[str, bytes], tmp_path: Path) -> None:
    """Any part can be priced alone, in any order, by anybody."""
    assert price_part(small, tmp_path, 2) == PartDone(2, 88, 0)
    assert parts_of(tmp_path) == {"part-000002.parquet": by_one["part-000002.parquet"]}
