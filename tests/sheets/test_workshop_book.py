"""The workshop workbook: a spreadsheet program agrees with every figure, and every page says what it has to."""

from __future__ import annotations

import dataclasses
import datetime
import re
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from books import DAY, small_book, write_book
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet
from print_areas import width_of
from referee import differences, formulas_of, recalculated_all, stored

from pricing.book.reading.read import load_price_book
from pricing.costing.method.costing import Costing
from pricing.costing.run import cost_quotes
from pricing.costing.workshop.batch_sheets import weigh
from pricing.costing.workshop.steps import WorkStep
from pricing.costing.workshop.work import Work, prepare, shopping_for
from pricing.problems import Problems
from pricing.reports.quote.wording import fixed_wording
from pricing.reports.workshop.cautions import BATCH_CAUTION, CAUTIONS, CUT_CAUTION, DEFERENCE, cautions_of, short_text
from pricing.reports.workshop.overview import columns as columns_of_work
from pricing.reports.workshop.steps import COLUMNS as STEP_COLUMNS
from pricing.reports.workshop.workbook import prepared, write_shopping_list, write_work_of
from pricing.rules.shapes import SHAPES
from pricing.xlsx.writing.text_width import text_width

WORK_WIDTH, STEP_WIDTH = (sum(column.width for column in columns) for columns in (columns_of_work("kg"), STEP_COLUMNS))

DEMO = Path(__file__).parents[2] / "workbooks" / "demo price book.xlsx"
IMPERIAL = DEMO.with_name("demo price book imperial.xlsx")
SHEETS = ["Work", "Cut list", "Batches", "Steps", "Calendar", "Shopping", "Lead time"]


def rich_book() -> dict[str, list[list[Any]]]:
    """The small workshop with everything that the workshop's pages can show: moisture, stock, packs, wanted days, a coarse scale."""
    sheets = small_book()
    sheets["Workshop"] += [["Start within", 3, None], ["Scale step", "0.05 kg", None]]
    materials = sheets["Materials"]
    materials[0] += ["In stock", "Same as", "Moisture", "Absorption", "Solids"]
    more = {"Cement": [20, None, None, None, None], "Sand": [None, None, "5 %", "1 %", None], "Flow": [0.05, None, None, None, "30 %"]}
    for row in materials[1:]:
        row += more.get(row[0], [None] * 5)
    materials.append(["Cement 5 kg", *materials[1][1:2], 5, "kg", 2.6, *materials[1][5:12], "Corner Shop", *materials[1][13:14],
                      None, "Cement", None, None, None])
    sheets["Enquiries"][0].append("Wanted by")
    for row, wanted in zip(sheets["Enquiries"][1:], (datetime.date(2026, 3, 20), datetime.date(2026, 3, 6), None, None), strict=True):
        row.append(wanted)
    return sheets


@pytest.fixture(scope="module")
def works(tmp_path_factory: pytest.TempPathFactory) -> list[Work]:
    """Both quotes of the workshop, prepared."""
    costing = cost_quotes(load_price_book(write_book(tmp_path_factory.mktemp("rich") / "rich.xlsx", rich_book())))
    return [prepare(costing, quote) for quote in costing.quotes]


