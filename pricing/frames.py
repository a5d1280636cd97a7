"""Data frames that come out of the interface; pandas is imported when the first is asked for.

>>> frame({"mass": [12.5]}, {"mass": "kg"}, units=True).columns.tolist()
[('mass', 'kg')]
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas


def frame(columns: Mapping[str, Any], unit_of: Mapping[str, str], *, units: bool = False) -> pandas.DataFrame:
    """A data frame of columns.

    Parameters
    ----------
    columns : by name, all of one length
    unit_of : the unit of each column that has one
    units : True for a second row of headings with the units
    """
    import pandas

    made = pandas.DataFrame(dict(columns))
    if units:
        made.columns = pandas.MultiIndex.from_tuples([(name, unit_of.get(name, "")) for name in columns], names=["figure", "unit"])
    return made


def frame_of_rows(rows: Sequence[Mapping[str, Any]], unit_of: Mapping[str, str], *, units: bool = False) -> pandas.DataFrame:
    """A data frame of the objects that programs read, one in each row; lists and objects within them are left out.

    >>> frame_of_rows([{"job": "Q-1", "net": 12.5, "items": []}], {}).columns.tolist()
    ['job', 'net']
    """
    names = [name for name, value in rows[0].items() if not isinstance(value, Mapping | list)] if rows else []
    return frame({name: [row[name] for row in rows] for name in names}, unit_of, units=units)
