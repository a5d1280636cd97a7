"""The parts around the cells of a workbook: relationships, the list of sheets, number formats, tables.

Source of the structure: ECMA-376 part 1, sections 12.3 and 18.2 to 18.8.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field

from pricing.dataclass import dataclass
from pricing.xlsx import number_formats
from pricing.xlsx.addresses import Area, area_of
from pricing.xlsx.cells import State
from pricing.xlsx.package.archive import Package, resolve
from pricing.xlsx.package.markup import true, walk, whole
from pricing.xlsx.refused import RefusedError, damaged, shown

_PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
_LINKS = (
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships",
    "http://purl.oclc.org/ooxml/officeDocument/relationships",
)
MOST_SHEETS = 1_000
MOST_STYLES = 65_536
LONGEST_FORMAT = 1_024
MOST_LETTERS = 1_000_000  # of all number formats


@dataclass(frozen=True, slots=True)
class Link:
    """A relationship of a part: its type, where it leads, and whether that is outside the file."""

    type: str
    target: str
    external: bool

    @property
    def kind(self) -> str:
        """The last word of its type."""
        return self.type.rpartition("/")[2]


def links(package: Package, part: str) -> dict[str, Link]:
    """The relationships of a part by their identifier; none where it has no list of them."""
    folder, _, name = part.rpartition("/")
    listing = f"{folder}/_rels/{name}.rels" if folder else f"_rels/{name}.rels"
    found: dict[str, Link] = {}
    if listing not in package:
        return found

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        if names[-1] == "Relationship":
            external = attributes.get("TargetMode", "").strip().casefold() == "external"
            found[attributes.get("Id", "")] = Link(attributes.get("Type", ""), attributes.get("Target", ""), external)

    walk(package, listing, visit, frozenset((_PACKAGE,)))
    return found


@dataclass(frozen=True, slots=True)
class Tab:
    """A sheet as the workbook lists it: its place in the list, name and state, what kind of sheet it is, and its part."""

    number: int
    name: str
    state: State
    kind: str
    part: str


@dataclass
class Listing:
    """What the workbook part says: its sheets and how its numbers are to be taken."""

    part: str
    tabs: list[Tab] = field(default_factory=list)
    date_1904: bool = False
    results_doubtful: bool = False
    has_macros: bool = False
    outside_links: bool = False
    strings: str = ""
    styles: str = ""


def listing(package: Package) -> Listing:
    """The list of sheets and the settings of the workbook part.

    Problems: damaged-file, suspicious-file, not-a-workbook, binary-workbook.
    """
    main = _main_part(package)
    relations = links(package, main)
    found = Listing(main)
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
        raise RefusedError("not-a-workbook", "this file holds no workbook; choose the price book (.xlsx)")
    if len(sheets) > MOST_SHEETS:
        raise RefusedError("file-too-large", f"this workbook has more than {MOST_SHEETS:,} sheets; remove those not needed")
    found.tabs = [_tab(main, relations, number, *sheet) for number, sheet in enumerate(sheets)]
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
                raise RefusedError("suspicious-file", "the workbook inside this file lies elsewhere; take a fresh copy")
            part = resolve("", link.target)
            if part.casefold().endswith(".bin"):
                raise RefusedError(*_BINARY)
            return part
    if "xl/workbook.xml" in package:
        return "xl/workbook.xml"
    raise RefusedError("not-a-workbook", "this file holds no workbook; choose the price book (.xlsx)")


_BINARY = ("binary-workbook", "this is a binary workbook (.xlsb); save it as an Excel workbook (.xlsx)")


def _tab(main: str, relations: dict[str, Link], number: int, name: str, state: str, identifier: str) -> Tab:
    link = relations.get(identifier)
    if link is None:
        raise RefusedError("damaged-file", "this sheet is listed but is not in the file; take a fresh copy", sheet=shown(name))
    if link.external:
        message = f"this sheet lies outside the file ({shown(link.target)}); take a fresh copy that holds it"
        raise RefusedError("suspicious-file", message, sheet=shown(name))
    shows: State = "hidden" if state == "hidden" else "veryHidden" if state == "veryHidden" else "visible"
    return Tab(number, name, shows, link.kind, resolve(main, link.target))


def styles(package: Package, part: str) -> list[str]:
    """The number format of each cell style, in their order; only the general one where there is no styles part."""
    if not part or part not in package:
        return ["General"]
    codes = dict(number_formats.BUILT_IN)
    numbers: list[int] = []
    letters = 0

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        nonlocal letters
        match names:
            case ["styleSheet", "numFmts", "numFmt"]:
                code = codes[whole(part, attributes.get("numFmtId"))] = attributes.get("formatCode", "General")[:LONGEST_FORMAT]
                letters += len(code)
                if letters > MOST_LETTERS:
                    raise damaged(part, "it has too many number formats")
            case ["styleSheet", "cellXfs", "xf"]:
                numbers.append(whole(part, attributes.get("numFmtId", "0")))
                if len(numbers) > MOST_STYLES:
                    raise damaged(part, "it has too many styles")

    walk(package, part, visit)
    return [codes.get(number, "General") for number in numbers] or ["General"]


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the workbook: where it stands, its columns in order, and its rows of headings and totals."""

    sheet: int
    area: Area
    columns: tuple[str, ...]
    headings: int
    totals: int


def linked_parts(package: Package, part: str, kind: str) -> list[str]:
    """The parts of a kind that a part leads to, each once."""
    found = links(package, part).values()
    return list(dict.fromkeys(resolve(part, link.target) for link in found if link.kind == kind and not link.external))


def tables(package: Package, tab: Tab) -> Iterator[tuple[str, Table]]:
    """The tables of a sheet by name, each once.

    Problems: damaged-file where one has no place.
    """
    for part in linked_parts(package, tab.part, "table"):
        columns: list[str] = []
        table: dict[str, str] = {}

        def visit(names: list[str], attributes: dict[str, str], table: dict[str, str] = table, columns: list[str] = columns) -> None:
            if names == ["table"]:
                table.update(attributes)
            elif names == ["table", "tableColumns", "tableColumn"]:
                columns.append(attributes.get("name", ""))

        walk(package, part, visit)
        area = area_of(table.get("ref", ""))
        if area is None:
            raise damaged(part, "its area is not an area")
        headings, totals = (whole(part, table.get(name, usual)) for name, usual in (("headerRowCount", "1"), ("totalsRowCount", "0")))
        yield table.get("displayName") or table.get("name", ""), Table(tab.number, area, tuple(columns), headings, totals)


def totals_rows(package: Package, tab: Tab) -> set[int]:
    """The rows of a sheet that are totals rows of its tables."""
    return {table.area.bottom for _, table in tables(package, tab) if table.totals and table.area.bottom > table.area.top}
