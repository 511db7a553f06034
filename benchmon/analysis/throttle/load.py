"""Stretches of steady load: a drop means something only while the same is asked of the processor."""

from __future__ import annotations

from enum import IntEnum

from benchmon.analysis.throttle.readings import Reading

GAP_S = 30.0
"""After a longer silence nothing that was going on is taken to have gone on."""
IDLE_BELOW_PCT = 5.0
"""Background activity of a desktop system; one busy thread of 16 already shows more."""
LOAD_STEP_PCT, LOAD_STEP_SHARE = 5.0, 0.12
"""A load differs from another if it differs by both: background activity moves a reading by less."""
FULL_LOAD_PCT = 90.0
"""From here on all cores are taken to be busy all the time."""
LOAD_SETTLE_S = 1.0
"""A sample that straddles a load change mixes two loads; governors and counters follow within about a second."""
PAUSE_S = 5.0
"""Pauses between the passes of a benchmark that do not end a stretch of load."""
ELSEWHERE_BELOW_PCT = 15.0
"""Where the load never passed this although power rose to twice its least, the load is not the processor's own."""
_CLEAR_OF_IDLE = 0.15
"""Power is a load's if it is above idle by this share of the greatest rise."""


class LoadState(IntEnum):
    """What the load is doing at this sample."""

    IDLE = 0
    """Nothing worth speaking of is asked."""
    UNSETTLED = 1
    """It has just changed, or may be changing."""
    STEADY = 2
    """The same is asked as before."""


class PowerRange:
    """Least and greatest power so far: where the load is not told, power shows whether there is one."""

    __slots__ = ("greatest_w", "greatest_work", "least_w")

    def __init__(self) -> None:
        """Start with nothing seen."""
        self.least_w = float("inf")
        self.greatest_w = 0.0
        self.greatest_work = 0.0

    def feed(self, reading: Reading) -> None:
        """Take the next reading."""
        power, work = reading.power, reading.work
        if power is not None:
            if power < self.least_w:
                self.least_w = power
            if power > self.greatest_w:
                self.greatest_w = power
        if work is not None and work > self.greatest_work:
            self.greatest_work = work

    def tells_load(self, ratio: float) -> bool:
        """True once power has moved so far that its ends are idle and load."""
        return self.least_w * ratio < self.greatest_w

    def load_pct(self, power_w: float) -> float:
        """100 or 0."""
        return 100.0 if power_w > self.least_w + _CLEAR_OF_IDLE * (self.greatest_w - self.least_w) else 0.0