@pytest.fixture(scope="module")
def written(works: list[Work], tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """A workbook for each quote, and the shopping list of both."""
    folder = tmp_path_factory.mktemp("workshop")
    for work in works:
        write_work_of(work, folder / f"{work.quote}.xlsx")
    write_shopping_list(shopping_for(works, Problems()), works[0].costing, folder / "shopping.xlsx")
    return [*(folder / f"{work.quote}.xlsx" for work in works), folder / "shopping.xlsx"]


def rows_of(book: Workbook, sheet: str) -> list[list[Any]]:
    return [[cell.value for cell in row] for row in book[sheet].iter_rows()]


def words_of(path: Path) -> str:
    cells = (cell for sheet in openpyxl.load_workbook(path).worksheets for row in sheet.iter_rows() for cell in row)
    return "\n".join(str(cell.value) for cell in cells if cell.value)


def day_of(value: Any) -> datetime.date:
    """A date, or the number that stands for it in a cell whose format shows nothing."""
    return value.date() if isinstance(value, datetime.datetime) else datetime.date(1899, 12, 30) + datetime.timedelta(days=value)


@pytest.mark.usefixtures("requires_office")
def test_a_spreadsheet_agrees(works: list[Work], written: list[Path], tmp_path: Path) -> None:
    """Every figure is what its formula gives; a load or a moisture that is typed anew does what the engine makes of it."""
    book = openpyxl.load_workbook(written[0])
    sheet = book["Batches"]
    load = next(cell for row in sheet.iter_rows() for cell in row if cell.value == pytest.approx(22))  # 20 litres and a tenth
    load.value = 35
    top = next(row[0].row for row in sheet.iter_rows() if row[0].value == "Ingredient")
    names = [str(cell.value).partition("\n")[0] for cell in sheet[top]]
    sand = next(row for row in range(top, top + 9) if sheet.cell(row, 1).value == "Sand")
    sheet.cell(sand, names.index("Moisture") + 1).value = 0.09
    book.save(tmp_path / "changed.xlsx")
    *computed, changed = recalculated_all([*written, tmp_path / "changed.xlsx"])
    for path, theirs in zip(written, computed, strict=True):
        assert differences(stored(path), theirs, 1e-12) == [], path.name
    assert len(formulas_of(written[0])) > 400
    grey = works[0].batches[0]
    damp = tuple(dataclasses.replace(each, moisture=0.09) if each.material == "Sand" else each for each in grey.ingredients)
    anew = weigh(damp, 35.0)
    for row, weighing in enumerate(anew.weighings, top + 1):
        cells = dict(zip(names, [cell.value for cell in changed["Batches"][row]], strict=True))
        assert (cells["WEIGH OUT"] or 0) == pytest.approx(weighing.weighed_mass, abs=1e-9)
        assert cells["Volume"] == pytest.approx(weighing.volume_in_load, rel=1e-12)
    total = top + 1 + len(anew.weighings)
    assert changed["Batches"].cell(total, names.index("Volume") + 1).value == pytest.approx(anew.yield_litres, rel=1e-12)
    assert changed["Batches"].cell(total + 1, 2).value == pytest.approx(anew.water_binder, rel=1e-12)


def test_sheets_and_pages(written: list[Path]) -> None:
    """Every sheet is A4, one page wide, without grid lines, with page numbers in its foot; the list of both quotes is one sheet."""
    for path, names in ((written[0], SHEETS), (written[2], ["Shopping"])):
        book = openpyxl.load_workbook(path)
        assert book.sheetnames == names
        for sheet in book.worksheets:
            assert sheet.page_setup.paperSize == 9
            assert sheet.sheet_properties.pageSetUpPr.fitToPage
            assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight) == (1, 0)
            assert not sheet.sheet_view.showGridLines
            assert sheet.print_area
        parts = [name for name in zipfile.ZipFile(path).namelist() if name.startswith("xl/worksheets/sheet")]
        feet = [re.search("<oddFooter>.*</oddFooter>", zipfile.ZipFile(path).read(part).decode()) for part in parts]
        assert all(foot and "Test Castings" in foot.group() and "&amp;P of &amp;N" in foot.group() for foot in feet)


def test_the_first_page_answers_first(works: list[Work], written: list[Path]) -> None:
    """Who, when, how much work; what is late; weights, and what is too heavy for one."""
    words = words_of(written[0])
    assert "7 pieces for Ada Field: begun on 5 March 2026, all ready on" in words
    assert "Not in time: piece 2" in words
    assert "Slab 1000: Plain slab" in words
    assert "One person should not lift piece 1: 45.3 kg" in words
    assert works[0].costing.line("moulds_at_once").tolist() == [1, 3]
    rows = rows_of(stored(written[0]), "Work")
    ready = [row[7].date() for row in rows if isinstance(row[7], datetime.datetime)]
    assert ready == list(works[0].calendar.ready.values())


