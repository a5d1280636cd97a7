"""Names: keys that may stand once, and references that must lead somewhere, all in one spelling."""

from __future__ import annotations

from collections.abc import Mapping

from pricing.book.declared.column import Column, SheetDeclaration
from pricing.book.declared.sheets import EXTRAS, SHEETS
from pricing.book.price_book import AIR, NONE, SheetTable, is_air
from pricing.book.wording.reporter import Reporter, spoken
from pricing.book.wording.sentences import listed, number_text, quoted
from pricing.problems import Problems
from pricing.text import fold

_ADD_IT = "add it there, or choose one that is there"
_SHEETS = {declared.name: declared for declared in SHEETS}


class _Folded(dict[str, str]):
    """Names by how they are typed, in the form in which they are compared."""

    def __missing__(self, name: str) -> str:
        self[name] = folded = fold(name)
        return folded


#: The sheets whose names are looked up in the tables of the model.
LOOKED_UP = frozenset({"Materials", "Mixes", "Trades", "Machines", "Moulds", "Delivery"})


class NameBook:
    """Brings every name into the spelling of its own sheet and reports those that lead nowhere.

    Parameters
    ----------
    tables : every sheet; their name columns are changed in place
    present : the sheets that the book has
    problems : where problems go
    """

    def __init__(self, tables: Mapping[str, SheetTable], present: set[str], problems: Problems) -> None:
        self.tables = tables
        self.present = present
        self.problems = problems
        self.spellings: dict[str, dict[str, str]] = {}
        self.folded = _Folded()

    def resolve(self) -> None:
        """Problems: duplicate-key, unknown-name, missing-sheet, empty-sheet, kept-name."""
        for declared in SHEETS[1:]:
            self._canonical(declared)
            if declared.name in LOOKED_UP:
                self._kept(declared)
        for declared in SHEETS[1:]:
            self._mark_unread(declared)
        for declared in SHEETS[1:]:
            for column in declared.columns:
                if column.refers_to:
                    self._references(declared, column)
        for declared in SHEETS[1:]:
            self._duplicates(declared)

    def _canonical(self, declared: SheetDeclaration) -> None:
        """The first spelling of a name stands for all of them."""
        table = self.tables[declared.name]
        values = table[declared.columns[0].name]
        spellings: dict[str, str] = {}
        rows: dict[str, int] = {}
        names = values.tolist() if values.dtype == object and not declared.columns[0].refers_to else []
        for index, name in enumerate(names):
            if name and name not in rows:
                rows[name] = index
        spelled = {name: spellings.setdefault(self.folded[name], name) for name in rows}
        if len(spellings) < len(rows):
            values[:] = [spelled.get(name, name) for name in names]
        self.spellings[declared.name] = spellings
        if declared.columns[0].kind == "name" and declared.name not in ("Enquiries", "Actuals"):
            self._alike(declared, rows)

    def _alike(self, declared: SheetDeclaration, rows: Mapping[str, int]) -> None:
        """Names that a slip of the pen may have made two of one, or that are taken as one."""
        table = self.tables[declared.name]
        reporter = Reporter(self.problems, table.sheet_as_written)
        first: dict[str, str] = {}
        for name, index in rows.items():
            other = first.setdefault(self.folded[name].replace(" ", "").replace(".", ""), name)
            if other == name:
                continue
            same = self.folded[other] == self.folded[name]
            what = "a full stop or a space"
            reporter.report(
                "spelt-otherwise" if same else "like-names", table.cell(declared.columns[0].name, index), warning=True,
                found=quoted(name), other=quoted(other), row=int(table.rows[rows[other]]), what=what,
            )

    def _references(self, declared: SheetDeclaration, column: Column) -> None:
        if not self.problems.unread.isdisjoint((column.refers_to, *column.also)):
            return  # the name may be one of those that could not be read
        table = self.tables[declared.name]
        values = table[column.name]
        known = {name: spelled for sheet in (*column.also, column.refers_to) for name, spelled in self.spellings[sheet].items()}
        reporter = Reporter(self.problems, table.sheet_as_written)
        cache: dict[str, str | None] = {"": ""}
        remedies: dict[str, str] = {}
        for index, name in enumerate(values.tolist()):
            if name not in cache:
                cache[name] = known.get(self.folded[name])
                if cache[name] is None and declared.name == "Mixes" and is_air(name):
                    cache[name] = AIR.capitalize()
            found = cache[name]
            if found is not None:
                values[index] = found
            elif not known:
                self._nothing_is_there(column, table, index, reporter, name)
                return
            else:
                if name not in remedies:
                    near = reporter.near(name, known.values())
                    words = " or ".join(f'"{match}"' for match in near)
                    remedies[name] = f"is {words} meant? If not, add it there" if near else _ADD_IT
                reporter.report(
                    "unknown-name", table.cell(column.name, index), what=spoken(column), found=quoted(name),
                    sheet=column.refers_to, near=remedies[name],
                )

    def _mark_unread(self, declared: SheetDeclaration) -> None:
        """Mark a sheet of which it is told already that it could not be read, has no names or no rows."""
        table = self.tables[declared.name]
        unread = "" in self.problems.wrong_cells(table.sheet_as_written)
        without = declared.name in self.present and declared.columns[0].name not in table.letters
        if not self.spellings[declared.name] and not declared.columns[0].refers_to and (unread or without):
            self.problems.unread.add(declared.name)

    def _nothing_is_there(self, column: Column, table: SheetTable, index: int, reporter: Reporter, name: str) -> None:
        """Report once, at the first cell of a column that names something, that the sheet is missing or has no rows."""
        target, cell = _SHEETS[column.refers_to], table.cell(column.name, index)
        self.problems.unread.add(target.name)
        because = f', and the {spoken(column)} "{quoted(name)}" should stand on it'
        if target.name in self.present:
            reporter.report("empty-sheet", cell, sheet=target.name, because=because)
        elif not target.always:  # one that is always needed is reported anyway
            headings = listed([column.heading for column in target.columns if column.needed], "and")
            reporter.report("missing-sheet", cell, sheet=target.name, because=because, headings=headings)

    def _kept(self, declared: SheetDeclaration) -> None:
        """The word that stands where there is none cannot be the name of one."""
        table = self.tables[declared.name]
        reporter = Reporter(self.problems, table.sheet_as_written)
        column = declared.columns[0].name
        for index, name in enumerate(table[column].tolist()):
            if self.folded[name] == NONE:
                reporter.report("kept-name", table.cell(column, index), found=quoted(name))

    def _duplicates(self, declared: SheetDeclaration) -> None:
        if not declared.key:
            return
        table = self.tables[declared.name]
        if declared is EXTRAS and not {"product", "quote"} & set(table.letters):  # told as what belongs to nothing
            return
        reporter = Reporter(self.problems, table.sheet_as_written)
        columns = [table[name].tolist() for name in declared.key]
        needed = [declared.column(name).needed for name in declared.key]
        together = zip(*([self.folded[part] if isinstance(part, str) else part for part in each] for each in columns), strict=True)
        if len(set(together)) == len(table):
            return
        if self._told_of_heading(table, declared):
            return
        first: dict[tuple[object, ...], int] = {}
        here = next((name for name in declared.key if name in table.letters), declared.key[0])
        absent = listed([f'"{declared.column(name).heading}"' for name in declared.key if name not in table.letters], "or")
        stands = f"rows stand twice, and no column {absent} tells them apart; keep one of each, or look at the headings" if absent else ""
        for index, key in enumerate(zip(*columns, strict=True)):
            if any((part in ("", None) and wanted) or part != part for part, wanted in zip(key, needed, strict=True)):
                continue
            folded = tuple(self.folded[part] if isinstance(part, str) else part for part in key)
            before = first.setdefault(folded, index)
            if before != index:
                said = [(name, part) for name, part in zip(declared.key, key, strict=True) if part not in ("", None)]
                words = " · ".join(_key_text(part) for _, part in said)
                what = " · ".join(spoken(declared.column(name)) for name, _ in said)
                remedy = "keep one of them" if len(key) > 1 else "keep one of them, or give one another name"
                if declared.key == ("trade", "from"):
                    where = "type under From" if "from" in table.letters else "add a column From with"
                    remedy += f", or {where} the day from which this wage holds"
                reporter.report(
                    "duplicate-key", table.cell(here, index), together=stands, short=quoted(words), what=what, found=quoted(words),
                    other=int(table.rows[before]), remedy=remedy,
                )

    def _told_of_heading(self, table: SheetTable, declared: SheetDeclaration) -> bool:
        """Where a heading is misspelt that would tell rows apart, that is the one fault, and stops the work."""
        absent = [declared.column(name).heading for name in declared.key if name not in table.letters]
        for near in (heading for heading in absent if heading in table.asked):
            cell = table.asked[near]
            self.problems.withdraw("unknown-column", table.sheet_as_written, cell.address)
            reporter = Reporter(self.problems, table.sheet_as_written)
            reporter.report("misspelt-column", cell.address, heading=quoted(cell.value), near=near)
            return True
        return False


def _key_text(part: object) -> str:
    return number_text(part) if isinstance(part, float) else str(part)
