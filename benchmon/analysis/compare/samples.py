"""Two samples, and pairs: the statistics alone, without any physics.

With nothing expected these are the classical tests (pooled two-sample t, paired t). A bench seldom has more than three
runs of each kind, and from so few the scatter is known badly: so what a run is *expected* to scatter by counts
along, as if it had been measured with so many degrees of freedom (GUM G.4.2). Where the runs scatter by more than the
expectation lets chance do in one case of twenty, it is no longer believed, and their own scatter alone holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

from benchmon.analysis.fit.quantiles import combined_degrees, student_cdf, student_t
from benchmon.analysis.thermal.resistance import JUDGED_DEGREES
from benchmon.model.findings import Figure

EXPECTED_DEGREES = 8.0
"""How well the expected scatter of a run is known: to a quarter of itself (GUM Table E.1)."""


@dataclass(frozen=True, slots=True)
class Sample:
    """Values of the same thing."""

    count: int
    mean: float
    squares: float
    """Sum of squared distances from the mean."""

    @classmethod
    def of(cls, values: Sequence[float]) -> Sample:
        """The sample of these values."""
        mean = sum(values) / len(values)
        return cls(len(values), mean, sum((value - mean) ** 2 for value in values))


@dataclass(frozen=True, slots=True)
class Difference:
    """A difference of means with what is not known of it."""

    value: float
    u: float
    """Standard uncertainty."""
    degrees: float
    """Degrees of freedom behind it."""

    @property
    def t(self) -> float:
        """How many standard uncertainties it is away from nothing."""
        if self.u == 0.0:
            return 0.0 if self.value == 0.0 else inf if self.value > 0 else -inf
        return self.value / self.u

    @property
    def chance(self) -> float:
        """How often so much would come about without any difference (two-sided p)."""
        return 1.0 if self.value == 0.0 else 2.0 * (1.0 - student_cdf(abs(self.t), self.degrees))

    def half(self, probability: float = 0.95) -> float:
        """Half of the interval that holds the truth with this probability."""
        return student_t(0.5 + probability / 2.0, round(self.degrees, 1)) * self.u

    def figure(self, probability: float = 0.95) -> Figure:
        """Value and interval."""
        half = self.half(probability)
        return Figure(self.value, self.value - half, self.value + half)


def of_two(before: Sample, after: Sample, expected_u: tuple[float, float] | None = None) -> Difference:
    """``after - before``.

    Args:
        before: one sample.
        after: the other.
        expected_u: what one value of each is expected to scatter by (standard uncertainty); None = nothing is
            expected, and the scatter of both together is all there is (pooled t).

    Raises:
        ValueError: if nothing is expected and nothing was repeated.
    """
    degrees = before.count + after.count - 2
    expected = (1.0, 1.0) if expected_u is None else (expected_u[0] ** 2, expected_u[1] ** 2)
    of_mean = expected[0] / before.count + expected[1] / after.count
    squares = _over(before.squares, expected[0]) + _over(after.squares, expected[1])
    factor, degrees_all = _factor(squares, degrees, EXPECTED_DEGREES if expected_u is not None else 0.0)
    return Difference(after.mean - before.mean, sqrt(factor * of_mean), degrees_all)


def of_pairs(differences: Sample, expected_u: float | None = None) -> Difference:
    """The mean of differences within pairs.

    Args:
        differences: ``after - before`` of each pair.
        expected_u: what the difference of one pair is expected to scatter by; None = nothing is expected (paired t).

    Raises:
        ValueError: if nothing is expected and there is one pair only.
    """
    expected = 1.0 if expected_u is None else expected_u**2
    squares = _over(differences.squares, expected)
    factor, degrees = _factor(squares, differences.count - 1, EXPECTED_DEGREES if expected_u is not None else 0.0)
    return Difference(differences.mean, sqrt(factor * expected / differences.count), degrees)


def with_common(found: Difference, common_u: float) -> Difference:
    """The difference with a judged doubt on top that does not grow less with more runs (Welch–Satterthwaite)."""
    if common_u == 0.0:
        return found
    degrees = combined_degrees([(found.u, found.degrees), (common_u, JUDGED_DEGREES)])
    return Difference(found.value, sqrt(found.u**2 + common_u**2), degrees)


def _factor(squares: float, degrees: int, expected_degrees: float) -> tuple[float, float]:
    """By how much the squares of the scatter are larger than expected, and the degrees of freedom behind that."""
    if degrees + expected_degrees <= 0:
        message = "one value of each, and nothing is known of how they scatter"
        raise ValueError(message)
    if not degrees:
        return 1.0, expected_degrees
    if not expected_degrees:
        return squares / degrees, degrees
    mixed = (expected_degrees + squares) / (expected_degrees + degrees)
    factor = max(mixed, squares / degrees) if squares > _chi_squared_95(degrees) else mixed
    return factor, expected_degrees + degrees


def _chi_squared_95(degrees: int) -> float:
    """What squares in units of their variance exceed in one case of twenty (Wilson and Hilferty 1931)."""
    ninth = 2.0 / (9.0 * degrees)
    return degrees * (1.0 - ninth + 1.6449 * sqrt(ninth)) ** 3


def _over(squares: float, variance: float) -> float:
    """Squares in units of a variance; a run that shares everything with another (itself) has none."""
    return 0.0 if variance == 0.0 else squares / variance
