"""The temperature of one event: is it held though the power moved, does it follow the power, or does it run away?"""

from __future__ import annotations

from math import log, sqrt

from benchmon.analysis.throttle.memory import SAME_ONSET_K, Memory
from benchmon.analysis.throttle.readings import Second
from benchmon.analysis.throttle.steadiness import looks
from benchmon.analysis.throttle.thermal_answer import Five, ThermalAnswer

HELD_K, DRIFT_K = 1.3, 1.0
"""A temperature that stays within ± this much, one step of a 1 °C sensor and its jitter, and whose mean does not drift
away further, is held."""
HELD_S, LONG_HELD_S = 8.0, 60.0
"""Held for so long means something: a die follows its power within seconds; a heatsink within a minute."""
EXPECTED_MOVE_K = 2.6
"""Held although the fall in power would have moved it by so much: twice the tolerance; half of it if held for long."""
MOVE_COUNTS = 3.0
"""A move that was seen counts three times against one that was to be expected: held means next to none of it."""
STAYED_NEAR_K, SWING_K, FELL_AWAY_K, COLD_K = 3.0, 2.0, 4.0, 12.0
"""About where it was; a cooling that counts; left; far below."""
CLIMBED_ON_K = 3.0
"""Still climbing this far beyond the onset while limited alike: nobody defends that temperature."""
FALL_TAKES_S, FELL_AWAY_S, OVERSHOOT_S = 3.0, 10.0, 30.0
"""A hard drop is over; a temperature is left for good; a defender has brought an overshoot down."""
POWER_SHARE, WANDER_SHARE, FALL_OVER = 0.3, 0.1, 12
"""How quickly the smoothed powers of a held run follow, and after how many seconds the first fall is gone from them."""
WEIGH_SHARE, WEIGH_SELDOM_S = 0.01, 5.0
"""A run is weighed once it has grown by this share, every five seconds at the least: no heat store goes a greater share
of its way meanwhile."""
WITHOUT_POWER = 100.0
"""Where power is not read, its relative course stands in, in hundredths of what it was."""


class HeldRun:
    """A run of seconds during which the temperature stayed where it was."""

    __slots__ = (
        "_greatest_w", "_least_w", "_slow_w", "anchor_c", "count", "drop_sum_w", "first_w", "from_onset", "last_s",
        "last_w", "moved_k", "speed", "start_s", "temp_c",
        "weigh_next_s",
    )  # fmt: skip

    def __init__(self, start_s: float, temp_c: float, power_w: float | None, *, from_onset: bool) -> None:
        """A run starts at a temperature, with the power that held before."""
        self.start_s = self.last_s = start_s
        self.temp_c = temp_c
        self.anchor_c = temp_c
        """Mean of the first seconds: the run may not drift away from it."""
        self.count = 1
        self.speed = 0.0
        """Mean speed."""
        self.first_w = self.last_w = power_w
        self._slow_w = self._greatest_w = self._least_w = 0.0
        self.drop_sum_w = 0.0
        """Sum over the run of how far power was below its start [W·seconds seen]."""
        self.from_onset = from_onset
        self.moved_k = 0.0
        """How much further the temperature would have moved without control, when that was last weighed [K]."""
        self.weigh_next_s = start_s

    @property
    def length_s(self) -> float:
        """Length of the run [s]."""
        return self.last_s - self.start_s

    def take(self, second: Second, temp_c: float, power_w: float | None) -> None:
        """Take the next second of the run."""
        self.last_s = second.t_s
        self.count += 1
        if second.speed is not None:
            self.speed += (second.speed - self.speed) / (self.count - 1)
        if self.count <= 4:
            self.anchor_c += (temp_c - self.anchor_c) / self.count
        self.temp_c += (temp_c - self.temp_c) / min(self.count, 20)
        if power_w is None:
            return
        if self.first_w is None:
            self.first_w = power_w
        self.last_w = power_w if self.last_w is None else self.last_w + POWER_SHARE * (power_w - self.last_w)
        if self.count == FALL_OVER:
            self._slow_w = self._greatest_w = self._least_w = self.last_w
        elif self.count > FALL_OVER:
            self._slow_w += WANDER_SHARE * (power_w - self._slow_w)
            if self._slow_w > self._greatest_w:
                self._greatest_w = self._slow_w
            if self._slow_w < self._least_w:
                self._least_w = self._slow_w
        if power_w < self.first_w:
            self.drop_sum_w += self.first_w - power_w

    @property
    def wandered_w(self) -> float:
        """How far power moved while the temperature stayed; the first fall left out [W]."""
        return self._greatest_w - self._least_w

    @property
    def wandered(self) -> float:
        """The same, relative."""
        return self._greatest_w / self._least_w - 1.0 if self._least_w > 0.0 else 0.0


