"""A close look at a written workbook, part by part: is it well formed, whole, in order, and does it hold nothing that acts?

The order of a sheet's elements is that of ECMA-376 part 1, 18.3.1.99 (CT_Worksheet); escapes in texts are those of 22.9.2.19
(ST_Xstring); content types and relationships are those of part 2. The limits of cells, rows and names are the published
limits of spreadsheet programs.
"""

from __future__ import annotations

import posixpath
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path

from lxml import etree

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
RELATION = "{http://schemas.openxmlformats.org/package/2006/relationships}"
TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"
CHART = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"

#: The children of a worksheet in the order in which they must stand.
_ORDER = """
    sheetPr dimension sheetViews sheetFormatPr cols sheetData sheetCalcPr sheetProtection protectedRanges scenarios autoFilter
    sortState dataConsolidate customSheetViews mergeCells phoneticPr conditionalFormatting dataValidations hyperlinks printOptions
    pageMargins pageSetup headerFooter rowBreaks colBreaks customProperties cellWatches ignoredErrors smartTags drawing drawingHF
    legacyDrawing legacyDrawingHF picture oleObjects controls webPublishItems tableParts extLst
"""
ORDER = tuple(_ORDER.split())

#: Children of a worksheet that may stand more than once.
REPEATED = {"conditionalFormatting", "cols"}

#: What acts, fetches or calls: nothing of ours needs it.
ACTING = {"hyperlinks", "hyperlink", "oleObjects", "oleObject", "controls", "control", "webPublishItems", "customProperties",
          "ddeLink", "externalBook", "externalReference", "connection", "picture", "scenarios", "smartTags", "hlinkClick"}

LONGEST_TEXT, LONGEST_FORMULA, LONGEST_FOOT, LONGEST_SHEET_NAME = 32_767, 8_192, 255, 31

_ESCAPE = re.compile(r"_x([0-9A-Fa-f]{4})_")
#: Control characters but line feed; marks that turn the direction of text; code points that are no characters.
UNWANTED = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufdd0-\ufdef\ufffe\uffff\ud800-\udfff]")
_CELL = re.compile(r"([A-Z]{1,3})([1-9]\d{0,6})")
_STRING = re.compile(r'"(?:[^"]|"")*"')
_SHEET = re.compile(r"'(?:[^']|'')*'!|\w+!")
_PLACE = re.compile(r"\$?\b[A-Z]{1,3}\$?\d+\b(?::\$?[A-Z]{1,3}\$?\d+\b)?|\$?\b[A-Z]{1,3}:\$?[A-Z]{1,3}\b")
_NUMBER = re.compile(r"(?<![A-Za-z0-9_.])\d+(?:\.\d+)?")


def shown(text: str) -> str:
    """A stored text as a spreadsheet program shows it, its escapes resolved.

    >>> shown("a_x0041_b"), shown("_x005F_x0041_")
    ('aAb', '_x0041_')
    """
    return _ESCAPE.sub(lambda match: chr(int(match.group(1), 16)), text)


def units(text: str) -> int:
    """Length as spreadsheet programs count [UTF-16 code units]."""
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


def formula_shape(formula: str) -> str:
    """A formula with its cells and figures left out: what remains is what it does and says.

    >>> formula_shape("SUM('Build-up'!$C$7:$C$9)*2&\\" of 3\\"")
    'SUM(@)*#&" of 3"'
    """
    texts = _STRING.findall(formula)
    bare = _NUMBER.sub("#", _PLACE.sub("@", _SHEET.sub("", _STRING.sub("\0", formula))))
    bare = re.sub(r"@(?:\+@)+", "@+@", bare)
    for text in texts:
        bare = bare.replace("\0", text, 1)
    return bare


_FOOT = re.compile(r'&(?:(?P<section>[LCR])|(?P<and>&)|"[^"]*"|\d+|K[0-9A-F]{6}|(?P<code>[PNDTFAZGBIUESXYHO+-])|(?P<odd>.?))', re.DOTALL)


