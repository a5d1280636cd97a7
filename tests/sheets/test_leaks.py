"""The gate before delivery: every kind of leak is planted into a finished quote, and found."""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable
from pathlib import Path
from xml.sax.saxutils import escape

import pytest
from quote_books import costed, demo, line
from quote_secrets import secrets_of

from pricing.costing.method.costing import Costing
from pricing.costing.method.declared import LINES
from pricing.reports.leaks import machine_names
from pricing.reports.leaks.gate import LeakError
from pricing.reports.quote import workbook as quote_module
from pricing.reports.quote.facts import QuoteFacts
from pricing.reports.quote.skeleton import blank_picture, leaks_of, skeleton
from pricing.reports.quote.workbook import write_quote

QUOTE = "Q-1042"
SHEET, STRINGS = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"
SUPPLIER = "Coldharbour Cements"


@pytest.fixture(scope="module")
def costing(tmp_path_factory: pytest.TempPathFactory) -> Costing:
    data = demo()
    for material in data["Materials"]:
        if material["Kind"] == "binder":
            material["Supplier"] = SUPPLIER
    return costed(data, tmp_path_factory.mktemp("leaks"))


@pytest.fixture(scope="module")
def finished(costing: Costing, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("finished") / "quote.xlsx"
    write_quote(costing, QUOTE, path)
    return path


def patched(path: Path, out: Path, change: Callable[[dict[str, bytes]], None], comment: bytes = b"") -> Path:
    """A copy of a workbook with its parts changed."""
    with zipfile.ZipFile(path) as source:
        parts = {name: source.read(name) for name in source.namelist()}
    change(parts)
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        target.comment = comment
        for name, content in parts.items():
            target.writestr(zipfile.ZipInfo(name, (1980, 1, 31, 0, 0, 0)), content)
    return out


def replace(part: str, old: str, new: str) -> Callable[[dict[str, bytes]], None]:
    def change(parts: dict[str, bytes]) -> None:
        text = parts[part].decode("utf-8")
        assert old in text, f"{part} has no {old}"
        parts[part] = text.replace(old, new, 1).encode("utf-8")

    return change


def add(part: str, content: bytes) -> Callable[[dict[str, bytes]], None]:
    return lambda parts: parts.update({part: content})


def said(text: str) -> Callable[[dict[str, bytes]], None]:
    """Put words into a text that a cell shows."""
    return replace(STRINGS, "Thank you for your enquiry.", escape(text))


def typed(number: str) -> Callable[[dict[str, bytes]], None]:
    """Put a number into a cell without content, in a row of its own below the page."""
    return replace(SHEET, "</sheetData>", f'<row r="900"><c r="C900"><v>{number}</v></c></row></sheetData>')


def first_line(costing: Costing) -> int:
    return costing.lines_of(QUOTE)[0]


def cost(costing: Costing) -> float:
    return float(costing.line("unit_cost")[first_line(costing)])


def pack_price(costing: Costing) -> float:
    """A price that has cents, so that it is no figure met by chance."""
    prices = costing.book.tables["Materials"].columns["pack_price"].tolist()
    return next(price for price in prices if price > 10 and price != round(price))


def margin(costing: Costing) -> float:
    return float(costing.line("line_margin")[first_line(costing)])


def in_words(value: float, marks: str = ".") -> str:
    """A figure with two decimals and thousands set apart, as it is written where *marks* is its decimal mark."""
    english = f"{value:,.2f}"
    return english if marks == "." else english.replace(",", "~").replace(".", ",").replace("~", ".")


def a_picture_with_words(words: str) -> bytes:
    body = b"Comment\0" + words.encode("latin-1")
    chunk = struct.pack(">I", len(body)) + b"tEXt" + body + struct.pack(">I", zlib.crc32(b"tEXt" + body))
    blank = blank_picture()
    return blank[:-12] + chunk + blank[-12:]


def words_in_a_picture(parts: dict[str, bytes]) -> None:
    name = next(name for name in parts if name.endswith(".png"))
    parts[name] = a_picture_with_words(f"drawn for {SUPPLIER}")


CHART = '<c:chartSpace xmlns:c="urn:c"><c:numCache><c:pt idx="0"><c:v>{}</c:v></c:pt></c:numCache></c:chartSpace>'
COMMENT = '<comments xmlns="urn:m"><commentList><comment ref="A1"><text><t>{}</t></text></comment></commentList></comments>'
CUSTOM = '<Properties xmlns="urn:p"><property fmtid="x" pid="2" name="from"><v>{}</v></property></Properties>'

#: What is planted, and what the finding has to say.
PLANTED: dict[str, tuple[Callable[[Costing], Callable[[dict[str, bytes]], None]], str]] = {
    "a cost as a cell's number": (lambda c: typed(repr(cost(c))), "cost"),
    "a cost to 15 digits": (lambda c: typed(f"{cost(c):.15g}"), "cost"),
    "a cost rounded to cents in a cell": (lambda c: typed(f"{cost(c):.2f}"), "cost"),
    "a cost in a sentence": (lambda c: said(f"It costs us {in_words(cost(c))} to make."), "cost"),
    "a cost with a decimal comma": (lambda c: said(f"Kosten {in_words(cost(c), ',')}"), "cost"),
    "a line's cost": (lambda c: said(in_words(float(c.line("line_cost")[first_line(c)]))), "cost"),
    "a quote's cost": (lambda c: typed(repr(float(c.quote("quote_cost")[1]))), "quote cost"),
    "a margin in percent": (lambda c: said(f"margin {margin(c):.1%}"), "margin"),
    "a margin in percent with a space": (lambda c: said(f"{margin(c) * 100:.1f} % left"), "margin"),
    "a margin as a share": (lambda c: typed(repr(margin(c))), "margin"),
    "a cost within a formula": (lambda c: replace(SHEET, "<f>ROUND(", f"<f>ROUND({cost(c):.4f}*"), "cost"),
    "a supplier in a cell": (lambda c: said(f"Cement by {SUPPLIER.upper()}."), "supplier"),
    "a supplier in two styles": (
        lambda c: replace(STRINGS, "<si><r>", "<si><r><t>Coldharbour </t></r><r><t>Cements, </t></r><r>"), "supplier"),
    "a supplier behind escapes": (lambda c: said("Cold_x0068_arbour Cements"), "supplier"),
    "a supplier at the foot of the pages": (lambda c: replace(SHEET, "</oddFooter>", f" {SUPPLIER}</oddFooter>"), "supplier"),
    "a supplier at the foot in two styles": (
        lambda c: replace(SHEET, "</oddFooter>", ' Coldharbour &amp;&quot;Arial&quot;Cements</oddFooter>'), "supplier"),
    "a cost at the foot of the pages": (lambda c: replace(SHEET, "</oddFooter>", f" cost {cost(c):.2f}</oddFooter>"), "cost"),
    "a second foot": (lambda c: replace(SHEET, "</oddFooter>", f"</oddFooter><evenFooter>{SUPPLIER}</evenFooter>"), "evenFooter"),
    "a string that no cell shows": (lambda c: replace(STRINGS, "</sst>", "<si><t>old text</t></si></sst>"), "no cell shows"),
    "a supplier in the properties": (lambda c: replace("docProps/core.xml", "<dc:creator>", f"<dc:creator>{SUPPLIER} "), "supplier"),
    "a custom property": (lambda c: add("docProps/custom.xml", CUSTOM.format(SUPPLIER).encode()), "supplier"),
    "a comment": (lambda c: add("xl/comments1.xml", COMMENT.format(f"net cost {cost(c):.2f}").encode()), "cost"),
    "a chart's stored values": (lambda c: add("xl/charts/chart1.xml", CHART.format(repr(cost(c))).encode()), "cost"),
    "a part of no known kind": (lambda c: add("xl/printerSettings/printerSettings1.bin", b"abc"), "no quote has"),
    "another customer": (lambda c: said("As for Vellmoor Garden Rooms."), "another customer"),
    "another customer's address": (lambda c: said("to 12 Cask Street"), "another customer's address"),
    "another quote": (lambda c: said("see q-1044"), "another quote"),
    "another quote's total": (lambda c: typed(repr(float(c.quote("payable")[0]))), "of a quote"),
    "a price of a pack": (lambda c: said(in_words(pack_price(c))), "pack price"),
    "a name for a formula": (
        lambda c: replace("xl/workbook.xml", "</definedNames>", '<definedName name="cost">12</definedName></definedNames>'),
        "defines the name"),
    "a hidden row": (lambda c: replace(SHEET, '<row r="5"', '<row r="5" hidden="1"'), "hidden"),
    "a hidden column": (lambda c: replace(SHEET, '<col min="1"', '<col hidden="1" min="1"'), "hidden"),
    "a row of no height": (lambda c: replace(SHEET, '<row r="5"', '<row ht="0" r="5"').__call__, "not well formed"),
    "a second sheet": (lambda c: replace("xl/workbook.xml", "</sheets>", '<sheet name="x" sheetId="2"/></sheets>'), "more than one sheet"),
    "a very hidden sheet": (lambda c: replace("xl/workbook.xml", "<sheet ", '<sheet state="veryHidden" '), "state"),
    "a rule of validation": (
        lambda c: replace(SHEET, "</sheetData>", "</sheetData><dataValidations><dataValidation><formula1>1</formula1>"
                          "</dataValidation></dataValidations>"), "dataValidation"),
    "a formula that looks elsewhere": (lambda c: replace(SHEET, "<f>ROUND(", "<f>ROUND('[1]Costs'!A1+"), "beyond its sheet"),
    "the maker's folder in the workbook part": (
        lambda c: replace("xl/workbook.xml", "<sheets>", '<absPath url="C:\\Users\\maker\\quotes\\"/><sheets>'), "folder"),
    "a path in a text": (lambda c: said("from /home/somebody/books/prices.xlsx"), "folder"),
    "a path on the network": (lambda c: said("from \\\\server\\prices"), "folder"),
    "a path as an address": (lambda c: said("file:///c:/prices.xlsx"), "folder"),
    "the price book's name": (lambda c: said("linked to price-book.xlsx"), "file name"),
    "words in a picture": (lambda c: words_in_a_picture, "supplier"),
    "a remark in the markup": (lambda c: replace(SHEET, "<sheetData>", f"<!-- {SUPPLIER} --><sheetData>"), "remarks"),
    "a number format with words": (
        lambda c: replace("xl/styles.xml", 'formatCode="', f'formatCode="&quot;{SUPPLIER}&quot; '), "supplier"),
    "a number format that shows nothing": (
        lambda c: lambda parts: parts.update({
            "xl/styles.xml": re.sub(rb'formatCode="[^"]*"', b'formatCode=";;;"', parts["xl/styles.xml"])}), "shows nothing"),
    "a theme with words": (lambda c: replace("xl/theme/theme1.xml", 'name="Office Theme"', f'name="{SUPPLIER}"'), "supplier"),
}


@pytest.mark.parametrize("kind", PLANTED)
def test_a_planted_leak_is_found(kind: str, costing: Costing, finished: Path, tmp_path: Path) -> None:
    """Whatever part of the file it hides in and however it is written, the leak is found and named."""
    plant, says = PLANTED[kind]
    leaks = leaks_of(patched(finished, tmp_path / "planted.xlsx", plant(costing)), secrets_of(costing, QUOTE))
    assert any(says in leak for leak in leaks), leaks


@pytest.mark.parametrize(("key", "column"), LINES.parts)
def test_every_part_of_a_cost_is_searched(key: str, column: str, costing: Costing, finished: Path, tmp_path: Path) -> None:
    """Each of the parts that a cost is made of is found in a cell, where it is not nothing."""
    value = float(costing.line(column)[first_line(costing)])
    leaks = leaks_of(patched(finished, tmp_path / "planted.xlsx", typed(repr(value))), secrets_of(costing, QUOTE))
    assert bool(leaks) == (value != 0), (key, value)


def test_the_untouched_copy_is_clean(costing: Costing, finished: Path, tmp_path: Path) -> None:
    """What the tests above find is what they planted."""
    secrets = secrets_of(costing, QUOTE)
    assert leaks_of(finished, secrets) == []
    assert leaks_of(patched(finished, tmp_path / "same.xlsx", lambda parts: None), secrets) == []


def test_a_remark_of_the_zip_is_found(costing: Costing, finished: Path, tmp_path: Path) -> None:
    """What stands beside the parts is searched for as well."""
    path = patched(finished, tmp_path / "same.xlsx", lambda parts: None, comment=SUPPLIER.encode())
    assert any("beside its parts" in leak for leak in leaks_of(path, secrets_of(costing, QUOTE)))


@pytest.mark.parametrize("place", ["before the list", "behind it", "before the first part"])
def test_what_stands_between_the_parts_is_found(place: str, costing: Costing, finished: Path) -> None:
    """Not a byte of a file lies beside its parts, even where every reader of zip files passes it over."""
    whole, secrets, more = finished.read_bytes(), secrets_of(costing, QUOTE), SUPPLIER.encode()
    assert leaks_of(io.BytesIO(whole), secrets) == []
    listed = whole.index(b"PK\1\2")
    if place == "before the list":
        at = struct.pack("<I", listed + len(more))
        told = whole[:listed] + more + whole[listed:-6] + at + whole[-2:]
    else:
        told = whole + more if place == "behind it" else more + whole
    with zipfile.ZipFile(io.BytesIO(told)) as read:
        assert read.testzip() is None
    assert leaks_of(io.BytesIO(told), secrets) == ["the file carries remarks beside its parts"]


def test_a_damaged_file_is_no_clean_file(costing: Costing, finished: Path, tmp_path: Path) -> None:
    """A file that cannot be searched is not delivered."""
    cut = tmp_path / "cut.xlsx"
    cut.write_bytes(finished.read_bytes()[:2000])
    assert any("damaged" in leak for leak in leaks_of(cut, secrets_of(costing, QUOTE)))


def test_names_of_user_and_machine_are_searched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The name of whoever is at the machine, and the machine's own, do not travel with a quote."""
    monkeypatch.setenv("USER", "hesterquince")
    monkeypatch.setattr(machine_names.socket, "gethostname", lambda: "castbench7.local")
    machine_names._user_and_machine.cache_clear()
    try:
        costing = costed(demo(), tmp_path)
        path = tmp_path / "quote.xlsx"
        write_quote(costing, QUOTE, path)
        secrets = secrets_of(costing, QUOTE)
        for text, says in (("by hesterquince", "user"), ("on CASTBENCH7", "machine"), (str(tmp_path), "folder")):
            leaks = leaks_of(patched(path, tmp_path / "planted.xlsx", said(text)), secrets)
            assert any(says in leak for leak in leaks), leaks
    finally:
        machine_names._user_and_machine.cache_clear()


def test_a_leak_is_not_delivered(costing: Costing, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A workbook that gives something away does not take its place; the one that was there before stays."""
    target, aside = tmp_path / "out" / "quote.xlsx", tmp_path / "aside.xlsx"
    target.parent.mkdir()
    target.write_bytes(b"the one before")
    real = quote_module.write_facts

    def leaking(facts: QuoteFacts, page: io.BytesIO) -> None:
        real(facts, aside)
        page.write(patched(aside, aside, typed(repr(cost(costing)))).read_bytes())

    monkeypatch.setattr(quote_module, "write_facts", leaking)
    with pytest.raises(LeakError, match=r"quote Q-1042 is not delivered.*cost"):
        write_quote(costing, QUOTE, target)
    assert target.read_bytes() == b"the one before"
    assert [path.name for path in target.parent.iterdir()] == ["quote.xlsx"]


@pytest.mark.parametrize(
    ("note", "refused"),
    [
        ("As for Vellmoor Garden Rooms", True),
        (f"Cement from {SUPPLIER}", True),
        ("Delivered to Yard 7", False),
        ("See the drawing of 3.4.2025, price 12.345,67 agreed", False),
        ("Colour as Brindle", False),
    ],
)
def test_a_note_that_names_somebody_else_stops_the_quote(note: str, refused: bool, tmp_path: Path) -> None:
    """A note may say what the maker likes, but not the whole name of a supplier or of another customer."""
    data = demo()
    for material in data["Materials"]:
        material["Supplier"] = SUPPLIER
    data["Enquiries"] = [line(QUOTE, "Brindlecote Joinery", "Shelf 900", 2, note), line("Q-2", "Vellmoor Garden Rooms", "Shelf 900", 1)]
    data["Customers"].append({"Customer": "Brindle", "Address": ""})
    costing = costed(data, tmp_path)
    if refused:
        with pytest.raises(LeakError):
            write_quote(costing, QUOTE, tmp_path / "quote.xlsx")
    else:
        write_quote(costing, QUOTE, tmp_path / "quote.xlsx")


#: Names that the page of a quote says anyway.
WORDS_OF_THE_PAGE = [
    "Net", "Quote", "Piece", "Arial", "Sheet", "Office", "A", "To pay", "Care", "kg", "Picture", "1200", "Sorrel", "Print_Area", "the",
    "Quillbeck", "Shelf", "White face mix", "Honed and sealed",
]


def test_a_name_that_is_a_word_of_the_page_stops_nothing(tmp_path: Path) -> None:
    """A customer or supplier whose name the page says anyway does not keep other quotes from being delivered."""
    data = demo()
    for number, (name, material) in enumerate(zip(WORDS_OF_THE_PAGE, data["Materials"], strict=False)):
        data["Customers"].append({"Customer": name, "Address": f"Sorrel Rise {number}"})
        data["Enquiries"].append(line(f"{number}", name, "Shelf 900", 1))
        material["Supplier"] = name
    assert len(data["Materials"]) > len(WORDS_OF_THE_PAGE)
    costing = costed(data, tmp_path)
    for quote in costing.quotes:
        write_quote(costing, quote, tmp_path / "quote.xlsx")


def test_a_mix_named_after_a_supplier_is_not_named_to_the_customer(tmp_path: Path) -> None:
    """The name of a mix or finish is left out where it gives away whom the workshop buys from."""
    data = demo()
    for row in (*data["Mixes"], *data["Products"], *data["Layers"], *data["Enquiries"]):
        if row.get("Mix") == "White face mix":
            row["Mix"] = f"{SUPPLIER} white"
    data["Materials"][0]["Supplier"] = SUPPLIER
    costing = costed(data, tmp_path)
    for quote in costing.quotes:
        write_quote(costing, quote, tmp_path / "quote.xlsx")
        with zipfile.ZipFile(tmp_path / "quote.xlsx") as parts:
            assert not any(SUPPLIER.encode() in parts.read(name) for name in parts.namelist())


def every_number_form(value: float) -> Iterable[str]:
    yield repr(value)
    yield f"{value:.15g}"
    yield f"{value:.4f}"
    yield f"{value:.3f}"


def test_no_part_of_a_demo_quote_holds_a_cost_or_a_supplier(costing: Costing, tmp_path: Path) -> None:
    """Searched once more by other means: the bytes of every part, for every cost and supplier of the book as text."""
    suppliers = {name for name in costing.book.tables["Materials"].columns["supplier"].tolist() if name}
    names = ("unit_cost", "line_cost", "target_price", "line_margin", "discounted_margin", "contribution",
             *(part for _, part in LINES.parts))
    shown = {round(float(value), 4) for name in ("unit_price", "line_net", "mass", "quantity") for value in costing.line(name)}
    costs = {float(value) for name in names for value in costing.line(name)} | {
        float(value) for name in ("quote_cost", "quote_margin", "quote_contribution") for value in costing.quote(name)}
    secret = {form for value in costs if round(value, 4) not in shown and value != round(value, 2) for form in every_number_form(value)}
    assert len(suppliers) > 3
    assert len(secret) > 100
    for quote in costing.quotes:
        path = tmp_path / "quote.xlsx"
        write_quote(costing, quote, path)
        with zipfile.ZipFile(path) as parts:
            for name in parts.namelist():
                text = parts.read(name).decode("latin-1")
                assert not [each for each in suppliers if each.casefold() in text.casefold()], name
                if "/media/" not in name:
                    numbers = set(re.findall(r"\d+\.\d+", text))
                    assert not numbers & secret, (name, numbers & secret)


def test_the_skeleton_knows_no_words() -> None:
    """What the search takes for granted is markup, not content."""
    texts = {text for _, _, text in skeleton().texts}
    assert not any(re.search(r"supplier|margin of|£|EUR", text) for text in texts)
    assert len(texts) > 50
