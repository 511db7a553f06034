"""What holds a clock down: each limiter by itself, with the cause that is true of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple, Protocol

from benchmon.model.events import Cause
from tests.benchmarks.second_bench.dice import Dice
from tests.benchmarks.second_bench.machine import Machine

STEP_S = 0.1
"""Step of the whole simulation [s]."""


class Moment(NamedTuple):
    """What a limiter can see."""

    t_s: float
    die_c: float
    case_c: float
    power_w: float
    free_mhz: float
    """Clock with nothing in the way [MHz]."""


class Allowed(NamedTuple):
    """What a limiter lets through."""

    cap_mhz: float
    share: float = 1.0
    """Share of time in which the clock runs at all."""


EVERYTHING = Allowed(math.inf)


class Limiter(Protocol):
    """Asked once a step."""

    cause: Cause
    heat_count: int
    """Heat events as a kernel would count them."""

    def step(self, now: Moment) -> Allowed: ...


class Glide:
    """Proportional-integral control of the clock: the temperature is held, the clock glides."""

    cause = Cause.THERMAL

    def __init__(
        self, dice: Dice, machine: Machine, hold_c: float, *, step_mhz: float | None = None, gain: float = 1.0
    ) -> None:
        self._floor_mhz, self._hold_c = machine.floor_mhz, hold_c
        self._per_k = dice.between(0.005, 0.015) * gain
        self._per_k_s = dice.between(0.001, 0.006) * gain
        self._every = dice.one_of([1, 2, 5, 10])
        self._temp_step_k = dice.one_of([0.125, 0.5, 1.0])
        self._step_mhz = float(dice.one_of([0, 25, 100])) if step_mhz is None else step_mhz
        self.clock_share = 1.0
        self.heat_count = 0
        self._last_c: float | None = None
        self._calls, self._counted_s = 0, -math.inf

    def step(self, now: Moment) -> Allowed:
        self._calls += 1
        if self._calls % self._every == 0:
            self._control(now)
        cap_mhz = self.clock_share * now.free_mhz
        if self._step_mhz and self.clock_share < 1:
            cap_mhz = max(self._floor_mhz, math.floor(cap_mhz / self._step_mhz) * self._step_mhz)
        return Allowed(cap_mhz)

    def _control(self, now: Moment) -> None:
        seen_c = math.floor(now.die_c / self._temp_step_k) * self._temp_step_k
        above_k = seen_c - self._hold_c
        rise_k = 0.0 if self._last_c is None else seen_c - self._last_c
        if self.clock_share < 1 or above_k > 0:
            share = self.clock_share - (self._per_k * rise_k + self._per_k_s * above_k * self._every * STEP_S)
            self.clock_share = min(1.0, max(self._floor_mhz / now.free_mhz, share))
        reached = above_k >= 0 and (self._last_c is None or self._last_c < self._hold_c)
        if reached and now.t_s - self._counted_s > 1:
            self.heat_count += 1
            self._counted_s = now.t_s
        self._last_c = seen_c


class TwoPoint:
    """Down at one temperature, back at a lower one; back far below any room = it never comes back."""

    cause = Cause.THERMAL

    def __init__(
        self, trip_c: float, back_c: float, ratio: float, *, lets_through: bool = False, least_s: float = 0.0
    ) -> None:
        """Limit to ``ratio``; ``lets_through``: of the time at full clock; ``least_s``: shortest time down."""
        self._trip_c, self._back_c, self._ratio = trip_c, back_c, ratio
        self._lets_through, self._least_s = lets_through, least_s
        self._down = False
        self._since_s, self._cap_mhz = 0.0, math.inf
        self.heat_count = 0

    def step(self, now: Moment) -> Allowed:
        if not self._down and now.die_c >= self._trip_c:
            self._down = True
            self._since_s, self._cap_mhz = now.t_s, now.free_mhz * self._ratio
            self.heat_count += 1
        elif self._down and now.die_c < self._back_c and now.t_s - self._since_s >= self._least_s:
            self._down = False
        if not self._down:
            return EVERYTHING
        return Allowed(math.inf, self._ratio) if self._lets_through else Allowed(self._cap_mhz)


class DropThenHold:
    """A hard drop at the trip for a while, then a climb back that holds a temperature at or under the trip."""

    cause = Cause.THERMAL

    def __init__(
        self, dice: Dice, machine: Machine, trip_c: float, hold_c: float, ratio: float, pause_s: float
    ) -> None:
        self._trip_c, self._ratio, self._pause_s = trip_c, ratio, pause_s
        self._hold = Glide(dice, machine, hold_c)
        self._dropped_s: float | None = None
        self.heat_count = 0

    def step(self, now: Moment) -> Allowed:
        if self._dropped_s is None:
            if now.die_c < self._trip_c:
                return EVERYTHING
            self._dropped_s = now.t_s
            self.heat_count += 1
        if now.t_s - self._dropped_s < self._pause_s:
            self._hold.clock_share = self._ratio
            return Allowed(now.free_mhz * self._ratio)
        return self._hold.step(now)


class Stairs:
    """Down one step at one temperature and another at a higher one, and never back."""

    cause = Cause.THERMAL
    _BETWEEN_S = 8.0

    def __init__(self, trips_c: Sequence[float], ratios: Sequence[float]) -> None:
        self._trips_c, self._ratios = trips_c, ratios
        self._taken, self._since_s = 0, 0.0
        self.heat_count = 0

    def step(self, now: Moment) -> Allowed:
        more = self._taken < len(self._trips_c) and now.t_s - self._since_s > self._BETWEEN_S
        if more and now.die_c >= self._trips_c[self._taken]:
            self._taken += 1
            self._since_s = now.t_s
            self.heat_count += 1
        return Allowed(now.free_mhz * self._ratios[self._taken - 1]) if self._taken else EVERYTHING


class PowerAverage:
    """A sustained power limit on a running average: more is allowed until the average has come up to it."""

    cause = Cause.POWER_LIMIT
    heat_count = 0

    def __init__(self, machine: Machine, limit_w: float, window_s: float) -> None:
        self._limit_w, self._window_s = limit_w, window_s
        self._floor_mhz, self._most_mhz = machine.floor_mhz, machine.one_core_mhz * 1.2
        self._average_w, self._cap_mhz = machine.idle_w, machine.one_core_mhz

    def step(self, now: Moment) -> Allowed:
        self._average_w += (now.power_w - self._average_w) * STEP_S / self._window_s
        allowed_w = self._limit_w + 12 * (self._limit_w - self._average_w)
        move = max(-1.0, min(1.0, (allowed_w - now.power_w) / max(now.power_w, 1.0)))
        self._cap_mhz = min(self._most_mhz, max(self._floor_mhz, self._cap_mhz * (1 + 0.2 * move)))
        return Allowed(self._cap_mhz)


class Timed:
    """A cap from outside, at set times: (from [s], to [s], cap [MHz])."""

    cause = Cause.OUTSIDE
    heat_count = 0

    def __init__(self, caps: Sequence[tuple[float, float, float]]) -> None:
        self._caps = caps

    def step(self, now: Moment) -> Allowed:
        for start_s, end_s, cap_mhz in self._caps:
            if start_s <= now.t_s < end_s:
                return Allowed(cap_mhz)
        return EVERYTHING


class CaseBudget:
    """The clock is lowered slowly while the case is too warm to touch; the die cools meanwhile."""

    cause = Cause.UNEXPLAINED
    heat_count = 0

    def __init__(self, case_limit_c: float, share_per_s: float) -> None:
        self._case_limit_c, self._share_per_s, self._share = case_limit_c, share_per_s, 1.0

    def step(self, now: Moment) -> Allowed:
        above = max(-1.0, min(1.0, now.case_c - self._case_limit_c))
        self._share = min(1.0, max(0.4, self._share - self._share_per_s * STEP_S * above))
        return Allowed(self._share * now.free_mhz)
