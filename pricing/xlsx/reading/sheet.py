"""Reading a sheet part: streaming, sparse, within bounds; plain rows by pattern, everything else by parser."""

from __future__ import annotations

from pricing.xlsx.addresses import LAST_COLUMN, area_of
from pricing.xlsx.package.archive import LARGEST_SHEET, Package
from pricing.xlsx.package.limits import MEBIBYTE
from pricing.xlsx.package.markup import DEEPEST, MAIN, Feeder, true
from pricing.xlsx.package.parts import totals_rows
from pricing.xlsx.reading.cell_table import Sheet
from pricing.xlsx.reading.plain_rows import take_plain_rows
from pricing.xlsx.reading.shared_strings import LONGEST_STORED
from pricing.xlsx.reading.stored_cells import StoredCells
from pricing.xlsx.refused import RefusedError, shown

MOST_MERGES = 100_000
_BLOCK = 256 * 1024
_HELD_BACK = MEBIBYTE  # bytes that wait for the end of a row before the parser takes them
_DATA_START, _ROW_END = b"<sheetData>", b"</row>"


def read_sheet(package: Package, reader: StoredCells) -> Sheet:
    """Read the part of a sheet: its cells, hidden rows, merged areas and the totals rows of its tables.

    Parameters
    ----------
    package : the archive
    reader : gathers the cells, and knows which sheet is meant

    Problems: damaged-file, beyond-grid, file-too-large, suspicious-file, and those of single cells.
    """
    part = _SheetPart(reader)
    for block in package.blocks(reader.tab.part, LARGEST_SHEET, _BLOCK):
        part.take(block)
        part.settle()
    part.finish()
    return reader.finish(totals_rows(package, reader.tab))