def test_each_piece_and_each_sheet_is_drawn(works: list[Work], written: list[Path]) -> None:
    """A dimensioned drawing for each piece that has one, and one for each whole sheet of board."""
    for work, path in zip(works, written, strict=False):
        pictures = [name for name in zipfile.ZipFile(path).namelist() if name.startswith("xl/media/")]
        drawn = sum(1 for line in range(len(work.costing.lines)) if work.costing.products()[line] != "Block")
        assert len(pictures) == drawn + sum(work.cuts.sheets().values())


def test_every_panel_is_listed(works: list[Work], written: list[Path]) -> None:
    """The cut list has every panel with its size in millimetres and how many of it to cut."""
    rows = rows_of(stored(written[0]), "Cut list")
    listed = {row[0]: (row[2], row[3], row[4], row[8]) for row in rows if str(row[0]).isdigit()}
    for row in works[0].cuts.rows:
        panel, length, width, count = listed[row.mark]
        assert (panel, count) == (row.panel, row.count)
        assert (length, width) == (pytest.approx(row.length * 1000), pytest.approx(row.width * 1000))
    assert any("stepped from" in str(row[10]) for row in rows)


def test_steps_have_minutes_and_cautions(works: list[Work], written: list[Path]) -> None:
    """Each step stands with its minutes; each that has a usual caution stands with it, and the full text stands below once."""
    words = words_of(written[0])
    rows = rows_of(stored(written[0]), "Steps")
    for step in works[0].steps:
        row = next(row for row in rows if row[1] == step.step)
        assert bool(row[9]) == bool(cautions_of(step))
    for caution in CAUTIONS:
        assert (caution.full in words) == any(caution in cautions_of(step) for step in works[0].steps)
    assert words.count(DEFERENCE) >= 3
    totals = [row[7] for row in rows if row[1] == "All lines"]
    assert totals == [pytest.approx(sum(step.total for step in works[0].steps), rel=1e-12)]


@pytest.mark.parametrize(
    ("name", "per", "machine", "titles"),
    [
        ("Mix", "batch", "Mixer", ["Wet cement", "Silica dust", "Electricity and water"]),
        ("Whatever they call it", "batch", "", ["Wet cement", "Silica dust"]),
        ("Fill the mould", "cast", "", ["Wet cement", "Lifting"]),
        ("Grind the open side", "m2 open side", "Wet polisher", ["Silica dust", "Slurry", "Noise and vibration", "Electricity and water"]),
        ("Vibrate", "cast", "Table", ["Wet cement", "Noise and vibration", "Electricity and water"]),
        ("Spray the face", "m2 face", "", ["Glass fibre"]),
        ("Exchange the blade", "piece", "", []),
        ("Unload and stand", "piece", "", ["Slabs on edge", "Lifting"]),
        ("Cut the boards", "m2 mould", "Panel saw", ["Saws and drivers"]),
        ("Seal, two coats", "m2 face", "", ["Sealants, sealers, release"]),
        ("Fillet", "m joint", "", ["Sealants, sealers, release"]),
        *((name, "piece", "", ["Lifting"]) for name in ("Pack", "Wrap", "Fit on site", "Hang", "Repack")),
        *((name, "piece", "", ["Slabs on edge", "Lifting"]) for name in ("Crate", "Load the van", "Carry", "Move to the rack")),
        ("Drawing and papers", "order", "", []),
    ],
)
def test_cautions_by_what_a_step_is(name: str, per: str, machine: str, titles: list[str]) -> None:
    """What a step is counted by, its machine and its name call for cautions; paper work calls for none."""
    step = WorkStep(0, name, "Maker", machine, per, 10.0, 1.0, 0.0, False, 1)
    assert [caution.title for caution in cautions_of(step)] == titles
    assert ("more than one person" in short_text(step, 40.0, 25.0)) == ("Lifting" in titles)


