"""Where every table of the model stands in a workbook, and the live formula of each of its cells.

One formula serves a whole column. A rule's own algebra becomes the formula of a computed column; the links of the model
become INDEX and MATCH, SUMIF or SUMPRODUCT, in functions that every spreadsheet program has.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from pricing.algebra.expressions import BY_MEASURES, Operation, expression_of
from pricing.book.shown_units import POUND
from pricing.costing.engine.columns import SETTINGS, Band, ByWord, Column, Computed, Input, Largest, Lookup, Rank, Sum, Text
from pricing.costing.engine.model import Model
from pricing.costing.method.shown_measures import METRIC, ShownMeasures, powers
from pricing.dataclass import dataclass
from pricing.glossary import GLOSSARY
from pricing.reports.shared.lengths import Lengths

#: Stands in a formula for the number of its row.
_ROW = "\0"


def quoted(sheet: str) -> str:
    """A sheet's name as a formula writes it.

    >>> quoted("Checks"), quoted("Build-up")
    ('Checks', "'Build-up'")
    """
    return sheet if sheet.isalnum() else "'" + sheet.replace("'", "''") + "'"


def _is_mass(name: str) -> bool:
    return powers(GLOSSARY[name].unit) == {"kilogram": 1}


@dataclass(frozen=True, slots=True)
class Block:
    """A table on a sheet: one column of cells per column of the table.

    Parameters
    ----------
    sheet : name of the sheet
    heading : row of the headings, counted from 1
    first, last : first and last row of the content, counted from 1
    letters : column letters by column name
    """

    sheet: str
    heading: int
    first: int
    last: int
    letters: dict[str, str]

    def cell(self, column: str, row: int, *, fixed_column: bool = False) -> str:
        """The cell of a column in the table's row *row*, counted from 0, as written on its own sheet."""
        return f"{'$' if fixed_column else ''}{self.letters[column]}{self.first + row}"

    def range(self, column: str) -> str:
        """All cells of a column, with the sheet, all fixed."""
        letter = self.letters[column]
        return f"{quoted(self.sheet)}!${letter}${self.first}:${letter}${self.last}"


