"""What the session has shown so far: how warm it ran free, where it was stopped, how its temperature answers power."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from math import exp, sqrt
from operator import mul
from typing import NamedTuple

from benchmon.analysis.throttle.readings import HOLD_READING_S, Second
from benchmon.analysis.throttle.steadiness import Wander

TAUS_S = (2.5, 10.0, 40.0, 160.0, 640.0)
"""Time constants of die, spreader, heatsink foot, fins and case: each four times the last, so that any is near one."""
SHARE_K, SHARE_DOUBT_K, START_DOUBT_K = 8.0, 12.0, 1.5
"""Before anything is seen: each part gives 8 ± 12 K at the first load's power, and the start is known to 1.5 K."""
NOISE_K2 = 4.0
"""Neighbouring seconds are not independent: 2 K each."""
STEP_SHARE, LOOK_SHARE = 0.15, 0.04
"""A power that moves by this share begins a new answer; looks at it are spaced by this share of its age."""
LEAST_RISE_K, LEAST_STEP_W, WARM_ROOM_C, SPREAD_S = 8.0, 4.0, 35.0, 60.0
"""Where no load start was seen: the rise so far over the power so far if these are passed, else the rise over a warm
room; growing with the root of time until heat has spread through the foot of a heatsink after about a minute."""
FREE_HOTTER_S = 3.0
"""It ran free at a temperature if it did for this long."""
SAME_ONSET_K = 1.5
"""Onsets at the same temperature: one sensor step and half."""


class ThermalAnswer:
    """T = start + offset + Σ share · state; each state follows relative power with its time constant.

    Recursive least squares over six unknowns. Looks are spaced by the age of the last step of power: it costs next to
    nothing, and long plateaus do not drown the steps.
    """

    __slots__ = (
        "_cov", "_last_s", "_look_s", "_power_w", "_reference_w", "_start_c", "_start_w", "_step_s", "_steps",
        "_steps_for_s", "shares", "states",
    )  # fmt: skip

    def __init__(self) -> None:
        """Start with what is common to all machines."""
        count = len(TAUS_S)
        self.states = [0.0] * count
        self.shares = [SHARE_K] * count + [0.0]
        first = [SHARE_DOUBT_K**2] * count + [START_DOUBT_K**2]
        self._cov = [[first[i] if i == j else 0.0 for j in range(count + 1)] for i in range(count + 1)]
        self._last_s = self._look_s = self._step_s = 0.0
        self._start_c = self._start_w = self._power_w = 0.0
        self._reference_w = 0.0
        self._steps_for_s = 0.0
        self._steps = [0.0] * count

    @property
    def is_known(self) -> bool:
        """True once a load was seen to start."""
        return self._reference_w > 0.0

    def feed(self, t_s: float, power_w: float, temp_c: float, *, is_loaded: bool) -> None:
        """Take a second's mean of power and temperature, limited or not."""
        if not self.is_known:
            if not is_loaded or self._start_w == 0.0:
                share = 1.0 if self._start_w == 0.0 else 0.2
                self._start_w += share * (power_w - self._start_w)
                self._start_c += share * (temp_c - self._start_c)
                self._last_s = t_s
                return
            self._reference_w = max(power_w - self._start_w, 0.3 * power_w)
            self._power_w, self._step_s = power_w, t_s
        dt_s, self._last_s = min(t_s - self._last_s, 30.0), t_s
        relative = (power_w - self._start_w) / self._reference_w
        if dt_s != self._steps_for_s:
            self._steps_for_s, self._steps = dt_s, [1.0 - exp(-dt_s / tau_s) for tau_s in TAUS_S]
        self.states = [state + step * (relative - state) for state, step in zip(self.states, self._steps, strict=True)]
        if abs(power_w - self._power_w) > STEP_SHARE * self._reference_w:
            self._power_w, self._step_s = power_w, t_s
        if t_s >= self._look_s:
            self._look_s = t_s + max(1.0, LOOK_SHARE * (t_s - self._step_s)) - 0.05
            self._learn(temp_c - self._start_c)

    def _learn(self, rise_k: float) -> None:
        row = [*self.states, 1.0]
        gain = [_dot(line, row) for line in self._cov]
        scale = NOISE_K2 + _dot(gain, row)
        wrong = (rise_k - _dot(self.shares, row)) / scale
        self.shares = [share + wrong * one for share, one in zip(self.shares, gain, strict=True)]
        self._cov = [
            [value - mine * other / scale for value, other in zip(line, gain, strict=True)]
            for line, mine in zip(self._cov, gain, strict=True)
        ]

    def move(self, states: list[float], power_w: float, age_s: float) -> tuple[float, float]:
        """Kelvin, and their variance, by which it would move in ``age_s`` from ``states`` on at a constant power."""
        relative = (power_w - self._start_w) / self._reference_w
        return self._answer([relative - state for state in states], age_s)

    def dip(self, power_w: float, age_s: float) -> tuple[float, float]:
        """Kelvin, and their variance, by which a step of so many watts moves it within ``age_s``."""
        return self._answer([power_w / self._reference_w] * len(TAUS_S), age_s)

    def _answer(self, pulls: list[float], age_s: float) -> tuple[float, float]:
        row = [pull * (1.0 - exp(-age_s / tau_s)) for pull, tau_s in zip(pulls, TAUS_S, strict=True)]
        row.append(0.0)
        variance = sum([one * _dot(line, row) for one, line in zip(row, self._cov, strict=True) if one])
        return _dot(self.shares, row), max(variance, 0.0)


def _dot(one: list[float], other: list[float]) -> float:
    return float(sum(map(mul, one, other)))


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
        self._states: deque[tuple[float, list[float]]] = deque(maxlen=16)
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

    def states_at(self, t_s: float) -> list[float]:
        """States of the thermal answer just before the second in which ``t_s`` lies."""
        return next((states for then, states in reversed(self._states) if then <= t_s + 0.5), self.answer.states)

    def moved_by(self, power_w: float, after_s: float, temp_c: float, power_before_w: float) -> float:
        """Kelvin by which a step of that power would have moved the temperature within that time, cautiously."""
        if self.answer.is_known:
            mean, variance = self.answer.dip(power_w, after_s)
            return max(mean - 0.5 * sqrt(variance), 0.0)
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
