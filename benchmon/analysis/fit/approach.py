"""How something approaches its settled value: exponentials of several time constants, and what they leave open.

A cooler is a chain of heat stores, and the answer of such a chain to a step is ``settled - Σ aₖ·exp(-t/τₖ)`` with all
aₖ of one sign. The τ of a cooler spread over three decades (die, heatsink, case) and a record of a few minutes does not
tell them apart. None is fitted: every set on a grid of time constants is tried, its amplitudes follow by linear least
squares with a weak expectation of how the rise is shared, and all sets count, each by how well it explains the readings
(Bayesian model averaging). What the readings do not determine shows as width of the interval.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from math import exp, log, sqrt
from operator import mul

from benchmon.analysis.fit.linear import cholesky, solve

FAST_S = (3.0, 10.0)
MIDDLE_S = (35.0, 60.0, 90.0, 135.0, 200.0, 290.0)
SLOW_S = (450.0, 900.0, 1800.0, 3000.0)
_GRID_S = (*FAST_S, *MIDDLE_S, *SLOW_S)

# Expected share of the whole rise, and its doubt, by kind of store. Wide on purpose.
_SHARES = {3.0: (0.2, 0.1), 10.0: (0.1, 0.1)}
_MIDDLE_SHARE = (0.5, 0.2)
_SLOW_SHARE = (0.2, 0.12)
_SCALES = (1.0, 1.35, 1.8, 2.5, 3.5, 5.0)
"""The whole rise as a multiple of what was seen: not known, so each is tried."""

_TRUST = 0.7
"""How far it is believed that an earlier phase speaks for this one ..."""
_AGAIN, _FAST_AGAIN = 0.2, 0.6
"""... and how well its parts come again, as a share: fans answer; the die's depends on how many cores are hot."""
_IGNORED = 7.0
"""A set that explains the readings e⁷ times worse than the best counts for nothing."""
_FREE = 1000.0
"""Nothing is expected of the settled value itself."""

_NODES = ((-1.7320508075688772, 1 / 6), (0.0, 2 / 3), (1.7320508075688772, 1 / 6))
"""Three points that stand for a normal distribution: equal in mean, variance and kurtosis (Gauss–Hermite)."""
_EXACT_K = 0.25
"""The model is never better than this, in the unit of the readings: fans answer, leakage bends the curve."""
_MOST_WORTH = 14.0
"""However many readings there are, they count as so many independent ones: what the model misses lasts long."""


@dataclass(frozen=True, slots=True)
class Approach:
    """One way in which it may go on, with its weight."""

    weight: float
    settled: float
    amplitudes: tuple[float, ...]
    """How far each part still was from settled at the start."""
    times_s: tuple[float, ...]
    """Time constant of each part [s]."""

    def at(self, t_s: float) -> float:
        """Value at a time since the start [s]."""
        return self.settled - self.remaining(t_s)

    def remaining(self, t_s: float) -> float:
        """How far from settled it is, signed, at a time since the start [s]."""
        return sum(a * exp(-t_s / tau) for a, tau in zip(self.amplitudes, self.times_s, strict=True))


@dataclass(frozen=True, slots=True)
class KnownStores:
    """What an earlier phase of the same session taught about the cooler, for one set of time constants."""

    times_s: tuple[float, ...]
    weight: float
    k_per_w: tuple[float, ...]
    """Rise of each part for each watt of change."""
    doubt: tuple[float, ...]
    """Standard deviations of these."""


@dataclass(frozen=True, slots=True)
class Expectation:
    """What is expected before looking at the readings."""

    resolution: float = 0.0
    """Step of the readings; 0 = fine."""
    known: tuple[KnownStores, ...] = ()
    """From an earlier phase; empty if there is none."""
    step_w: float = 0.0
    """By how much the power changed when this phase began."""
    still_to_go: float = 0.0
    """How far from settled the phase before ended: its slow part goes on."""
    still_to_go_doubt: float = 0.0


def learn(ways: Sequence[Approach], step_w: float) -> tuple[KnownStores, ...]:
    """What the ways of one phase, begun by a change of power of ``step_w`` [W], teach for the phases after it."""
    sets: dict[tuple[float, ...], list[Approach]] = {}
    for way in ways:
        sets.setdefault(way.times_s, []).append(way)
    known = []
    for times, members in sets.items():
        weight = sum(way.weight for way in members)
        if weight < 1e-4:
            continue
        parts = range(len(times))
        means = [sum(way.weight * way.amplitudes[part] for way in members) / weight for part in parts]
        squares = [
            sum(way.weight * (way.amplitudes[part] - means[part]) ** 2 for way in members) / weight for part in parts
        ]
        doubts = tuple(sqrt(square) / abs(step_w) for square in squares)
        known.append(KnownStores(times, weight, tuple(mean / step_w for mean in means), doubts))
    return tuple(known)