@dataclass
class Layout:
    """The places of all tables of a model.

    Parameters
    ----------
    blocks : by table
    settings : cell of each setting, fixed and with its sheet: ``Settings!$C$7``
    measures : in which the figures are shown
    """

    model: Model
    measures: ShownMeasures = METRIC
    blocks: dict[str, Block] = field(default_factory=dict)
    settings: dict[str, str] = field(default_factory=dict)
    _made: dict[tuple[str, str], list[str] | None] = field(default_factory=dict, repr=False)

    def add(self, table: str, sheet: str, heading: int, columns: Sequence[str], first_column: int = 0) -> Block:
        """Place a table: headings in row *heading*, content below it."""
        letters = {name: xl_col_to_name(first_column + number) for number, name in enumerate(columns)}
        count = self.model.tables[table].count
        block = Block(sheet, heading, heading + 1, heading + max(count, 1), letters)
        self.blocks[table] = block
        self._made.clear()
        return block

    def group_range(self, group: str, column: str) -> str:
        """All cells of a column through the tables of a group, which stand one below the other in the same columns."""
        blocks = [self.blocks[table] for table in self.model.members(group)]
        letter = blocks[0].letters[column]
        if any(block.letters[column] != letter or block.sheet != blocks[0].sheet for block in blocks):
            raise ValueError(f"the tables of {group} do not keep {column} in one column")
        return f"{quoted(blocks[0].sheet)}!${letter}${blocks[0].first}:${letter}${blocks[-1].last}"

    def _own(self, table: str, name: str) -> str:
        """A cell of the row at hand, or of the settings."""
        if self.model.home(table, name) == SETTINGS:
            return self.settings[name]
        return f"{self.blocks[table].letters[name]}{_ROW}"

    def formula(self, table: str, column: Column, row: int) -> str | None:
        """The formula of one cell, without its equals sign; None for what is typed."""
        pieces = self._pieces(table, column)
        if pieces is None or len(pieces) == 1:
            return None if pieces is None else pieces[0]
        return str(self.blocks[table].first + row).join(pieces)

    def formulas(self, table: str, column: Column, count: int) -> list[str]:
        """The formulas of the first cells of a column, without their equals signs; none for what is typed."""
        pieces, first = self._pieces(table, column), self.blocks[table].first
        return [] if pieces is None else [str(row).join(pieces) for row in range(first, first + count)]

    def _pieces(self, table: str, column: Column) -> list[str] | None:
        """The formula that serves a whole column, without the number of the row."""
        wanted = (table, column.name)
        if wanted not in self._made:
            made = self._formula(table, column)
            self._made[wanted] = None if made is None else made.split(_ROW)
        return self._made[wanted]

    def _formula(self, table: str, column: Column) -> str | None:
        """The formula that serves a whole column: a sign stands for the number of the row."""
        match column:
            case Input() | Text():
                return None
            case Computed(rule):
                return self._computed(table, rule)
            case Lookup():
                key = self._own(table, column.key)
                target_key = self.model.tables[self.model.members(column.table)[0]].spec.key
                return self._passed(column.column, column.name, (
                    f"INDEX({self.group_range(column.table, column.column)},"
                    f"MATCH({key},{self.group_range(column.table, target_key)},0))"
                ))
            case Sum() if column.table not in self.blocks:  # a table without rows stands on no sheet
                return "0"
            case Sum():
                key = self._own(table, self.model.tables[table].spec.key)
                child = self.blocks[column.table]
                if column.by in self.model.tables[column.table].given:
                    return self._passed(column.column, column.name, f"SUMIF({child.range(column.by)},{key},{child.range(column.column)})")
                summed = f"SUMPRODUCT(({child.range(column.by)}={key})*{child.range(column.column)})"
                return self._passed(column.column, column.name, summed)
            case Largest():
                key, child = self._own(table, self.model.tables[table].spec.key), self.blocks[column.table]
                largest = f"SUMPRODUCT(MAX(({child.range(column.by)}={key})*({child.range(column.column)})))"
                return self._passed(column.column, column.name, largest)
            case ByWord():
                return self._picked(table, column)
            case Band():
                return self._banded(table, column)
            case Rank():
                return self._ranked(table, column)

    def _computed(self, table: str, rule: Callable[..., Any]) -> str:
        """A rule's own algebra; where sizes are in inches, with the whole numbers between inch, foot and yard."""
        if not self.measures.american:
            return expression_of(rule).formula({name: self._own(table, name) for name in expression_of(rule).names()})
        algebra = expression_of(rule, named=True)
        names = [name for name in algebra.names() if name not in BY_MEASURES]
        lengths = Lengths.of([*names, rule.__name__])
        cells = {name: lengths.based(name, self._own(table, name)) for name in names}
        if _is_mass(rule.__name__) and "ROUND(" in algebra.formula({**cells, **dict.fromkeys(BY_MEASURES, "")}):  # to the gram
            cells = {name: f"({cell}*{POUND})" if _is_mass(name) else cell for name, cell in cells.items()}
            return f"{algebra.formula(cells)}/{POUND}"
        made = algebra.formula({**cells, "litres_per_cubic_metre": lengths.gallons_in_volume})
        loose = isinstance(algebra, Operation) and algebra.sign in "+-<>=^"
        return lengths.shown(rule.__name__, f"({made})" if loose else made)

    def based(self, name: str, cell: str) -> str:
        """A figure of a quantity in feet, as other figures of a hand-written formula are."""
        return Lengths("ft").based(name, cell) if self.measures.american else cell

    def _passed(self, source: str, name: str, formula: str) -> str:
        """A figure of one quantity as one of another, where the two are shown in other lengths."""
        return Lengths("ft").shown(name, Lengths("ft").based(source, formula)) if self.measures.american else formula

    def _picked(self, table: str, column: ByWord) -> str:
        target = self.blocks[column.table]
        first, last = column.columns[0][1], column.columns[-1][1]
        sheet = quoted(target.sheet)
        spread = f"{sheet}!${target.letters[first]}${{}}:${target.letters[last]}${{}}"
        key = self.model.tables[column.table].spec.key
        return (
            f"INDEX({spread.format(target.first, target.last)},"
            f"MATCH({self._own(table, column.key)},{target.range(key)},0),"
            f"MATCH({self._own(table, column.which)},{spread.format(target.heading, target.heading)},0))"
        )

    def _ranked(self, table: str, column: Rank) -> str:
        own, ranked = self.blocks[table], self._own(table, column.column)
        key = self.model.tables[table].spec.key
        larger, equal = (f"{own.range(column.column)}{sign}{ranked}" for sign in (">", "="))
        return (
            f"SUMPRODUCT(({own.range(column.by)}={self._own(table, column.by)})"
            f"*(({larger})+({equal})*({own.range(key)}<{self._own(table, key)})))"
        )

    def _banded(self, table: str, column: Band) -> str:
        bands = self.blocks[column.table]
        key, value = self._own(table, column.key), self._own(table, column.value)
        return (
            f"INDEX({bands.range(column.column)},MATCH({key},{bands.range(column.group)},0)"
            f"+SUMPRODUCT(({bands.range(column.group)}={key})*({bands.range(column.limit)}<{value})))"
        )
