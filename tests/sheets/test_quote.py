"""The customer's workbook: what it says, that it adds up by itself, and how it is made."""

from __future__ import annotations

import datetime
import itertools
import random
import re
import zipfile
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet
from quote_books import costed, demo, line
from referee import formulas_of, recalculated, recalculated_all, stored, with_stored_result

from pricing.algebra.expressions import evaluate
from pricing.api import price_quotes
from pricing.book.starter.data import BookData
from pricing.book.uses import USES
from pricing.costing.method.costing import Costing
from pricing.costing.run import at_quantities
from pricing.reports.quote import wording
from pricing.reports.quote.facts import quote_facts
from pricing.reports.quote.workbook import write_quote
from pricing.reports.shared.paging import page_room, widest_page
from pricing.rules import prices, totals
from pricing.rules.shapes import SHAPES
from pricing.xlsx.writing.text_width import line_height, text_width, wrapped

PRODUCTS = [str(row["Product"]) for row in demo()["Products"]]


def with_settings(**settings: object) -> BookData:
    data = demo()
    data["Workshop"][0].update({name.replace("_", " "): value for name, value in settings.items()})
    return data


def wide(data: BookData) -> BookData:
    """With a band for every weight, so that any quantity can be delivered."""
    data["Delivery"] += [{"Zone": zone, "Up to": 900_000, "Charge": 1234.5} for zone in ("Local", "Away")]
    return data


def texts_of(path: Path) -> list[str]:
    return [str(cell.value) for row in sheet_of(path).iter_rows() for cell in row if isinstance(cell.value, str)]


def sheet_of(path: Path) -> Worksheet:
    return openpyxl.load_workbook(path, data_only=True).worksheets[0]


def part(path: Path, name: str) -> str:
    with zipfile.ZipFile(path) as parts:
        return parts.read(name).decode("utf-8")


def labelled(sheet: Worksheet, label: str) -> Any:
    """The amount in the row that begins with a label."""
    rows = [row for row in sheet.iter_rows() if any(str(cell.value or "").startswith(label) for cell in row)]
    assert len(rows) == 1, label
    return rows[0][7].value


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    return costed(demo(), tmp_path_factory.mktemp("book"))


