"""Limited from the first second: no reference could be learned, but the machine gave one before."""

from __future__ import annotations

from statistics import median

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.cleaning import Reading
from benchmon.analysis.throttle.rules import Rules

_IDLE_KEPT = 8


class StartLimit:
    """Knows a clock that a new load should reach: the rated one, or a steady clock seen while idle."""

    __slots__ = ("_idle", "_rules")

    def __init__(self, rules: Rules) -> None:
        """Start with no idle clock seen."""
        self._rules = rules
        self._idle: list[float] = []

    def see_idle(self, reading: Reading) -> None:
        """Take a reading without load."""
        if reading.clock is not None:
            self._idle = [*self._idle[-_IDLE_KEPT + 1 :], reading.clock]

    def expected_mhz(self, clock_mhz: float, known: Observation, level: float) -> float | None:
        """The clock that should be there under a new load, if the one seen is clearly below it; else None."""
        rated = known.rated_clock_mhz
        if (
            rated is not None
            and level >= self._rules.full_load_pct
            and clock_mhz < rated * (1.0 - self._rules.below_rated)
        ):
            return rated
        if len(self._idle) < _IDLE_KEPT // 2:
            return None
        idle = median(self._idle)
        steady = max(self._idle) - min(self._idle) <= 0.05 * idle
        return idle if steady and clock_mhz < idle * (1.0 - self._rules.below_idle_clock) else None
