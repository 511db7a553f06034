"""Kinds of run in which a power limit is at work, and the temperature follows."""

from __future__ import annotations

from functools import partial
from typing import Any

from benchmon.model.events import Cause
from tests.benchmarks.third_bench.kind import Draw, Kind, cooled, register
from tests.benchmarks.third_bench.limits import Budget
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.script import Ask, Fan, Script, board_eyes, usual_eyes, work_between
from tests.benchmarks.third_bench.silicon import Silicon, draw_board, draw_silicon

POWER_KINDS: dict[str, Kind] = {}
power = partial(register, POWER_KINDS, Cause.POWER_LIMIT)


def _free_w(silicon: Silicon, weight: float = 1.0) -> float:
    return silicon.draws_w(silicon.bins_mhz[-1], silicon.cores, weight, 65.0)


def _always(luck: Luck, limit_w: float) -> Budget:
    """No credit ever: limited from the first second."""
    return Budget(luck, [(0.0, limit_w)], luck.pick(0.0, 1.0, 2.0), 1.0, starts_empty=True)


def _script(draw: Draw, silicon: Silicon, budget: Budget, **more: Any) -> Script:
    """All cores from the first minute on, on a cooler that is large enough for the limit."""
    luck, room_c = draw.luck, draw.luck.even(16.0, 32.0)
    highest_w = max(limit_w for _, limit_w in budget.limits_w)
    cooler: dict[str, Any] = more.pop("cooler", {})
    metal = cooled(luck, silicon, room_c, draw.ends_c(), power_w=highest_w, **cooler)
    length_s = more.pop("length_s", 540.0)
    ends_s = length_s - luck.even(20.0, 90.0) if luck.chance(0.5) else None
    asks = more.pop("asks", None) or work_between(silicon.cores, luck.even(5.0, 60.0), ends_s)
    eyes = usual_eyes(luck, **more.pop("eyes", {}))
    usual: dict[str, Any] = {"told_power": budget, "tells_window": luck.chance(0.7)}
    return Script(silicon, metal, room_c, asks, [budget], length_s, eyes, **{**usual, **more})


@power()
def from_start(draw: Draw) -> Script:
    """At the limit from the first second; a lighter load before it ran free."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    budget = _always(luck, _free_w(silicon) * luck.even(0.45, 0.85))
    one_s = luck.even(10.0, 40.0)
    all_s = one_s + luck.even(60.0, 130.0)
    asks = [Ask(0.0, 0), Ask(one_s, 1), Ask(all_s, silicon.cores), Ask(all_s + luck.even(200.0, 330.0), 0)]
    return _script(draw, silicon, budget, asks=asks)


@power()
def from_start_alone(draw: Draw) -> Script:
    """The same with nothing before it to compare with but what is told of its clocks."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    return _script(draw, silicon, _always(luck, _free_w(silicon) * luck.even(0.4, 0.75)))


@power()
def turbo(draw: Draw) -> Script:
    """A credit of some seconds to a minute at more than the limit, then the limit."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    limit_w = _free_w(silicon) * luck.even(0.45, 0.85)
    burst = luck.even(1.15, 1.6)
    budget = Budget(luck, [(0.0, limit_w)], luck.decade(4.0, 56.0), burst, starts_empty=False)
    return _script(draw, silicon, budget)


@power()
def turbo_again(draw: Draw) -> Script:
    """Credit gathers in every pause."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    budget = Budget(
        luck, [(0.0, _free_w(silicon) * luck.even(0.5, 0.8))], luck.even(5.0, 28.0), 1.4, starts_empty=False
    )
    asks, t_s = [Ask(0.0, 0)], luck.even(10.0, 30.0)
    while t_s < 660.0:
        asks.append(Ask(t_s, silicon.cores))
        t_s += luck.even(70.0, 150.0)
        asks.append(Ask(t_s, 0))
        t_s += luck.even(10.0, 60.0)
    return _script(draw, silicon, budget, asks=asks, length_s=700.0)


@power()
def limit_changes(draw: Draw) -> Script:
    """Somebody, or the firmware, lowers the limit while it runs, and raises it again."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    free_w = _free_w(silicon)
    first_w, second_w = free_w * luck.even(0.8, 1.3), free_w * luck.even(0.45, 0.7)
    at_s = luck.even(120.0, 260.0)
    limits_w = [(0.0, first_w), (at_s, second_w)]
    if luck.chance(0.6):
        limits_w.append((at_s + luck.even(60.0, 180.0), first_w))
    budget = Budget(luck, limits_w, luck.pick(0.0, 2.0), 1.0, starts_empty=True)
    return _script(draw, silicon, budget)


@power()
def not_told(draw: Draw) -> Script:
    """A limit that the machine does not tell, or tells wrong: a much higher one."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    free_w = _free_w(silicon)
    budget = Budget(luck, [(0.0, free_w * luck.even(0.5, 0.85))], luck.pick(0.0, 8.0, 28.0), 1.3, starts_empty=False)
    told_w = luck.pick(None, free_w * luck.even(1.3, 2.0))
    return _script(draw, silicon, budget, told_power=None, told_power_w=told_w)


@power()
def leaking(draw: Draw) -> Script:
    """A leaky chip on a slow cooler: at a fixed power the clock glides down for minutes, as if heat were held."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    budget = _always(luck, _free_w(silicon) * luck.even(0.6, 0.88))
    return _script(draw, silicon, budget, cooler={"passive": luck.chance(0.6), "slow": 1.5}, length_s=1200.0)


@power()
def with_fan_curve(draw: Draw) -> Script:
    """The temperature stands still because a fan's curve holds it; the power is what is limited."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    budget = _always(luck, _free_w(silicon) * luck.even(0.55, 0.85))
    fan = Fan(luck.even(0.3, 0.6), luck.even(45.0, 55.0), luck.even(65.0, 85.0), luck.even(4.0, 20.0))
    return _script(draw, silicon, budget, fan=fan)


@power()
def board_full(draw: Draw) -> Script:
    """An accelerator board: idle, full at its limit from the first second, idle; the load that is read is the host's."""
    luck, silicon = draw.luck, draw_board(draw.luck)
    budget = _always(luck, _free_w(silicon) * luck.even(0.4, 0.8))
    start_s = luck.even(20.0, 60.0)
    asks = work_between(1, start_s, start_s + luck.even(90.0, 260.0))
    return _script(draw, silicon, budget, asks=asks, eyes=board_eyes(luck), length_s=420.0)


@power()
def board_steps(draw: Draw) -> Script:
    """The same with a light load, that runs free, before the full one."""
    luck, silicon = draw.luck, draw_board(draw.luck)
    budget = _always(luck, _free_w(silicon) * luck.even(0.5, 0.8))
    light, first_s = luck.even(0.15, 0.35), luck.even(15.0, 40.0)
    full_s = first_s + luck.even(60.0, 120.0)
    asks = [Ask(0.0, 0), Ask(first_s, 1, busy_share=light), Ask(full_s, 1), Ask(full_s + luck.even(90.0, 200.0), 0)]
    return _script(draw, silicon, budget, asks=asks, eyes=board_eyes(luck), length_s=460.0)


@power()
def power_seldom(draw: Draw) -> Script:
    """Read every five or ten seconds."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    budget = Budget(
        luck, [(0.0, _free_w(silicon) * luck.even(0.5, 0.8))], luck.pick(0.0, 28.0, 56.0), 1.3, starts_empty=False
    )
    return _script(draw, silicon, budget, eyes={"period_s": luck.pick(5.0, 10.0)}, length_s=900.0)
