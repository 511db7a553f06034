"""How much a reading jitters, found while it is read."""

from __future__ import annotations

_SIGMA_OF_MEDIAN_STEP = 1.4826 / 2.0**0.5
"""Sigma of normal noise from the median step between neighbours: 1.4826 · median / √2."""
_LEAST = 2e-4
_GREATEST = 0.3
_BEGIN = 20


class Jitter:
    """Relative noise by a streaming median of the steps between neighbouring readings.

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
        if step > _GREATEST:
            return  # no reading is that noisy: this is a real change
        self._seen += 1
        factor = 1.25 if self._seen < 16 else 1.08 if self._seen < 60 else 1.03
        if step > self._median:
            self._median *= factor
        elif self._median > _LEAST:
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
