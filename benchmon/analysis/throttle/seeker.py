"""Looks for the start of a limitation while nothing limits, and learns meanwhile what "nothing limits" looks like."""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.load import FULL_LOAD_PCT
from benchmon.analysis.throttle.readings import HOLD_READING_S, Reading, Second
from benchmon.analysis.throttle.reference import AT_TOLD_LIMIT_K, Reference, References, Sampled, StartWatch
from benchmon.analysis.throttle.steadiness import Jitter
from benchmon.model.work_kinds import is_wide

SLACK, THRESHOLD = 0.02, 0.045
"""Run-to-run variation is 1 to 2 %; a loss above 1.5 % counts as measurable (a server's thermal guide). A loss of 4.5 %
must be seen twice, one of 3 % for five samples."""
SLACK_SIGMAS, THRESHOLD_SIGMAS = 0.75, 8.0
"""For a noisy reading: half a sigma of slack finds shifts of one sigma best, a quarter covers the reference's own
doubt, and a threshold of eight makes a false start rare."""
DOWN_FOR_GOOD = 0.03
"""An event begins where the deficit passes this and stays beyond: clearly more than run-to-run variation."""
SLOW_SAMPLING_S = 4.0
"""Samples this far apart are not doubted singly: waiting for a second one would take longer than it is worth."""
ASKED_IN_FULL = 0.6
"""A busy core is clocked above this share of the highest clock; lower at partial load, demand is met in pauses."""
ON_DEMAND_STEP = 0.05
"""A clock that steps by this much between neighbouring samples at partial load is one that follows the demand."""
POWER_FOLLOWS_CLOCK = 2.0
"""Power falls about twice as much as a clock that takes its voltage along: between its first and third power."""
POWER_THRESHOLD = 0.06
"""Power moves with leakage by about 1 % per 2 K without anything being limited."""
YOUNG_POWER_DOUBT, YOUNG_POWER_THRESHOLD = 0.05, 0.25
"""In the first seconds of a load only a loss of a sixth or more, seen twice or more, is not its start-up."""
NOISIEST_POWER = 0.05
"""A fall of power is not looked for in more noise than this: the threshold would be as high as the power itself."""
POWER_MEMORY_S, CREST_SIGMAS = 60.0, 5.0
"""The level of power that a fall is measured against follows leakage and nothing faster; what no noise reaches is
another level, followed at once."""
LEVEL_COUNT, LEVEL_S, LEVEL_DOUBT_SIGMAS = 10, 30.0, 3.0
"""The level and its noise are known after so many readings, or so long where readings are rare; three times the
standard error of the level is added to the slack."""
_PENDING_KEPT = 600


class DropTest:
    """Sums relative deficit beyond a slack (one-sided cumulative sum, Page 1954); fires at a threshold.

    >>> test = DropTest()
    >>> [test.feed(t, d, slack=0.015, threshold=0.045) for t, d in enumerate([0, 0, 0.1, 0.1])]
    [False, False, False, True]
    >>> test.onset_s
    2.0
    """

    __slots__ = ("count", "onset_s", "total")

    def __init__(self) -> None:
        """Start at zero."""
        self.total = 0.0
        self.onset_s = 0.0
        self.count = 0

    def feed(self, t_s: float, deficit: float, slack: float, threshold: float) -> bool:
        """Take the next relative deficit; True while the sum has passed the threshold on two samples or more."""
        excess = deficit - slack
        if self.total <= 0.0:
            if excess <= 0.0:
                return False
            self.onset_s = float(t_s)
            self.count = 0
        self.total += min(excess, threshold * 2.0)
        if self.total <= 0.0:
            self.total = 0.0
            return False
        if excess > 0.0:
            self.count += 1
        return self.total >= threshold and self.count >= 2

    def reset(self) -> None:
        """Back to zero."""
        self.total = 0.0
        self.count = 0


class Fell(Enum):
    """Which reading fell."""

    CLOCK = "clock"
    WORK = "work rate"
    POWER = "power"


class Before(NamedTuple):
    """What held before the onset; each None where it is not known."""

    speed: float
    """The clock [MHz], or the work rate where there is no clock."""
    clock: float | None
    power: float | None
    work: float | None


class Found(NamedTuple):
    """A drop: since when, of what, from what, the samples since, the noise (relative)."""

    onset_s: float
    fell: Fell
    before: Before
    since: list[tuple[float, Reading]]
    """(seconds since the sample before, reading)."""
    sigma: float
    power_sigma: float
    from_start: bool = False
    """Limited since the load began: what was before is what the machine could do, not what it did."""
    heat_gave_up: bool = False
    """Heat held it until then, at a higher clock than the one it is held at now."""