class Following:
    """Held where it was at the onset, or following the power as the machine's own answer says: which is likelier."""

    __slots__ = (
        "_answer", "_count", "_level_c", "_looks", "_mean_c", "_next_s", "_onset_s", "_power_w", "_states", "_sum",
    )  # fmt: skip

    def __init__(self, answer: ThermalAnswer, states: Five, onset_s: float, level_c: float) -> None:
        """Start at the onset, from the answer's states and the temperature there."""
        self._answer, self._states, self._onset_s, self._level_c = answer, states, onset_s, level_c
        self._count = self._looks = 0
        self._power_w = self._mean_c = self._sum = 0.0
        self._next_s = float("-inf")

    def feed(self, t_s: float, power_w: float, temp_c: float) -> None:
        """Take a second since the onset."""
        self._count += 1
        self._power_w += (power_w - self._power_w) / self._count
        self._mean_c += (temp_c - self._mean_c) / self._count
        age_s = t_s - self._onset_s
        if not self._answer.is_known or age_s < 1.5 or t_s < self._next_s:
            return
        self._next_s = t_s + 0.04 * age_s
        move_k, variance = self._answer.move(self._states, self._power_w, age_s)
        level_c = min(max(self._mean_c, self._level_c - 1.7), self._level_c + 0.5)
        held = _student(temp_c - level_c, 0.7)
        follows = _student(temp_c - self._level_c - move_k, sqrt(0.7**2 + variance + (0.2 * move_k) ** 2))
        self._sum += held - follows
        self._looks += 1

    @property
    def held_not_following(self) -> float:
        """E-folds for "held"; negative for "follows the power"; neighbouring seconds count as one look."""
        return looks(self._count) * self._sum / self._looks if self._looks else 0.0


def _student(apart: float, scale: float) -> float:
    """Log density, less a constant, of Student's t with four degrees of freedom."""
    return -log(scale) - 2.5 * log(1.0 + (apart / scale) ** 2 / 4.0)