@pytest.fixture(scope="module")
def quote(costing: Costing, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("quote") / "quote.xlsx"
    write_quote(costing, "Q-1042", path, breaks=at_quantities(costing, (1, 5, 10, 25, 50, 100)))
    return path


# it adds up

TERMS: dict[str, dict[str, object]] = {
    "as the demo has it": {},
    "no deposit, no smallest order": {"Deposit": 0, "Smallest order": 0},
    "a smallest order above everything": {"Smallest order": 99_999.5},
    "tax rounded down": {"Tax rounding": "down", "Tax rate": 0.0825},
    "cash steps": {"Currency": "CHF", "Cash step": 0.05, "Tax rate": 0.081, "Deposit": 1 / 3},
    "no decimals": {"Currency": "JPY", "Price step": 10, "Smallest order": 1000},
    "three decimals": {"Currency": "KWD", "Price step": 0.005, "Tax rate": 0.05},
    "no tax": {"Tax rate": 0.0, "Page size": "Letter"},
    "steps and rounding down": {"Currency": "DKK", "Cash step": 0.5, "Tax rounding": "down", "Deposit": 0.125},
}


@pytest.mark.usefixtures("requires_office")
def test_every_amount_is_what_a_spreadsheet_makes_of_its_formula(tmp_path: Path) -> None:
    """Computed from blank stored results, under all kinds of terms, each amount equals the engine's: money exactly."""
    written: list[tuple[Costing, int, Path]] = []
    for number, terms in enumerate(TERMS.values()):
        data = wide(with_settings(**terms))
        data["Enquiries"][0]["Unit price"] = 33.335
        data["Customers"][0]["Discount"] = 0.025
        costing = costed(data, tmp_path / str(number))
        for place, name in enumerate(costing.quotes):
            path = tmp_path / f"{number} {place}.xlsx"
            write_quote(costing, name, path)
            written.append((costing, place, path))
    assert len(written) > 30
    for (costing, place, path), book in zip(written, recalculated_all([path for _, _, path in written]), strict=True):
        sheet, formulas = book.worksheets[0], formulas_of(path)
        mine = stored(path).worksheets[0]
        lines = costing.lines_of(costing.quotes[place])
        assert len(formulas) > len(lines) + 3
        for (_, cell), formula in formulas.items():
            exact = formula.startswith(("=ROUND", "=IF")) and "SUMPRODUCT" not in formula
            expected = mine[cell].value if exact else pytest.approx(mine[cell].value, rel=1e-12)
            assert sheet[cell].value == expected, (path.name, cell, formula)
        assert _nets(sheet) == _amounts(costing, lines)
        assert labelled(sheet, "Total without") == costing.quote("net")[place]
        assert labelled(sheet, "To pay") == costing.quote("payable")[place]
        if costing.setting("deposit_share"):
            assert labelled(sheet, "Deposit") == costing.quote("deposit")[place]


def _amounts(costing: Costing, lines: list[int]) -> list[float]:
    """The amounts of the lines of a quote; the lines of a set are one amount."""
    nets, sets = costing.line("line_net").tolist(), costing.lines.sets
    groups = [] if sets is None else [list(rows) for rows in sets.groups().values()]
    first_of = {row: rows[0] for rows in groups for row in rows}
    found: dict[int, float] = {}
    for row in lines:
        found[first_of.get(row, row)] = found.get(first_of.get(row, row), 0.0) + nets[row]
    return list(found.values())


def _nets(sheet: Worksheet) -> list[float]:
    heading = next(row for row in sheet.iter_rows() if row[0].value == "No.")[0].row
    rows = itertools.takewhile(lambda row: not str(row[3].value or "").startswith("Sum"), sheet.iter_rows(min_row=heading + 1))
    return [row[7].value for row in rows if isinstance(row[7].value, int | float)]


@pytest.mark.usefixtures("requires_office")
def test_a_planted_wrong_amount_is_noticed(quote: Path, tmp_path: Path) -> None:
    """A stored total that its formula does not give differs from what the referee computes."""
    cell = next(cell for (_, cell), formula in formulas_of(quote).items() if "SUM(" in formula)
    wrong = tmp_path / "wrong.xlsx"
    with_stored_result(quote, wrong, "xl/worksheets/sheet1.xml", cell, 1.0)
    assert stored(wrong).worksheets[0][cell].value == 1
    assert recalculated(wrong).worksheets[0][cell].value == stored(quote).worksheets[0][cell].value


@pytest.mark.usefixtures("requires_office")
def test_the_page_follows_a_changed_quantity(quote: Path, costing: Costing, tmp_path: Path) -> None:
    """A customer who types another quantity gets the total that the rules give for it."""
    changed = tmp_path / "changed.xlsx"
    formula = next(formula for formula in formulas_of(quote).values() if re.match(r"=ROUND\(F\d+\*G\d+,2\)", formula))
    cell = formula[7 : formula.index("*")]
    with zipfile.ZipFile(quote) as source, zipfile.ZipFile(changed, "w") as target:
        for member in source.infolist():
            content = source.read(member)
            if member.filename == "xl/worksheets/sheet1.xml":
                text, count = re.subn(rf'(<c r="{cell}"[^>]*><v>)\d+', r"\g<1>7", content.decode())
                assert count == 1
                content = text.encode()
            target.writestr(member, content)
    sheet = recalculated(changed).worksheets[0]
    rows = costing.lines_of("Q-1042")
    quantities = [7.0, *costing.line("quantity")[rows[1:]].tolist()]
    values: dict[str, Any] = {name: costing.setting(name) for name in ("minor_digits", "tax_down", "cash_step", "cash_divisor")}
    values |= {name: float(costing.quote(name)[1]) for name in ("discount_rate", "tax_rate", "carriage")} | {"small_order_charge": 0.0}
    nets = [prices.line_net(q, p, 0.0, values["minor_digits"]) for q, p in zip(quantities, costing.line("unit_price")[rows], strict=True)]
    values["line_net_sum"] = values["discountable_sum"] = sum(nets)
    for rule in (totals.lines_net, totals.discountable, totals.discount, totals.goods_net, totals.net, totals.tax, totals.gross,
                 totals.payable):
        values[rule.__name__] = float(evaluate(rule, values))
    assert values["payable"] > costing.quote("payable")[1]
    assert labelled(sheet, "To pay") == values["payable"]


# what it says


def test_it_reads_as_a_letter(quote: Path, costing: Costing) -> None:
    """Who, to whom, what, how much, until when, how to say yes, care, cautions: each is there, in this order."""
    texts = texts_of(quote)
    order = ["Quillbeck Castworks", "Brindlecote Joinery", "Thank you", "Kitchen worktop", "Sum of the lines", "To pay (GBP)", "Deposit",
             "Name and signature", "Price by quantity", "Care", "Please note", "Weight and lifting."]
    places = [next(number for number, text in enumerate(texts) if start in text) for start in order]
    assert places == sorted(places)
    everything = "\n".join(texts)
    for said in ("The Old Ropewalk", "01632 960 117", "VAT number GB 000 0000 00", "Yard 7, Brindlecote QX4 8ZZ", "Q-1042",
                 "2150 × 620 × 40 mm", "Charcoal mix, Honed and sealed", "Hob cut-out cast in", "How to order", "by 15 January 2027",
                 "The deposit named above"):
        assert said in everything, said
    sheet = sheet_of(quote)
    found = {cell.value for row in sheet.iter_rows() for cell in row}
    assert {datetime.datetime(2026, 11, 16), datetime.datetime(2027, 1, 15)} <= found
    facts = quote_facts(costing, "Q-1042")
    assert facts.lead_days in found
    assert {round(entry.mass, 6) for entry in facts.lines} <= {round(value, 6) for value in found if isinstance(value, float)}


def test_the_price_table_is_the_engine_s(quote: Path, costing: Costing) -> None:
    """Every line at every quantity, in the order of both, over as many tables as the page is wide for."""
    sheet = sheet_of(quote)
    start = next(row[0].row for row in sheet.iter_rows() if str(row[0].value or "").strip().startswith("Price by quantity"))
    rows = [[cell.value for cell in row[3:8] if cell.value is not None] for row in sheet.iter_rows(min_row=start + 1)]
    every = [row for row in rows if row and all(isinstance(value, int | float) for value in row)]
    figures = [row for place, row in enumerate(every) if row not in every[:place]]  # headings are repeated on a new page
    breaks = at_quantities(costing, (1, 5, 10, 25, 50, 100))
    price = breaks.line("unit_price").reshape(len(costing.lines), 6)[costing.lines_of("Q-1042")]
    lines = costing.lines_of("Q-1042")
    for own, asked, row in zip(costing.line("unit_price")[lines], costing.line("quantity")[lines], price, strict=True):
        for place, quantity in enumerate((1, 5, 10, 25, 50, 100)):  # what the page says already stands: more do not cost more each
            row[place] = own if quantity == asked else max(row[place], own) if quantity < asked else min(row[place], own)
    assert figures == [[1, 5, 10, 25, 50], *price[:, :5].tolist(), [100], *price[:, 5:].tolist()]


def test_without_quantities_there_is_no_price_table(costing: Costing, tmp_path: Path) -> None:
    """The table is there only if it is asked for."""
    write_quote(costing, "Q-1041", tmp_path / "quote.xlsx")
    assert not any("Price by quantity" in text for text in texts_of(tmp_path / "quote.xlsx"))


def test_a_heavy_piece_is_said_to_be_heavy(tmp_path: Path) -> None:
    """Which piece one person should not lift, and what it weighs, stands in a plain sentence; where none is, none does."""
    data = wide(demo())
    data["Enquiries"] = [line("H", "Ottilie Marrable", "Shelf 600", 1), line("H", "Ottilie Marrable", "Worktop 2400", 1),
                         line("L", "Ottilie Marrable", "Shelf 600", 1)]
    costing = costed(data, tmp_path)
    for name in costing.quotes:
        write_quote(costing, name, tmp_path / f"{name}.xlsx")
    weight = wording.weight_text(float(costing.line("mass")[1]))
    assert f"Piece 2 weighs about {weight} kg, which is more than one person should lift" in "\n".join(texts_of(tmp_path / "H.xlsx"))
    assert "more than one person should lift" not in "\n".join(texts_of(tmp_path / "L.xlsx"))


def test_no_word_of_ours_says_that_anything_is_safe() -> None:
    """Cautions defer to local codes and licensed practice; none promises."""
    words = "\n".join(wording.fixed_wording())
    assert not re.search(r"\b(safe|safely|safety|guarantee\w*|harmless|non-toxic)\b", words, re.IGNORECASE)
    assert re.search(r"local codes", words)
    assert re.search(r"licensed", words)
    assert re.search(r"silica dust.*[Ww]ork wet", words)


@pytest.mark.parametrize("shape", SHAPES)
def test_cautions_are_left_out_only_where_the_shape_rules_them_out(shape: str) -> None:
    """Weight bearing, dust and frost concern every piece; a slab or a solid may be anything."""
    titles = {caution.title for caution in wording.cautions_for({(shape, ())})}
    assert {"Walls, floors and fixings.", "Cutting and drilling.", "Outdoors and frost."} <= titles
    if shape in ("slab", "slab with a lip", "slab with openings", "L-shaped slab", "solid", "disc"):
        assert titles == {caution.title for caution in wording.CAUTIONS}
    assert titles <= {caution.title for caution in wording.cautions_for({(shape, ()), ("slab", ())})}


def test_what_a_piece_is_used_as_chooses_cautions_and_care() -> None:
    """Pavers say nothing of stoves and of hot pans; a hearth does, also beside pavers; where nothing is said, all is."""
    pavers, hearth = ("slab", ("floor", "garden")), ("slab", ("hearth",))
    titles = {caution.title for caution in wording.cautions_for({pavers})}
    assert titles == {"Cutting and drilling.", "Stairs and floors.", "Outdoors and frost."}
    assert "Fireplaces and stoves." in {caution.title for caution in wording.cautions_for({pavers, hearth})}
    assert "hot pans" not in wording.care_for({("garden",)})
    assert "de-icing salt" in wording.care_for({("garden",)})
    care = [wording.CARE_ALWAYS, wording.CARE_INDOORS, wording.CARE_COAT, wording.CARE_MATERIAL]
    assert wording.care_for({()}) == " ".join(care)
    assert {use for caution in wording.CAUTIONS for use in caution.uses} | {"food", "floor"} == set(USES)


def test_inches_are_shown_to_those_who_type_them(tmp_path: Path) -> None:
    """A workshop that measures in inches reads inches, on the size and not only on paper of its country."""
    data = with_settings(Currency="USD", Page_size="")
    data["Products"] = [row for row in data["Products"] if row["Product"] == "Worktop 2400"]
    data["Products"][0] |= {"Length": 96 * 25.4, "Width": 25.5 * 25.4, "Thickness": 1.5 * 25.4}
    data["Extras"] = [row for row in data["Extras"] if row["Product"] == "Worktop 2400"]
    data["Actuals"], data["Sets"] = [], []
    data["Enquiries"] = [line("Q", "Ottilie Marrable", "Worktop 2400", 1)]
    costing = costed(data, tmp_path)
    write_quote(costing, "Q", tmp_path / "quote.xlsx")
    assert any('96" × 25 1/2" × 1 1/2"' in text for text in texts_of(tmp_path / "quote.xlsx"))
    assert 'paperSize="1"' in part(tmp_path / "quote.xlsx", "xl/worksheets/sheet1.xml")


# how it is made

def test_the_same_quote_is_the_same_file(costing: Costing, tmp_path: Path) -> None:
    """Written twice, the file is the same byte for byte: the clock is not in it."""
    for name in ("one.xlsx", "two.xlsx"):
        write_quote(costing, "Q-1043", tmp_path / name)
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()


def test_it_is_one_page_wide_and_nothing_is_hidden(quote: Path) -> None:
    """One sheet, A4, fitted to the width, numbered in the foot; no names but for printing, nothing hidden or protected."""
    book = openpyxl.load_workbook(quote)
    sheet = book.worksheets[0]
    assert [each.title for each in book.worksheets] == ["Quote"]
    assert (sheet.sheet_state, sheet.sheet_properties.pageSetUpPr.fitToPage) == ("visible", True)
    assert sheet.page_setup.fitToHeight == 0 or on_one_page(sheet)
    assert sheet.page_setup.paperSize == 9
    assert not sheet.protection.sheet
    assert not sheet.sheet_view.showGridLines
    assert "Quillbeck Castworks" in sheet.oddFooter.left.text
    assert sheet.oddFooter.right.text == "&P of &N"
    names = set(re.findall(r'<definedName name="([^"]+)"', part(quote, "xl/workbook.xml")))
    assert names <= {"_xlnm.Print_Area", "_xlnm.Print_Titles"}
    assert not any(dimension.hidden for dimension in (*sheet.row_dimensions.values(), *sheet.column_dimensions.values()))
    assert sum(dimension.width for dimension in sheet.column_dimensions.values()) * 7 <= widest_page("A4")


def test_its_properties_say_no_more_than_the_page(quote: Path) -> None:
    """Title, the workshop as author, the day of the quote; no user, no program's clock."""
    properties = openpyxl.load_workbook(quote).properties
    assert properties.title == "Quote Q-1042"
    assert properties.creator == properties.lastModifiedBy == "Quillbeck Castworks"
    assert properties.created.date() == datetime.date(2026, 11, 16)
    assert properties.modified.date() == datetime.date(2026, 11, 16)


def pages_of(sheet: Worksheet, room: float) -> list[int]:
    """The page of each row, where a page has so much room between its margins [points]."""
    breaks = {each.id for each in sheet.row_breaks.brk}
    page, used, pages = 1, 0.0, []
    for row in range(1, sheet.max_row + 1):
        height = sheet.row_dimensions[row].height or 15.0
        if used + height > room or row - 1 in breaks:
            page, used = page + 1, 0.0
        used += height
        pages.append(page)
    return pages


def room_of(sheet: Worksheet) -> float:
    """What a page has between its margins, as narrow as the paper [points]."""
    widths = [round(sheet.column_dimensions[letter].width * 7) for letter in "ABCDEFGH"]
    return page_room("Letter" if sheet.page_setup.paperSize == 1 else "A4", widths)


@pytest.fixture(scope="module")
def many_pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Worksheet]:
    """Quotes of one to twelve lines and of all products, each with a table of seven prices by quantity and without one."""
    folder = tmp_path_factory.mktemp("pages")
    products = ["Shelf 900", "Worktop 1800", "Hearth 1000"]
    data = wide(demo())
    data["Enquiries"] = [
        line(f"Q-{count}", "Brindlecote Joinery", products[number % 3], 1 + number % 3, "a remark of some length, below; " * (count % 4))
        for count in range(1, 13) for number in range(count)
    ]
    data["Enquiries"] += [line("LONG", "Ottilie Marrable", product, 1) for product in PRODUCTS + PRODUCTS[:10]]
    costing = costed(data, folder)
    breaks = at_quantities(costing, (1, 5, 10, 25, 50, 100, 250))
    for quote in costing.quotes:
        write_quote(costing, quote, folder / f"{quote}.xlsx")
        write_quote(costing, quote, folder / f"{quote} table.xlsx", breaks=breaks)
    return {path.stem: openpyxl.load_workbook(path)["Quote"] for path in sorted(folder.glob("*.xlsx")) if path.stem != "price-book"}


