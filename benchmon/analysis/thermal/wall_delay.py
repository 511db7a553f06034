"""How far a wall meter lags behind the package."""

from __future__ import annotations

from math import sqrt

from benchmon.analysis.intake.trace import Course

LONGEST_S = 30.0
_LEAST_CORRELATION = 0.8


def delay_of(package: Course, wall: Course) -> float:
    """Delay with which the wall's course fits the package's best [s]; 0 if none fits clearly.

    Tries every whole bin up to 30 s and takes the highest correlation of the two.
    """
    if len(package) < 20 or len(wall) < 20:
        return 0.0
    step = (package.times_s[-1] - package.times_s[0]) / (len(package) - 1)
    by_place = {int(t / step): value for t, value in zip(wall.times_s, wall.values, strict=True)}
    best, delay = _LEAST_CORRELATION, 0.0
    for lag in range(int(LONGEST_S / step) + 1):
        pairs = [
            (value, by_place[place])
            for t, value in zip(package.times_s, package.values, strict=True)
            if (place := int(t / step) + lag) in by_place
        ]
        found = _correlation(pairs)
        if found > best + 1e-6:
            best, delay = found, lag * step
    return delay


def _correlation(pairs: list[tuple[float, float]]) -> float:
    if len(pairs) < 10:
        return 0.0
    x_mean = sum(x for x, _ in pairs) / len(pairs)
    y_mean = sum(y for _, y in pairs) / len(pairs)
    together = sum((x - x_mean) * (y - y_mean) for x, y in pairs)
    both = sum((x - x_mean) ** 2 for x, _ in pairs) * sum((y - y_mean) ** 2 for _, y in pairs)
    return together / sqrt(both) if both > 0 else 0.0
