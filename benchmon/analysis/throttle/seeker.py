"""Looks for the start of a limitation while nothing limits, and learns meanwhile what 'nothing limits' looks like."""

from __future__ import annotations

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.cleaning import Reading
from benchmon.analysis.throttle.drop_test import DropTest
from benchmon.analysis.throttle.episode import Before
from benchmon.analysis.throttle.noise import Jitter
from benchmon.analysis.throttle.pursuit import Fell, Found
from benchmon.analysis.throttle.reference import Reference, References
from benchmon.analysis.throttle.rules import Rules
from benchmon.analysis.throttle.start_limit import StartLimit

_PENDING_KEPT = 600


class Seeker:
    """Drop tests on the clock (or work rate) and on power, for one stretch of load after the other."""

    def __init__(self, rules: Rules) -> None:
        """Start before the first load."""
        self._rules = rules
        self._references = References(rules)
        self.reference = Reference(rules, 0.0, None)
        self.jitter = Jitter()
        self._power_jitter = Jitter(0.01)
        self._test = DropTest()
        self._power_test = DropTest()
        self._power_level: float | None = None
        self._power_count = 0
        self._pending: list[tuple[float, Reading]] = []
        self._free_s = float("-inf")
        self._start = StartLimit(rules)
        self._start_asked = False
        self._was_at_limit = False
        self._level = 0.0
        self._highest = 0.0

    def begin_stretch(self, level: float, cores: float | None) -> None:
        """Another load from now on."""
        self.reference.drop_open_block()
        self.reference = self._references.pick(level, cores)
        self._level = level
        self._start_asked = False
        self._was_at_limit = False
        self.rest()
        self.jitter.begin()

    def rest(self) -> None:
        """What comes next does not follow what came last."""
        self._test.reset()
        self._power_test.reset()
        self._power_level = None
        self._pending.clear()
        self.jitter.forget_last()
        self._power_jitter.forget_last()

    def skip(self, reading: Reading, is_idle: bool) -> None:
        """Take a reading that is idle or between two loads."""
        self.jitter.forget_last()
        self._power_jitter.forget_last()
        if is_idle:
            self._start.see_idle(reading)

    def accept_other_code(self) -> None:
        """Other code runs now: learn what it does."""
        self.reference.restart(0.0, None, None)
        self.rest()

    def seek(self, reading: Reading, speed: float, since_s: float, known: Observation, is_clock: bool) -> Found | None:
        """Take a reading of steady load; gives a drop when one has been found."""
        reference, now = self.reference, reading.t_s
        self._highest = known.highest_clock_mhz or 0.0
        self.jitter.feed(speed)
        if reading.power is not None and reading.power > 0.0:
            self._power_jitter.feed(reading.power)
        if is_clock and not self._start_asked:
            self._start_asked = True
            expected = self._start.expected_mhz(speed, known, self._level)
            if expected is not None and reference.speed < expected:
                reference.restart(expected, None, None)
                self._free_s = now - since_s
        if self._follows_demand(reading, known):
            self._test.reset()
            self._pending.clear()
            return None
        if reference.speed <= 0.0:
            reference.feed(now, speed, reading.power, reading.work, self.jitter.sigma)
            self._free_s = now
            return None
        return self._test_speed(reading, speed, since_s, is_clock)

    def _follows_demand(self, reading: Reading, known: Observation) -> bool:
        """True for snapshots of a governor that clocks up and down many times a second; never once it is too hot."""
        if known.temp_limit_c is not None and reading.temp is not None:
            self._was_at_limit |= reading.temp >= known.temp_limit_c - self._rules.at_limit_k
        if self._level >= self._rules.full_load_pct or self._was_at_limit:
            return False
        return self.jitter.roughness > self._rules.on_demand_step

    def _test_speed(self, reading: Reading, speed: float, since_s: float, is_clock: bool) -> Found | None:
        reference, rules, now = self.reference, self._rules, reading.t_s
        sigma = self.jitter.sigma
        slack = max(rules.slack, rules.slack_sigmas * sigma)
        slack += reference.doubt(sigma)
        threshold = max(rules.threshold, rules.threshold_sigmas * sigma)
        fired = self._test.feed(now, 1.0 - speed / reference.speed, slack, threshold)
        if since_s >= rules.slow_sampling_s and self._test.total >= threshold:
            fired = True
        if self._test.total > 0.0:
            if fired:
                fell = Fell.CLOCK if is_clock else Fell.WORK
                return self._found(reading, since_s, self._test.onset_s, fell, reference.power)
        elif is_clock and self._test_power(reading, 1.0 - speed / reference.speed, since_s):
            return self._found(reading, since_s, self._power_test.onset_s, Fell.POWER, self._power_level)
        if self._test.total > 0.0 or self._power_test.total > 0.0:
            if len(self._pending) < _PENDING_KEPT:
                self._pending.append((since_s, reading))
            return None
        for (
            step_s,
            passed,
        ) in self._pending:  # it came to nothing: without it the level would know the high readings only
            self._follow_power(passed.power, step_s)
        self._pending.clear()
        self._free_s = now
        reference.feed(now, speed, reading.power, reading.work, sigma)
        self._follow_power(reading.power, since_s)
        return None

    @property
    def is_free(self) -> bool:
        """True while no test is raised."""
        return self._test.total <= 0.0 and self._power_test.total <= 0.0

    def _test_power(self, reading: Reading, clock_deficit: float, since_s: float) -> bool:
        """A fall of power that the clock does not explain: the clock's own falls have a test of their own."""
        rules, level, power, sigma = self._rules, self._power_level, reading.power, self._power_jitter.sigma
        if level is None or power is None or sigma > rules.noisiest_power:
            return False
        if self._level < rules.full_load_pct and self.reference.speed < rules.asked_in_full * self._highest:
            return False  # a governor that keeps the clock low follows the demand, and power follows it
        doubt = rules.level_doubt_sigmas * sigma / max(self._power_count, 1) ** 0.5
        slack = max(rules.power_slack, rules.slack_sigmas * sigma) + doubt
        threshold = max(rules.power_threshold, rules.threshold_sigmas * sigma)
        if self._power_count < rules.level_count and self._power_count * since_s < rules.level_s:
            slack, threshold = slack + rules.young_power_doubt, max(threshold, rules.young_power_threshold)
        explained = rules.power_follows_clock * max(clock_deficit - self.jitter.sigma, 0.0)
        fired = self._power_test.feed(reading.t_s, 1.0 - power / level - explained, slack, threshold)
        return fired or (since_s >= rules.slow_sampling_s and self._power_test.total >= threshold)

    def _follow_power(self, power: float | None, since_s: float) -> None:
        if power is None or power <= 0.0:
            return
        if self._power_level is None:
            self._power_level = power
            self._power_count = 1
        else:
            # Rises within the noise are followed as slowly as falls: else the level would ride on the noise's crests.
            is_higher = power > self._power_level * (1.0 + self._rules.crest_sigmas * self._power_jitter.sigma)
            self._power_count += 1
            slow = max(min(since_s / self._rules.power_memory_s, 0.5), 1.0 / self._power_count)
            share = 0.5 if is_higher else slow
            self._power_level += share * (power - self._power_level)

    def _found(
        self, reading: Reading, since_s: float, first_low_s: float, fell: Fell, power_before: float | None
    ) -> Found:
        before = Before.of(self.reference, is_clock=fell is not Fell.WORK)
        before.power = power_before
        near = first_low_s - self._free_s <= self._rules.hold_reading_s * 1.1
        onset_s = (self._free_s + first_low_s) / 2.0 if near else first_low_s
        since = [*self._pending, (since_s, reading)]
        if fell is Fell.CLOCK:
            onset_s = self._down_for_good(since, before.speed, onset_s)
        self.reference.drop_open_block()
        self.rest()
        return Found(onset_s, fell, before, since, self.jitter.sigma, self._power_jitter.sigma)

    def _down_for_good(self, since: list[tuple[float, Reading]], speed: float, onset_s: float) -> float:
        """The onset of a glide: the moment that best parts samples that were almost up from samples that were down."""
        limit = max(self._rules.down_for_good, self.jitter.sigma)
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