def on_one_page(sheet: Worksheet) -> bool:
    """Whether it is printed as small as one page needs: the file format leaves out a height of one page."""
    return sheet.page_setup.fitToHeight in (None, 1)


def test_a_short_quote_stands_on_one_page_in_type_that_can_be_read(many_pages: dict[str, Worksheet]) -> None:
    """Where a page could hold it all in no less than 6.4 points it is one page; else it is printed as large as it is set."""
    one = {name for name, sheet in many_pages.items() if on_one_page(sheet)}
    assert {"Q-1"} <= one
    assert not one & {"Q-12", "LONG", "LONG table"}
    for name in one:
        sheet = many_pages[name]
        assert not sheet.row_breaks.brk
        height = sum(sheet.row_dimensions[row].height or 15 for row in range(1, sheet.max_row + 1))
        share = (842 - 1.35 * 72) / max(height, room_of(sheet))
        smallest = min(cell.font.sz for row in sheet.iter_rows() for cell in row if cell.value is not None)
        assert share * smallest >= 6.4 - 0.01, name


def test_whatever_a_program_fills_each_page_begins_where_we_say(many_pages: dict[str, Worksheet]) -> None:
    """No page is fuller than the least that a program fills, so that every break is ours: headings, signatures and totals stand right."""
    for name, sheet in many_pages.items():
        if not on_one_page(sheet):
            assert pages_of(sheet, room_of(sheet) * 0.95)[-1] == len(sheet.row_breaks.brk) + 1, name