class LoadFollower:
    """Cuts time into stretches of steady load; pauses up to ``PAUSE_S`` do not end one."""

    __slots__ = (
        "_candidate", "_candidate_s", "_cores", "_demand", "_greatest_load", "_last_s", "_range", "_settled_s", "_work",
        "busy_since_s", "busy_until_s", "idle_s", "is_known", "is_read", "level", "stretch",
    )  # fmt: skip

    def __init__(self) -> None:
        """Start idle."""
        self.level = 0.0
        """Load of this stretch [%]; 0 between stretches."""
        self.stretch = 0
        """Counts stretches."""
        self.busy_until_s = float("-inf")
        """When the load of this stretch was last there [s]."""
        self.busy_since_s = float("-inf")
        """Start of this stretch [s]."""
        self.idle_s = 0.0
        """Idle time of a pause that may still be a short one [s]."""
        self.is_read = False
        """Whether the load was read, and is the processor's own."""
        self.is_known = False
        """False where the load was not read and could not be inferred either: it may have ended at any time."""
        self._demand = 0.0
        """Load times clock while it was met [% MHz]."""
        self._greatest_load = 0.0
        self._range = PowerRange()
        self._last_s = self._settled_s = float("-inf")
        self._candidate: float | None = None
        """Another load that may be beginning [%]."""
        self._candidate_s = 0.0
        self._cores: float | None = None
        self._work = ""

    def feed(self, reading: Reading, cores: float | None, work: str = "") -> LoadState:
        """Take the next reading and what is known about the cores that are meant to be busy, and their work."""
        now = reading.t_s
        load = self._load_of(reading)
        if cores != self._cores:
            self._cores = cores
            self._settled_s = now + LOAD_SETTLE_S
        if work != self._work and cores != 0:  # no cores: it was stopped, and what may follow is not known yet
            self._work = work
            self.level = self.idle_s = self._range.greatest_work = 0.0  # rates of other work are on another scale
        self._account(now, load)
        if self.idle_s > PAUSE_S and (load < IDLE_BELOW_PCT or self.same_level(load, self.level)):
            self.level = self.idle_s = 0.0
        if load < IDLE_BELOW_PCT:
            self._candidate, self._candidate_s = 0.0, now
            return LoadState.IDLE
        if self.level == 0.0:
            self._begin(now, load)
            return LoadState.UNSETTLED
        return self._compare(now, load, reading.clock)

    def _load_of(self, reading: Reading) -> float:
        """The load that was read; where it was not, or is not the processor's: 100 or 0, from work or power."""
        load, work, power = reading.load, reading.work, reading.power
        self._range.feed(reading)
        if load is not None:
            if load > self._greatest_load:
                self._greatest_load = load
            is_elsewhere = self._greatest_load < ELSEWHERE_BELOW_PCT and self._range.tells_load(2.0)
            self.is_known, self.is_read = True, not is_elsewhere
            return self._range.load_pct(power) if is_elsewhere and power is not None else load
        self.is_read = False
        self.is_known = work is not None or (power is not None and self._range.tells_load(1 / 0.3))
        if work is not None:
            return 100.0 if work > 0.02 * self._range.greatest_work else 0.0
        return self._range.load_pct(power) if self.is_known and power is not None else 100.0

    def _account(self, now: float, load: float) -> None:
        """Add up the idle time of a pause: samples that straddle its edges count by their share."""
        since, self._last_s = now - self._last_s, now
        if self.level == 0.0 or since > GAP_S:
            return
        if load >= 0.9 * self.level:
            if self.idle_s <= PAUSE_S:
                self.idle_s = 0.0
                self.busy_until_s = now
        else:
            if self.idle_s == 0.0:
                self.busy_until_s = now - since * (1.0 - load / self.level)
            self.idle_s += since * (1.0 - load / self.level)

    def _begin(self, now: float, load: float) -> None:
        self.level = load
        self.stretch += 1
        self._demand = self.idle_s = 0.0
        self.busy_since_s = self._settled_s = now
        self._candidate = None

    def _compare(self, now: float, load: float, clock: float | None) -> LoadState:
        if self.same_level(load, self.level):
            if self._candidate is not None:  # it comes back from a pause or a flicker
                self._candidate = None
                self._settled_s = now
                return LoadState.UNSETTLED
            self.level += 0.05 * (load - self.level)
            if clock is not None and (self._demand == 0.0 or load * clock > 0.8 * self._demand):
                self._demand += 0.2 * (load * clock - self._demand) if self._demand else load * clock
            return LoadState.STEADY if now >= self._settled_s else LoadState.UNSETTLED
        if self._candidate is None and clock is not None and load > self.level and load * clock <= 1.1 * self._demand:
            return LoadState.STEADY  # a slower clock needs more time for the same demand
        if now - self.busy_since_s <= LOAD_SETTLE_S:  # the first sample straddled the start
            self.level = load
            self.stretch += 1
        elif not self._candidate or not self.same_level(load, self._candidate):
            self._candidate, self._candidate_s = load, now
        elif now - self._candidate_s >= LOAD_SETTLE_S:
            since = self._candidate_s
            self._begin(now, load)
            self.busy_since_s = since
            return LoadState.STEADY
        return LoadState.UNSETTLED

    def same_level(self, load: float, level: float) -> bool:
        """True if the two loads [%] are the same within what background activity does to a reading."""
        apart = abs(load - level)
        return apart <= LOAD_STEP_PCT or apart <= LOAD_STEP_SHARE * level