class Seeker:
    """Drop tests on the clock (or work rate) and on power, for one stretch of load after the other."""

    def __init__(self) -> None:
        """Start before the first load."""
        self._references = References()
        self._reference = Reference()
        self._jitter, self._power_jitter = Jitter(), Jitter(0.01)
        self._test, self._power_test = DropTest(), DropTest()
        self._power_level: float | None = None
        self._power_count = 0
        self._pending: list[tuple[float, Reading]] = []
        self._free_s = float("-inf")
        self._start = StartWatch()
        self._is_start_asked = False
        self._was_at_limit = False
        self._level = 0.0
        self._highest = 0.0

    def begin_stretch(self, now_s: float, level: float, cores: float | None, work: str = "") -> None:
        """Another load from now on."""
        self._reference.drop_open_block()
        self._reference = self._references.pick(level, cores, work)
        self._level = level
        self._is_start_asked = self._was_at_limit = False
        self._start.take_work(is_wide=is_wide(work))
        self._start.begin(now_s)
        self.rest()
        self._jitter.begin()

    def rest(self) -> None:
        """What comes next does not follow what came last."""
        self._test.reset()
        self._power_test.reset()
        self._power_level = None
        self._pending.clear()
        self._jitter.forget_last()
        self._power_jitter.forget_last()

    def skip(self, reading: Reading, *, is_idle: bool) -> None:
        """Take a reading that is idle or between two loads."""
        self._jitter.forget_last()
        self._power_jitter.forget_last()
        if is_idle:
            self._start.see_idle(reading)

    def accept_other_code(self, since_s: float) -> None:
        """Other code runs since then: learn what it does, and whether it is limited since it began."""
        self._reference.restart()
        self._start.begin(since_s)
        self.rest()

    def seek_start(self, second: Second, known: Observation) -> Found | None:
        """Take a second of steady load; gives a limitation that has held since the load began."""
        found = self._start.feed(second, known)
        if found is None:
            if self.is_free:
                self._start.see_free(second, is_young=self._reference.is_young)
            return None
        expected, onset_s, since = found
        before = Before(expected, expected, None, None)
        self._reference.drop_open_block()
        self.rest()
        return Found(onset_s, Fell.CLOCK, before, since, self._jitter.sigma, self._power_jitter.sigma, from_start=True)

    def seek(
        self, reading: Reading, speed: float, since_s: float, known: Observation, *, is_clock: bool
    ) -> Found | None:
        """Take a reading of steady load; gives a drop when one has been found."""
        reference, now = self._reference, reading.t_s
        self._start.keep(reading, since_s)
        self._highest = known.highest_clock_mhz or 0.0
        self._jitter.feed(speed)
        if reading.power is not None and reading.power > 0.0:
            self._power_jitter.feed(reading.power)
        if is_clock and not self._is_start_asked:
            self._is_start_asked = True
            expected = self._start.expected_mhz(speed, known, self._level)
            if expected is not None and reference.speed < expected:
                reference.restart(expected)
                self._free_s = now - since_s
        if self._follows_demand(reading, known):
            self._test.reset()
            self._pending.clear()
            return None
        if reference.speed <= 0.0:
            reference.feed(now, Sampled(speed, reading.power, reading.work), self._jitter.sigma)
            self._free_s = now
            return None
        return self._test_both(reading, speed, since_s, is_clock=is_clock)

    def _follows_demand(self, reading: Reading, known: Observation) -> bool:
        """True for snapshots of a governor that clocks up and down many times a second; never once it is too hot."""
        if known.temp_limit_c is not None and reading.temp is not None:
            self._was_at_limit |= reading.temp >= known.temp_limit_c - AT_TOLD_LIMIT_K
        if self._level >= FULL_LOAD_PCT or self._was_at_limit:
            return False
        return self._jitter.roughness > ON_DEMAND_STEP

    def _test_both(self, reading: Reading, speed: float, since_s: float, *, is_clock: bool) -> Found | None:
        reference, now = self._reference, reading.t_s
        sigma = self._jitter.sigma
        slack = max(SLACK, SLACK_SIGMAS * sigma) + reference.doubt(sigma)
        threshold = max(THRESHOLD, THRESHOLD_SIGMAS * sigma)
        deficit = 1.0 - speed / reference.speed
        fired = self._test.feed(now, deficit, slack, threshold)
        fired |= since_s >= SLOW_SAMPLING_S and self._test.total >= threshold
        if self._test.total > 0.0:
            if fired:
                fell = Fell.CLOCK if is_clock else Fell.WORK
                return self._found(reading, since_s, self._test.onset_s, fell, reference.power)
        elif is_clock and self._test_power(reading, deficit, since_s):
            return self._found(reading, since_s, self._power_test.onset_s, Fell.POWER, self._power_level)
        if not self.is_free:
            if len(self._pending) < _PENDING_KEPT:
                self._pending.append((since_s, reading))
            return None
        for step_s, passed in self._pending:  # it came to nothing: else the level would know the high readings only
            self._follow_power(passed.power, step_s)
        self._pending.clear()
        self._free_s = now
        reference.feed(now, Sampled(speed, reading.power, reading.work), sigma)
        self._follow_power(reading.power, since_s)
        return None

    @property
    def is_free(self) -> bool:
        """True while no test is raised."""
        return self._test.total <= 0.0 and self._power_test.total <= 0.0

    def _test_power(self, reading: Reading, clock_deficit: float, since_s: float) -> bool:
        """A fall of power that the clock does not explain: the clock's own falls have a test of their own."""
        level, power, sigma = self._power_level, reading.power, self._power_jitter.sigma
        if level is None or power is None or sigma > NOISIEST_POWER:
            return False
        if self._level < FULL_LOAD_PCT and self._reference.speed < ASKED_IN_FULL * self._highest:
            return False  # a governor that keeps the clock low follows the demand, and power follows it
        slack = max(SLACK, SLACK_SIGMAS * sigma) + LEVEL_DOUBT_SIGMAS * sigma / max(self._power_count, 1) ** 0.5
        threshold = max(POWER_THRESHOLD, THRESHOLD_SIGMAS * sigma)
        if self._power_count < LEVEL_COUNT and self._power_count * since_s < LEVEL_S:
            slack, threshold = slack + YOUNG_POWER_DOUBT, max(threshold, YOUNG_POWER_THRESHOLD)
        explained = POWER_FOLLOWS_CLOCK * max(clock_deficit - self._jitter.sigma, 0.0)
        fired = self._power_test.feed(reading.t_s, 1.0 - power / level - explained, slack, threshold)
        return fired or (since_s >= SLOW_SAMPLING_S and self._power_test.total >= threshold)

    def _follow_power(self, power: float | None, since_s: float) -> None:
        if power is None or power <= 0.0:
            return
        if self._power_level is None:
            self._power_level = power
            self._power_count = 1
            return
        # Rises within the noise are followed as slowly as falls: else the level would ride on the noise's crests.
        is_higher = power > self._power_level * (1.0 + CREST_SIGMAS * self._power_jitter.sigma)
        self._power_count += 1
        slow = max(min(since_s / POWER_MEMORY_S, 0.5), 1.0 / self._power_count)
        self._power_level += (0.5 if is_higher else slow) * (power - self._power_level)

    def _found(
        self, reading: Reading, since_s: float, first_low_s: float, fell: Fell, power_before: float | None
    ) -> Found:
        reference = self._reference
        clock, work = (None, reference.speed) if fell is Fell.WORK else (reference.speed, reference.work)
        before = Before(reference.speed, clock, power_before, work)
        near = first_low_s - self._free_s <= HOLD_READING_S * 1.1
        onset_s = (self._free_s + first_low_s) / 2.0 if near else first_low_s
        since = [*self._pending, (since_s, reading)]
        if fell is Fell.CLOCK:
            onset_s = self._down_for_good(since, before.speed, onset_s)
        reference.drop_open_block()
        self.rest()
        return Found(onset_s, fell, before, since, self._jitter.sigma, self._power_jitter.sigma)

    def _down_for_good(self, since: list[tuple[float, Reading]], speed: float, onset_s: float) -> float:
        """The onset of a glide: the moment that best parts samples that were almost up from samples that were down."""
        limit = max(DOWN_FOR_GOOD, self._jitter.sigma)
        downs = [past.clock is None or 1.0 - past.clock / speed > limit for _, past in since]
        wrong = least = downs.count(False)  # as if all were down
        best = 0
        for place, down in enumerate(downs):
            wrong += 1 if down else -1
            if wrong < least:
                least, best = wrong, place + 1
        if best == 0 or best >= len(since):
            return onset_s
        return (since[best - 1][1].t_s + since[best][1].t_s) / 2.0