def test_fibre_of_the_mix_is_told_where_the_mix_is_touched() -> None:
    """Weighing and filling of a mix with fibre call for its caution, packing does not; nor does a mix without."""
    def titles(name: str, per: str, fibre: bool) -> set[str]:
        return {caution.title for caution in cautions_of(WorkStep(0, name, "Maker", "", per, 10.0, 1.0, 0.0, False, 1, fibre))}

    assert "Glass fibre" in titles("Weigh", "batch", True) & titles("Fill", "cast", True)
    assert "Glass fibre" not in titles("Weigh", "batch", False) | titles("Pack", "piece", True)


def test_lifting_names_the_guidance_that_its_figures_are_from() -> None:
    """HSE L23 and INDG143: 16 and 25 kg, 3 to 10 kg (from memory and a transcription); NIOSH publication 94-110: 23 kg."""
    (lifting,) = (caution for caution in CAUTIONS if caution.title == "Lifting")
    for words in ("16 kg", "25 kg", "23 kg", "HSE L23", "INDG143", "NIOSH", "no legal limit", "Many people should lift less"):
        assert words in lifting.full


def test_who_makes_a_product_is_its_manufacturer() -> None:
    """The maker is who casts; machines, sealers and stoves have manufacturers."""
    texts = [DEFERENCE, BATCH_CAUTION, CUT_CAUTION, *(text for each in CAUTIONS for text in (each.short, each.full)), *fixed_wording()]
    assert sum("manufacturer" in text for text in texts) >= 5
    assert not any(re.search(r"\bmaker", text) for text in texts)


def test_nothing_is_called_safe(written: list[Path]) -> None:
    """No page says that anything is safe."""
    for path in written:
        assert not re.search(r"\bsafe(ly|ty)?\b", words_of(path), re.IGNORECASE)


def test_the_calendar_has_a_bar_for_each_stretch(works: list[Work], written: list[Path]) -> None:
    """Bars cover their days and no others, and are told apart by kind."""
    book = stored(written[0])
    rows = rows_of(book, "Calendar")
    dates = next(row for row in rows if row[0] == "Days in a column")
    shown = [row for row in rows if row[2] in ("work", "wait", "in the mould")]
    assert len(shown) == len(works[0].calendar.bars)
    for bar, row in zip(works[0].calendar.bars, shown, strict=True):
        days = [day_of(day) for day, mark in zip(dates[6:], row[6:], strict=True) if mark]
        assert days == [bar.begins + datetime.timedelta(days=each) for each in range((bar.ends - bar.begins).days + 1)]
    rules = openpyxl.load_workbook(written[0])["Calendar"].conditional_formatting
    assert sum(len(each.rules) for each in rules) == 4


def test_a_long_order_fits_the_page(tmp_path: Path) -> None:
    """Hundreds of days are bars of more days to a column."""
    sheets = small_book()
    sheets["Enquiries"] = [sheets["Enquiries"][0], ["Q-1", DAY, "Brook House", "Slab 1000", 1500, None, None, None, None]]
    work = prepared(cost_quotes(load_price_book(write_book(tmp_path / "book.xlsx", sheets))), "Q-1")
    write_work_of(work, tmp_path / "long.xlsx")
    rows = rows_of(stored(tmp_path / "long.xlsx"), "Calendar")
    width = next(row[2] for row in rows if row[0] == "Days in a column")
    assert width > 5
    last = day_of(next(row for row in rows if row[0] == "Days in a column")[-1])
    assert last + datetime.timedelta(days=width - 1) >= work.calendar.last
    assert sum(1 for row in rows if row[2] == "in the mould") == 1


def test_price_against_lead_time_is_shown(works: list[Work], written: list[Path]) -> None:
    """A row for each useful number of moulds; the one that the quote has is marked."""
    rows = [row for row in rows_of(stored(written[0]), "Lead time") if isinstance(row[2], datetime.datetime)]
    choices = [choice for line in works[0].choices for choice in line]
    assert [(row[1], row[2].date(), row[3], row[5]) for row in rows] == [
        (choice.moulds, choice.ready, choice.working_days, choice.unit_price) for choice in choices
    ]
    assert [row[1] for row in rows if row[6]] == [1, 3]


