"""Runs a plan in steps of a tenth of a second: what really was, before anybody reads it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from benchmon.model.events import Cause
from tests.benchmarks.second_bench.limiters import EVERYTHING, STEP_S, Moment
from tests.benchmarks.second_bench.machine import Temps
from tests.benchmarks.second_bench.plan import LoadStep, Plan
from tests.benchmarks.true_spans import LEAST_LOST

GOVERNOR_S = 2.0
"""Time constant with which a governor follows the load [s]."""
WANDER_S = 3.0
"""How long a wandering clock remembers where it was [s]."""
WORK_PER_S = 50.0
"""Work of all cores at full clock [1/s]."""


@dataclass
class Course:
    """What really was, one value a step."""

    steps: int
    die_c: NDArray[np.float64] = field(init=False)
    power_w: NDArray[np.float64] = field(init=False)
    clock_mhz: NDArray[np.float64] = field(init=False)
    """Clock while it runs."""
    got_share: NDArray[np.float64] = field(init=False)
    """Effective clock as a share of the free clock."""
    load_pct: NDArray[np.float64] = field(init=False)
    work_rate: NDArray[np.float64] = field(init=False)
    heat_count: NDArray[np.float64] = field(init=False)
    is_loaded: NDArray[np.bool_] = field(init=False)
    held_by: list[Cause | None] = field(init=False)
    """The limiter that holds the clock lowest, where it is limited at all."""

    def __post_init__(self) -> None:
        for name in ("die_c", "power_w", "clock_mhz", "got_share", "load_pct", "work_rate", "heat_count"):
            setattr(self, name, np.zeros(self.steps))
        self.is_loaded = np.zeros(self.steps, bool)
        self.held_by = [None] * self.steps


class _Demand:
    """What is asked of the machine at each step."""

    def __init__(self, plan: Plan, kicks: NDArray[np.float64]) -> None:
        self._plan, self._kicks = plan, kicks
        self._next = 0
        self._governor, self._wander = 1.0, 0.0
        self.load = LoadStep(0.0, 0)
        self.free_mhz = plan.machine.floor_mhz
        """Clock with nothing in the way [MHz]."""
        self.working_cores = 0.0
        """Busy cores × the share of time in which they work."""

    def step(self, number: int, t_s: float) -> None:
        plan, machine = self._plan, self._plan.machine
        while self._next < len(plan.load) and plan.load[self._next].t_s <= t_s:
            self.load = plan.load[self._next]
            self._next += 1
        load, unrest = self.load, plan.idle_unrest
        self._governor += (load.governor_factor - self._governor) * STEP_S / GOVERNOR_S
        kick = plan.wander * self._kicks[number] * math.sqrt(2 * STEP_S / WANDER_S)
        self._wander += -self._wander * STEP_S / WANDER_S + kick
        if load.busy_cores > 0:
            asked = min(1.0, self._governor + self._wander)
            self.free_mhz = max(machine.floor_mhz, machine.free_mhz(load.busy_cores) * load.code_factor * asked)
            self.working_cores = load.busy_cores * load.share
        else:
            # Each burst of an idle machine lasts about a second.
            self.free_mhz = machine.one_core_mhz * abs(0.3 * unrest * self._kicks[number // 7 * 7]) + machine.floor_mhz
            burst = unrest * abs(self._kicks[number // 13 * 13]) * 0.05
            self.working_cores = 0.01 * machine.cores + burst * machine.cores


def simulate(plan: Plan, rng: np.random.Generator) -> Course:
    """The course of a plan, from a machine that is as cold as its room."""
    machine = plan.machine
    course = Course(int(plan.length_s / STEP_S))
    demand = _Demand(plan, rng.standard_normal(course.steps))
    room_c = machine.room_c + plan.warmer_k(0.0)
    temps, power_w = Temps(room_c + 2.0, room_c, room_c), machine.idle_w
    for number in range(course.steps):
        t_s = number * STEP_S
        demand.step(number, t_s)
        load, free_mhz, is_loaded = demand.load, demand.free_mhz, demand.load.busy_cores > 0
        cause, clock_mhz, share = _limited(plan, Moment(t_s, temps.die_c, temps.case_c, power_w, free_mhz))
        switching_w = machine.switching_w(clock_mhz, demand.working_cores, load.activity)
        power_w = machine.idle_w + machine.leakage_w(temps.die_c) + switching_w * share
        sink_factor = plan.sink_factor(t_s, temps.die_c)
        temps = plan.cooler.step(temps, power_w, machine.room_c + plan.warmer_k(t_s), sink_factor, STEP_S)
        effective_mhz = clock_mhz * share
        work = effective_mhz * demand.working_cores / (machine.all_cores_mhz * machine.cores) * WORK_PER_S
        course.die_c[number], course.power_w[number] = temps.die_c, power_w
        course.clock_mhz[number], course.got_share[number] = clock_mhz, effective_mhz / free_mhz
        course.load_pct[number] = min(100.0, 100.0 * demand.working_cores / machine.cores)
        course.work_rate[number] = work if is_loaded else 0.0
        course.heat_count[number] = sum(limiter.heat_count for limiter in plan.limiters) if plan.counts_heat else 0
        course.is_loaded[number] = is_loaded
        if is_loaded and effective_mhz < (1.0 - LEAST_LOST) * free_mhz:
            course.held_by[number] = cause
    return course


def _limited(plan: Plan, now: Moment) -> tuple[Cause | None, float, float]:
    """The limiter that holds the effective clock lowest, the clock [MHz] and the share of time in which it runs."""
    cause, lowest_mhz, clock_mhz, share = None, now.free_mhz, now.free_mhz, EVERYTHING.share
    for limiter in plan.limiters:
        allowed = limiter.step(now)
        effective_mhz = min(now.free_mhz, allowed.cap_mhz) * allowed.share
        if effective_mhz < lowest_mhz:
            cause, lowest_mhz = limiter.cause, effective_mhz
            clock_mhz, share = min(now.free_mhz, allowed.cap_mhz), allowed.share
    step_mhz = plan.clock_step_mhz
    if step_mhz and clock_mhz > plan.machine.floor_mhz:
        # A limit is kept to from below; a free clock is the nearest step.
        steps = math.floor(clock_mhz / step_mhz + 1e-6) if cause else round(clock_mhz / step_mhz)
        clock_mhz = steps * step_mhz
    return cause, clock_mhz, share
