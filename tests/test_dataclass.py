"""Data classes that are made quickly are shown, compared, hashed and copied as those of the library."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from collections.abc import Callable
from dataclasses import field
from typing import Any

import pytest

from pricing.dataclass import dataclass
from pricing.problems import Problem

OPTIONS: tuple[dict[str, bool], ...] = (
    {}, {"frozen": True}, {"frozen": True, "slots": True}, {"slots": True}, {"eq": False}, {"frozen": True, "eq": False},
)


def made(decorator: Callable[..., Any], options: dict[str, bool]) -> type[Any]:
    class Slab:
        length: float
        finish: str = "plain"
        notes: list[str] = field(default_factory=list, hash=False)
        drawn: int = field(default=0, compare=False, repr=False)

    Slab.__annotations__ = {"length": float, "finish": str, "notes": list, "drawn": int}
    found: type[Any] = decorator(**options)(Slab)
    return found


def told(kind: type[Any]) -> list[Any]:
    """What is seen of some objects of a class."""
    each = [kind(1.0), kind(1.0, drawn=3), kind(1.0, "plain", ["thick"]), kind(2.0)]
    own = kind.__hash__ is not None and kind.__hash__ is not object.__hash__
    return [
        [one == other for one in each for other in each], each[0] == (1.0, "plain", []),
        [repr(one).rpartition(".")[2] for one in each] if kind.__repr__ is not object.__repr__ else None,
        [hash(one) for one in each] if own else kind.__hash__, [dataclasses.asdict(dataclasses.replace(one, length=5.0)) for one in each],
    ]


@pytest.mark.parametrize("options", OPTIONS, ids=str)
def test_a_data_class_is_that_of_the_library(options: dict[str, bool]) -> None:
    """With the same options two objects are equal, have the same hash and are shown in the same words, whoever made their class."""
    assert told(made(dataclass, options)) == told(made(dataclasses.dataclass, options))


def test_other_processes_get_what_was_sent() -> None:
    """An object of a frozen class with slots comes out of a copy and of a pickle as it went in."""
    problem = Problem("leak", "a figure of the maker's", sheet="Enquiries", cell="D7", warning=True)
    assert copy.deepcopy(problem) == pickle.loads(pickle.dumps(problem)) == problem