def test_no_page_begins_without_its_heading(many_pages: dict[str, Worksheet]) -> None:
    """A page begins with the headings of its table or with a section's title; the totals stand with a line, the signature with its text."""
    titles = tuple(wording.LABELS[name] for name in ("breaks", "order", "care", "cautions", "number"))
    begun = 0
    for name, sheet in many_pages.items():
        texts = {cell.row: str(cell.value).strip() for row in sheet.iter_rows() for cell in row[::-1] if cell.value is not None}
        assert sheet.print_title_rows is None
        for each in sheet.row_breaks.brk:
            first = next(texts[row] for row in range(each.id + 1, sheet.max_row + 1) if row in texts)
            assert first.startswith(titles), (name, first)
            # Below the headings of the lines stands a line, and below those of prices by quantity a row of prices.
            assert first != "No." or texts[next(row for row in range(each.id + 2, sheet.max_row) if row in texts)].isdigit(), name
            begun += 1
    assert begun > 20


def test_most_quotes_fit_one_page(tmp_path: Path) -> None:
    """The seven quotes of the two demo workshops stand each on one page, and every sketch is 14 mm high and more."""
    fitting, books = [], Path(__file__).parents[2] / "workbooks"
    for name in ("demo price book", "demo price book imperial"):
        for path in price_quotes(books / f"{name}.xlsx", out=tmp_path / name).written:
            if "margin" in path.name:
                continue
            sheet = sheet_of(path)
            fitting.append(on_one_page(sheet))
            assert min(image.height * 0.75 for image in sheet._images) > 45, path.name  # type: ignore[attr-defined]
    assert (len(fitting), sum(fitting)) == (7, 7)


