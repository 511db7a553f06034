"""The script of one run: a machine, its cooler, its load, what limits it and how it is read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from tests.benchmarks.second_bench.dice import Dice
from tests.benchmarks.second_bench.limiters import Limiter
from tests.benchmarks.second_bench.machine import Cooler, Machine, cooler_that_settles

PERIODS_S = (0.2, 0.5, 1.0, 1.0, 1.0, 2.0)
"""Sampling periods; one second is the commonest."""


class LoadStep(NamedTuple):
    """From this moment on, so much load."""

    t_s: float
    busy_cores: int
    activity: float = 1.0
    """How heavy the code is: power per clock, 1 = usual."""
    share: float = 1.0
    """Share of its time each busy core works."""
    code_factor: float = 1.0
    """Clock that this code gets, as a share of the usual: lower for wide code."""
    governor_factor: float = 1.0
    """Clock that the governor asks for, as a share of the free clock."""


@dataclass
class Plan:
    """Limiters keep state: a plan is simulated once."""

    machine: Machine
    cooler: Cooler
    load: Sequence[LoadStep]
    limiters: Sequence[Limiter]
    length_s: float
    clock_step_mhz: float
    """The clock moves in steps of this; 0 = in none [MHz]."""
    told_power_w: float
    """Sustained power limit that the machine tells [W]."""
    period_s: float
    sink_factor: Callable[[float, float], float] = lambda t_s, die_c: 1.0
    """(time [s], die [°C]) → how much worse the fan makes the heat sink."""
    warmer_k: Callable[[float], float] = lambda t_s: 0.0
    """Time [s] → how much warmer the room has become [K]."""
    lost_share: float = 0.0
    """Share of readings that fail; 0 = few or none."""
    holes: int = 0
    """Stretches of 4 … 20 s without any sample."""
    clock_noise: float | None = None
    """Relative noise of the clock that is read; None = drawn."""
    idle_unrest: float = 0.0
    """How much an idle machine does on its own, 0 … 1."""
    wander: float = 0.0
    """Relative spread of the clock that the governor asks for."""
    counts_heat: bool = True
    """Whether the kernel counts its heat events at all."""
    tells_work: bool = True
    """Whether work per second stands for the speed: not when the code changes."""


def plan_of(
    dice: Dice,
    machine: Machine,
    cooler: Cooler,
    limiters: Sequence[Limiter],
    *,
    length_s: float = 600.0,
    load: Sequence[LoadStep] | None = None,
    **more: Any,
) -> Plan:
    """A plan with what is not given drawn: all cores from the first minute on, in some runs to just before the end."""
    start_s = dice.between(5, 60)
    end_s = length_s - dice.between(20, 80) if dice.chance(0.3) else None
    clock_step_mhz = float(dice.one_of([0, 25, 100]))
    told_power_w = machine.full_w * dice.between(1.3, 2.2)
    usual: dict[str, Any] = {"told_power_w": told_power_w, "period_s": dice.one_of(PERIODS_S)}
    load = load or load_between(machine.cores, start_s, end_s)
    return Plan(machine, cooler, load, limiters, length_s, clock_step_mhz, **{**usual, **more})


def load_between(busy_cores: int, start_s: float, end_s: float | None = None) -> list[LoadStep]:
    """Idle, so many busy cores from ``start_s`` on, and idle again from ``end_s`` on."""
    load = [LoadStep(0.0, 0), LoadStep(start_s, busy_cores)]
    return load if end_s is None else [*load, LoadStep(end_s, 0)]


def above_limit_c(dice: Dice, machine: Machine, least: float = 0.12, most: float = 0.45) -> float:
    """Where a cooler would settle that is too small: so much of the rise from room to limit beyond the limit [°C]."""
    return machine.room_c + (machine.limit_c - machine.room_c) * (1 + dice.between(least, most))


def below_limit_c(dice: Dice, machine: Machine, least_k: float, most_k: float) -> float:
    """Where a cooler would settle that is large enough [°C]."""
    return machine.limit_c - dice.between(least_k, most_k)


def soon_warm(
    dice: Dice,
    machine: Machine,
    least_k: float,
    most_k: float,
    *,
    activity: float = 1.0,
    power_w: float | None = None,
) -> Cooler:
    """A cooler that settles early and so many kelvins below the limit: the machine is warm when something happens."""
    settled_c = below_limit_c(dice, machine, least_k, most_k)
    sink_s, case_s = dice.between(15, 45), dice.between(50, 110)
    return cooler_that_settles(
        dice, machine, settled_c, activity=activity, power_w=power_w, sink_s=sink_s, case_s=case_s
    )
