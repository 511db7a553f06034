"""One exponential approach, by least squares without a starting value.

For every time constant the rest is linear, so only the time constant is searched: a scan over all that the readings can
show, then a narrowing around the best. No start can lead astray, and where the best lies at the edge of the scan the
readings do not determine it, and nothing is returned.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, inf, log, sqrt

from benchmon.analysis.fit.linear import cholesky, solve

_SCAN = 80
_GOLDEN = (sqrt(5.0) - 1.0) / 2.0


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
    unknowns = 2 if from_zero else 3
    if len(times_s) <= unknowns:
        return None
    steps = [b - a for a, b in pairwise(times_s) if b > a]
    low, high = log(min(steps) / 10.0), log(30.0 * (times_s[-1] - min(times_s[0], 0.0)))
    grid = [low + (high - low) * k / _SCAN for k in range(_SCAN + 1)]
    costs = [_cost(exp(place), times_s, values, from_zero=from_zero)[0] for place in grid]
    best = costs.index(min(costs))
    if best in {0, _SCAN}:
        return None
    time_s = _narrow(grid[best - 1], grid[best + 1], times_s, values, from_zero=from_zero)
    residual, settled, height = _cost(time_s, times_s, values, from_zero=from_zero)
    rows = [_slopes(t, time_s, height, from_zero=from_zero) for t in times_s]
    normal = [[sum(row[i] * row[j] for row in rows) for j in range(unknowns)] for i in range(unknowns)]
    lower = cholesky(normal)
    if lower is None:
        return None
    scatter = residual / (len(times_s) - unknowns)
    doubts = [sqrt(scatter * solve(lower, [float(i == k) for i in range(unknowns)])[k]) for k in (0, unknowns - 1)]
    return Exponential(settled, doubts[0], height, time_s, doubts[1], residual)


def _cost(
    time_s: float, times_s: Sequence[float], values: Sequence[float], *, from_zero: bool
) -> tuple[float, float, float]:
    """Squared residuals, settled value and height of the best curve with this time constant."""
    basis = [exp(-t / time_s) for t in times_s]
    if from_zero:
        rise = [1.0 - b for b in basis]
        square = sum(r * r for r in rise)
        settled = sum(r * y for r, y in zip(rise, values, strict=True)) / square if square > 0 else 0.0
        height = settled
    else:
        count = len(basis)
        b_mean, y_mean = sum(basis) / count, sum(values) / count
        square = sum((b - b_mean) ** 2 for b in basis)
        if square <= 0:
            return inf, y_mean, 0.0
        height = -sum((b - b_mean) * (y - y_mean) for b, y in zip(basis, values, strict=True)) / square
        settled = y_mean + height * b_mean
    residual = sum((y - settled + height * b) ** 2 for b, y in zip(basis, values, strict=True))
    return residual, settled, height


def _narrow(low: float, high: float, times_s: Sequence[float], values: Sequence[float], *, from_zero: bool) -> float:
    """The best time constant between two logarithms, by golden section."""
    left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_left = _cost(exp(left), times_s, values, from_zero=from_zero)[0]
    at_right = _cost(exp(right), times_s, values, from_zero=from_zero)[0]
    for _ in range(70):
        if at_left < at_right:
            high, right, at_right = right, left, at_left
            left = high - _GOLDEN * (high - low)
            at_left = _cost(exp(left), times_s, values, from_zero=from_zero)[0]
        else:
            low, left, at_left = left, right, at_right
            right = low + _GOLDEN * (high - low)
            at_right = _cost(exp(right), times_s, values, from_zero=from_zero)[0]
    return exp(0.5 * (low + high))


def _slopes(t_s: float, time_s: float, height: float, *, from_zero: bool) -> list[float]:
    """How the curve at a time answers to settled value, height (if free) and time constant."""
    decay = exp(-t_s / time_s)
    by_time = -height * decay * t_s / time_s**2
    return [1.0 - decay, by_time] if from_zero else [1.0, -decay, by_time]