def test_the_colour_of_a_piece_with_a_face_mix_is_that_of_its_face_first() -> None:
    """The demo's planter is white on grey."""
    planter = Path(__file__).parents[2] / "workbooks" / "demo" / "Q-1045 quote.xlsx"
    assert "White face mix on Garden mix, Sealed only" in "\n".join(texts_of(planter))


def test_a_draft_says_so_on_every_page(costing: Costing, tmp_path: Path) -> None:
    """The mark of a draft stands above the letter, and at the head of each page but the first; a promise has none."""
    write_quote(costing, "Q-1042", tmp_path / "draft.xlsx", mark=wording.LABELS["draft"])
    write_quote(costing, "Q-1042", tmp_path / "quote.xlsx")
    draft, promise = (openpyxl.load_workbook(tmp_path / name).worksheets[0] for name in ("draft.xlsx", "quote.xlsx"))
    assert (draft.oddHeader.right.text, promise.oddHeader.right.text) == (wording.LABELS["draft"], None)
    assert (draft["A1"].value, draft.HeaderFooter.differentFirst, draft.firstHeader.right.text) == (wording.LABELS["draft"], True, None)
    assert draft.firstFooter.right.text == draft.oddFooter.right.text == "&P of &N"
    assert wording.LABELS["draft"] not in texts_of(tmp_path / "quote.xlsx")


