"""What the session has shown so far: how warm it ran free, where heat stopped it, how it answers a step of power."""

from __future__ import annotations

from benchmon.analysis.throttle.episode import Episode
from benchmon.analysis.throttle.onset import Onset
from benchmon.analysis.throttle.rules import Rules
from benchmon.analysis.throttle.trail import Second
from benchmon.model.events import Cause


class StepAnswer:
    """Kelvin per watt after a step of power, as seen when a load started: the machine's own thermal answer."""

    __slots__ = ("_power_before", "_rules", "_start_s", "_sum_n", "_sum_w", "_temp_before", "points")  # fmt: skip

    def __init__(self, rules: Rules) -> None:
        """Start with nothing seen."""
        self._rules = rules
        self.points: list[tuple[float, float]] = []
        """(seconds after the step, K/W), from the last load start that was followed."""
        self._start_s: float | None = None
        self._temp_before = 0.0
        self._power_before = 0.0
        self._sum_w = 0.0
        self._sum_n = 0

    def begin(self, start_s: float, temp_c: float, power_w: float) -> None:
        """A load starts from this temperature and power."""
        self._start_s, self._temp_before, self._power_before = start_s, temp_c, power_w
        self._sum_w, self._sum_n = 0.0, 0

    def stop(self) -> None:
        """The power is no longer that of the load alone."""
        self._start_s = None

    def feed(self, second: Second) -> None:
        """Take a second of unlimited, steady load."""
        if self._start_s is None or second.power is None or second.temp is None:
            return
        after = second.t_s - self._start_s
        self._sum_w += second.power
        self._sum_n += 1
        step_w = self._sum_w / self._sum_n - self._power_before
        if after < self._rules.answer_after_s or step_w < self._rules.least_step_w:
            return
        point = (after, max((second.temp - self._temp_before) / step_w, 0.0))
        self.points = [known for known in self.points if known[0] < after * 0.99]
        if not self.points or after >= 1.5 * self.points[-1][0]:
            self.points.append(point)

    def kelvin_per_watt(self, after_s: float) -> float | None:
        """How far a watt moves the temperature within that time; None if no load start was seen."""
        last: tuple[float, float] | None = None
        for point in self.points:
            if point[0] > after_s:
                break
            last = point
        if last is not None:
            return last[1]
        return self.points[0][1] * (after_s / self.points[0][0]) if self.points else None


class Memory:
    """Facts of the whole session that later judgements lean on."""

    __slots__ = (
        "_hot_run", "_rules", "answer", "coolest_c", "free_high_c", "heat_temps", "hottest_c",
        "idle_clock_mhz", "idle_power_w", "onsets",
    )  # fmt: skip

    def __init__(self, rules: Rules) -> None:
        """Start with nothing seen."""
        self._rules = rules
        self.free_high_c: float | None = None
        """Highest temperature at which it ran unlimited for ``Rules.free_hotter_s``."""
        self.hottest_c: float | None = None
        self.coolest_c: float | None = None
        self.idle_clock_mhz: float | None = None
        """Lowest clock seen without load: the floor, where no file tells it."""
        self.idle_power_w: float | None = None
        self.heat_temps: list[float] = []
        """Temperatures at which heat was shown to limit."""
        self.onsets: list[Onset] = []
        """Onsets of earlier events that stayed unexplained."""
        self.answer = StepAnswer(rules)
        self._hot_run: list[Second] = []

    def see(self, second: Second) -> None:
        """Take any second."""
        temp, power = second.temp, second.power
        if temp is not None:
            if self.coolest_c is None or temp < self.coolest_c:
                self.coolest_c = temp
            if self.hottest_c is None or temp > self.hottest_c:
                self.hottest_c = temp
        if power is not None and (self.idle_power_w is None or power < self.idle_power_w):
            self.idle_power_w = power

    def see_idle(self, clock_mhz: float | None) -> None:
        """Take a clock that was read without load."""
        if clock_mhz is not None and (self.idle_clock_mhz is None or clock_mhz < self.idle_clock_mhz):
            self.idle_clock_mhz = clock_mhz

    def see_free(self, second: Second) -> None:
        """Take a second of steady load without limitation."""
        self.answer.feed(second)
        if second.temp is None:
            return
        run = self._hot_run
        if run and second.t_s - run[-1].t_s > self._rules.hold_reading_s:
            run.clear()
        run.append(second)
        while len(run) > 1 and second.t_s - run[1].t_s >= self._rules.free_hotter_s:
            run.pop(0)
        if second.t_s - run[0].t_s < self._rules.free_hotter_s:
            return
        least = min(known.temp for known in run if known.temp is not None)
        if self.free_high_c is None or least > self.free_high_c:
            self.free_high_c = least

    def not_free(self) -> None:
        """A run of free seconds ends here."""
        self._hot_run.clear()
        self.answer.stop()

    def moved_by(self, power_w: float, after_s: float, temp_c: float, power_before_w: float) -> float:
        """Kelvin by which a step of that power would have moved the temperature within that time.

        From the machine's own answer at a load start; else from the rise so far, growing with the root of time as heat
        spreading into a solid does, full after a minute.
        """
        answer = self.answer.kelvin_per_watt(after_s)
        if answer is None:
            rules = self._rules
            coolest = self.coolest_c if self.coolest_c is not None else temp_c
            rise, span = temp_c - coolest, power_before_w - (self.idle_power_w or 0.0)
            if rise < rules.least_rise_k or span < rules.least_step_w:  # it was never seen cool
                rise, span = max(temp_c - rules.warm_room_c, 0.0), max(power_before_w, 1.0)
            answer = rise / span * min((after_s / rules.spread_s) ** 0.5, 1.0)
        return answer * power_w

    def learn(self, episode: Episode, onset: Onset) -> None:
        """An event is over: remember where heat limited, or where it began if nobody knows why."""
        if episode.cause is Cause.THERMAL:
            self.free_high_c = None  # what was free before a limit was met says nothing about that limit
            if onset.temp_c is not None:
                self.heat_temps = [*self.heat_temps[-15:], onset.temp_c]
        elif episode.cause is Cause.UNEXPLAINED and onset.temp_c is not None:
            self.onsets = [*self.onsets[-15:], onset]

    def same_onset_otherwise(self, onset: Onset) -> int:
        """How many earlier, unexplained events began at this temperature though it had come about differently."""
        rules, count = self._rules, 0
        for earlier in self.onsets:
            if onset.temp_c is None or earlier.temp_c is None or onset.loaded_s is None or earlier.loaded_s is None:
                continue
            if abs(onset.temp_c - earlier.temp_c) > rules.same_onset_k:
                continue
            apart_s = abs(onset.loaded_s - earlier.loaded_s)
            longer = apart_s > max(rules.came_apart_share * earlier.loaded_s, rules.came_apart_s)
            starts = (onset.start_temp_c, earlier.start_temp_c)
            warmer = None not in starts and abs((starts[0] or 0.0) - (starts[1] or 0.0)) > rules.came_apart_k
            count += longer or warmer
        return count
