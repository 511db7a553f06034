"""Kinds of run in which a temperature is really defended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from benchmon.model.events import Cause
from tests.benchmarks.second_bench.dice import Dice
from tests.benchmarks.second_bench.kind import Draw, Kind, register
from tests.benchmarks.second_bench.limiters import DropThenHold, Glide, Limiter, PowerAverage, Stairs, Timed, TwoPoint
from tests.benchmarks.second_bench.machine import Cooler, Machine, cooler_that_settles, draw_machine
from tests.benchmarks.second_bench.plan import LoadStep, Plan, above_limit_c, below_limit_c, load_between, plan_of

HEAT_KINDS: dict[str, Kind] = {}
heat = partial(register, HEAT_KINDS, Cause.THERMAL)

NEVER_C = -99.0
"""No die gets this cold: a limiter that would let go here stays."""


def _too_small(dice: Dice, least: float = 0.12, most: float = 0.45) -> tuple[Machine, Cooler]:
    machine = draw_machine(dice)
    return machine, cooler_that_settles(dice, machine, above_limit_c(dice, machine, least, most))


def _glide_or_two_point(
    dice: Dice,
    machine: Machine,
    hold_c: float,
    *,
    gain: float = 1.0,
    apart_k: tuple[float, float] = (2, 8),
    ratio: tuple[float, float] = (0.4, 0.75),
) -> Limiter:
    if dice.chance(0.6):
        return Glide(dice, machine, hold_c, gain=gain)
    return TwoPoint(hold_c, hold_c - dice.between(*apart_k), dice.between(*ratio))


@heat()
def latch(dice: Dice) -> Plan:
    """One drop that stays until the end."""
    machine, cooler = _too_small(dice)
    return plan_of(dice, machine, cooler, [TwoPoint(machine.limit_c, NEVER_C, dice.between(0.4, 0.8))])


@heat()
def saw_shallow(dice: Dice) -> Plan:
    """Shallow teeth."""
    machine, cooler = _too_small(dice, 0.1, 0.25)
    back_c = machine.limit_c - dice.between(1.5, 5)
    limiter = TwoPoint(machine.limit_c, back_c, dice.between(0.7, 0.88), least_s=dice.between(0, 3))
    return plan_of(dice, machine, cooler, [limiter])


@heat()
def saw_deep(dice: Dice) -> Plan:
    """Deep, long teeth."""
    machine, cooler = _too_small(dice)
    back_c = machine.limit_c - dice.between(5, 15)
    limiter = TwoPoint(machine.limit_c, back_c, dice.between(0.3, 0.55), least_s=dice.between(0, 10))
    return plan_of(dice, machine, cooler, [limiter])


@heat()
def saw_fast(dice: Dice) -> Plan:
    """Teeth shorter than most sampling periods, on a die that is badly joined to its sink."""
    machine = draw_machine(dice)
    settled_c = above_limit_c(dice, machine)
    cooler = cooler_that_settles(dice, machine, settled_c, die_share=dice.between(0.4, 0.6))
    back_c = machine.limit_c - dice.between(0.5, 2)
    return plan_of(dice, machine, cooler, [TwoPoint(machine.limit_c, back_c, dice.between(0.4, 0.8))])


def _glide(dice: Dice, step_mhz: float) -> Plan:
    machine, cooler = _too_small(dice)
    return plan_of(dice, machine, cooler, [Glide(dice, machine, machine.limit_c, step_mhz=step_mhz)])


@heat()
def glide(dice: Dice) -> Plan:
    """The temperature is held, the clock moves in no steps."""
    return _glide(dice, 0.0)


@heat()
def glide_25(dice: Dice) -> Plan:
    """The same in steps of 25 MHz."""
    return _glide(dice, 25.0)


@heat()
def glide_100(dice: Dice) -> Plan:
    """The same in steps of 100 MHz."""
    return _glide(dice, 100.0)


@heat()
def drop_then_hold(dice: Dice) -> Plan:
    """A hard drop, then a climb back to a temperature that is held."""
    machine, cooler = _too_small(dice)
    hold_c = machine.limit_c - dice.between(0, 5)
    ratio, pause_s = dice.between(0.4, 0.7), dice.between(3, 15)
    limiter = DropThenHold(dice, machine, machine.limit_c, hold_c, ratio, pause_s)
    return plan_of(dice, machine, cooler, [limiter])


@heat()
def modulation(dice: Dice) -> Plan:
    """The clock that is read stays; it only runs part of the time."""
    machine, cooler = _too_small(dice)
    back_c = machine.limit_c - dice.between(2, 6)
    limiter = TwoPoint(machine.limit_c, back_c, dice.one_of([0.25, 0.5, 0.625, 0.75]), lets_through=True)
    return plan_of(dice, machine, cooler, [limiter])


@heat()
def two_steps(dice: Dice) -> Plan:
    """A small drop, and a larger one where that was not enough."""
    machine, cooler = _too_small(dice, 0.3, 0.6)
    first = dice.between(0.8, 0.92)
    trips_c = (machine.limit_c - dice.between(2, 5), machine.limit_c)
    limiter = Stairs(trips_c, (first, first * dice.between(0.5, 0.8)))
    return plan_of(dice, machine, cooler, [limiter], length_s=700.0)


@heat(Cause.POWER_LIMIT, power_margin_k=3.0)
def turbo_then_heat(dice: Dice) -> Plan:
    """First the power budget runs out, much later the limited power still is too much for the cooler."""
    machine = draw_machine(dice)
    limit_w = machine.full_w * dice.between(0.65, 0.85)
    settled_c = above_limit_c(dice, machine, 0.06, 0.25)
    cooler = cooler_that_settles(dice, machine, settled_c, power_w=limit_w)
    average = PowerAverage(machine, limit_w, dice.between(8, 28))
    hold = Glide(dice, machine, machine.limit_c)
    return plan_of(dice, machine, cooler, [average, hold], length_s=900.0, told_power_w=limit_w)


@heat()
def no_paste(dice: Dice) -> Plan:
    """Hardly any heat gets from the die into its sink."""
    machine = draw_machine(dice)
    settled_c = machine.room_c + (machine.limit_c - machine.room_c) * dice.between(1.7, 2.6)
    cooler = cooler_that_settles(dice, machine, settled_c, die_share=0.75, die_s=dice.between(1.2, 2.2))
    limiter = _glide_or_two_point(dice, machine, machine.limit_c, gain=2.0, apart_k=(1, 6), ratio=(0.3, 0.6))
    return plan_of(dice, machine, cooler, [limiter])


@heat()
def fan_fails(dice: Dice) -> Plan:
    """All is well until the fan stops."""
    machine = draw_machine(dice)
    cooler = cooler_that_settles(dice, machine, below_limit_c(dice, machine, 12, 25))
    fails_s, worse = dice.between(200, 300), dice.between(2, 3.5)
    limiter = _glide_or_two_point(dice, machine, machine.limit_c)
    return plan_of(
        dice,
        machine,
        cooler,
        [limiter],
        length_s=800.0,
        sink_factor=lambda t_s, die_c: 1 + (worse - 1) * min(1, max(0, (t_s - fails_s) / 8)),
    )


@heat()
def fan_rescues(dice: Dice) -> Plan:
    """Held by heat until somebody turns the fan up."""
    machine, cooler = _too_small(dice, 0.15, 0.35)
    helps_s, better = dice.between(300, 420), dice.between(0.2, 0.4)
    return plan_of(
        dice,
        machine,
        cooler,
        [Glide(dice, machine, machine.limit_c)],
        length_s=800.0,
        sink_factor=lambda t_s, die_c: 1 - (1 - better) * min(1, max(0, (t_s - helps_s) / 20)),
    )


@heat()
def heat_pauses(dice: Dice) -> Plan:
    """The load pauses now and then: each part is an event of its own."""
    machine, cooler = _too_small(dice, 0.25, 0.5)
    load, t_s, length_s = [LoadStep(0.0, 0)], dice.between(10, 40), 850.0
    while t_s < length_s:
        load.append(LoadStep(t_s, machine.cores))
        t_s += dice.between(80, 200)
        load.append(LoadStep(t_s, 0))
        t_s += dice.between(8, 30)
    limiter = _glide_or_two_point(dice, machine, machine.limit_c)
    return plan_of(dice, machine, cooler, [limiter], length_s=length_s, load=load)


@heat()
def one_core(dice: Dice) -> Plan:
    """One busy core of many is too much already."""
    machine = draw_machine(dice)
    machine = replace(machine, cores=max(4, machine.cores))
    cooler = cooler_that_settles(dice, machine, above_limit_c(dice, machine, 0.15, 0.4), busy_cores=1)
    limiter = _glide_or_two_point(dice, machine, machine.limit_c)
    return plan_of(dice, machine, cooler, [limiter], load=load_between(1, 30.0))


def _one_of(dice: Dice, draws: Sequence[Draw]) -> Plan:
    return dice.one_of(draws)(dice)


@heat()
def noisy_clock(dice: Dice) -> Plan:
    """The clock that is read is noisy, and the clock itself wanders."""
    plan = _one_of(dice, [glide, saw_deep, drop_then_hold, saw_shallow])
    plan.clock_noise, plan.wander = 0.03, 0.008
    return plan


@heat()
def slow_sampling(dice: Dice) -> Plan:
    """A sample every five seconds."""
    plan = _one_of(dice, [glide, saw_deep, drop_then_hold, glide_100])
    plan.period_s = 5.0
    return plan


@heat()
def dropouts(dice: Dice) -> Plan:
    """Readings fail, and now and then there are no samples."""
    plan = _one_of(dice, [glide, saw_deep, drop_then_hold, saw_shallow])
    plan.lost_share, plan.holes = dice.between(0.04, 0.12), 4
    return plan


@heat()
def warm_room(dice: Dice) -> Plan:
    """The cooler just suffices, until the room has warmed."""
    machine = draw_machine(dice)
    cooler = cooler_that_settles(dice, machine, machine.limit_c + dice.between(-3, -0.5))
    rise_k = dice.between(6, 12)
    limiter = Glide(dice, machine, machine.limit_c)
    return plan_of(
        dice,
        machine,
        cooler,
        [limiter],
        length_s=1800.0,
        warmer_k=lambda t_s: rise_k * min(1, max(0, (t_s - 300) / 900)),
        period_s=dice.one_of([1.0, 2.0]),
    )


@heat()
def acts_early(dice: Dice) -> Plan:
    """It limits itself some kelvins below what it tells; half of these machines do not count it either."""
    machine = draw_machine(dice)
    hold_c = machine.limit_c - dice.between(3, 8)
    settled_c = machine.room_c + (hold_c - machine.room_c) * (1 + dice.between(0.12, 0.4))
    cooler = cooler_that_settles(dice, machine, settled_c)
    limiter = _glide_or_two_point(dice, machine, hold_c)
    return plan_of(dice, machine, cooler, [limiter], counts_heat=not dice.chance(0.5))


@heat()
def heat_load_steps(dice: Dice) -> Plan:
    """The temperature is held while the code changes between heavier and lighter."""
    machine, cooler = _too_small(dice, 0.35, 0.6)
    load, t_s = [LoadStep(0.0, 0)], 30.0
    while t_s < 600:
        load.append(LoadStep(t_s, machine.cores, activity=dice.between(0.8, 1)))
        t_s += dice.between(60, 150)
    return plan_of(dice, machine, cooler, [Glide(dice, machine, machine.limit_c)], load=load, tells_work=False)


@heat(Cause.OUTSIDE)
def outside_while_throttled(dice: Dice) -> Plan:
    """A machine that is held by heat is clamped by a signal from outside for a while."""
    machine, cooler = _too_small(dice, 0.2, 0.45)
    start_s = dice.between(300, 380)
    hold = Glide(dice, machine, machine.limit_c)
    clamp = Timed([(start_s, start_s + dice.between(40, 90), machine.floor_mhz)])
    return plan_of(dice, machine, cooler, [hold, clamp], length_s=700.0, load=load_between(machine.cores, 20.0))
