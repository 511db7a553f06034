"""One exponential approach to a settled value, by least squares.

For a given time constant the rest is linear, so only the time constant is searched: a scan over decades and then finer
and finer scans around the best. No start can lead astray, and where the best lies at the edge of the scan the readings
do not determine it, and nothing is returned.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from benchmon.analysis.fit.kinds import Array

_SCAN = 81
_FINER = 9


@dataclass(frozen=True, slots=True)
class Exponential:
    """``y = settled - height · exp(-t / time constant)``."""

    settled: float
    settled_u: float
    height: float
    time_s: float
    time_u: float
    residual: float
    """Sum of the squared residuals."""


def fit_exponential(
    times_s: Sequence[float], values: Sequence[float], *, from_zero: bool = False
) -> Exponential | None:
    """The best exponential approach; None if the readings do not determine one.

    Args:
        times_s: rising.
        values: aligned.
        from_zero: the curve passes through 0 at time 0, so that height and settled value are one.
    """
    t, y = np.asarray(times_s, dtype=float), np.asarray(values, dtype=float)
    unknowns = 2 if from_zero else 3
    if len(t) <= unknowns:
        return None
    places = np.linspace(np.log(np.diff(t).min() / 10.0), np.log(30.0 * (t[-1] - min(t[0], 0.0))), _SCAN)
    best = 0
    for finer in range(_FINER):
        best = int(np.argmin(_best(np.exp(places), t, y, from_zero=from_zero)[0]))
        if finer == 0 and best in {0, _SCAN - 1}:
            return None
        places = np.linspace(places[max(best - 1, 0)], places[min(best + 1, len(places) - 1)], 21)
    time_s = float(np.exp(places[10]))
    residual, settled, height = (float(each[0]) for each in _best(np.array([time_s]), t, y, from_zero=from_zero))
    decay = np.exp(-t / time_s)
    by_time = -height * decay * t / time_s**2
    slopes = np.column_stack([1.0 - decay, by_time] if from_zero else [np.ones(len(t)), -decay, by_time])
    try:
        covariance = np.linalg.inv(slopes.T @ slopes) * residual / (len(t) - unknowns)
    except np.linalg.LinAlgError:
        return None
    settled_u, time_u = (float(np.sqrt(max(covariance[k, k], 0.0))) for k in (0, unknowns - 1))
    return Exponential(settled, settled_u, height, time_s, time_u, residual)


def _best(times_s: Array, t: Array, y: Array, *, from_zero: bool) -> tuple[Array, Array, Array]:
    """Squared residuals, settled value and height of the best curve with each of these time constants."""
    decay = np.exp(-t / times_s[:, None])
    rise, middle = 1.0 - decay, 0.0
    if not from_zero:  # taken from their means, so that a constant is fitted too
        middle = y.mean()
        rise = rise - rise.mean(axis=1, keepdims=True)
    squares = (rise**2).sum(axis=1)
    height = rise @ (y - middle) / np.where(squares > 0.0, squares, np.inf)
    left = y - middle - height[:, None] * rise
    settled = height if from_zero else middle + height * decay.mean(axis=1)
    return (left**2).sum(axis=1), settled, height
