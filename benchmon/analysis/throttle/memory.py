"""What the session has shown so far: how warm it ran free, where it was stopped, how its temperature answers power."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from math import sqrt
from typing import NamedTuple

from benchmon.analysis.throttle.readings import HOLD_READING_S, Second
from benchmon.analysis.throttle.steadiness import Wander
from benchmon.analysis.throttle.thermal_answer import Five, ThermalAnswer

LEAST_RISE_K, LEAST_STEP_W, WARM_ROOM_C, SPREAD_S = 8.0, 4.0, 35.0, 60.0
"""Where no load start was seen: the rise so far over the power so far if these are passed, else the rise over a warm
room; growing with the root of time until heat has spread through the foot of a heatsink after about a minute."""
FREE_HOTTER_S = 3.0
"""It ran free at a temperature if it did for this long."""
SAME_ONSET_K = 1.5
"""Onsets at the same temperature: one sensor step and half."""


class PastOnset(NamedTuple):
    """Where an earlier event began."""

    temp_c: float
    loaded_s: float
    """How long its load had run [s]."""


class Memory:
    """Facts of the whole session that later judgements lean on."""

    __slots__ = (
        "_free_run", "_states", "answer", "clock_wander", "coolest_c", "free_high_c", "heat_temps", "hottest_c",
        "idle_clock_mhz", "idle_power_w", "onsets", "power_wander",
    )  # fmt: skip

    def __init__(self, defended_c: Iterable[float] = ()) -> None:
        """Start with nothing seen, but perhaps with temperatures that this machine defended in an earlier session."""
        self.free_high_c: float | None = None
        """Highest temperature at which it ran unlimited for ``FREE_HOTTER_S``."""
        self.hottest_c: float | None = None
        self.coolest_c: float | None = None
        self.idle_clock_mhz: float | None = None
        """Lowest clock seen without load: the floor, where no file tells it."""
        self.idle_power_w: float | None = None
        self.heat_temps: deque[float] = deque(defended_c, maxlen=16)
        """Temperatures at which heat was shown to limit."""
        self.onsets: deque[PastOnset] = deque(maxlen=8)
        self.answer = ThermalAnswer()
        self.clock_wander, self.power_wander = Wander(0.004), Wander(0.008)
        self._states: deque[tuple[float, Five]] = deque(maxlen=16)
        self._free_run: deque[Second] = deque()

    def see(self, second: Second, *, is_loaded: bool) -> None:
        """Take any second."""
        temp, power = second.temp, second.power
        if temp is not None:
            if self.coolest_c is None or temp < self.coolest_c:
                self.coolest_c = temp
            if self.hottest_c is None or temp > self.hottest_c:
                self.hottest_c = temp
        if power is not None and (self.idle_power_w is None or power < self.idle_power_w):
            self.idle_power_w = power
        if temp is not None and power is not None:
            self._states.append((second.t_s, self.answer.states))
            self.answer.feed(second.t_s, power, temp, is_loaded=is_loaded)

    def see_idle(self, clock_mhz: float | None) -> None:
        """Take a clock that was read without load."""
        if clock_mhz is not None and (self.idle_clock_mhz is None or clock_mhz < self.idle_clock_mhz):
            self.idle_clock_mhz = clock_mhz

    def see_free(self, second: Second) -> None:
        """Take a second of steady load without limitation."""
        self.clock_wander.feed(second.speed)
        self.power_wander.feed(second.power)
        if second.temp is None:
            return
        run = self._free_run
        if run and second.t_s - run[-1].t_s > HOLD_READING_S:
            run.clear()
        run.append(second)
        while len(run) > 1 and second.t_s - run[1].t_s >= FREE_HOTTER_S:
            run.popleft()
        if second.t_s - run[0].t_s < FREE_HOTTER_S:
            return
        least = min(known.temp for known in run if known.temp is not None)
        if self.free_high_c is None or least > self.free_high_c:
            self.free_high_c = least

    def not_free(self) -> None:
        """A run of free seconds ends here."""
        self._free_run.clear()

    def states_at(self, t_s: float) -> Five:
        """States of the thermal answer just before the second in which ``t_s`` lies."""
        return next((states for then, states in reversed(self._states) if then <= t_s + 0.5), self.answer.states)

    def moved_by(self, power_w: float, after_s: float, temp_c: float, power_before_w: float) -> float:
        """Kelvin by which a step of that power would have moved the temperature within that time, cautiously."""
        if self.answer.is_known:
            mean, variance = self.answer.dip(power_w, after_s)
            moved_k = mean - 0.5 * sqrt(variance)
            return moved_k if moved_k > 0.0 else 0.0
        coolest = self.coolest_c if self.coolest_c is not None else temp_c
        rise, span = temp_c - coolest, power_before_w - (self.idle_power_w or 0.0)
        if rise < LEAST_RISE_K or span < LEAST_STEP_W:  # it was never seen cool
            rise, span = max(temp_c - WARM_ROOM_C, 0.0), max(power_before_w, 1.0)
        return float(power_w * rise / span * min(sqrt(after_s / SPREAD_S), 1.0))

    def learn(self, *, is_heat: bool, temp_c: float | None, loaded_s: float | None) -> None:
        """An event is over: remember where it began, and whether heat did it."""
        if is_heat:
            self.free_high_c = None  # what was free before a limit was met says nothing about that limit
        if temp_c is None:
            return
        self.onsets.append(PastOnset(temp_c, loaded_s or 0.0))
        if is_heat:
            self.heat_temps.append(temp_c)
