"""Learning: the more often a step is repeated in a run, the less time it takes.

Each time the number of repetitions doubles, the time falls to the *learning slope*. Two forms are in use and give
different figures for the same slope, so each is named:

* **unit** (Crawford): the time *of* repetition *n* is ``n ** b`` times that of the first;
* **cumulative average** (Wright): the *average* time over the first *n* is ``n ** b`` times that of the first;

with ``b = log2(slope)``. The factors below multiply the minutes of the first repetition.

Repetitions need not be whole, since a line with rejects expects, say, 10.5 casts. In the unit form a part of a
repetition takes that part of its own time: 10.5 casts take what 10 take and half the time of the eleventh. In the
cumulative-average form the curve is read at 10.5 as it stands; a run of less than one repetition learns nothing.

The first thousand repetitions of a run are summed as they are, those beyond by the Euler-Maclaurin formula
(:func:`later_time`), so that a run of any length is summed in a cell.

Sources: T. P. Wright (1936), "Factors affecting the cost of airplanes", and J. R. Crawford (1944), "Learning curve,
ship curve, ratios, related data" (both titles from memory); published factors are checked in the tests.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pricing.algebra.expressions import Function, Value, choose, larger, natural_log, smaller, whole_down
from pricing.glossary import Quantity, define

#: Repetitions that are summed as they are; a spreadsheet counts them by the columns of a sheet, of which it has more.
_SUMMED = 1_000

define([
    Quantity("learning_slope", "Learning slope", "dimensionless", "%", 1,
             "What the time falls to each time the number of repetitions doubles: 0.9 for a tenth less; 1 for none.", 0.5, 1.0),
    Quantity("learning_exponent", "Learning exponent", "dimensionless", "", 6,
             "Power of the number of repetitions that the time follows.", -1.0, 0.0),
    Quantity("repetitions", "Repetitions", "dimensionless", "", 2,
             "How often a step is done in one run; parts of a repetition count.", 0.0, 1e9),
    Quantity("whole_repetitions", "Whole repetitions, the first thousand at least", "dimensionless", "", 0,
             "Repetitions of a run that are done whole; 1000 where there are fewer.", 1.0, 1e9),
    Quantity("early_time", "Time of the first thousand", "dimensionless", "", 4,
             "What the first thousand repetitions take together, or as many as there are, as a share of the first's, unit form.", 0.0, 1000.0),
    Quantity("later_integral", "Curve beyond the first thousand", "dimensionless", "", 4,
             "The curve of the unit form, integrated over the whole repetitions after the first thousand.", 0.0, 1e9),
    Quantity("later_time", "Time beyond the first thousand", "dimensionless", "", 4,
             "What the repetitions after the first thousand take together, as a share of the first's, unit form.", 0.0, 1e9),
    Quantity("cumulative_average", "Cumulative-average form", "dimensionless", "flag", 0,
             "1 where the learning slope is of the cumulative-average form (Wright), 0 for the unit form (Crawford).",
             0.0, 1.0),
    Quantity("crawford_average_factor", "Average time, unit form", "dimensionless", "", 4,
             "Average time of so many repetitions as a share of the first's, unit form."),
    Quantity("wright_average_factor", "Average time, cumulative-average form", "dimensionless", "", 4,
             "Average time of so many repetitions as a share of the first's, cumulative-average form."),
    Quantity("average_minutes_factor", "Learning factor", "dimensionless", "", 4,
             "What the minutes of a first repetition are multiplied by, on average over the run."),
])

#: Repetitions that are added one by one before the closed form takes over.
_EXPLICIT = 30


def _sum_of_powers(count: Any, exponent: Any) -> Any:
    """The sum of ``i ** exponent`` for i = 1, 2, … up to *count*, the last term by the part of it that is reached.

    Over arrays the first 30 terms are added as they stand, all others by the Euler-Maclaurin formula in its midpoint form, so
    that a long run costs no more than a short one. Source: NIST Digital Library of Mathematical Functions 2.10(i) (from
    memory); agreement with the plain sum is tested to 1e-14.
    """
    counts, powers = np.broadcast_arrays(np.asarray(count, dtype=np.float64), np.asarray(exponent, dtype=np.float64))
    sums, learns = counts.copy(), powers != 0.0  # where nothing is learnt each of them takes as long as the first
    sums[learns] = _sum_of_falling(counts[learns], powers[learns])
    return sums


def _sum_of_falling(counts: NDArray[np.float64], power: NDArray[np.float64]) -> Any:
    whole = np.floor(counts)
    total = _tail(np.maximum(whole, _EXPLICIT) + 0.5, power) - _tail(_EXPLICIT + 0.5, power)
    for term in range(_EXPLICIT, 0, -1):
        total = total + np.where(term <= whole, float(term) ** power, 0.0)
    return total + (counts - whole) * (whole + 1.0) ** power


def _tail(end: Any, power: NDArray[np.float64]) -> Any:
    """The integral of ``x ** power`` up to *end*, with the first three midpoint corrections."""
    third = power * (power - 1.0) * (power - 2.0)
    fifth = third * (power - 3.0) * (power - 4.0)
    harmonic = power == -1.0
    integral = np.where(harmonic, np.log(end), end ** (power + 1.0) / np.where(harmonic, 1.0, power + 1.0))
    corrections = (
        -power * end ** (power - 1.0) / 24.0
        + 7.0 * third * end ** (power - 3.0) / 5760.0
        - 31.0 * fifth * end ** (power - 5.0) / 967680.0
    )
    return integral + corrections


#: Logarithm to the base 2, as a rule may call it.
binary_log = Function("binary_log", np.log2, ("LOG(", 0, ",2)"), "logarithm of {0} to the base 2", result="one")

#: 1 ** b + 2 ** b + … + n ** b, the last term by the part of it that n reaches. In cells the columns of the sheet count
#: 1, 2, 3 …: the first thousand cells of row 1, which no insertion of rows or columns can cut short.
sum_of_powers = Function(
    "sum_of_powers",
    _sum_of_powers,
    ("SUMPRODUCT(COLUMN($A$1:$ALL$1)^", 1, ",1+ABS(", 0, "+1-COLUMN($A$1:$ALL$1))-ABS(", 0, "-COLUMN($A$1:$ALL$1)))/2"),
    "the sum of 1, 2, 3 … up to {0}, each to the power {1}",
    loose=False,
    result="one",
)


def learning_exponent(learning_slope: Value) -> Value:
    """The power of the number of repetitions that the time follows.

    Parameters
    ----------
    learning_slope : what the time falls to each time the repetitions double [dimensionless]

    Returns
    -------
    learning_exponent [dimensionless], zero or less

    Source: any text on learning curves; values at 80, 85 and 90 % are checked against a published package.

    >>> float(learning_exponent(0.5))
    -1.0
    """
    return binary_log(learning_slope)


def whole_repetitions(repetitions: Value) -> Value:
    """Repetitions that are done whole, the first thousand at least.

    Parameters
    ----------
    repetitions : length of the run [dimensionless]

    Returns
    -------
    whole_repetitions [dimensionless]

    >>> float(whole_repetitions(12.5)), float(whole_repetitions(2000.5))
    (1000.0, 2000.0)
    """
    return whole_down(larger(repetitions, _SUMMED))


def later_integral(whole_repetitions: Value, learning_exponent: Value) -> Value:
    """The curve of the unit form integrated from the thousandth repetition to the last whole one.

    Parameters
    ----------
    whole_repetitions : from :func:`whole_repetitions` [dimensionless]
    learning_exponent : from :func:`learning_exponent` [dimensionless]

    Returns
    -------
    later_integral [dimensionless], zero where there are no more than a thousand

    At a slope of a half the integral is a logarithm.

    >>> float(later_integral(1000, -0.5)), round(float(later_integral(2000, -1)), 6)
    (0.0, 0.693147)
    """
    power = learning_exponent + 1
    area = (whole_repetitions**power - _SUMMED**power) / (power + 1 * (power <= 0))
    return choose(power > 0, area, natural_log(whole_repetitions / _SUMMED))


def later_time(repetitions: Value, whole_repetitions: Value, learning_exponent: Value, later_integral: Value) -> Value:
    """What the repetitions after the first thousand take together, the first taking 1, in the unit form (Crawford).

    Parameters
    ----------
    repetitions : length of the run [dimensionless]
    whole_repetitions : from :func:`whole_repetitions` [dimensionless]
    learning_exponent : from :func:`learning_exponent` [dimensionless]
    later_integral : from :func:`later_integral` [dimensionless]

    Returns
    -------
    later_time [dimensionless], zero where there are none

    Source: the Euler-Maclaurin formula, NIST Digital Library of Mathematical Functions 2.10(i) (from memory); what its next
    term would add is below 1e-14, and agreement with the plain sum is tested.

    >>> float(later_time(12, 1000, -0.5, 0)), round(float(later_time(2000, 2000, -1, 0.693147180560)), 9)
    (0.0, 0.692897243)
    """
    ends = (whole_repetitions**learning_exponent - _SUMMED**learning_exponent) / 2
    slopes = learning_exponent * (whole_repetitions ** (learning_exponent - 1) - _SUMMED ** (learning_exponent - 1)) / 12
    part = larger(repetitions, _SUMMED) - whole_repetitions
    return later_integral + ends + slopes + part * (whole_repetitions + 1) ** learning_exponent


def early_time(repetitions: Value, learning_exponent: Value) -> Value:
    """What the first thousand repetitions take together, or as many as there are, the first taking 1, in the unit form (Crawford).

    Parameters
    ----------
    repetitions : length of the run [dimensionless]
    learning_exponent : from :func:`learning_exponent` [dimensionless]

    Returns
    -------
    early_time [dimensionless]

    >>> round(float(early_time(2, learning_exponent(0.8))), 12)
    1.8
    """
    return sum_of_powers(smaller(repetitions, _SUMMED), learning_exponent)


def crawford_average_factor(repetitions: Value, early_time: Value, later_time: Value) -> Value:
    """Average time of so many repetitions, the first taking 1, in the unit form (Crawford).

    Parameters
    ----------
    repetitions : length of the run, above zero [dimensionless]
    early_time : from :func:`early_time` [dimensionless]
    later_time : from :func:`later_time` [dimensionless]

    Returns
    -------
    crawford_average_factor [dimensionless]

    >>> crawford_average_factor(2, 1.8, 0)
    0.9
    """
    return (early_time + later_time) / repetitions


def wright_average_factor(repetitions: Value, learning_exponent: Value) -> Value:
    """Average time of so many repetitions, the first taking 1, in the cumulative-average form (Wright).

    Parameters
    ----------
    repetitions : length of the run [dimensionless]; below one, nothing is learnt
    learning_exponent : from :func:`learning_exponent` [dimensionless]

    Returns
    -------
    wright_average_factor [dimensionless]

    >>> round(float(wright_average_factor(4, learning_exponent(0.8))), 12)
    0.64
    """
    return larger(repetitions, 1) ** learning_exponent


def average_minutes_factor(
    repetitions: Value, learning_exponent: Value, early_time: Value, later_time: Value, cumulative_average: Value
) -> Value:
    """What the minutes of a first repetition are multiplied by, on average over the run, in either form.

    Parameters
    ----------
    repetitions : length of the run, above zero [dimensionless]
    learning_exponent : from :func:`learning_exponent` [dimensionless]
    early_time : from :func:`early_time` [dimensionless]
    later_time : from :func:`later_time` [dimensionless]
    cumulative_average : 1 for the cumulative-average form, 0 for the unit form [dimensionless]

    Returns
    -------
    average_minutes_factor [dimensionless]

    >>> [round(float(average_minutes_factor(2, learning_exponent(0.8), 1.8, 0, form)), 12) for form in (0, 1)]
    [0.9, 0.8]
    """
    return choose(
        cumulative_average,
        wright_average_factor(repetitions, learning_exponent),
        crawford_average_factor(repetitions, early_time, later_time),
    )
