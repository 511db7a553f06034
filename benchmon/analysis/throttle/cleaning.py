"""Readings that can be believed: impossible ones dropped, short holes bridged, lone spikes held back."""

from __future__ import annotations

from typing import NamedTuple

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.rules import Rules

_NEVER = float("-inf")


class Reading(NamedTuple):
    """The last believable value of each quantity; None once it has been missing for too long."""

    t_s: float
    clock: float | None
    power: float | None
    temp: float | None
    load: float | None
    work: float | None


class Cleaner:
    """Turns observations into readings, one at a time."""

    __slots__ = (
        "_clock", "_clock_s", "_doubtful_power", "_greatest_power", "_last_s", "_load", "_load_s", "_power", "_power_s",
        "_rules", "_temp", "_temp_s", "_work", "_work_s",
    )  # fmt: skip

    def __init__(self, rules: Rules) -> None:
        """Start before the first observation."""
        self._rules = rules
        self._last_s = _NEVER
        self._clock: float | None = None
        self._power: float | None = None
        self._temp: float | None = None
        self._load: float | None = None
        self._work: float | None = None
        self._clock_s = self._power_s = self._temp_s = self._load_s = self._work_s = _NEVER
        self._greatest_power = self._doubtful_power = 0.0

    def clean(self, seen: Observation) -> Reading | None:
        """The reading at this moment, or None if time did not go forward or is no number."""
        now, rules = seen.t_s, self._rules
        if not self._last_s < now < float("inf"):
            return None
        self._last_s = now
        oldest = now - rules.hold_reading_s
        value = seen.clock_mhz
        if value is not None and 0.0 < value <= rules.greatest_clock_mhz:
            self._clock, self._clock_s = value, now
        elif self._clock_s < oldest:
            self._clock = None
        value = seen.power_w
        if value is not None and 0.0 <= value <= rules.greatest_power_w and self._power_believed(value):
            self._power, self._power_s = value, now
        elif self._power_s < oldest:
            self._power = None
        value = seen.temp_c
        if value is not None and rules.least_temp_c <= value <= rules.greatest_temp_c:
            self._temp, self._temp_s = value, now
        elif self._temp_s < oldest:
            self._temp = None
        value = seen.load_pct
        if value is not None and 0.0 <= value <= rules.greatest_load_pct:
            self._load, self._load_s = value, now
        elif self._load_s < oldest:
            self._load = None
        value = seen.work_rate
        if value is not None and 0.0 <= value < float("inf"):
            self._work, self._work_s = value, now
        elif self._work_s < oldest:
            self._work = None
        return Reading(now, self._clock, self._power, self._temp, self._load, self._work)

    def _power_believed(self, power: float) -> bool:
        """A power far above everything so far is believed when the next reading confirms it."""
        bound = self._greatest_power * self._rules.doubtful_power_ratio
        if power > bound > 0.0 and not self._doubtful_power * 2.0 > power > self._doubtful_power * 0.5:
            self._doubtful_power = power
            return False
        self._doubtful_power = 0.0
        self._greatest_power = max(self._greatest_power, power)
        return True