def foot_texts(foot: str) -> dict[str, str]:
    """The texts of a page's foot or header by section, as a reader sees them: its codes as ``#``, unknown ones as ``?``.

    The codes are those of ECMA-376 part 1, 18.3.1.46 (firstHeader).

    >>> foot_texts('&L&8&"Arial"Smith && Sons&R&P of &N')
    {'L': 'Smith & Sons', 'R': '# of #'}
    """
    found: dict[str, str] = {}
    section, at = "C", 0
    for match in _FOOT.finditer(foot):
        found[section] = found.get(section, "") + foot[at : match.start()]
        at = match.end()
        section = match["section"] or section
        sign = "&" if match["and"] else "#" if match["code"] else "?" if match["odd"] is not None else ""
        found[section] = found.get(section, "") + sign
    found[section] = found.get(section, "") + foot[at:]
    return {name: text for name, text in found.items() if text}


class Package:
    """A workbook's parts, each parsed.

    Parameters
    ----------
    path : of the workbook
    """

    def __init__(self, path: Path) -> None:
        self.faults: list[str] = []
        with zipfile.ZipFile(path) as archive:
            infos = archive.infolist()
            self.content = {info.filename: archive.read(info) for info in infos}
        names = [info.filename.casefold() for info in infos]
        if len(set(names)) != len(names):
            self.faults.append("two parts have one name")
        self.trees: dict[str, etree._Element] = {}
        for name, data in self.content.items():
            if name.endswith((".xml", ".rels", ".vml")):
                try:
                    self.trees[name] = etree.fromstring(data, etree.XMLParser(resolve_entities=False, huge_tree=True))
                except etree.XMLSyntaxError as error:
                    self.faults.append(f"{name} is not well formed: {error}")
        self.strings = [
            "".join(shown(part.text or "") for part in entry.iter(f"{MAIN}t"))
            for entry in self._tree("xl/sharedStrings.xml").iterfind(f"{MAIN}si")
        ]
        self.sheets = {name: tree for name, tree in self.trees.items() if name.startswith("xl/worksheets/sheet")}

    def _tree(self, name: str) -> etree._Element:
        return self.trees.get(name, etree.Element("none"))

    def formulas(self) -> set[str]:
        """What the formulas do, without cells and figures."""
        return {formula_shape(each.text or "") for tree in self.sheets.values() for each in tree.iter(f"{MAIN}f")}

    def shown_strings(self) -> Iterator[str]:
        """The text of every cell that holds one, as often as it is shown."""
        for tree in self.sheets.values():
            for cell in tree.iter(f"{MAIN}c"):
                if cell.get("t") == "s":
                    yield self.strings[int(cell.findtext(f"{MAIN}v") or 0)]
                elif cell.get("t") == "inlineStr":
                    yield "".join(shown(part.text or "") for part in cell.iter(f"{MAIN}t"))

    def texts(self) -> Iterator[tuple[str, str]]:
        """Every text that a reader may see, as it is shown, with the part in which it stands."""
        yield from (("a cell", text) for text in self.shown_strings())
        for name, tree in self.sheets.items():
            for cell in tree.iter(f"{MAIN}c"):
                if cell.get("t") == "str":
                    yield name, shown(cell.findtext(f"{MAIN}v") or "")
            for foot in tree.iter(f"{MAIN}oddFooter", f"{MAIN}oddHeader"):
                yield name, foot.text or ""
        for name, tree in self.trees.items():
            if name.startswith(("xl/charts/", "xl/comments", "xl/drawings/", "docProps/")):
                for element in tree.iter(etree.Element):
                    yield name, element.text or ""
                    yield from ((name, str(value)) for value in element.attrib.values())

    def all_faults(self) -> list[str]:
        """Everything that is wrong with the workbook, a sentence each."""
        if not self.faults:
            for look in (self._content_types, self._relations, self._workbook, self._strings, self._acting, self._unwanted):
                self.faults += look()
            for name, tree in self.sheets.items():
                self.faults += [f"{name}: {fault}" for fault in self._sheet(tree)]
        return self.faults

    def _content_types(self) -> Iterator[str]:
        tree = self._tree("[Content_Types].xml")
        endings = {each.get("Extension", "").casefold() for each in tree.iter(f"{TYPES}Default")}
        parts = [each.get("PartName", "") for each in tree.iter(f"{TYPES}Override")]
        if len(set(parts)) != len(parts):
            yield "a part has two content types"
        for part in parts:
            if part.lstrip("/") not in self.content:
                yield f"a content type is given for {part}, which is not there"
        for name in self.content:
            if name != "[Content_Types].xml" and f"/{name}" not in parts and name.rpartition(".")[2].casefold() not in endings:
                yield f"{name} has no content type"

    def _relations(self) -> Iterator[str]:
        reached = {"[Content_Types].xml"}
        for name, tree in self.trees.items():
            if not name.endswith(".rels"):
                continue
            folder = posixpath.dirname(posixpath.dirname(name))
            source = posixpath.join(folder, posixpath.basename(name).removesuffix(".rels"))
            if source != folder and posixpath.basename(source) and source not in self.content:
                yield f"{name} speaks of {source}, which is not there"
            keys = [each.get("Id") for each in tree.iter(f"{RELATION}Relationship")]
            if len(set(keys)) != len(keys):
                yield f"{name} has an identifier twice"
            for each in tree.iter(f"{RELATION}Relationship"):
                if each.get("TargetMode") == "External":
                    yield f"{name} points outside: {each.get('Target')}"
                    continue
                target = each.get("Target", "")
                found = target.lstrip("/") if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
                reached.add(found)
                if found not in self.content:
                    yield f"{name} points to {target}, which is not there"
            if source in self.trees:
                used = set(re.findall(r'\br:(?:id|embed|link)="([^"]+)"', self.content[source].decode("utf-8")))
                yield from (f"{source} uses {key}, which {name} does not have" for key in used - set(keys))
        for name in self.content:
            if name not in reached and not name.endswith(".rels"):
                yield f"nothing points to {name}"

    def _workbook(self) -> Iterator[str]:
        tree = self._tree("xl/workbook.xml")
        names = [each.get("name", "") for each in tree.iter(f"{MAIN}sheet")]
        if len({name.casefold() for name in names}) != len(names):
            yield "two sheets have one name"
        for name in names:
            if not name or units(name) > LONGEST_SHEET_NAME or re.search(r"[\[\]:*?/\\]|^'|'$", name):
                yield f"a sheet is named {name!r}"
        known = {*names, *(name.replace("'", "''") for name in names)}
        for each in tree.iter(f"{MAIN}definedName"):
            if not (each.get("name") or "").startswith("_xlnm."):
                yield f"a name is defined: {each.get('name')}"
            for quoted, plain in re.findall(r"'((?:[^']|'')*)'!|(\w+)!", each.text or ""):
                if (quoted or plain) not in known:
                    yield f"a defined name speaks of the sheet {quoted or plain}, which is not there"

    def _strings(self) -> Iterator[str]:
        used = set()
        for name, tree in self.sheets.items():
            for cell in tree.iter(f"{MAIN}c"):
                if cell.get("t") == "s":
                    number = int(cell.findtext(f"{MAIN}v") or -1)
                    used.add(number)
                    if not 0 <= number < len(self.strings):
                        yield f"{name}: {cell.get('r')} shows text {number}, which is not there"
        for number, text in enumerate(self.strings):
            if number not in used:
                yield f"no cell shows the text {text[:60]!r}"
        for text in self.shown_strings():
            if units(text) > LONGEST_TEXT:
                yield f"a text is longer than a cell holds: {text[:40]!r}"

    def _acting(self) -> Iterator[str]:
        for name, tree in self.trees.items():
            for element in tree.iter(etree.Element):
                kind = etree.QName(element).localname
                if kind in ACTING and not (kind == "picture" and "drawings" in name):
                    yield f"{name} holds <{kind}>"
        for name in self.content:
            if re.search(r"vba|macro|activeX|embeddings|externalLinks|connections|customXml|queryTables|ctrlProps", name, re.IGNORECASE):
                yield f"{name} is a part that acts or fetches"

    def _unwanted(self) -> Iterator[str]:
        for name, text in self.texts():
            found = UNWANTED.search(shown(text) if name.startswith("xl/charts/") else text)
            if found:
                yield f"{name} shows the character {found.group()!r} in {text[:60]!r}"
        for name, data in self.content.items():
            if name.endswith((".xml", ".rels", ".vml")) and UNWANTED.search(data.decode("utf-8").replace("\r\n", "\n").replace("\t", " ")):
                yield f"{name} holds a control character"

    def _sheet(self, tree: etree._Element) -> Iterator[str]:
        children = [etree.QName(child).localname for child in tree]
        places = [ORDER.index(child) if child in ORDER else -1 for child in children]
        if -1 in places or places != sorted(places):
            yield f"its elements stand as {children}"
        for child in set(children):
            if children.count(child) > 1 and child not in REPEATED:
                yield f"<{child}> stands more than once"
        yield from self._cells(tree)
        yield from _merges(tree)
        for foot in tree.iter(f"{MAIN}oddFooter", f"{MAIN}oddHeader"):
            if units(foot.text or "") > LONGEST_FOOT:
                yield "its foot is too long"
            if any(match["odd"] is not None for match in _FOOT.finditer(foot.text or "")):
                yield f"its foot holds a code that does not exist: {foot.text!r}"
        for column in tree.iter(f"{MAIN}col"):
            if not 0 <= float(column.get("width", "8")) <= 255:
                yield f"a column is {column.get('width')} wide"

    def _cells(self, tree: etree._Element) -> Iterator[str]:
        formats = len(self._tree("xl/styles.xml").findall(f"{MAIN}cellXfs/{MAIN}xf"))
        last_row, seen = 0, set()
        for row in tree.iter(f"{MAIN}row"):
            number = int(row.get("r", "0"))
            if number <= last_row:
                yield f"row {number} stands after row {last_row}"
            if float(row.get("ht", "15")) > 409.5:
                yield f"row {number} is {row.get('ht')} points high"
            last_row, last_column = number, 0
            for cell in row.iterfind(f"{MAIN}c"):
                place = cell.get("r", "")
                match = _CELL.fullmatch(place)
                if not match or int(match[2]) != number:
                    yield f"the cell {place} stands in row {number}"
                    continue
                column = 0
                for letter in match[1]:
                    column = column * 26 + ord(letter) - 64
                if column <= last_column or place in seen:
                    yield f"the cell {place} stands twice or out of order"
                last_column = column
                seen.add(place)
                yield from _cell(cell, place, formats)


