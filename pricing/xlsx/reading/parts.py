"""The small parts of a workbook: relationships, the list of sheets, number formats, tables."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from xml.parsers import expat

from pricing.xlsx import number_formats
from pricing.xlsx.cells import LAST_COLUMN, LAST_ROW, State
from pricing.xlsx.reading.archive import Package, resolve
from pricing.xlsx.reading.limits import MEBIBYTE, UnreadableError, damaged, shown

MAIN = frozenset(("http://schemas.openxmlformats.org/spreadsheetml/2006/main", "http://purl.oclc.org/ooxml/spreadsheetml/main"))
_PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
_LINKS = (
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships",
    "http://purl.oclc.org/ooxml/officeDocument/relationships",
)
DEEPEST = 256
LONGEST_TOKEN = 4 * MEBIBYTE
MOST_SHEETS = 1_000
MOST_STYLES = 65_536
LONGEST_FORMAT = 1_024

Visit = Callable[[list[str], dict[str, str]], None]


class Feeder:
    """A parser of one part: names come with their namespace, any document type is refused, errors are refusals.

    Parameters
    ----------
    part : its name, for messages
    """

    def __init__(self, part: str) -> None:
        self.part = part
        self.fed = 0
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.buffer_size = 65_536
        self.parser.StartDoctypeDeclHandler = self._refuse

    def _refuse(self, *_: object) -> None:
        raise UnreadableError(
            "suspicious-file",
            f"the part {shown(self.part)} declares a document type, which no honest workbook does; "
            "take a fresh copy, or save it again from your spreadsheet program",
        )

    def feed(self, data: bytes, final: bool = False) -> None:
        """Parse what comes next."""
        try:
            self.parser.Parse(data, final)
        except expat.ExpatError as error:
            raise damaged(self.part, expat.ErrorString(error.code) or "not well-formed") from error
        except (ValueError, LookupError) as error:
            raise damaged(self.part, "unknown encoding") from error
        self.fed += len(data)
        if self.fed - self.parser.CurrentByteIndex > LONGEST_TOKEN and not final:
            raise damaged(self.part, "something in it is too long")

    def feed_all(self, blocks: Iterable[bytes]) -> None:
        """Parse a whole part."""
        for block in blocks:
            self.feed(block)
        self.feed(b"", True)


def walk(package: Package, part: str, visit: Visit, namespaces: frozenset[str] = MAIN) -> None:
    """Call ``visit`` with the names of the open elements, outermost first, and the attributes of each element.

    Elements of other namespaces appear with an empty name.
    """
    names: list[str] = []
    count = 0

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal count
        count += 1
        if count & 0xFFF == 0:
            package.budget.spend(elements=0x1000)
        namespace, _, local = name.rpartition(" ")
        names.append(local if namespace in namespaces else "")
        if len(names) > DEEPEST:
            raise damaged(part, "it is nested too deep")
        visit(names, attributes)

    def end(_: str) -> None:
        names.pop()

    feeder = Feeder(part)
    feeder.parser.StartElementHandler = start
    feeder.parser.EndElementHandler = end
    feeder.feed_all(package.blocks(part))
    package.budget.spend(elements=count & 0xFFF)


@dataclass(frozen=True, slots=True)
class Link:
    """A relationship of a part: the last word of its type, where it leads, and whether that is outside the file."""

    kind: str
    target: str
    external: bool


def links(package: Package, part: str) -> dict[str, Link]:
    """The relationships of a part by their identifier; none where it has no list of them."""
    folder, _, name = part.rpartition("/")
    listing = f"{folder}/_rels/{name}.rels" if folder else f"_rels/{name}.rels"
    found: dict[str, Link] = {}
    if listing not in package:
        return found

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        if names[-1] == "Relationship":
            kind = attributes.get("Type", "").rpartition("/")[2]
            external = attributes.get("TargetMode", "").strip().casefold() == "external"
            found[attributes.get("Id", "")] = Link(kind, attributes.get("Target", ""), external)

    walk(package, listing, visit, frozenset((_PACKAGE,)))
    return found


@dataclass(frozen=True, slots=True)
class Tab:
    """A worksheet as the workbook lists it."""

    name: str
    state: State
    part: str


@dataclass
class Listing:
    """What the workbook part says: its worksheets and how its numbers are to be taken."""

    tabs: list[Tab] = field(default_factory=list)
    date_1904: bool = False
    results_doubtful: bool = False
    has_macros: bool = False
    outside_links: bool = False
    strings: str = ""
    styles: str = ""


def true(value: str | None) -> bool:
    """True where an attribute says yes, in any of the ways XML allows."""
    return value is not None and value.strip().casefold() in ("1", "true", "on")


def listing(package: Package) -> Listing:
    """The list of worksheets and the settings of the workbook part.

    Problems: damaged-file, suspicious-file, not-a-workbook, binary-workbook.
    """
    main = _main_part(package)
    relations = links(package, main)
    found = Listing()
    sheets: list[tuple[str, str, str]] = []
    root = ""

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        nonlocal root
        root = root or names[0] or "unknown"
        match names:
            case ["workbook", "workbookPr"]:
                found.date_1904 = true(attributes.get("date1904"))
            case ["workbook", "calcPr"]:
                found.results_doubtful = _doubtful(attributes)
            case ["workbook", "sheets", "sheet"]:
                link = next((attributes[key] for key in (f"{base} id" for base in _LINKS) if key in attributes), "")
                sheets.append((attributes.get("name", ""), attributes.get("state", "visible"), link))

    walk(package, main, visit)
    if root != "workbook":
        raise UnreadableError("not-a-workbook", "this file holds no workbook; choose the price book (.xlsx)")
    if len(sheets) > MOST_SHEETS:
        raise UnreadableError("file-too-large", f"this workbook has more than {MOST_SHEETS:,} sheets; remove those not needed")
    for name, state, identifier in sheets:
        tab = _tab(main, relations, name, state, identifier)
        if tab:
            found.tabs.append(tab)
    for link in relations.values():
        if link.kind == "sharedStrings" and not link.external:
            found.strings = resolve(main, link.target)
        elif link.kind == "styles" and not link.external:
            found.styles = resolve(main, link.target)
        elif link.kind == "externalLink":
            found.outside_links = True
        elif link.kind == "vbaProject":
            found.has_macros = True
    return found


def _doubtful(calculation: dict[str, str]) -> bool:
    """True where the results in the file may be older than the figures they come from."""
    by_hand = calculation.get("calcMode") == "manual" and not true(calculation.get("calcOnSave", "1"))
    return true(calculation.get("fullCalcOnLoad")) or not true(calculation.get("calcCompleted", "1")) or by_hand


def _main_part(package: Package) -> str:
    for link in links(package, "").values():
        if link.kind == "officeDocument":
            if link.external:
                raise UnreadableError("suspicious-file", "the workbook inside this file lies elsewhere; take a fresh copy")
            part = resolve("", link.target)
            if part.casefold().endswith(".bin"):
                raise UnreadableError(*_BINARY)
            return part
    if "xl/workbook.xml" in package:
        return "xl/workbook.xml"
    raise UnreadableError("not-a-workbook", "this file holds no workbook; choose the price book (.xlsx)")


_BINARY = ("binary-workbook", "this is a binary workbook (.xlsb); save it as an Excel workbook (.xlsx)")


def _tab(main: str, relations: dict[str, Link], name: str, state: str, identifier: str) -> Tab | None:
    link = relations.get(identifier)
    if link is None:
        raise UnreadableError("damaged-file", "this sheet is listed but is not in the file; take a fresh copy", sheet=shown(name))
    if link.external:
        message = f"this sheet lies outside the file ({shown(link.target)}); take a fresh copy that holds it"
        raise UnreadableError("suspicious-file", message, sheet=shown(name))
    if link.kind != "worksheet":
        return None
    shows: State = "hidden" if state == "hidden" else "veryHidden" if state == "veryHidden" else "visible"
    return Tab(name, shows, resolve(main, link.target))


def styles(package: Package, part: str) -> list[str]:
    """The number format of each cell style, in their order; only the general one where there is no styles part."""
    if not part or part not in package:
        return ["General"]
    codes = dict(number_formats.BUILT_IN)
    numbers: list[int] = []

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        match names:
            case ["styleSheet", "numFmts", "numFmt"]:
                codes[_whole(part, attributes.get("numFmtId"))] = attributes.get("formatCode", "General")[:LONGEST_FORMAT]
            case ["styleSheet", "cellXfs", "xf"]:
                numbers.append(_whole(part, attributes.get("numFmtId", "0")))
                if len(numbers) > MOST_STYLES:
                    raise damaged(part, "it has too many styles")

    walk(package, part, visit)
    return [codes.get(number, "General") for number in numbers] or ["General"]


def _whole(part: str, text: str | None) -> int:
    if text is None or not re.fullmatch(r"\s*[0-9]{1,9}\s*", text, re.ASCII):
        raise damaged(part, "a number in it is not a whole one")
    return int(text)


_AREA = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})(?::([A-Z]{1,3})([1-9][0-9]{0,6}))?", re.ASCII)


def column_number(letters: str) -> int:
    """The number of a column from its letters.

    >>> column_number("AB")
    28
    """
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def area(text: str) -> tuple[int, int, int, int] | None:
    """An area as first row, first column, last row, last column; None where it is none.

    >>> area("B2:C5")
    (2, 2, 5, 3)
    """
    match = _AREA.fullmatch(text.replace("$", ""))
    if match is None:
        return None
    first = int(match[2]), column_number(match[1])
    last = (int(match[4]), column_number(match[3])) if match[3] else first
    found = min(first[0], last[0]), min(first[1], last[1]), max(first[0], last[0]), max(first[1], last[1])
    return found if found[2] <= LAST_ROW and found[3] <= LAST_COLUMN else None


def totals_rows(package: Package, sheet_part: str) -> set[int]:
    """The rows of a sheet that are totals rows of its tables."""
    found: set[int] = set()
    for link in links(package, sheet_part).values():
        if link.kind != "table" or link.external:
            continue
        part = resolve(sheet_part, link.target)

        def visit(names: list[str], attributes: dict[str, str], part: str = part) -> None:
            if names == ["table"] and attributes.get("totalsRowCount", "0").strip() != "0":
                covered = area(attributes.get("ref", ""))
                if covered is None:
                    raise damaged(part, "its area is not an area")
                count = min(_whole(part, attributes["totalsRowCount"]), covered[2] - covered[0])
                found.update(range(covered[2] - count + 1, covered[2] + 1))

        walk(package, part, visit)
    return found
