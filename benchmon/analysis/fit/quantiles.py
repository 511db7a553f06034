"""Quantiles of Student's distribution, which numpy does not have."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import exp, inf, isinf, lgamma, log, sqrt

_LEAST = 1e-300


@lru_cache(maxsize=256)
def student_t(probability: float, degrees: float) -> float:
    """Give t with ``P(T ≤ t) = probability`` for so many degrees of freedom; they need not be whole (GUM G.4).

    >>> round(student_t(0.975, 9), 2)
    2.26
    """
    if probability == 0.5:
        return 0.0
    if probability < 0.5:
        return -student_t(1.0 - probability, degrees)
    if isinf(degrees) or degrees > 1e7:
        from statistics import NormalDist  # noqa: PLC0415  (slow to load, and seldom needed)

        return NormalDist().inv_cdf(probability)
    low, high = 0.0, 1.0
    while student_cdf(high, degrees) < probability:
        low, high = high, high * 2.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in {low, high}:
            break
        if student_cdf(middle, degrees) < probability:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def student_cdf(t: float, degrees: float) -> float:
    """P(T ≤ t), by the incomplete beta function."""
    tail = 0.5 * _incomplete_beta(degrees / 2.0, 0.5, degrees / (degrees + t * t))
    return 1.0 - tail if t >= 0 else tail


def _incomplete_beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function (Abramowitz & Stegun 26.5.8, continued fraction)."""
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log(1.0 - x))
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _beta_fraction(a, b, x) / a
    return 1.0 - front * _beta_fraction(b, a, 1.0 - x) / b


def _beta_fraction(a: float, b: float, x: float) -> float:
    """The continued fraction, by Lentz's method."""
    c, d = 1.0, 1.0 / _away_from_zero(1.0 - (a + b) * x / (a + 1.0))
    value = d
    for m in range(1, 1000):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 / _away_from_zero(1.0 + numerator * d)
            c = _away_from_zero(1.0 + numerator / c)
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return value


def _away_from_zero(value: float) -> float:
    return value if abs(value) > _LEAST else _LEAST


def combined_degrees(parts: Sequence[tuple[float, float]]) -> float:
    """Degrees of freedom of a combined uncertainty, parts (standard uncertainty, degrees): Welch–Satterthwaite.

    ``ν = u⁴ / Σ(uᵢ⁴ / νᵢ)``, GUM G.4.1, eq. G.2b.
    """
    total = sqrt(sum(u * u for u, _ in parts))
    below = sum(u**4 / degrees for u, degrees in parts if not isinf(degrees))
    return inf if below == 0.0 else total**4 / below
