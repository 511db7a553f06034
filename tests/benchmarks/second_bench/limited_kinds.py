"""Kinds of run in which something other than heat limits."""

from __future__ import annotations

from functools import partial

from benchmon.model.events import Cause
from tests.benchmarks.second_bench.dice import Dice
from tests.benchmarks.second_bench.kind import Kind, register
from tests.benchmarks.second_bench.limiters import CaseBudget, Glide, Limiter, PowerAverage, Timed
from tests.benchmarks.second_bench.machine import Cooler, Machine, cooler_that_settles, draw_machine
from tests.benchmarks.second_bench.plan import LoadStep, Plan, below_limit_c, plan_of, soon_warm

LIMITED_KINDS: dict[str, Kind] = {}
power = partial(register, LIMITED_KINDS, Cause.POWER_LIMIT)
outside = partial(register, LIMITED_KINDS, Cause.OUTSIDE)

FAR_K = 15.0


def _limited_power(dice: Dice, least: float, most: float) -> tuple[Machine, float]:
    machine = draw_machine(dice)
    return machine, machine.full_w * dice.between(least, most)


def _power_and_trip(dice: Dice, machine: Machine, limit_w: float, windows_s: tuple[float, float]) -> list[Limiter]:
    """A power limit, and a heat limiter so far above the told limit that it never acts: nothing may run away."""
    average = PowerAverage(machine, limit_w, dice.between(*windows_s))
    return [average, Glide(dice, machine, machine.limit_c + FAR_K)]


def _cool_enough(dice: Dice, machine: Machine, least_k: float, most_k: float, limit_w: float | None = None) -> Cooler:
    return cooler_that_settles(dice, machine, below_limit_c(dice, machine, least_k, most_k), power_w=limit_w)


@power(hottest_k=-3.0)
def turbo(dice: Dice) -> Plan:
    """The budget of power runs out."""
    machine, limit_w = _limited_power(dice, 0.45, 0.85)
    cooler = _cool_enough(dice, machine, 8, 30, limit_w)
    limiters = _power_and_trip(dice, machine, limit_w, (8, 56))
    return plan_of(dice, machine, cooler, limiters, told_power_w=limit_w)


@power(hottest_k=-3.0)
def turbo_repeat(dice: Dice) -> Plan:
    """It runs out again after every pause."""
    machine, limit_w = _limited_power(dice, 0.5, 0.8)
    cooler = _cool_enough(dice, machine, 8, 25, limit_w)
    load, t_s, length_s = [LoadStep(0.0, 0)], 20.0, 700.0
    while t_s < length_s:
        load.append(LoadStep(t_s, machine.cores))
        t_s += dice.between(60, 130)
        load.append(LoadStep(t_s, 0))
        t_s += dice.between(10, 60)
    limiters = _power_and_trip(dice, machine, limit_w, (8, 28))
    return plan_of(dice, machine, cooler, limiters, length_s=length_s, load=load, told_power_w=limit_w)


@power(hottest_k=-1.0)
def power_near_trip(dice: Dice) -> Plan:
    """Power limits while the temperature is a few kelvins below its limit."""
    machine, limit_w = _limited_power(dice, 0.6, 0.85)
    cooler = soon_warm(dice, machine, 2, 6, power_w=limit_w)
    limiters = _power_and_trip(dice, machine, limit_w, (8, 56))
    return plan_of(dice, machine, cooler, limiters, told_power_w=limit_w)


@power(hottest_k=-3.0)
def power_constant(dice: Dice) -> Plan:
    """A short window: limited from the start of the load on, and gliding as leakage grows."""
    machine, limit_w = _limited_power(dice, 0.6, 0.9)
    cooler = _cool_enough(dice, machine, 4, 25, limit_w)
    limiters = _power_and_trip(dice, machine, limit_w, (1, 4))
    return plan_of(dice, machine, cooler, limiters, told_power_w=limit_w)


def _caps(dice: Dice, cap_mhz: float, least_s: float = 15, most_s: float = 120) -> Timed:
    """One cap or a few, from the third minute on."""
    caps, t_s = [], dice.between(120, 250)
    while t_s < 560:
        length_s = dice.between(least_s, most_s)
        caps.append((t_s, t_s + length_s, cap_mhz))
        t_s += length_s + dice.between(40, 150)
        if dice.chance(0.4):
            break
    return Timed(caps)


@outside()
def outside_cold(dice: Dice) -> Plan:
    """Clamped to the floor while it is cold."""
    machine = draw_machine(dice)
    cooler = _cool_enough(dice, machine, 15, 40)
    return plan_of(dice, machine, cooler, [_caps(dice, machine.floor_mhz)])


@outside()
def outside_hot(dice: Dice) -> Plan:
    """Clamped to the floor while it is hot."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 0.5, 7)
    return plan_of(dice, machine, cooler, [_caps(dice, machine.floor_mhz)])


@outside()
def outside_pulses(dice: Dice) -> Plan:
    """A supply that signals: short clamps to the floor, over and over."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 1, 20)
    caps, t_s = [], dice.between(100, 200)
    length_s, gap_s = dice.between(1, 6), dice.between(8, 20)
    while t_s < 450:
        caps.append((t_s, t_s + length_s, machine.floor_mhz))
        t_s += length_s + gap_s * dice.between(0.7, 1.3)
    return plan_of(dice, machine, cooler, [Timed(caps)])


@outside()
def cap_cold(dice: Dice) -> Plan:
    """Somebody caps the clock while it is cold."""
    machine = draw_machine(dice)
    cooler = _cool_enough(dice, machine, 15, 40)
    return plan_of(dice, machine, cooler, [_caps(dice, machine.all_cores_mhz * dice.between(0.55, 0.9), 60, 300)])


@outside()
def cap_hot(dice: Dice) -> Plan:
    """Somebody caps the clock while it is hot."""
    machine = draw_machine(dice)
    cooler = soon_warm(dice, machine, 0.5, 6)
    return plan_of(dice, machine, cooler, [_caps(dice, machine.all_cores_mhz * dice.between(0.55, 0.9), 60, 300)])


@register(LIMITED_KINDS, Cause.UNEXPLAINED)
def skin(dice: Dice) -> Plan:
    """The case is kept from getting too warm to touch; the die is far from its limit."""
    machine = draw_machine(dice)
    cooler = cooler_that_settles(dice, machine, below_limit_c(dice, machine, 4, 20), case_s=200.0)
    case_limit_c = machine.room_c + 0.45 * cooler.case_k_per_w * machine.full_w
    return plan_of(dice, machine, cooler, [CaseBudget(case_limit_c, dice.between(0.001, 0.01))], length_s=900.0)