def test_the_cheapest_packs_are_typed_and_may_be_changed(works: list[Work], written: list[Path]) -> None:
    """A thing in several packs has a row for each; what is left over follows from them."""
    row = next(row for row in works[0].shopping.rows if row.material == "Cement")
    sheet = openpyxl.load_workbook(written[0])["Shopping"]
    at = {cell.value: cell.row for cell in sheet["B"] if cell.value}
    large, small = at["of which Cement"], at["of which Cement 5 kg"]
    assert (sheet.cell(large, 8).value, sheet.cell(small, 8).value) == row.purchase.counts
    assert str(sheet.cell(at["Cement"], 8).value) == f"=SUM(H{large}:H{small})"
    assert str(sheet.cell(at["Sand"], 8).value).startswith("=ROUNDUP(")


def test_who_buys_by_the_pound_reads_pounds(tmp_path: Path) -> None:
    """A bag typed as 94 lb is a pack of 94 lb, resin by the US gallon; packs and their cost are those of the metric list."""
    costing = cost_quotes(load_price_book(IMPERIAL))
    work = prepare(costing, costing.quotes[0])
    write_work_of(work, tmp_path / "work.xlsx")
    sheet = stored(tmp_path / "work.xlsx")["Shopping"]
    rows = {row[1]: row for row in sheet.iter_rows(values_only=True) if row[0] == "☐" and row[1] != "Material"}
    assert rows["White portland"][2] == "lb"
    assert rows["White portland"][6] == 94
    assert {row[2] for row in rows.values()} <= {"lb", "gal (US)", "ft", "ft2", "each", "sheet"}
    assert [row[7] for row in rows.values()] == [count for row in work.shopping.rows for count in row.purchase.counts]
    for row in work.shopping.rows:
        need, size = rows[row.material][3], rows[row.material][6]
        assert need / size == pytest.approx(row.need / row.packs[0].size, rel=1e-12)
    assert "gal (US)" in sheet["A2"].value


def test_figures_fit_their_columns(written: list[Path]) -> None:
    """No figure and no date is wider than its column, so that none is shown as a row of hashes."""
    seen = 0
    for path in written:
        book, results = openpyxl.load_workbook(path), stored(path)
        for sheet in book.worksheets:
            groups = sheet.column_dimensions.values()
            widths = {column: group.width * 7 + 5 for group in groups for column in range(group.min, group.max + 1)}
            merged = {cell for area in sheet.merged_cells.ranges for cell in area.cells}
            for cell in (cell for row in sheet.iter_rows() for cell in row):
                value, number = results[sheet.title][cell.coordinate].value, cell.number_format
                if number == ";;;" or (cell.row, cell.column) in merged or not isinstance(value, int | float | datetime.datetime):
                    continue
                if isinstance(value, datetime.datetime):
                    shown = "Wed 28 May 2026" if "yyyy" in number else "Wed 28 May"
                else:
                    places = number.partition(".")[2].count("0")
                    shown = f"{value * 100:,.{places}f}%" if "%" in number else f"{value:,.{places}f}"
                needed = text_width(shown, cell.font.sz, bool(cell.font.b))
                assert needed <= widths[cell.column], (path.name, sheet.title, cell.coordinate, shown)
                seen += 1
    assert seen > 300


