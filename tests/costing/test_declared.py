"""The declaration of the costing method: what it says of its columns and tables is sound, whoever reads it."""

from __future__ import annotations

from string import Formatter

import pytest

from pricing.costing.engine.columns import Column, Input, TableSpec, Text, is_secret
from pricing.costing.method import declared
from pricing.glossary import GLOSSARY
from pricing.reports.quote.facts import TOTALS

SPECS = {spec.name: spec for more in (False, True) for spec in declared.tables(learning=more, interest=more)}
COLUMNS = [(spec, column) for spec in SPECS.values() for column in spec.columns]


def words_of(spec: TableSpec) -> set[str]:
    return {column.name for column in spec.columns if isinstance(column, Text)}


def named_in(pattern: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(pattern) if name}


@pytest.mark.parametrize("spec", SPECS.values(), ids=SPECS)
def test_a_table_speaks_of_its_rows_by_its_own_words(spec: TableSpec) -> None:
    """Subject and cause name words of the table's rows; the row that stands for none is marked in one of them."""
    assert named_in(spec.subject) <= words_of(spec)
    assert named_in(spec.cause[1]) <= words_of(spec) | {"label"}
    assert not spec.nothing or spec.nothing in words_of(spec)
    assert spec.column(spec.key) is not None or spec.name == "settings"


@pytest.mark.parametrize("spec", SPECS.values(), ids=SPECS)
def test_a_column_follows_from_a_word_of_its_row_or_from_a_sentence(spec: TableSpec) -> None:
    """So does a unit that differs from row to row; an earlier name is nobody else's today."""
    names = {column.name for column in spec.columns}
    for column in spec.columns:
        assert not column.follows or column.follows in words_of(spec) or " " in column.follows, column.name
        assert not column.unit or column.unit in words_of(spec), column.name
        assert not isinstance(column, Input | Text) or names.isdisjoint(column.formerly), column.name


def test_parts_of_a_unit_cost_are_the_makers() -> None:
    """Each is an amount of money of the lines, secret, and what its table is for."""
    for spec, column in COLUMNS:
        if column.part:
            assert spec.name == "lines"
            assert is_secret(column)
            assert column.result
            assert GLOSSARY[column.name].unit == "currency/piece"


#: What a customer must not see, as it was once listed by hand; the declaration may say more, never less.
SECRET = {
    "lines": "concrete_cost mould_cost labour_cost machine_cost finish_cost extras_cost overhead_cost unit_cost line_cost target_price "
             "line_margin discounted_margin contribution concrete_per_cast mould_materials mould_material_cost mould_labour_cost "
             "refit_cost labour_hours mix_price",
    "quotes": "quote_cost quote_margin quote_contribution",
    "mix prices": "pack_price carriage_in unit_price_of_material", "board prices": "pack_price carriage_in unit_price_of_material",
    "liquid prices": "pack_price carriage_in unit_price_of_material", "other prices": "pack_price carriage_in unit_price_of_material",
    "trades": "hourly_cost", "machines": "machine_rate machine_price", "mixes": "mix_price", "moulds": "joint_cost board_price",
    "settings": "target_margin lowest_margin applied_overhead_rate overhead_per_year electricity_price",
}


@pytest.mark.parametrize(("table", "names"), SECRET.items(), ids=SECRET)
def test_what_is_nobodys_business_but_the_makers(table: str, names: str) -> None:
    """Costs, margins, wages, prices of materials and machines, and the hours of work are secret."""
    columns: dict[str, Column] = {column.name: column for column in SPECS[table].columns}
    assert [name for name in names.split() if not is_secret(columns[name])] == []


def test_what_a_quote_shows_is_no_secret() -> None:
    """Everything on the page of a quote is declared to be seen by its customer, or gives nothing away."""
    quotes, lines = ({column.name: column for column in SPECS[name].columns} for name in ("quotes", "lines"))
    assert [name for name in TOTALS if is_secret(quotes[name])] == []
    assert [name for name in ("unit_price", "line_net", "mass", "quantity") if is_secret(lines[name])] == []