class _SheetPart:
    """The parser of one sheet part and where it stands."""

    def __init__(self, reader: StoredCells) -> None:
        self.reader = reader
        self.feeder = Feeder(reader.tab.part)
        self.buffer = b""
        self.utf8 = True
        self.prefixes: set[str] = set()
        self.boundary = -1  # the count of bytes parsed at which the parser stands exactly between two rows
        self.depth = 0  # of open elements other than row, cell, value and formula
        self.chunks: list[str] = []
        self.cell: dict[str, str] | None = None
        self.value: str | None = None
        self.formula: str | None = None
        self.in_row = self.in_text = False
        self.phonetic = 0
        self.column = 0
        self.main = self.data = self.row = self.c = self.v = self.f = self.t = self.phonetic_run = ""
        parser = self.feeder.parser
        parser.StartElementHandler, parser.EndElementHandler = self.outside_start, self.outside_end
        parser.XmlDeclHandler = self.declaration
        parser.StartNamespaceDeclHandler = self.namespace

    # Bytes

    def take(self, block: bytes) -> None:
        """Take the next bytes: plain rows by pattern, the rest up to the end of a row by parser."""
        data = self.buffer + block if self.buffer else block
        position = 0
        while True:
            if self.between_rows():
                position = take_plain_rows(self.reader, data, position, self.prefixes)
            end = data.find(_ROW_END if self.data_open() else _DATA_START, position)
            if end < 0:
                break
            end += len(_ROW_END if self.data_open() else _DATA_START)
            self.feeder.feed(data[position:end])
            position = end
        if len(data) - position > _HELD_BACK:
            self.feeder.feed(data[position:])
            position = len(data)
        self.buffer = data[position:]

    def between_rows(self) -> bool:
        """True where the parser has taken all it was given and stands between two rows."""
        return self.utf8 and self.boundary == self.feeder.fed

    def data_open(self) -> bool:
        """True where the parser stands among the rows."""
        return bool(self.data) and self.feeder.parser.StartElementHandler == self.start

    def settle(self) -> None:
        """Look at how much has been gathered."""
        if not self.in_text and self.phonetic == 0 and self.cell is None:
            self.chunks.clear()
        elif sum(map(len, self.chunks)) + len(self.value or "") > LONGEST_STORED:
            raise self.reader.refusal("a text is too long")
        self.reader.settle()

    def finish(self) -> None:
        """Parse what is left."""
        self.feeder.feed(self.buffer)
        self.feeder.feed(b"", True)
        self.settle()

    # What the parser meets before and after the rows

    def declaration(self, version: str, encoding: str | None, standalone: int) -> None:
        """Rows are taken by pattern from UTF-8 only."""
        self.utf8 = encoding is None or encoding.casefold() in ("utf-8", "utf8")

    def namespace(self, prefix: str | None, uri: str) -> None:
        """Rows are taken by pattern only where names mean the same from the first to the last."""
        if self.depth > 0:
            self.utf8 = False
        self.prefixes.add(prefix or "")

    def outside_start(self, name: str, attributes: dict[str, str]) -> None:
        """An element before or after the rows."""
        self.depth += 1
        self.reader.elements += 1
        if self.depth > DEEPEST:
            raise self.reader.refusal("nested too deep")
        namespace, _, local = name.rpartition(" ")
        if not self.main:
            if namespace not in MAIN or local != "worksheet":
                raise self.reader.refusal("it is not a worksheet")
            self.main = namespace
            self.c, self.v, self.f, self.t = (f"{namespace} {letter}" for letter in "cvft")
            self.row, self.data, self.phonetic_run = (f"{namespace} {word}" for word in ("row", "sheetData", "rPh"))
        elif name == self.data and self.depth == 2:
            parser = self.feeder.parser
            parser.StartElementHandler, parser.EndElementHandler = self.start, self.end
            parser.CharacterDataHandler = self.chunks.append
            self.boundary = parser.CurrentByteIndex + len(_DATA_START)
        elif local == "mergeCell" and namespace == self.main:
            merged = area_of(attributes.get("ref", ""))
            if merged is None:
                raise self.reader.refusal("a merged area is not an area")
            self.reader.sheet.merged.append(merged)
            if len(self.reader.sheet.merged) > MOST_MERGES:
                raise self.reader.refusal("it has too many merged areas")

    def outside_end(self, name: str) -> None:
        """The end of an element before or after the rows."""
        self.depth -= 1

    # What the parser meets among the rows

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element among the rows."""
        if name == self.v or name == self.f:
            if self.in_text or self.cell is None:
                raise self.reader.refusal("a value outside a cell or within another")
            self.in_text = True
            self.chunks.clear()
        elif name == self.c:
            if self.cell is not None or not self.in_row:
                raise self.reader.refusal("a cell outside a row or within another")
            self.cell, self.value, self.formula = attributes, None, None
            self.reader.elements += 1
        elif name == self.row:
            if self.in_row:
                raise self.reader.refusal("a row within a row")
            self.in_row = True
            self.column = 0
            hidden = true(attributes.get("hidden")) or attributes.get("ht") in ("0", "0.0")
            self.reader.begin_row(self.row_number(attributes.get("r")), hidden)
        elif name == self.data:
            raise self.reader.refusal("rows within rows")
        else:
            self.depth += 1
            self.reader.elements += 1
            if self.depth > DEEPEST:
                raise self.reader.refusal("nested too deep")
            if name == self.t and not self.phonetic:
                self.chunks.clear()
            elif name == self.phonetic_run:
                self.phonetic += 1

    def row_number(self, text: str | None) -> int:
        """The number of a row; without one it follows the row before."""
        if text is None:
            return self.reader.row + 1
        if not text.isdecimal() or not text.isascii() or len(text) > 10:
            raise self.reader.refusal(f'"{shown(text, 20)}" is not a row')
        return int(text)

    def end(self, name: str) -> None:
        """The end of an element among the rows."""
        if name == self.v:
            self.in_text = False
            self.value = "".join(self.chunks)
        elif name == self.c:
            self.end_cell()
        elif name == self.f:
            self.in_text = False
            self.formula = "".join(self.chunks)
        elif name == self.row:
            self.in_row = False
            self.boundary = self.feeder.parser.CurrentByteIndex + len(_ROW_END)
        elif name == self.data:
            parser = self.feeder.parser
            parser.StartElementHandler, parser.EndElementHandler = self.outside_start, self.outside_end
            parser.CharacterDataHandler = None
            self.depth -= 1
            self.boundary = -1
        else:
            self.depth -= 1
            if name == self.t and self.cell is not None and not self.phonetic:
                self.value = (self.value or "") + "".join(self.chunks)
                self.chunks.clear()
            elif name == self.phonetic_run:
                self.phonetic -= 1

    def end_cell(self) -> None:
        """Keep the cell that ends here."""
        attributes, self.cell = self.cell or {}, None
        reference = attributes.get("r")
        if reference is None:
            self.column += 1
            if self.column > LAST_COLUMN:
                message = "a row has too many cells; take a fresh copy"
                raise RefusedError("beyond-grid", message, shown(self.reader.tab.name))
        else:
            row = str(self.reader.row)
            letters = reference[: -len(row)] if reference.endswith(row) else ""
            self.column = self.reader.columns.get(letters) or self.reader.column_of(reference)
        self.reader.keep(self.column, attributes.get("s"), attributes.get("t", "n"), self.value, self.formula)
