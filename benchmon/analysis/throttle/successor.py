"""A further drop inside an event: another cause may have taken over."""

from __future__ import annotations

from benchmon.analysis.throttle.cleaning import Reading
from benchmon.analysis.throttle.drop_test import DropTest
from benchmon.analysis.throttle.episode import Before
from benchmon.analysis.throttle.pursuit import Fell, Found
from benchmon.analysis.throttle.reference import Reference
from benchmon.analysis.throttle.rules import Rules


class FurtherDrop:
    """Learns the level at which an event is held, and tests for a drop below it."""

    __slots__ = ("_free_s", "_pending", "_reference", "_rules", "_settled_s", "_test")

    def __init__(self, rules: Rules, settled_s: float) -> None:
        """Start; the held level is learned from ``settled_s`` on."""
        self._rules = rules
        self._settled_s = settled_s
        self._reference = Reference(rules, 0.0, None)
        self._test = DropTest()
        self._pending: list[tuple[float, Reading]] = []
        self._free_s = settled_s

    def feed(self, reading: Reading, since_s: float, sigma: float, power_sigma: float) -> Found | None:
        """Take a limited sample with a clock; gives a further drop when one has been found."""
        clock, now, rules, reference = reading.clock, reading.t_s, self._rules, self._reference
        if clock is None or now < self._settled_s:
            return None
        if not reference.is_young:
            threshold = max(rules.threshold, rules.threshold_sigmas * sigma)
            slack = max(rules.slack, rules.slack_sigmas * sigma)
            fired = self._test.feed(now, 1.0 - clock / reference.speed, slack, threshold)
            if self._test.total > 0.0:
                self._pending.append((since_s, reading))
                return self._found(sigma, power_sigma) if fired else None
            self._pending.clear()
        self._free_s = now
        reference.feed(now, clock, reading.power, reading.work, sigma)
        return None

    def _found(self, sigma: float, power_sigma: float) -> Found:
        onset_s = (self._free_s + self._test.onset_s) / 2.0
        since, self._pending = self._pending, []
        self._test.reset()
        return Found(onset_s, Fell.CLOCK, Before.of(self._reference, is_clock=True), since, sigma, power_sigma)
