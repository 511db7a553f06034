"""Straight lines by least squares, with what they leave open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import sqrt


@dataclass(frozen=True, slots=True)
class Line:
    """``y = intercept + slope · x``."""

    intercept: float
    slope: float
    intercept_u: float
    """Standard uncertainty."""
    slope_u: float
    covariance: float
    """Of intercept and slope."""
    chi_square: float
    """Sum of the squared residuals, each over its variance."""
    count: int

    def at(self, x: float) -> float:
        """Value on the line."""
        return self.intercept + self.slope * x

    def u_at(self, x: float) -> float:
        """Standard uncertainty there; correlated coefficients, GUM H.3.5, eq. H.15."""
        return sqrt(max(self.intercept_u**2 + (x * self.slope_u) ** 2 + 2 * x * self.covariance, 0.0))


def weighted_line(x: Sequence[float], y: Sequence[float], u: Sequence[float]) -> Line | None:
    """The line through points whose y have known standard uncertainties; None if all x are alike (or fewer than two).

    GUM H.3.3, with weights 1/u²; centred sums, so that large x do not cancel.
    """
    weights = [1.0 / value**2 for value in u]
    total = sum(weights)
    if len(x) < 2 or total <= 0:
        return None
    x_mean = sum(w * value for w, value in zip(weights, x, strict=True)) / total
    y_mean = sum(w * value for w, value in zip(weights, y, strict=True)) / total
    spread = sum(w * (value - x_mean) ** 2 for w, value in zip(weights, x, strict=True))
    if spread <= 1e-12 * total * (1.0 + x_mean**2):
        return None
    slope = sum(w * (a - x_mean) * (b - y_mean) for w, a, b in zip(weights, x, y, strict=True)) / spread
    intercept = y_mean - slope * x_mean
    chi = sum(w * (b - intercept - slope * a) ** 2 for w, a, b in zip(weights, x, y, strict=True))
    intercept_u = sqrt(1.0 / total + x_mean**2 / spread)
    return Line(intercept, slope, intercept_u, sqrt(1.0 / spread), -x_mean / spread, chi, len(x))


def plain_line(x: Sequence[float], y: Sequence[float]) -> Line | None:
    """The line through points of one unknown uncertainty, which the residuals tell (n − 2 degrees of freedom)."""
    line = weighted_line(x, y, [1.0] * len(x))
    if line is None or line.count < 3:
        return line
    scale = sqrt(line.chi_square / (line.count - 2))
    return Line(
        line.intercept,
        line.slope,
        line.intercept_u * scale,
        line.slope_u * scale,
        line.covariance * scale**2,
        line.chi_square,
        line.count,
    )


def york_line(
    x: Sequence[float], y: Sequence[float], u_x: Sequence[float], u_y: Sequence[float], rounds: int = 100
) -> Line | None:
    """The line through points with errors in both axes, uncorrelated.

    York, Evensen, Martínez and Delgado, Am. J. Phys. 72 (2004) 367, eq. 13. None if all x are alike.
    """
    start = weighted_line(x, y, u_y)
    if start is None:
        return None
    w_x, w_y = [1.0 / u**2 for u in u_x], [1.0 / u**2 for u in u_y]
    slope = start.slope
    for _ in range(rounds):
        weights = [a * b / (a + slope**2 * b) for a, b in zip(w_x, w_y, strict=True)]
        total = sum(weights)
        x_mean = sum(w * v for w, v in zip(weights, x, strict=True)) / total
        y_mean = sum(w * v for w, v in zip(weights, y, strict=True)) / total
        beta = [
            w * ((a - x_mean) / b_y + slope * (b - y_mean) / b_x)
            for w, a, b, b_x, b_y in zip(weights, x, y, w_x, w_y, strict=True)
        ]
        above = sum(w * e * (b - y_mean) for w, e, b in zip(weights, beta, y, strict=True))
        below = sum(w * e * (a - x_mean) for w, e, a in zip(weights, beta, x, strict=True))
        if below == 0.0:
            return None
        last, slope = slope, above / below
        if abs(slope - last) <= 1e-14 * abs(slope):
            break
    intercept = y_mean - slope * x_mean
    adjusted = [x_mean + e for e in beta]
    centre = sum(w * v for w, v in zip(weights, adjusted, strict=True)) / total
    slope_u = sqrt(1.0 / sum(w * (v - centre) ** 2 for w, v in zip(weights, adjusted, strict=True)))
    intercept_u = sqrt(1.0 / total + centre**2 * slope_u**2)
    chi = sum(w * (b - intercept - slope * a) ** 2 for w, a, b in zip(weights, x, y, strict=True))
    return Line(intercept, slope, intercept_u, slope_u, -centre * slope_u**2, chi, len(x))


class RunningLine:
    """Slopes of the line through any stretch of equally good readings, each in constant time."""

    def __init__(self, times_s: Sequence[float], values: Sequence[float]) -> None:
        """Sum up; times and values are taken from the first ones, so that nothing cancels."""
        ts = [t - times_s[0] for t in times_s]
        ys = [y - values[0] for y in values]
        self._t = list(accumulate(ts, initial=0.0))
        self._y = list(accumulate(ys, initial=0.0))
        self._tt = list(accumulate((t * t for t in ts), initial=0.0))
        self._ty = list(accumulate((t * y for t, y in zip(ts, ys, strict=True)), initial=0.0))

    def slope(self, first: int, last: int) -> float:
        """Slope over the readings ``first`` … ``last`` − 1, at least two [unit/s]."""
        count = last - first
        t, y = self._t[last] - self._t[first], self._y[last] - self._y[first]
        tt, ty = self._tt[last] - self._tt[first], self._ty[last] - self._ty[first]
        below = count * tt - t * t
        return (count * ty - t * y) / below if below > 0 else 0.0