def approaches(times_s: Sequence[float], values: Sequence[float], expected: Expectation) -> tuple[Approach, ...]:
    """Every way in which the readings may go on; weights add up to 1. Empty if there are fewer than 6 readings.

    Args:
        times_s: since the start of the phase, rising [s].
        values: readings, aligned.
        expected: what is known beforehand.
    """
    count = len(times_s)
    if count < 6:
        return ()
    base = values[-1]
    basis = {tau: [-exp(-t / tau) for t in times_s] for tau in _GRID_S}
    ones = [1.0] * count
    shifted = [value - base for value in values]
    seen = _Seen(basis, ones, shifted, expected)
    sets: list[tuple[float, ...]] = [(*FAST_S, *pair) for pair in product(MIDDLE_S, SLOW_S)]
    unknown = log((1.0 - _TRUST if expected.known else 1.0) / (len(sets) * len(_SCALES)))
    tries = [(times, seen.general(times, scale * seen.span), unknown) for scale in _SCALES for times in sets]
    tries += [(known.times_s, seen.learned(known), log(_TRUST * known.weight)) for known in expected.known]
    fits = [fit for times, prior, chance in tries if (fit := seen.fit(times, prior, chance)) is not None]
    if not fits:
        return ()
    best = max(fit.evidence for fit in fits)
    fits = [fit for fit in fits if fit.evidence > best - _IGNORED]
    weights = [exp(fit.evidence - best) for fit in fits]
    total = sum(weights)
    return tuple(
        Approach(
            weight / total * share,
            base + fit.means[0] + node * fit.doubts[0],
            tuple(m + node * d for m, d in zip(fit.means[1:], fit.doubts[1:], strict=True)),
            fit.times_s,
        )
        for fit, weight in zip(fits, weights, strict=True)
        for node, share in _NODES
    )


@dataclass(frozen=True, slots=True)
class _Fit:
    times_s: tuple[float, ...]
    evidence: float
    means: list[float]
    doubts: list[float]
    """How the parameters move when the settled value moves by one standard deviation."""


_Prior = tuple[list[float], list[float]]
"""Means and standard deviations of settled value and amplitudes."""


class _Seen:
    """The readings as sums of products, once for all sets of time constants."""

    def __init__(
        self,
        basis: dict[float, list[float]],
        ones: list[float],
        values: list[float],
        expected: Expectation,
    ) -> None:
        self.count = len(ones)
        self.span = max(abs(values[0]), max(values) - min(values), 2.0 * expected.resolution, 1.0)
        self.sign = 1.0 if values[-1] >= values[0] else -1.0
        self.expected = expected
        columns: dict[float, list[float]] = {0.0: ones, **basis}
        self.products = {
            (one, other): sum(map(mul, columns[one], columns[other]))
            for one in columns
            for other in columns
            if one <= other
        }
        self.with_values = {tau: sum(map(mul, column, values)) for tau, column in columns.items()}
        self.squares = sum(map(mul, values, values))
        changes = sum(1 for before, after in pairwise(values) if before != after)
        dwell = self.count / (1.0 + changes)
        self.worth = min(self.count / (1.0 + dwell / 2.0), _MOST_WORTH)
        """Readings that count as independent: a stepping sensor repeats itself."""
        rough = sum((c - 2 * b + a) ** 2 for a, b, c in zip(values, values[1:], values[2:], strict=False)) / (
            6.0 * max(self.count - 2, 1)
        )
        self.variance = max(expected.resolution**2 / 12.0, rough, _EXACT_K**2)

    def fit(self, times: tuple[float, ...], prior: _Prior, chance: float) -> _Fit | None:
        keys = (0.0, *times)
        scale = self.worth / self.count / self.variance
        prior_mean, prior_sd = prior
        size = len(keys)
        precision = [[0.0] * size for _ in keys]
        right = [0.0] * size
        log_prior = 0.0
        offset = self.squares * scale
        for row, one in enumerate(keys):
            for column, other in enumerate(keys[: row + 1]):
                product_sum = self.products[(one, other) if one <= other else (other, one)] * scale
                precision[row][column] = precision[column][row] = product_sum
            tight = 1.0 / prior_sd[row] ** 2
            precision[row][row] += tight
            right[row] = self.with_values[one] * scale + prior_mean[row] * tight
            log_prior += log(tight)
            offset += prior_mean[row] ** 2 * tight
        lower = cholesky(precision)
        if lower is None:
            return None
        means = solve(lower, right)
        explained = sum(map(mul, means, right))
        log_det = 2.0 * sum(log(lower[row][row]) for row in range(size))
        evidence = chance + 0.5 * (log_prior - log_det - (offset - explained))
        covariance = solve(lower, [1.0] + [0.0] * (size - 1))
        deviation = sqrt(covariance[0])
        return _Fit(times, evidence, means, [c / deviation for c in covariance])

    def general(self, times: tuple[float, ...], whole: float) -> _Prior:
        """How a rise of ``whole`` is shared on coolers in general."""
        mean, sd = [0.0], [_FREE]
        for tau in times:
            share, doubt = _SHARES.get(tau) or (_MIDDLE_SHARE if tau in MIDDLE_S else _SLOW_SHARE)
            mean.append(self.sign * share * whole)
            sd.append(doubt * whole)
        return self._goes_on(mean, sd)

    def learned(self, known: KnownStores) -> _Prior:
        """What the cooler did in an earlier phase, in proportion to the power."""
        mean, sd = [0.0], [_FREE]
        step = self.expected.step_w
        for tau, k_per_w, doubt in zip(known.times_s, known.k_per_w, known.doubt, strict=True):
            part = k_per_w * step
            again = _FAST_AGAIN if tau in FAST_S else _AGAIN
            mean.append(part)
            sd.append(sqrt((doubt * step) ** 2 + (again * part) ** 2 + 0.5**2))
        return self._goes_on(mean, sd)

    def _goes_on(self, mean: list[float], sd: list[float]) -> _Prior:
        """The slow part is what the phase before left, too."""
        mean[-1] += self.expected.still_to_go
        sd[-1] = sqrt(sd[-1] ** 2 + self.expected.still_to_go_doubt**2)
        return mean, sd