def _cell(cell: etree._Element, place: str, formats: int) -> Iterator[str]:
    kind, value, formula = cell.get("t", "n"), cell.findtext(f"{MAIN}v"), cell.find(f"{MAIN}f")
    if kind == "inlineStr" and (value is not None or [etree.QName(child).localname for child in cell] != ["is"]):
        yield f"the cell {place} holds more than its text"
    if kind not in {"n", "s", "str", "b", "inlineStr"}:
        yield f"the cell {place} is of the kind {kind}"
    if not 0 <= int(cell.get("s", "0")) < formats:
        yield f"the cell {place} has the format {cell.get('s')}, which is not there"
    if kind == "n" and value is not None and not re.fullmatch(r"-?\d+(\.\d+)?([Ee][-+]?\d+)?", value):
        yield f"the cell {place} holds {value!r} as a number"
    if formula is None:
        return
    if not formula.text or units(formula.text) > LONGEST_FORMULA:
        yield f"the cell {place} has an empty formula or a very long one"
    if set(formula.attrib) - {"t", "ref"} or formula.get("t", "array") != "array":
        yield f"the formula of {place} is of the kind {formula.get('t')}"
    if not value and kind != "str":
        yield f"the formula of {place} has no result"
    if kind == "str" and units(shown(value or "")) > LONGEST_TEXT:
        yield f"the result of {place} is longer than a cell holds"


def _merges(tree: etree._Element) -> Iterator[str]:
    taken: set[tuple[int, int]] = set()
    for merge in tree.iter(f"{MAIN}mergeCell"):
        ends = [_CELL.fullmatch(place) for place in merge.get("ref", "").split(":")]
        if len(ends) != 2 or not all(ends):
            yield f"a merged range reads {merge.get('ref')}"
            continue
        (top, left), (bottom, right) = [(int(end[2]), _column(end[1])) for end in ends if end]
        cells = {(row, column) for row in range(top, bottom + 1) for column in range(left, right + 1)}
        if cells & taken or len(cells) < 2:
            yield f"the merged range {merge.get('ref')} lies over another or holds one cell"
        taken |= cells


def _column(letters: str) -> int:
    column = 0
    for letter in letters:
        column = column * 26 + ord(letter) - 64
    return column


def faults_of(path: Path) -> list[str]:
    """Everything that is wrong with a written workbook, a sentence each; none where it is sound."""
    return Package(path).all_faults()