class FurtherDrop:
    """A further drop inside an event: learns the level at which it is held, and tests for a drop below it."""

    __slots__ = ("_free_s", "_pending", "_reference", "_settled_s", "_test")

    def __init__(self, settled_s: float) -> None:
        """Start; the held level is learned from ``settled_s`` on."""
        self._settled_s = self._free_s = settled_s
        self._reference = Reference()
        self._test = DropTest()
        self._pending: list[tuple[float, Reading]] = []

    def feed(self, reading: Reading, since_s: float, sigma: float, power_sigma: float) -> Found | None:
        """Take a limited sample with a clock; gives a further drop when one has been found."""
        clock, now, reference = reading.clock, reading.t_s, self._reference
        if clock is None or now < self._settled_s:
            return None
        if not reference.is_young:
            threshold = max(THRESHOLD, THRESHOLD_SIGMAS * sigma)
            slack = max(SLACK, SLACK_SIGMAS * sigma)
            fired = self._test.feed(now, 1.0 - clock / reference.speed, slack, threshold)
            if self._test.total > 0.0:
                self._pending.append((since_s, reading))
                return self._found(sigma, power_sigma) if fired else None
            self._pending.clear()
        self._free_s = now
        reference.feed(now, Sampled(clock, reading.power, reading.work), sigma)
        return None

    def _found(self, sigma: float, power_sigma: float) -> Found:
        onset_s = (self._free_s + self._test.onset_s) / 2.0
        since, self._pending = self._pending, []
        self._test.reset()
        reference = self._reference
        before = Before(reference.speed, reference.speed, reference.power, reference.work)
        return Found(onset_s, Fell.CLOCK, before, since, sigma, power_sigma)