def test_every_shape_of_the_demo_has_a_workbook(tmp_path: Path) -> None:
    """A quote of all products gets its pages: all shapes drawn, cut, mixed and timed."""
    book = load_price_book(DEMO)
    enquiries, products = book.tables["Enquiries"], book.tables["Products"]
    assert set(products.columns["shape"].tolist()) == set(SHAPES)
    for name, values in enquiries.columns.items():
        enquiries.columns[name] = values[[0] * len(products)]
    enquiries.columns["product"] = products.columns["product"].copy()
    book.tables["Customers"].columns["delivery_zone"][:] = ""  # no band holds so much
    enquiries.rows = enquiries.rows[[0] * len(products)]
    costing: Costing = cost_quotes(book)
    work = prepared(costing, costing.quotes[0])
    write_work_of(work, tmp_path / "all.xlsx")
    assert len(work.calendar.ready) == len(products)
    panels = sum(row.count for row in work.cuts.rows)
    assert panels > 100
    placed = sum(len(plan.nest.placements) for plan in work.cuts.boards if plan.nest is not None)
    assert placed == panels - sum(row.count for plan in work.cuts.boards for row in plan.joined)
    pictures = [name for name in zipfile.ZipFile(tmp_path / "all.xlsx").namelist() if name.startswith("xl/media/")]
    assert len(pictures) >= len(products) - 1


def test_the_same_work_gives_the_same_bytes(works: list[Work], written: list[Path], tmp_path: Path) -> None:
    """Written twice, the workbook is the same file."""
    write_work_of(works[1], tmp_path / "again.xlsx")
    assert (tmp_path / "again.xlsx").read_bytes() == written[1].read_bytes()


