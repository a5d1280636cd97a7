"""The parts around the cells of a workbook: its sheets, names, tables, pivot tables and formats.

Source of the structure: ECMA-376 part 1, sections 12.3 and 18.2 to 18.8.
"""

from __future__ import annotations

import posixpath
from dataclasses import dataclass
from urllib.parse import unquote

from pricing.xlsx.editing import xml_source as xml
from pricing.xlsx.editing.addresses import Area, RefusedError, area_of
from pricing.xlsx.editing.archive import Package, part_key
from pricing.xlsx.editing.formula_references import Reader, Table

_MAIN = (
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.template.main+xml",
    "application/vnd.ms-excel.sheet.macroenabled.main+xml",
    "application/vnd.ms-excel.template.macroenabled.main+xml",
)
_BEFORE_CALCULATION = ("sheets", "functionGroups", "externalReferences", "definedNames")
_SAVE_AGAIN = "save the workbook again from the spreadsheet program, and repeat"


@dataclass(frozen=True, slots=True)
class Relation:
    """One part that another points to: the last word of its kind, its key, and whether it lies elsewhere."""

    kind: str
    target: str
    outside: bool


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of the workbook, in the order of its tabs."""

    number: int
    name: str
    kind: str
    part: str
    relations: dict[str, Relation]


@dataclass(frozen=True, slots=True)
class Workbook:
    """What a workbook says of itself; ``part`` is the key of the part that lists its sheets."""

    package: Package
    part: str
    relations: dict[str, Relation]
    sheets: list[Sheet]
    names: dict[tuple[int | None, str], str]
    tables: dict[str, Table]

    def sheet(self, name: str) -> Sheet | None:
        """The sheet of that name in any letter case, or None."""
        return next((sheet for sheet in self.sheets if sheet.name.lower() == name.lower()), None)

    def reader(self) -> Reader:
        """What reads its formulas."""
        worksheets = frozenset(sheet.number for sheet in self.sheets if sheet.kind == "worksheet")
        return Reader([sheet.name for sheet in self.sheets], worksheets, self.names, self.tables)


def read_workbook(package: Package) -> Workbook:
    """The sheets, names and tables of a workbook.

    Problems raised: ``not-a-workbook``, ``signed``, ``reserved``, ``sheet-outside``, ``part-missing``, and those of
    reading XML.
    """
    if "[content_types].xml" not in package:
        raise _not_a_workbook()
    start = relations(package, "")
    if any("digital-signature" in relation.kind for relation in start.values()) or any(
        key.startswith("_xmlsignatures/") for key in package.members
    ):
        text = "the workbook carries a digital signature, which any change would break"
        raise RefusedError("signed", f"{text}; remove the signature in the spreadsheet program, and repeat")
    part = next((relation.target for relation in start.values() if relation.kind == "officeDocument"), "")
    if part not in package or _content_type(package, part) not in _MAIN:
        raise _not_a_workbook()
    root = _small(package, part)
    if root.namespace not in xml.SPREADSHEET or root.name != "workbook":
        raise _not_a_workbook()
    sharing = root.first("fileSharing")
    if sharing and (sharing.attributes.keys() & {"reservationPassword", "hashValue"}):
        text = "the workbook asks for a password before it may be changed"
        raise RefusedError("reserved", f"{text}; save it without that password, and repeat")
    mine = relations(package, part)
    sheets: list[Sheet] = []
    for node in root.all("sheets", "sheet"):
        sheets.append(_sheet(package, mine, node, len(sheets)))
    names: dict[tuple[int | None, str], str] = {}
    for node in root.all("definedNames", "definedName"):
        local = node.attributes.get("localSheetId")
        owner = int(local) if local and local.isascii() and local.isdigit() else None
        names[owner, node.attributes.get("name", "").lower()] = node.text
    tables: dict[str, Table] = {}
    for sheet in sheets:
        tables |= dict(_tables(package, sheet))
    return Workbook(package, part, mine, sheets, names, tables)


def relations(package: Package, part: str) -> dict[str, Relation]:
    """The parts that a part points to, by the name it gives them; of the whole package where the part is empty."""
    folder, name = posixpath.split(part)
    key = posixpath.join(folder, "_rels", f"{name}.rels")
    found: dict[str, Relation] = {}
    if key not in package:
        return found
    for node in _small(package, key).all("Relationship"):
        given = node.attributes.get("Target", "")
        kind = node.attributes.get("Type", "")
        kind = kind if "digital-signature" in kind else kind.rpartition("/")[2]
        outside = node.attributes.get("TargetMode", "") == "External"
        target = unquote(given).replace("\\", "/")
        if not target.startswith("/"):
            target = posixpath.join("/", folder, target)
        found[node.attributes.get("Id", "")] = Relation(kind, part_key(posixpath.normpath(target)), outside)
    return found


def unlocked_styles(workbook: Workbook) -> set[str]:
    """The numbers of the formats whose cells may be changed on a protected sheet."""
    part = next((relation.target for relation in workbook.relations.values() if relation.kind == "styles"), "")
    unlocked: set[str] = set()
    if part in workbook.package:
        for number, node in enumerate(_small(workbook.package, part).all("cellXfs", "xf")):
            protection = node.first("protection")
            applied = xml.is_true(node.attributes.get("applyProtection"), default=True)
            if protection and applied and not xml.is_true(protection.attributes.get("locked"), default=True):
                unlocked.add(str(number))
    return unlocked


def pivot_areas(package: Package, sheet: Sheet) -> list[Area]:
    """The areas of a sheet that its pivot tables fill, with their filters above."""
    areas = []
    for relation in sheet.relations.values():
        location = None
        if relation.kind == "pivotTable" and not relation.outside:
            location = _small(package, relation.target).first("location")
        if location is None:
            continue
        area = area_of(location.attributes.get("ref", ""))
        if area is None:
            raise RefusedError("bad-reference", f"a pivot table has no place; {_SAVE_AGAIN}", sheet=sheet.name)
        rows, columns = (_count(location.attributes.get(name)) for name in ("rowPageCount", "colPageCount"))
        if rows:
            area = Area(max(1, area.top - rows - 1), area.left, area.bottom, max(area.right, area.left + 3 * columns))
        areas.append(area)
    return areas


def with_recalculation(data: bytes, part: str) -> bytes:
    """The workbook part with the order to compute everything afresh when it is opened."""
    root = xml.tree(data, part)
    if found := root.first("calcPr"):
        tag = xml.tag_at(data, found.start)
        if xml.is_true(found.attributes.get("fullCalcOnLoad")):
            return data
        changed = xml.with_attribute(tag, "fullCalcOnLoad", "1")
        return xml.spliced(data, [(found.start, found.start + len(tag), changed)])
    after = max((node.end for node in root.children if node.name in _BEFORE_CALCULATION), default=0)
    prefix = xml.prefix_of(xml.tag_at(data, root.start))
    return xml.spliced(data, [(after, after, b"<" + prefix + b'calcPr fullCalcOnLoad="1"/>')]) if after else data


def _small(package: Package, part: str) -> xml.Node:
    return xml.tree(package.read(part, xml.LARGEST_SMALL_PART), part)


def _content_type(package: Package, part: str) -> str:
    root = _small(package, "[content_types].xml")
    for node in root.all("Override"):
        if part_key(node.attributes.get("PartName", "")) == part:
            return node.attributes.get("ContentType", "").lower()
    for node in root.all("Default"):
        if node.attributes.get("Extension", "").lower() == part.rpartition(".")[2]:
            return node.attributes.get("ContentType", "").lower()
    return ""


def _sheet(package: Package, mine: dict[str, Relation], node: xml.Node, number: int) -> Sheet:
    name = node.attributes.get("name", "")
    key = next((value for attribute, value in node.attributes.items() if attribute.endswith("/relationships id")), "")
    if key not in mine:
        raise RefusedError(
            "part-missing", f"the sheet has no contents, so the file is damaged; {_SAVE_AGAIN}", sheet=name
        )
    relation = mine[key]
    if relation.outside:
        text = "the contents of the sheet lie outside the workbook"
        raise RefusedError("sheet-outside", f"{text}; {_SAVE_AGAIN}", sheet=name)
    return Sheet(number, name, relation.kind, relation.target, relations(package, relation.target))


def _tables(package: Package, sheet: Sheet) -> list[tuple[str, Table]]:
    found = []
    for relation in sheet.relations.values():
        if relation.kind != "table" or relation.outside:
            continue
        root = _small(package, relation.target)
        area = area_of(root.attributes.get("ref", ""))
        if area is None:
            raise RefusedError("bad-reference", f"a table has no place; {_SAVE_AGAIN}", sheet=sheet.name)
        columns = tuple(node.attributes.get("name", "") for node in root.all("tableColumns", "tableColumn"))
        headings = _count(root.attributes.get("headerRowCount", "1"))
        table = Table(sheet.number, area, columns, headings, _count(root.attributes.get("totalsRowCount")))
        name = root.attributes.get("displayName") or root.attributes.get("name", "")
        found.append((name.lower(), table))
    return found


def _count(text: str | None) -> int:
    return int(text[:6]) if text and text.isascii() and text.isdigit() else 0


def _not_a_workbook() -> RefusedError:
    return RefusedError(
        "not-a-workbook", "this is not a workbook of the .xlsx or .xlsm kind; save it as .xlsx, and repeat"
    )