class HeldTemperature:
    """The temperature of one event, a second at a time."""

    __slots__ = (
        "_cold_since_s", "_fallen_since_s", "_left_s", "_left_speed", "_memory", "_outside_count", "_power_before",
        "_speed_before", "best", "chased_k", "climbed_since_s", "cold_s", "given_up_s", "last_c", "least_c", "onset_c",
        "run",
    )  # fmt: skip

    def __init__(self, memory: Memory, power_before: float | None, speed_before: float) -> None:
        """Start at the onset."""
        self._memory = memory
        self._power_before = power_before
        self._speed_before = speed_before
        self.onset_c: float | None = None
        self.last_c: float | None = None
        self.least_c: float | None = None
        """Lowest temperature since the last drop of the clock."""
        self.run: HeldRun | None = None
        self.best: HeldRun | None = None
        """The run with the strongest case for control so far."""
        self.cold_s = 0.0
        """For how long it has been far below the temperature at the onset [s]."""
        self.climbed_since_s: float | None = None
        self.given_up_s: float | None = None
        """When a temperature that had been held for long was left, though the clock stayed low [s]."""
        self.chased_k = 0.0
        """How far the temperature has fallen while the clock was taken down further [K]: nobody defends it so."""
        self._cold_since_s = float("inf")
        self._fallen_since_s: float | None = None
        self._left_s: float | None = None
        self._left_speed = 0.0
        self._outside_count = 0

    @property
    def is_power_read(self) -> bool:
        """False where the relative course of power had to stand in."""
        return self._power_before is not None

    def restart(self, onset_s: float, onset_c: float, seconds: list[Second]) -> None:
        """The temperature at the onset is known (better): the first run starts there, with the power before."""
        self.onset_c = onset_c
        self.run, self.best = HeldRun(onset_s, onset_c, self._power_before, from_onset=True), None
        self._outside_count = 0
        for second in seconds:
            self.feed(second)

    def feed(self, second: Second) -> None:
        """Take a second of the event."""
        temp, run, onset = second.temp, self.run, self.onset_c
        if temp is None or run is None or onset is None:
            return
        self.last_c = temp
        if self.least_c is None or temp < self.least_c:
            self.least_c = temp
        self._watch_climb(second.t_s, temp - onset)
        self._watch_fall(second, temp)
        if temp > onset - COLD_K:
            self._cold_since_s = second.t_s
        self.cold_s = second.t_s - self._cold_since_s
        self._watch_chase(second, onset - temp)
        if abs(temp - run.temp_c) <= HELD_K and not self._drifted(run, onset):
            self._outside_count = 0
            run.take(second, temp, self._power(second))
            if second.t_s >= run.weigh_next_s:
                run.weigh_next_s = second.t_s + min(WEIGH_SHARE * run.length_s, WEIGH_SELDOM_S)
                self._weigh(run, onset)
            return
        self._outside_count += 1
        if self._outside_count >= 2:
            self._outside_count = 0
            self.run = HeldRun(second.t_s, temp, self._power(second), from_onset=False)

    @property
    def is_near_onset(self) -> bool:
        """True while the temperature is still about where it was at the onset."""
        return self.last_c is not None and self.onset_c is not None and abs(self.last_c - self.onset_c) <= STAYED_NEAR_K

    @property
    def is_held_so_far(self) -> bool:
        """True while the temperature has stayed where it was at the onset."""
        return self.run is not None and self.run.count > 1 and self.run.from_onset

    def _drifted(self, run: HeldRun, onset_c: float) -> bool:
        if run.from_onset:
            return abs(run.temp_c - onset_c) > SAME_ONSET_K
        return abs(run.temp_c - run.anchor_c) > DRIFT_K

    def _power(self, second: Second) -> float | None:
        if second.power is not None or self._power_before is not None:
            return second.power
        if second.speed is None or self._speed_before <= 0.0:
            return None
        return float(WITHOUT_POWER * (second.speed / self._speed_before) ** 1.5)  # power falls faster than the clock

    def _weigh(self, run: HeldRun, onset_c: float) -> None:
        """How far it moved since the onset (highest of a few, half a step too high), against what was expected."""
        if run.first_w is None:
            return
        did_move = max(onset_c - run.temp_c - 0.5, 0.0) if run.from_onset else abs(run.temp_c - run.anchor_c)
        before = self._power_before if self._power_before is not None else WITHOUT_POWER
        expected_k = self._memory.moved_by(run.drop_sum_w / run.count, run.length_s, run.temp_c, before)
        if run.wandered_w > 0.0:  # a slow ramp is answered as a step a third as old would be
            wander_k = self._memory.moved_by(run.wandered_w, run.length_s / 3.0, run.temp_c, before)
            expected_k = max(expected_k, wander_k)
        run.moved_k = expected_k - MOVE_COUNTS * did_move
        if run.length_s >= HELD_S and (self.best is None or run.moved_k >= self.best.moved_k):
            self.best = run

    def dip_missing_k(self, within_s: float) -> float:
        """How far the die should have cooled so soon after the fall, whatever a slow heatsink does meanwhile [K]."""
        best, before = self.best, self._power_before
        if best is None or before is None or best.last_w is None:
            return 0.0
        return self._memory.moved_by(before - best.last_w, within_s, best.temp_c, before)

    def _watch_climb(self, t_s: float, above_k: float) -> None:
        if above_k <= CLIMBED_ON_K:
            self.climbed_since_s = None
        elif self.climbed_since_s is None:
            self.climbed_since_s = t_s

    def _watch_fall(self, second: Second, temp_c: float) -> None:
        """A temperature that was held and then falls away was not defended: a defender would give power back."""
        best = self.best
        if best is None or temp_c > best.temp_c - FELL_AWAY_K:
            self._fallen_since_s = None
        elif self._fallen_since_s is None:
            self._fallen_since_s = second.t_s
        elif second.t_s - self._fallen_since_s >= FELL_AWAY_S:
            is_slower = second.speed is not None and second.speed < best.speed * 0.97
            if best.length_s >= 2.0 * LONG_HELD_S or (is_slower and temp_c < best.temp_c - 2.0 * FELL_AWAY_K):
                self.given_up_s = best.last_s
            self.best = None

    def _watch_chase(self, second: Second, fallen_k: float) -> None:
        """Below the onset, firmware that defends a temperature would leave the clock alone or give some back.

        It may still be on the way to a lower temperature that it then holds: what is held afterwards clears it.
        """
        speed = second.speed
        if speed is None:
            return
        if fallen_k < SWING_K:
            self._left_s, self.chased_k = None, 0.0
        elif self._left_s is None:
            self._left_s, self._left_speed = second.t_s, speed
        elif second.t_s - self._left_s <= FALL_TAKES_S:
            self._left_speed = min(self._left_speed, speed)
        elif fallen_k >= FELL_AWAY_K and speed < self._left_speed * 0.97:
            self.chased_k = fallen_k
        best, left_s = self.best, self._left_s
        if best is not None and left_s is not None and 0.0 < best.start_s - left_s <= OVERSHOOT_S:
            self.chased_k = 0.0
