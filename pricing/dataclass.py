"""Dataclasses that are made in a fraction of the time: a command imports some hundred and fifty of them before it does anything.

The library compiles six methods of each when its module is imported. Here it compiles ``__init__`` alone; how one is shown, compared and
hashed is written once for all. That nobody sets a field of a frozen one is what mypy sees to; at run time it is not looked after.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from operator import attrgetter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(cls: type | None = None, /, *, frozen: bool = False, eq: bool = True, **more: Any) -> Any:
        """What ``dataclasses.dataclass`` makes of a class with the same options.

        >>> @dataclass(frozen=True)
        ... class Slab:
        ...     length: float
        ...     width: float = 0.5
        >>> Slab(2.0), Slab(2.0) == Slab(2.0, 0.5), len({Slab(2.0), Slab(2.0)})
        (Slab(length=2.0, width=0.5), True, 1)
        """
        if cls is None:
            return lambda cls: dataclass(cls, frozen=frozen, eq=eq, **more)
        own, made = set(vars(cls)), dataclasses.dataclass(cls, repr=False, eq=False, **more)
        fields = dataclasses.fields(made)
        if "__repr__" not in own:
            made.__repr__ = _repr_by([each.name for each in fields if each.repr])
        if eq:
            compared = [each for each in fields if each.compare]
            if "__eq__" not in own:
                made.__eq__ = _eq_by(_values_of([each.name for each in compared]))
            if "__hash__" not in own:
                made.__hash__ = _hash_by(_values_of([each.name for each in compared if each.hash is not False])) if frozen else None
        return made


def _values_of(names: Sequence[str]) -> Callable[[Any], Any]:
    """What gives the values of some fields."""
    return attrgetter(*names) if len(names) > 1 else lambda each: tuple(getattr(each, name) for name in names)


def _repr_by(names: Sequence[str]) -> Callable[[Any], str]:
    return lambda each: f"{type(each).__qualname__}({', '.join(f'{name}={getattr(each, name)!r}' for name in names)})"


def _eq_by(values: Callable[[Any], Any]) -> Callable[[Any, Any], Any]:
    return lambda one, other: values(one) == values(other) if type(one) is type(other) else NotImplemented


def _hash_by(values: Callable[[Any], Any]) -> Callable[[Any], int]:
    return lambda each: hash(values(each))
