"""Follows the temperature through an episode: is it held, does it climb on, does it come back to the same onset?"""

from __future__ import annotations

from benchmon.analysis.throttle.held import Held
from benchmon.analysis.throttle.memory import Memory
from benchmon.analysis.throttle.rules import Rules
from benchmon.analysis.throttle.trail import Second


class HeatTrack:
    """The temperature of one episode, a second at a time."""

    __slots__ = (
        "_cold_since_s",
        "_left_s",
        "_left_speed",
        "_memory",
        "_outside_count",
        "_rules",
        "best",
        "chased_k",
        "climbed_since_s",
        "cold_s",
        "cycle_low",
        "fallen_since_s",
        "given_up_s",
        "held_weight",
        "last",
        "onset_temp",
        "power_before",
        "run",
        "speed_before",
    )

    def __init__(self, rules: Rules, memory: Memory, power_before: float | None, speed: float) -> None:
        """Start at the onset."""
        self._rules = rules
        self._memory = memory
        self.power_before = power_before
        self.speed_before = speed
        self.onset_temp: float | None = None
        self.last: float | None = None
        self.run: Held | None = None
        self.best: Held | None = None
        """The run with the strongest case for control so far."""
        self.held_weight = 0.0
        """Weight of the strongest proof so far that the temperature is held."""
        self.cold_s = 0.0
        """For how long it has been far below the temperature at the onset [s]."""
        self._cold_since_s = float("inf")
        self.cycle_low: float | None = None
        """Lowest temperature since the last drop of the clock."""
        self.climbed_since_s: float | None = None
        self.fallen_since_s: float | None = None
        self.given_up_s: float | None = None
        """When a temperature that had been held for long was left, though the clock stayed low [s]."""
        self.chased_k = 0.0
        """How far the temperature has fallen while the clock was taken down further [K]: nobody defends it so."""
        self._left_s: float | None = None
        """Since when it has been cooler than at the onset ..."""
        self._left_speed = 0.0
        """... and the clock then, the first fall being over."""
        self._outside_count = 0

    def reseed(self, onset_s: float, temp_c: float, seconds: list[Second], speed: float) -> None:
        """The temperature at the onset is known (better): the first run starts there, with the power before."""
        self.onset_temp = temp_c
        self.run, self.best = Held(self._rules, onset_s, temp_c, self.power_before, from_onset=True), None
        self._outside_count = 0
        for second in seconds:
            self.feed(second, 1.0 - second.speed / speed if second.speed is not None and speed > 0.0 else 0.0)

    def feed(self, second: Second, deficit: float) -> None:
        """Take a second of the episode and its relative deficit."""
        temp = second.temp
        if temp is None:
            return
        run = self.run
        if run is None or self.onset_temp is None:
            return
        self.last = temp
        if self.cycle_low is None or temp < self.cycle_low:
            self.cycle_low = temp
        self._watch_climb(second.t_s, temp)
        self._watch_fall(second.t_s, temp, second.speed)
        if temp > self.onset_temp - self._rules.far_below_limit_k:
            self._cold_since_s = second.t_s
        self.cold_s = second.t_s - self._cold_since_s
        self._watch_chase(second, temp)
        if abs(temp - run.temp) > self._rules.held_k or self._drifted(run):
            self._outside_count += 1
            if self._outside_count >= 2:
                self._outside_count = 0
                self.run = Held(self._rules, second.t_s, temp, self._power(second, deficit), from_onset=False)
            return
        self._outside_count = 0
        self._extend(run, second, deficit)

    def _below_onset(self, run: Held) -> float:
        """How far it did move since the onset, whose temperature, highest of a few, is half a step too high."""
        return max((self.onset_temp or run.temp) - run.temp - 0.5, 0.0)

    def _drifted(self, run: Held) -> bool:
        if run.from_onset and self.onset_temp is not None:
            return abs(run.temp - self.onset_temp) > self._rules.same_onset_k
        return abs(run.temp - run.anchor) > self._rules.drift_k

    @property
    def is_undecided(self) -> bool:
        """True while the temperature is still about where it was at the onset."""
        last, onset = self.last, self.onset_temp
        return last is not None and onset is not None and abs(last - onset) <= self._rules.stayed_near_k

    @property
    def is_held_so_far(self) -> bool:
        """True while the temperature has stayed where it was at the onset."""
        return self.run is not None and self.onset_temp is not None and self.run.count > 1 and self.run.from_onset

    def _power(self, second: Second, deficit: float) -> float | None:
        if second.power is not None:
            return second.power
        if self.power_before is not None or self.speed_before <= 0.0:
            return None
        return 100.0 * float(max(1.0 - deficit, 0.0) ** 1.5)  # relative: power falls faster than the clock

    def _extend(self, run: Held, second: Second, deficit: float) -> None:
        run.last_s = second.t_s
        run.count += 1
        if second.speed is not None:
            run.speed += (second.speed - run.speed) / (run.count - 1)
        if run.count <= 4 and second.temp is not None:
            run.anchor += (second.temp - run.anchor) / run.count
        run.temp += (second.temp - run.temp) / min(run.count, 20) if second.temp is not None else 0.0
        power = self._power(second, deficit)
        if power is None:
            return
        if run.first_w is None:
            run.first_w = 100.0 if self.power_before is None and second.power is None else power
        run.follow(power)
        run.drop_w += max(run.first_w - power, 0.0)
        mean_drop = run.drop_w / run.count
        before = self.power_before if self.power_before is not None else 100.0
        did_move = self._below_onset(run) if run.from_onset else abs(run.temp - run.anchor)
        expected_k = self._memory.moved_by(mean_drop, run.length_s, run.temp, before)
        if run.high_w > 0.0:  # a slow ramp is answered as a step a third as old would be
            wander_w = run.high_w - run.low_w
            expected_k = max(expected_k, self._memory.moved_by(wander_w, run.length_s / 3.0, run.temp, before))
        run.moved_k = expected_k - self._rules.move_counts * did_move
        if run.length_s >= self._rules.held_s and (self.best is None or run.moved_k >= self.best.moved_k):
            self.best = run

    def _watch_climb(self, t_s: float, temp: float) -> None:
        if self.onset_temp is not None and temp > self.onset_temp + self._rules.climbed_on_k:
            if self.climbed_since_s is None:
                self.climbed_since_s = t_s
        else:
            self.climbed_since_s = None

    def _is_given_up(self, held: Held, temp: float, speed: float | None) -> bool:
        """Held for long, or held at a higher clock than now although it has become cold: somebody else holds it now."""
        cold = temp < held.temp - self._rules.near_limit_k
        slower = speed is not None and speed < held.speed * (1.0 - self._rules.down_for_good)
        return held.length_s >= 2.0 * self._rules.long_held_s or (cold and slower)

    def _watch_fall(self, t_s: float, temp: float, speed: float | None) -> None:
        """A temperature that was held and then falls away was not defended: a defender would give power back."""
        if self.best is None or temp > self.best.temp - self._rules.fell_away_k:
            self.fallen_since_s = None
        elif self.fallen_since_s is None:
            self.fallen_since_s = t_s
        elif t_s - self.fallen_since_s >= self._rules.fell_away_s:
            if self._is_given_up(self.best, temp, speed):
                self.given_up_s = self.best.last_s
            self.best, self.held_weight = None, 0.0

    def _watch_chase(self, second: Second, temp: float) -> None:
        """Below the onset, firmware that defends a temperature would leave the clock alone or give some back.

        It may still be on the way to a lower temperature that it then holds: what is held afterwards clears it.
        """
        rules, onset, speed = self._rules, self.onset_temp, second.speed
        if onset is None or speed is None:
            return
        fallen = onset - temp
        if fallen < rules.swing_k:
            self._left_s, self.chased_k = None, 0.0
        elif self._left_s is None:
            self._left_s, self._left_speed = second.t_s, speed
        elif second.t_s - self._left_s <= rules.fall_takes_s:
            self._left_speed = min(self._left_speed, speed)
        elif fallen >= rules.fell_away_k and speed < self._left_speed * (1.0 - rules.down_for_good):
            self.chased_k = fallen
        best, left_s = self.best, self._left_s
        if best is not None and left_s is not None and 0.0 < best.start_s - left_s <= rules.overshoot_s:
            self.chased_k = 0.0