def test_a_run_that_fails_leaves_the_earlier_workbook(works: list[Work], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing half-written takes the place of a workbook."""
    target = tmp_path / "Q-2 workshop.xlsx"
    write_work_of(works[1], target)
    before = target.read_bytes()
    monkeypatch.setattr("pricing.reports.workshop.shopping.write_shopping", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        write_work_of(works[1], target)
    assert target.read_bytes() == before
    assert [path.name for path in tmp_path.iterdir()] == [target.name]


def test_the_pack_speaks_the_language_of_the_workshop(tmp_path: Path) -> None:
    """A customer who is written to in German changes no word on the pages of the workshop."""
    texts = []
    for language in ("en-GB", "de"):
        sheets = small_book()
        sheets["Workshop"].append(["Language", language, None])
        costing = cost_quotes(load_price_book(write_book(tmp_path / f"{language}.xlsx", sheets)))
        write_work_of(prepared(costing, "Q-1"), tmp_path / f"{language} workshop.xlsx")
        book = openpyxl.load_workbook(tmp_path / f"{language} workshop.xlsx")
        texts.append({str(cell.value) for sheet in book.worksheets for row in sheet.iter_rows() for cell in row if cell.data_type == "s"})
    assert texts[0] == texts[1]


def test_who_mixes_by_the_gallon_reads_gallons(tmp_path: Path) -> None:
    """Each load of a batch sheet is typed in US gallons, and in litres in a metric book."""
    costing = cost_quotes(load_price_book(IMPERIAL))
    work = prepare(costing, costing.quotes[0])
    write_work_of(work, tmp_path / "work.xlsx")
    sheet = stored(tmp_path / "work.xlsx")["Batches"]
    rows = [cell.row for row in sheet.iter_rows() for cell in row if cell.value == "Load (gal)"]
    loads = [load for batch in work.batches for load in batch.loads]
    assert [sheet.cell(row, 5).value * 3.785411784 for row in rows] == pytest.approx([load.litres for load in loads], rel=1e-12)
    live = openpyxl.load_workbook(tmp_path / "work.xlsx")["Batches"]
    assert any(str(cell.value).count("$E$") and "46656/231" in str(cell.value) for row in live.iter_rows() for cell in row)
    metric = cost_quotes(load_price_book(DEMO))
    write_work_of(prepare(metric, metric.quotes[0]), tmp_path / "metric.xlsx")
    plain = openpyxl.load_workbook(tmp_path / "metric.xlsx")["Batches"]
    assert not any("gal" in str(cell.value) for row in plain.iter_rows() for cell in row)


def pages_of(sheet: Worksheet, room: float, repeated: float = 0.0) -> list[int]:
    """The page of each row, where a page has so much room between its margins [points]."""
    breaks = {each.id for each in sheet.row_breaks.brk}
    page, used, pages = 1, 0.0, []
    for row in range(1, sheet.max_row + 1):
        height = sheet.row_dimensions[row].height or 15.0
        if used + height > room or row - 1 in breaks:
            page, used = page + 1, repeated
        used += height
        pages.append(page)
    return pages


def room_of(sheet: Worksheet, pixels: int) -> float:
    """Room between the margins of a page on its side, made as narrow as the paper [points]; paper sizes by ISO 216 and ANSI Y14.1."""
    high, side = {9: (595.3, 841.9), 1: (612.0, 792.0)}[sheet.page_setup.paperSize]
    return (high - (0.6 + 0.75) * 72) * max(1.0, pixels * 0.75 / (side - 2 * 0.6 * 72))


@pytest.mark.parametrize("source", [DEMO, IMPERIAL], ids=["metric", "imperial"])
def test_no_total_and_no_caution_stands_alone_on_a_page(source: Path, tmp_path: Path) -> None:
    """However much of a page a program fills: a total stands with a step of its line, cautions with a piece that they are about."""
    costing = cost_quotes(load_price_book(source))
    totals = 0
    for quote in costing.quotes:
        path = tmp_path / f"{quote}.xlsx"
        write_work_of(prepared(costing, quote), path)
        book = openpyxl.load_workbook(path)
        work, steps = book["Work"], book["Steps"]
        numbers = [cell.row for cell in work["A"] if str(cell.value).isdigit()]
        for share in range(95, 109):
            pages = pages_of(work, room_of(work, WORK_WIDTH) * share / 100, work.row_dimensions[numbers[0] - 1].height or 15.0)
            assert pages[-1] == pages[numbers[-1] - 1], (quote, share)
            pages = pages_of(steps, room_of(steps, STEP_WIDTH) * share / 100)
            for cell in steps["B"]:
                if cell.value == "All steps of the line":
                    totals += 1
                    assert pages[cell.row - 1] == pages[cell.row - 2], (quote, share)
                if cell.value == "All lines":
                    assert pages[cell.row - 1] == pages[cell.row - 4], (quote, share)
            batches = book["Batches"]
            pages = pages_of(batches, room_of(batches, round(width_of(batches, 1, batches.max_column) / 0.75)) * share / 100)
            heads = [cell.row for cell in batches["A"] if cell.value == "Into the mixer"]
            ends = [cell.row for cell in batches["A"] if cell.value == "Water / binder"]
            assert [pages[head - 3] for head in heads] == [pages[end - 1] for end in ends], (quote, share)  # from the name of the mix
            assert heads
    assert totals == 14 * len(costing.lines)


def test_drawings_are_lower_where_only_so_everything_stands_on_one_page(tmp_path: Path) -> None:
    """Three pieces by the inch: as high as their drawings usually are, the cautions would run over; lower ones leave them room."""
    costing = cost_quotes(load_price_book(IMPERIAL))
    write_work_of(prepared(costing, "T-202"), tmp_path / "three.xlsx")
    write_work_of(prepared(costing, "T-201"), tmp_path / "two.xlsx")
    three, two = (openpyxl.load_workbook(tmp_path / name)["Work"] for name in ("three.xlsx", "two.xlsx"))
    heights = {name: [sheet.row_dimensions[cell.row].height for cell in sheet["A"] if str(cell.value).isdigit()]
               for name, sheet in (("three", three), ("two", two))}
    assert heights["two"] == [pytest.approx(152, abs=0.5)] * 2
    assert len(heights["three"]) == 3
    assert max(heights["three"]) < min(heights["two"])
    room = room_of(three, WORK_WIDTH)
    all_rows = sum(three.row_dimensions[row].height or 15.0 for row in range(1, three.max_row + 1))
    assert all_rows <= room * 0.95 < all_rows + sum(152 - height for height in heights["three"])
    assert set(pages_of(three, room * 0.95)) == {1}
