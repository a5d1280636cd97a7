"""What a workbook says around its cells that a write has to know: who forbids it, what names and formats mean, what is to be computed."""

from __future__ import annotations

from pricing.xlsx.addresses import Area, area_of
from pricing.xlsx.editing import xml_source as xml
from pricing.xlsx.package.archive import Package, part_key
from pricing.xlsx.package.markup import Feeder, true, walk, whole
from pricing.xlsx.package.parts import Listing, Tab, linked_parts, links
from pricing.xlsx.refused import RefusedError, damaged

_TYPES = frozenset(("http://schemas.openxmlformats.org/package/2006/content-types",))
_WORKBOOKS = (
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.template.main+xml",
    "application/vnd.ms-excel.sheet.macroenabled.main+xml",
    "application/vnd.ms-excel.template.macroenabled.main+xml",
)
_BEFORE_CALCULATION = ("sheets", "functionGroups", "externalReferences", "definedNames")


def refuse_untouchable(package: Package, listing: Listing) -> None:
    """Refuse a workbook that may be read but not changed.

    Problems raised: ``damaged-file`` where the zip is not the whole of the file, ``signed``, ``not-a-workbook``, ``reserved``.
    """
    if not package.alone:
        text = "something stands before the parts of this file or behind them, which a change would lose"
        raise RefusedError("damaged-file", f"{text}; save the workbook again from the spreadsheet program, and repeat")
    signed = any("digital-signature" in link.type for link in links(package, "").values())
    if signed or any(key.startswith("_xmlsignatures/") for key in package.members):
        text = "the workbook carries a digital signature, which any change would break"
        raise RefusedError("signed", f"{text}; remove the signature in the spreadsheet program, and repeat")
    if _content_type(package, listing.part) not in _WORKBOOKS:
        text = "this is not a workbook of the .xlsx or .xlsm kind"
        raise RefusedError("not-a-workbook", f"{text}; save it as .xlsx, and repeat")
    reserved = False

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        nonlocal reserved
        reserved |= names == ["workbook", "fileSharing"] and bool(attributes.keys() & {"reservationPassword", "hashValue"})

    walk(package, listing.part, visit)
    if reserved:
        text = "the workbook asks for a password before it may be changed"
        raise RefusedError("reserved", f"{text}; save it without that password, and repeat")


def _content_type(package: Package, part: str) -> str:
    """What kind of part this is, as the package says of itself; empty where it does not."""
    own, usual = "", ""

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        nonlocal own, usual
        if names[-1] == "Override" and part_key(attributes.get("PartName", "")) == part_key(part):
            own = own or attributes.get("ContentType", "").lower()
        elif names[-1] == "Default" and attributes.get("Extension", "").lower() == part.rpartition(".")[2].lower():
            usual = usual or attributes.get("ContentType", "").lower()

    if "[Content_Types].xml" in package:
        walk(package, "[Content_Types].xml", visit, _TYPES)
    return own or usual


def defined_names(package: Package, part: str) -> dict[tuple[int | None, str], str]:
    """The text of each defined name by the number of its sheet (None for the workbook) and its name in lower case.

    Parameters
    ----------
    part : that lists the sheets
    """
    found: dict[tuple[int | None, str], str] = {}
    open_name: tuple[int | None, str] = None, ""

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        nonlocal open_name
        if names == ["workbook", "definedNames", "definedName"]:
            owner = attributes.get("localSheetId")
            open_name = None if owner is None else whole(part, owner), attributes.get("name", "").lower()

    def leave(names: list[str], text: str) -> None:
        if names == ["workbook", "definedNames", "definedName"]:
            found[open_name] = text

    walk(package, part, visit, leave=leave)
    return found


def unlocked_styles(package: Package, part: str) -> set[str]:
    """The numbers of the formats whose cells may be changed on a protected sheet.

    Parameters
    ----------
    part : of the formats
    """
    unlocked: set[str] = set()
    number, applied = -1, True

    def visit(names: list[str], attributes: dict[str, str]) -> None:
        nonlocal number, applied
        if names == ["styleSheet", "cellXfs", "xf"]:
            number, applied = number + 1, true(attributes.get("applyProtection"), default=True)
        elif names == ["styleSheet", "cellXfs", "xf", "protection"] and applied and not true(attributes.get("locked"), default=True):
            unlocked.add(str(number))

    if part in package:
        walk(package, part, visit)
    return unlocked


def pivot_areas(package: Package, tab: Tab) -> list[Area]:
    """The areas of a sheet that its pivot tables fill, with their filters above."""
    found: list[Area] = []
    for part in linked_parts(package, tab.part, "pivotTable"):

        def visit(names: list[str], attributes: dict[str, str], part: str = part) -> None:
            if names != ["pivotTableDefinition", "location"]:
                return
            area = area_of(attributes.get("ref", ""))
            if area is None:
                raise damaged(part, "its area is not an area")
            rows, columns = (whole(part, attributes.get(name, "0")) for name in ("rowPageCount", "colPageCount"))
            if rows:
                area = Area(max(1, area.top - rows - 1), area.left, area.bottom, max(area.right, area.left + 3 * columns))
            found.append(area)

        walk(package, part, visit)
    return found


def with_recalculation(data: bytes, part: str) -> bytes:
    """The workbook part with the order to compute everything afresh when it is opened."""
    starts: list[int] = []
    found: tuple[int, dict[str, str]] | None = None
    root = after = 0
    feeder = Feeder(part, utf_8=True)

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal found, root
        starts.append(feeder.parser.CurrentByteIndex)
        root = starts[0]
        if len(starts) == 2 and name.rpartition(" ")[2] == "calcPr":
            found = starts[-1], attributes

    def end(name: str) -> None:
        nonlocal after
        began = starts.pop()
        if len(starts) == 1 and name.rpartition(" ")[2] in _BEFORE_CALCULATION:
            after = xml.element_end(data, began, feeder.parser.CurrentByteIndex)

    feeder.parser.StartElementHandler, feeder.parser.EndElementHandler = start, end
    feeder.feed(data, True)
    if found is None:
        prefix = xml.prefix_of(xml.tag_at(data, root))
        return xml.spliced(data, [(after, after, b"<" + prefix + b'calcPr fullCalcOnLoad="1"/>')]) if after else data
    place, attributes = found
    tag = xml.tag_at(data, place)
    if true(attributes.get("fullCalcOnLoad")):
        return data
    return xml.spliced(data, [(place, place + len(tag), xml.with_attribute(tag, "fullCalcOnLoad", "1"))])