@pytest.mark.parametrize(
    "text",
    ["=1+1", "=cmd|'/C calc'!A0", "{=1+1}", "+1", "-1", "@SUM(1)", "https://x.invalid/a", "mailto:a@x", "internal:S!A1", "file:x",
     "_x0041_", "a & b < c > \"d\" 'e'", "&P &N &D", "12 Stone", "\u202egnp.exe", "a\x07b", "tab\there", "01.02", "1E5"],
)
def test_text_from_the_book_stays_text(text: str, tmp_path: Path) -> None:
    """Whatever is typed as name, address, description, note or number of a quote is shown as it is, and never computed or followed."""
    data = demo()
    data["Workshop"][0] |= {"Business name": f"{text} Ltd", "Address": text, "Contact": text}
    data["Customers"].append({"Customer": f"{text} x", "Address": text, "Delivery zone": "Local"})
    data["Products"][0]["Description"] = text
    data["Enquiries"] = [line(f"{text} q", f"{text} x", PRODUCTS[0], 1, text)]
    costing = costed(data, tmp_path)
    path = tmp_path / "quote.xlsx"
    write_quote(costing, costing.quotes[0], path)
    markup = part(path, "xl/worksheets/sheet1.xml")
    assert "<hyperlink" not in markup
    assert all("SUM" in formula or "ROUND" in formula for formula in formulas_of(path).values())
    kept = text.replace("\u202e", "").replace("\x07", "").replace("\t", " ")
    seen = texts_of(path)
    assert sum(kept in each for each in seen) >= 5


