"""Kinds of run in which nothing limits, though it may look so."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from tests.benchmarks.second_bench.dice import Dice
from tests.benchmarks.second_bench.kind import Kind, register
from tests.benchmarks.second_bench.limiters import STEP_S
from tests.benchmarks.second_bench.machine import Machine, cooler_that_settles, draw_machine
from tests.benchmarks.second_bench.plan import (
    LoadStep,
    Plan,
    above_limit_c,
    below_limit_c,
    load_between,
    plan_of,
    soon_warm,
)

FREE_KINDS: dict[str, Kind] = {}
free = partial(register, FREE_KINDS)


def _many_cores(dice: Dice) -> Machine:
    machine = draw_machine(dice)
    return replace(machine, cores=max(4, machine.cores))


def _steps(
    dice: Dice, step_at: Callable[[float], LoadStep], least_s: float = 40.0, most_s: float = 120.0
) -> list[LoadStep]:
    """Idle, then one step of load after another for ten minutes."""
    load, t_s = [LoadStep(0.0, 0)], dice.between(10, 40)
    while t_s < 600:
        load.append(step_at(t_s))
        t_s += dice.between(least_s, most_s)
    return load


@free()
def load_ends(dice: Dice) -> Plan:
    """The load just ends."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 1, 25)
    load = load_between(machine.cores, dice.between(10, 60), dice.between(200, 450))
    return plan_of(dice, machine, cooler, [], load=load)


@free()
def load_steps(dice: Dice) -> Plan:
    """More and fewer busy cores."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 1, 20)
    load = _steps(dice, lambda t_s: LoadStep(t_s, int(dice.rng.integers(1, machine.cores + 1))))
    return plan_of(dice, machine, cooler, [], load=load)


@free()
def load_pauses(dice: Dice) -> Plan:
    """All cores, nothing, all cores …"""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 1, 20)
    load = _steps(dice, lambda t_s: LoadStep(t_s, machine.cores), 8, 70)
    load[2::2] = [LoadStep(step.t_s, 0) for step in load[2::2]]
    return plan_of(dice, machine, cooler, [], load=load)


@free()
def light_code(dice: Dice) -> Plan:
    """Code of different weight: power changes, the clock does not."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 0.5, 20)
    load = _steps(dice, lambda t_s: LoadStep(t_s, machine.cores, activity=dice.between(0.5, 1)), 80, 200)
    return plan_of(dice, machine, cooler, [], load=load, tells_work=False)


@free()
def wide_code(dice: Dice) -> Plan:
    """Wide code: more power at a lower clock."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 1, 15, activity=1.3)
    factor = dice.between(0.8, 0.95)
    load = _steps(dice, lambda t_s: LoadStep(t_s, machine.cores), 80, 200)
    load[2::2] = [step._replace(activity=1.5, code_factor=factor) for step in load[2::2]]
    return plan_of(dice, machine, cooler, [], load=load, tells_work=False)


@free()
def fewer_cores(dice: Dice) -> Plan:
    """Some cores have nothing to do for a while."""
    machine = _many_cores(dice)
    cooler = soon_warm(dice, machine, 1, 20)
    start_s = dice.between(150, 300)
    busy = max(1, int(machine.cores * dice.between(0.2, 0.75)))
    load = [*load_between(machine.cores, 20.0), LoadStep(start_s, busy), LoadStep(start_s + 150, machine.cores)]
    return plan_of(dice, machine, cooler, [], load=load)


@free()
def more_cores(dice: Dice) -> Plan:
    """One core, then all: each has a lower clock then."""
    machine = _many_cores(dice)
    machine = replace(machine, one_core_mhz=machine.all_cores_mhz * dice.between(1.1, 1.3))
    cooler = soon_warm(dice, machine, 1, 20)
    load = [*load_between(1, 20.0), LoadStep(dice.between(150, 300), machine.cores)]
    return plan_of(dice, machine, cooler, [], load=load)


@free()
def governor_eases(dice: Dice) -> Plan:
    """Less is asked for, and the governor lowers the clock."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 1, 25)
    start_s, share = dice.between(150, 300), dice.between(0.4, 0.8)
    eased = LoadStep(start_s, machine.cores, share=share, governor_factor=min(1.0, share + 0.15))
    return plan_of(dice, machine, cooler, [], load=[*load_between(machine.cores, 20.0), eased])


@free()
def on_demand(dice: Dice) -> Plan:
    """Light work that comes and goes, and a clock that follows it."""
    machine = draw_machine(dice)
    cooler = cooler_that_settles(dice, machine, below_limit_c(dice, machine, 5, 30))

    def some(t_s: float) -> LoadStep:
        share = dice.between(0.15, 0.7)
        return LoadStep(t_s, machine.cores, share=share, governor_factor=min(1.0, share + 0.25))

    return plan_of(dice, machine, cooler, [], load=_steps(dice, some, 5, 40), wander=0.05)


@free()
def fan_ramps(dice: Dice) -> Plan:
    """The fan goes up and down."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 2, 10)
    period_s, depth = dice.between(40, 120), dice.between(0.3, 0.6)
    return plan_of(
        dice,
        machine,
        cooler,
        [],
        sink_factor=lambda t_s, die_c: 1 - depth * (0.5 + 0.5 * math.sin(6.283 * t_s / period_s)),
    )


class HoldingFan:
    """A fan that holds a temperature by proportional-integral control of its speed."""

    def __init__(self, hold_c: float) -> None:
        self._hold_c, self._slow = hold_c, 1.0

    def __call__(self, t_s: float, die_c: float) -> float:
        above_k = die_c - self._hold_c
        self._slow = min(1.0, max(0.12, self._slow - 0.01 * above_k * STEP_S))
        return max(0.12, self._slow - 0.03 * above_k)


@free()
def fan_holds(dice: Dice) -> Plan:
    """The fan, not the clock, holds a temperature just under the limit."""
    machine = draw_machine(dice)
    cooler = cooler_that_settles(dice, machine, above_limit_c(dice, machine, 0.2, 0.5))
    return plan_of(dice, machine, cooler, [], sink_factor=HoldingFan(machine.limit_c - dice.between(2, 6)))


def _idle(dice: Dice, unrest: float) -> Plan:
    machine = draw_machine(dice)
    cooler = cooler_that_settles(dice, machine, below_limit_c(dice, machine, 5, 30))
    return plan_of(dice, machine, cooler, [], load=[LoadStep(0.0, 0)], idle_unrest=unrest)


@free()
def idle(dice: Dice) -> Plan:
    """Nothing happens."""
    return _idle(dice, 0.0)


@free()
def noisy_idle(dice: Dice) -> Plan:
    """Nothing is asked for, but the machine is busy with itself now and then."""
    return _idle(dice, 1.0)


@free()
def settles_under(dice: Dice) -> Plan:
    """It settles a kelvin or two under its limit."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 0.3, 2.5)
    return plan_of(dice, machine, cooler, [], length_s=900.0, wander=dice.between(0, 0.006))
