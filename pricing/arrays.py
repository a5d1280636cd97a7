"""What numpy does not do quickly by itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray


def distinct(values: NDArray[Any]) -> NDArray[Any]:
    """The values of an array, each once, in order.

    >>> distinct(np.array([3, 1, 3])).tolist()
    [1, 3]
    """
    return np.unique(values, return_index=True)[0]  # with their places: without, numpy loads its arrays with gaps first


def is_among(values: NDArray[np.integer[Any]], members: Iterable[int]) -> NDArray[np.bool_]:
    """Which of some whole numbers are among others, of which there may be none.

    >>> is_among(np.array([3, 1, 3]), {3}).tolist(), is_among(np.array([3]), ()).tolist()
    ([True, False, True], [False])
    """
    return np.isin(values, np.fromiter(members, dtype=np.intp))