def test_a_very_long_text_is_shown_in_full(tmp_path: Path) -> None:
    """A description of 30,000 letters goes on from row to row, none of which is higher than a row can be, and loses no word."""
    words = [f"word{number}" for number in range(3500)]
    data = demo()
    data["Products"][0]["Description"] = " ".join(words)
    data["Enquiries"] = [line("Q", "Ottilie Marrable", PRODUCTS[0], 2)]
    costing = costed(data, tmp_path)
    write_quote(costing, "Q", tmp_path / "quote.xlsx")
    assert re.findall(r"word\d+", "\n".join(texts_of(tmp_path / "quote.xlsx"))) == words
    sheet = openpyxl.load_workbook(tmp_path / "quote.xlsx").worksheets[0]
    assert max(dimension.height or 0 for dimension in sheet.row_dimensions.values()) <= 409


def test_no_row_is_too_low_and_no_column_too_narrow(tmp_path: Path) -> None:
    """Each cell has the height that its lines of text take and the width that its figure takes, whatever is quoted."""
    rng = random.Random(4)
    data = wide(demo())
    for row in data["Products"]:
        row["Description"] = " ".join("x" * rng.randint(1, 14) for _ in range(rng.randint(1, 40)))
    data["Customers"][0]["Address"] = "A rather long street name indeed, which does not end, " * 3
    data["Enquiries"] = [line("Q", "Ottilie Marrable", product, rng.choice((1, 12, 345)), "Edges eased. " * rng.randint(0, 9))
                         for product in PRODUCTS]
    costing = costed(data, tmp_path)
    write_quote(costing, "Q", tmp_path / "quote.xlsx", breaks=at_quantities(costing, (1, 1_000_000)))
    sheet = openpyxl.load_workbook(tmp_path / "quote.xlsx", data_only=True).worksheets[0]
    widths = [round(sheet.column_dimensions[letter].width * 7) for letter in "ABCDEFGH"]
    spans = {(area.min_row, area.min_col): area for area in sheet.merged_cells.ranges}
    checked = 0
    for row in sheet.iter_rows():
        height = sheet.row_dimensions[row[0].row].height or 15
        for cell in row:
            span = spans.get((cell.row, cell.column))
            width = sum(widths[cell.column - 1 : span.max_col if span else cell.column])
            if isinstance(cell.value, str) and (cell.font.sz or 10) == 10 and "\n" not in cell.value:
                lines = len(wrapped(cell.value, width, 10, bool(cell.font.b))) if cell.alignment.wrap_text else 1
                assert height >= lines * line_height(10), (cell.coordinate, cell.value)
                assert lines > 1 or text_width(cell.value, 10) <= width, (cell.coordinate, cell.value)
                checked += 1
            if isinstance(cell.value, int | float) and "#" in cell.number_format:
                decimals = len(cell.number_format.partition(".")[2].rstrip('"% kgworindays'))
                assert text_width(f"{cell.value:,.{decimals}f}", 10) <= width, (cell.coordinate, cell.value)
                checked += 1
    assert checked > 100


def test_random_quotes_are_delivered(tmp_path: Path) -> None:
    """Eighty quotes at random, each searched on its way, and none refused without a reason."""
    rng = random.Random(7)
    data = wide(demo())
    customers = [str(row["Customer"]) for row in data["Customers"]]
    data["Enquiries"] = [
        line(f"R-{number}", customer, rng.choice(PRODUCTS), rng.randint(1, 60), rng.choice(("", "As last time", "By 30.11. at the latest")),
             **({"Unit price": round(rng.uniform(5, 900), 2)} if rng.random() < 0.3 else {}))
        for number in range(80) for customer in [rng.choice(customers)] for _ in range(rng.randint(1, 5))
    ]
    costing = costed(data, tmp_path)
    assert len(costing.quotes) == 80
    for name in costing.quotes:
        write_quote(costing, name, tmp_path / "quote.xlsx")


def test_a_quote_that_is_not_there_is_refused(costing: Costing, tmp_path: Path) -> None:
    """Nothing is written for a quote that the costing does not hold."""
    with pytest.raises(KeyError):
        write_quote(costing, "Q-9999", tmp_path / "quote.xlsx")
    assert list(tmp_path.iterdir()) == []
