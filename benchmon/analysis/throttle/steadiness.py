"""How steady a quantity is: its jitter, its wander, and which of power and clock stays put while it is limited."""

from __future__ import annotations

from math import log

_SIGMA_OF_MEDIAN_STEP = 1.4826 / 2.0**0.5
"""Sigma of normal noise from the median step between neighbours: 1.4826 · median / √2."""
_LEAST_STEP, _GREATEST_STEP = 2e-4, 0.3
_BEGIN = 20
LEAST_POWER_NOISE, LEAST_CLOCK_NOISE = 0.006, 0.003
"""A held power ripples by about this (relative, one-second means), a held clock by half of it."""
LEAKAGE_PER_K, CLOCK_FOR_LEAKAGE_PER_K = 0.004, -0.0018
"""At a held clock a cooler chip draws this much less for each kelvin; at a held power the clock rises by half of it."""


class Jitter:
    """Relative noise of single readings, by a streaming median of the steps between neighbours.

    The estimate moves up or down by one factor for each step above or below it, so half of the steps lie on either
    side when it rests: a median without memory, blind to rare jumps and slow drifts.
    """

    __slots__ = ("_last", "_median", "_seen", "_since_begin", "roughness", "sigma")

    def __init__(self, start: float = 0.012) -> None:
        """Start from an assumed relative median step: wary, because a few quiet samples lower it soon."""
        self._median = start
        self._last = 0.0
        self._seen = 0
        self.roughness = 0.0
        """Mean relative step of the first samples after ``begin``: jumps count here, unlike in sigma."""
        self._since_begin = 0
        self.sigma = start * _SIGMA_OF_MEDIAN_STEP

    def feed(self, value: float) -> None:
        """Take the next reading (greater than 0)."""
        last, self._last = self._last, value
        if last <= 0.0:
            return
        step = abs(value - last) / last
        if self._since_begin < _BEGIN:
            self._since_begin += 1
            self.roughness += (step - self.roughness) / self._since_begin
        if step > _GREATEST_STEP:
            return  # no reading is that noisy: this is a real change
        self._seen += 1
        factor = 1.25 if self._seen < 16 else 1.08 if self._seen < 60 else 1.03
        if step > self._median:
            self._median *= factor
        elif self._median > _LEAST_STEP:
            self._median /= factor
        self.sigma = self._median * _SIGMA_OF_MEDIAN_STEP

    def begin(self) -> None:
        """Another load begins."""
        self.roughness = 0.0
        self._since_begin = 0
        self._last = 0.0

    def forget_last(self) -> None:
        """The next reading does not follow the last one: a load change or a gap lies between."""
        self._last = 0.0


class Wander:
    """Relative noise of one-second means about their own mean of some seconds, by a streaming median."""

    __slots__ = ("_mean", "noise")

    def __init__(self, start: float) -> None:
        """Start from an assumed noise."""
        self.noise = start
        self._mean = 0.0

    def feed(self, value: float | None) -> None:
        """Take the next second that nothing limits; None changes nothing."""
        if not value:
            return
        apart = abs(value / self._mean - 1.0) if self._mean else 1.0
        if apart >= _GREATEST_STEP:
            self._mean = value
            return
        self.noise = min(max(self.noise * (1.04 if apart > 0.67 * self.noise else 0.96), 0.001), 0.1)
        self._mean += 0.15 * (value - self._mean)


def looks(count: float) -> float:
    """How many independent looks so many correlated seconds are worth."""
    return 2.0 * log(1.0 + count / 3.0)


def _normal(apart: float, variance: float) -> float:
    return -0.5 * (log(variance) + apart * apart / variance)


class Course:
    """Mean, variance and slope over temperature of the logarithm of one quantity, a second at a time."""

    __slots__ = ("_slope_sum", "_temp", "_temp_var", "count", "mean", "variance")

    def __init__(self) -> None:
        """Start with nothing seen."""
        self.count = 0
        self.mean = self.variance = 0.0
        self._temp = self._temp_var = self._slope_sum = 0.0

    def feed(self, value: float, temp_c: float | None) -> None:
        """Take the next second's mean (greater than 0)."""
        self.count += 1
        x = log(value)
        apart = x - self.mean
        self.mean += apart / self.count
        self.variance += (apart * (x - self.mean) - self.variance) / self.count
        if temp_c is not None:
            warm = temp_c - self._temp
            self._temp += warm / self.count
            self._temp_var += (warm * (temp_c - self._temp) - self._temp_var) / self.count
            self._slope_sum += (warm * (x - self.mean) - self._slope_sum) / self.count

    def unsteady(self, noise: float) -> float:
        """How much less likely than "held within its noise" it is, in e-folds."""
        return 0.5 * looks(self.count) * log(1.0 + self.variance / noise**2) if self.count > 1 else 0.0

    def slope(self, noise: float) -> tuple[float, float]:
        """Relative change for each kelvin, and the variance of that."""
        spread = self._temp_var + 0.05
        slope = self._slope_sum / spread
        rest = max(self.variance - slope * self._slope_sum, 0.0) + noise**2
        return slope, rest / (max(looks(self.count), 1.0) * spread)


class Regulation:
    """Power and clock of one limited stretch: which of them is held, and which follows."""

    __slots__ = ("clocks", "powers")

    def __init__(self) -> None:
        """Start at the onset."""
        self.powers, self.clocks = Course(), Course()

    def feed(self, power_w: float | None, clock_mhz: float | None, temp_c: float | None) -> None:
        """Take a second that was limited, as was the one after it."""
        if power_w:
            self.powers.feed(power_w, temp_c)
        if clock_mhz:
            self.clocks.feed(clock_mhz, temp_c)

    def power_is_steadier(self, power_noise: float, clock_noise: float) -> float:
        """E-folds by which power is held rather than the clock, -6 … 6; 0 where not both are read."""
        if not self.powers.count or not self.clocks.count:
            return 0.0
        power = min(self.powers.unsteady(max(power_noise, LEAST_POWER_NOISE)), 15.0)
        clock = min(self.clocks.unsteady(max(clock_noise, LEAST_CLOCK_NOISE)), 15.0)
        return min(max(clock - power, -6.0), 6.0)

    def clock_follows_leakage(self, power_noise: float, clock_noise: float) -> float:
        """E-folds for "power stays, the clock follows leakage" against "the clock stays, power follows", -6 … 6."""
        if self.powers.count < 6 or self.clocks.count < 6:
            return 0.0
        power, power_var = self.powers.slope(max(power_noise, LEAST_POWER_NOISE))
        clock, clock_var = self.clocks.slope(max(clock_noise, LEAST_CLOCK_NOISE))
        power_held = _normal(power, power_var + 0.0005**2) + _normal(
            clock - CLOCK_FOR_LEAKAGE_PER_K, clock_var + 0.0012**2
        )
        clock_held = _normal(power - LEAKAGE_PER_K, power_var + 0.003**2) + _normal(clock, clock_var + 0.0004**2)
        return min(max(power_held - clock_held, -6.0), 6.0)
