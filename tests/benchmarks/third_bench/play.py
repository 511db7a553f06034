"""Plays a script: what really was, step by step."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from benchmon.model.events import Cause
from tests.benchmarks.third_bench.limits import STEP_S, Now
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.script import Ask, Script
from tests.benchmarks.true_spans import LEAST_LOST

WORK_PER_GHZ_S = 7.0
"""Units of work that one core finishes in a second at 1 GHz."""
WANDER_S = 4.0


@dataclass
class Played:
    """One value for each step of :data:`STEP_S`."""

    steps: int
    die_c: NDArray[np.float64] = field(init=False)
    power_w: NDArray[np.float64] = field(init=False)
    clock_mhz: NDArray[np.float64] = field(init=False)
    load_pct: NDArray[np.float64] = field(init=False)
    work_rate: NDArray[np.float64] = field(init=False)
    let_run_pct: NDArray[np.float64] = field(init=False)
    """Share of their time that the counted workers were let run [%]."""
    got_share: NDArray[np.float64] = field(init=False)
    """Clock × duty against what would be given."""
    is_loaded: NDArray[np.bool_] = field(init=False)
    held_by: list[Cause | None] = field(init=False)

    def __post_init__(self) -> None:
        for name in ("die_c", "power_w", "clock_mhz", "load_pct", "work_rate", "let_run_pct", "got_share"):
            setattr(self, name, np.zeros(self.steps))
        self.is_loaded = np.zeros(self.steps, bool)
        self.held_by = [None] * self.steps


class _Wish:
    """The clock that is given and the work that is there, with all unrest."""

    def __init__(self, script: Script, luck: Luck) -> None:
        self._script, self._luck = script, luck
        self._left = list(script.asks)
        self.ask = Ask(0.0, 0)
        self.given_mhz, self.working = 0.0, 0.0
        self._wander, self._idle_burst, self._clock = 0.0, 0.0, 1.0

    def step(self, number: int) -> None:
        t_s, silicon, luck = number * STEP_S, self._script.silicon, self._luck
        while self._left and self._left[0].t_s <= t_s:
            self.ask = self._left.pop(0)
        ask = self.ask
        if self._script.wander:
            kick = luck.normal(0.0, self._script.wander) * (2.0 * STEP_S / WANDER_S) ** 0.5
            self._wander += -self._wander * STEP_S / WANDER_S + kick
        self._clock += (ask.clock - self._clock) * 0.3
        given_mhz = silicon.given_mhz(ask.busy) * min(1.0, self._clock + self._wander)
        self.given_mhz = max(silicon.lowest_mhz, given_mhz)
        if ask.busy:
            self.working = ask.busy * ask.busy_share
        else:
            if number % 15 == 0:
                self._idle_burst = self._script.idle_unrest * luck.even(0.0, 1.0) ** 4
            self.working = silicon.cores * (0.004 + 0.25 * self._idle_burst)


def play(script: Script, luck: Luck) -> Played:
    """The whole run, from a machine as cold as its room."""
    silicon, wish = script.silicon, _Wish(script, luck)
    played = Played(int(script.length_s / STEP_S))
    quiet_w = silicon.draws_w(silicon.rest_mhz, 0.0, 1.0, script.room_c)
    temps_c = script.metal.settles_c(quiet_w, script.room_c, script.fan.lowest)
    now = Now(silicon, die_c=temps_c[0], power_w=quiet_w)
    air = script.fan.lowest
    for number in range(played.steps):
        wish.step(number)
        ask = wish.ask
        now.t_s, now.given_mhz, now.weight = number * STEP_S, wish.given_mhz, ask.weight
        now.working, now.is_busy = wish.working, ask.busy > 0
        mhz, duty, cause = _held(script, now)
        still_w = silicon.draws_w(mhz, wish.working, ask.weight, now.die_c)
        gated_w = silicon.draws_w(mhz, 0.0, ask.weight, now.die_c) if duty < 1.0 else still_w
        now.power_w = duty * still_w + (1.0 - duty) * gated_w
        air += (script.fan.wants(now.t_s, now.die_c) - air) * STEP_S / script.fan.lag_s
        script.metal.step(temps_c, now.power_w, script.room_c, air, STEP_S)
        now.die_c = temps_c[0]
        let_run = 1.0 - ask.others
        played.die_c[number], played.power_w[number], played.clock_mhz[number] = now.die_c, now.power_w, mhz
        seen = wish.working if script.eyes.sees_others else wish.working * let_run
        played.load_pct[number] = min(100.0, 100.0 * seen / silicon.cores)
        work = mhz * duty * wish.working * let_run * WORK_PER_GHZ_S / 1000.0
        played.work_rate[number] = work if now.is_busy else 0.0
        played.let_run_pct[number] = 100.0 * let_run * ask.busy_share if now.is_busy else 0.0
        played.got_share[number] = mhz * duty / wish.given_mhz
        played.is_loaded[number] = now.is_busy
        if now.is_busy and cause is not None and mhz * duty < (1.0 - LEAST_LOST) * wish.given_mhz:
            played.held_by[number] = cause
    return played


def _held(script: Script, now: Now) -> tuple[float, float, Cause | None]:
    """Clock [MHz], share of time in which it runs, and what holds them lowest."""
    lowest, cause, mhz, duty = now.given_mhz, None, now.given_mhz, 1.0
    for limit in script.limits:
        limit.look(now)
        held_mhz = min(now.given_mhz, limit.ceiling_mhz)
        if held_mhz * limit.duty < lowest:
            lowest, cause, mhz, duty = held_mhz * limit.duty, limit.cause, held_mhz, limit.duty
    return (now.silicon.state_below(mhz) if cause is not None and duty == 1.0 else mhz), duty, cause
