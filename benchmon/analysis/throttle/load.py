"""Stretches of steady load: a drop means something only while the same is asked of the processor."""

from __future__ import annotations

from enum import IntEnum

from benchmon.analysis.throttle.cleaning import Reading
from benchmon.analysis.throttle.rules import Rules


class LoadState(IntEnum):
    """What the load is doing at this sample."""

    IDLE = 0
    """Nothing worth speaking of is asked."""
    UNSETTLED = 1
    """It has just changed, or may be changing."""
    STEADY = 2
    """The same is asked as before."""


class LoadFollower:
    """Cuts time into stretches of steady load; pauses up to ``Rules.pause_s`` do not end one."""

    __slots__ = (
        "_candidate",
        "_candidate_s",
        "_cores", "_demand",
        "_highest_power",
        "_highest_work",
        "_idle_power",
        "_last_s",
        "_rules",
        "_settled_s",
        "busy_since_s",
        "busy_until_s",
        "idle_s",
        "is_known",
        "level",
        "stretch",
    )  # fmt: skip

    def __init__(self, rules: Rules) -> None:
        """Start idle."""
        self._rules = rules
        self.level = 0.0
        """Load of this stretch [%]; 0 between stretches."""
        self.stretch = 0
        """Counts stretches."""
        self.busy_until_s = float("-inf")
        """When the load of this stretch was last there [s]."""
        self._demand = 0.0
        """Load times clock while it was met [% MHz]."""
        self.idle_s = 0.0
        """Idle time of a pause that may still be a short one [s]."""
        self._last_s = float("-inf")
        self.busy_since_s = float("-inf")
        """Start of this stretch [s]."""
        self.is_known = False
        """False where the load was not read and could not be inferred either: it may have ended at any time."""
        self._settled_s = float("-inf")
        self._candidate = -1.0
        self._candidate_s = 0.0
        self._cores: float | None = None
        self._idle_power = float("inf")
        self._highest_power = 0.0
        self._highest_work = 0.0

    def feed(self, reading: Reading, cores: float | None) -> LoadState:
        """Take the next reading and what is known about the cores that are meant to be busy."""
        now, rules = reading.t_s, self._rules
        load = reading.load
        if load is None:
            load = self._inferred(reading)
        else:
            self.is_known = True
        if cores != self._cores:
            self._cores = cores
            self._settled_s = now + rules.load_settle_s
        self._account(now, load)
        if self.idle_s > rules.pause_s and (load < rules.idle_below_pct or self.same_level(load, self.level)):
            self.level = self.idle_s = 0.0
        if load < rules.idle_below_pct:
            self._candidate, self._candidate_s = 0.0, now
            return LoadState.IDLE
        if self.level == 0.0:
            self._begin(now, load)
            return LoadState.UNSETTLED
        return self._compare(now, load, reading.clock)

    def _account(self, now: float, load: float) -> None:
        """Add up the idle time of a pause: samples that straddle its edges count by their share."""
        since, self._last_s = now - self._last_s, now
        if self.level == 0.0 or since > self._rules.gap_s:
            return
        if load >= 0.9 * self.level:
            if self.idle_s <= self._rules.pause_s:
                self.idle_s = 0.0
                self.busy_until_s = now
        else:
            if self.idle_s == 0.0:
                self.busy_until_s = now - since * (1.0 - load / self.level)
            self.idle_s += since * (1.0 - load / self.level)

    def _begin(self, now: float, load: float) -> None:
        self.level = load
        self.stretch += 1
        self._demand = 0.0
        self.idle_s = 0.0
        self.busy_since_s = now
        self._settled_s = now
        self._candidate = -1.0

    def _compare(self, now: float, load: float, clock: float | None) -> LoadState:
        rules = self._rules
        if self.same_level(load, self.level):
            if self._candidate >= 0.0:  # it comes back from a pause or a flicker
                self._candidate = -1.0
                self._settled_s = now
                return LoadState.UNSETTLED
            self.level += 0.05 * (load - self.level)
            if clock is not None and (self._demand == 0.0 or load * clock > 0.8 * self._demand):
                self._demand += 0.2 * (load * clock - self._demand) if self._demand else load * clock
            return LoadState.STEADY if now >= self._settled_s else LoadState.UNSETTLED
        if self._candidate < 0.0 and clock is not None and load > self.level and load * clock <= 1.1 * self._demand:
            return LoadState.STEADY  # a slower clock needs more time for the same demand
        if now - self.busy_since_s <= rules.load_settle_s:  # the first sample straddled the start
            self.level = load
            self.stretch += 1
        elif self._candidate <= 0.0 or not self.same_level(load, self._candidate):
            self._candidate, self._candidate_s = load, now
        elif now - self._candidate_s >= rules.load_settle_s:
            since = self._candidate_s
            self._begin(now, load)
            self.busy_since_s = since
            return LoadState.STEADY
        return LoadState.UNSETTLED

    def same_level(self, load: float, level: float) -> bool:
        """True if the two loads [%] are the same within what background activity does to a reading."""
        apart = abs(load - level)
        return apart <= self._rules.load_step_pct or apart <= self._rules.load_step_share * level

    def _inferred(self, reading: Reading) -> float:
        """100 or 0: from finished work, else from a power that is back at what it was before the load."""
        work, power = reading.work, reading.power
        self.is_known = False
        if work is not None:
            self._highest_work = max(self._highest_work, work)
            self.is_known = True
            return 100.0 if work > 0.02 * self._highest_work else 0.0
        if power is None:
            return 100.0
        self._highest_power = max(self._highest_power, power)
        self._idle_power = min(self._idle_power, power)
        if self._idle_power < 0.3 * self._highest_power:
            self.is_known = True
            return 100.0 if power > self._idle_power + 0.12 * (self._highest_power - self._idle_power) else 0.0
        return 100.0
