"""Kinds of run in which nothing limits, though it may look so."""

from __future__ import annotations

from functools import partial
from typing import Any

from tests.benchmarks.third_bench.kind import Draw, Kind, cooled, register
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.script import Ask, Fan, Script, board_eyes, usual_eyes, work_between
from tests.benchmarks.third_bench.silicon import Silicon, draw_board, draw_silicon

FREE_KINDS: dict[str, Kind] = {}
free = partial(register, FREE_KINDS)


def _script(draw: Draw, silicon: Silicon, asks: list[Ask], **more: Any) -> Script:
    luck, room_c = draw.luck, draw.luck.even(16.0, 32.0)
    cooler: dict[str, Any] = more.pop("cooler", {})
    busy = max(ask.busy for ask in asks)
    metal = cooled(luck, silicon, room_c, draw.ends_c(), busy=busy, **cooler)
    usual = {"told_power_w": silicon.draws_w(silicon.bins_mhz[-1], silicon.cores, 1.0, 80.0) * luck.even(1.25, 2.0)}
    eyes = usual_eyes(luck, **more.pop("eyes", {}))
    return Script(silicon, metal, room_c, asks, [], more.pop("length_s", 540.0), eyes, **{**usual, **more})


def _in_turn(luck: Luck, first: Any, second: Any, least_s: float = 40.0, most_s: float = 120.0) -> list[Ask]:
    """One and the other by turns, after a little idleness."""
    asks, t_s, number = [Ask(0.0, 0)], luck.even(8.0, 40.0), 0
    while t_s < 520.0:
        asks.append((first, second)[number % 2](t_s))
        t_s += luck.even(least_s, most_s)
        number += 1
    return asks


@free()
def wide(draw: Draw) -> Script:
    """Wide instructions by turns: a little less clock, more power."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    clock, weight = luck.even(0.86, 0.97), luck.even(1.25, 1.7)
    asks = _in_turn(luck, lambda t: Ask(t, silicon.cores), lambda t: Ask(t, silicon.cores, weight=weight, clock=clock))
    return _script(draw, silicon, asks, cooler={"weight": weight}, eyes={"tells_work": False})


@free()
def light(draw: Draw) -> Script:
    """Light code by turns: less power at the same clock."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    weight = luck.even(0.4, 0.85)
    asks = _in_turn(luck, lambda t: Ask(t, silicon.cores), lambda t: Ask(t, silicon.cores, weight=weight))
    return _script(draw, silicon, asks, eyes={"tells_work": False})


@free()
def governor(draw: Draw) -> Script:
    """At part load the governor asks for less, and for more again."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    share, clock = luck.even(0.3, 0.7), luck.even(0.55, 0.9)
    asks = _in_turn(
        luck, lambda t: Ask(t, silicon.cores), lambda t: Ask(t, silicon.cores, busy_share=share, clock=clock)
    )
    return _script(draw, silicon, asks, wander=luck.pick(0.0, 0.02))


@free()
def steps(draw: Draw) -> Script:
    """More and fewer busy cores."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    any_cores = range(1, silicon.cores + 1)
    asks = _in_turn(luck, lambda t: Ask(t, luck.pick(*any_cores)), lambda t: Ask(t, luck.pick(*any_cores)))
    return _script(draw, silicon, asks)


@free()
def pauses(draw: Draw) -> Script:
    """Work and rest."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    return _script(draw, silicon, _in_turn(luck, lambda t: Ask(t, silicon.cores), lambda t: Ask(t, 0), 10.0, 80.0))


@free()
def one_of_eight_free(draw: Draw) -> Script:
    """One busy core of eight, then all."""
    luck, silicon = draw.luck, draw_silicon(draw.luck, cores=8)
    asks = [Ask(0.0, 0), Ask(20.0, 1), Ask(luck.even(120.0, 200.0), 8), Ask(luck.even(380.0, 480.0), 0)]
    return _script(draw, silicon, asks)


@free()
def passive_free(draw: Draw) -> Script:
    """A fanless machine that warms for twenty minutes; its power creeps up with leakage."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    asks = work_between(silicon.cores, luck.even(10.0, 60.0), None)
    return _script(draw, silicon, asks, cooler={"passive": True}, length_s=1400.0)


@free()
def fan_ramps(draw: Draw) -> Script:
    """The fan's curve holds the temperature while nothing holds the clock."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    fan = Fan(luck.even(0.25, 0.5), luck.even(42.0, 52.0), luck.even(60.0, 85.0), luck.even(3.0, 25.0))
    return _script(draw, silicon, work_between(silicon.cores, 20.0, None), fan=fan)


@free()
def restless_idle(draw: Draw) -> Script:
    """Nothing to do but what machines do by themselves."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    asks = [Ask(0.0, 0), Ask(300.0, 1), Ask(330.0, 0)]
    return _script(draw, silicon, asks, idle_unrest=luck.even(0.3, 1.0))


@free()
def wandering(draw: Draw) -> Script:
    """A clock that will not stand still, and noisy meters."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    eyes = {"clock_noise": luck.even(0.01, 0.03), "power_noise": luck.even(0.02, 0.05), "lost": 0.01}
    return _script(draw, silicon, work_between(silicon.cores, 20.0, 500.0), wander=luck.even(0.005, 0.02), eyes=eyes)


def _with_neighbours(luck: Luck, busy: int) -> list[Ask]:
    """Others come, take a share that changes every few seconds, and go."""
    asks, t_s = [Ask(0.0, 0), Ask(15.0, busy)], luck.even(60.0, 150.0)
    while t_s < 480.0:
        until_s, most = t_s + luck.even(25.0, 160.0), luck.even(0.12, 0.6)
        while t_s < until_s:
            asks.append(Ask(t_s, busy, others=most * luck.even(0.4, 1.0)))
            t_s += luck.even(1.0, 12.0)
        asks.append(Ask(t_s, busy))
        t_s += luck.even(20.0, 120.0)
    return asks


_GUEST = frozenset({"clock", "power", "temp"})


@free()
def guest_neighbours(draw: Draw) -> Script:
    """A guest without sensors: other programs in it took the cores. How much the workers ran is read."""
    luck, silicon = draw.luck, draw_silicon(draw.luck, cores=draw.luck.pick(2, 4))
    eyes = {"hides": _GUEST, "tells_work": True, "tells_share": True}
    return _script(
        draw, silicon, _with_neighbours(luck, silicon.cores), eyes=eyes, tells_clocks=False, told_power_w=None
    )


@free()
def guest_robbed(draw: Draw) -> Script:
    """A guest whose host gives its cores to others: nothing tells it but work that scatters."""
    luck, silicon = draw.luck, draw_silicon(draw.luck, cores=draw.luck.pick(2, 4))
    eyes = {"hides": _GUEST, "tells_work": True, "sees_others": luck.chance(0.5)}
    return _script(
        draw, silicon, _with_neighbours(luck, silicon.cores), eyes=eyes, tells_clocks=False, told_power_w=None
    )


@free()
def neighbours(draw: Draw) -> Script:
    """A real machine on which other programs took the cores: clock and power stay, the work falls."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    eyes = {"tells_work": True, "tells_share": luck.chance(0.6)}
    return _script(draw, silicon, _with_neighbours(luck, silicon.cores), eyes=eyes)


@free()
def board_free(draw: Draw) -> Script:
    """An accelerator board with nothing in its way; the load that is read is the host's."""
    luck, silicon = draw.luck, draw_board(draw.luck)
    share = luck.even(0.3, 0.7)
    asks = [Ask(0.0, 0), Ask(30.0, 1, busy_share=share), Ask(110.0, 0), Ask(140.0, 1), Ask(luck.even(250.0, 340.0), 0)]
    return _script(draw, silicon, asks, eyes=board_eyes(luck), length_s=400.0)


@free()
def board_bursts(draw: Draw) -> Script:
    """A board that works in bursts of a second or so."""
    luck, silicon = draw.luck, draw_board(draw.luck)
    asks, t_s = [Ask(0.0, 0)], luck.even(20.0, 50.0)
    while t_s < 300.0:
        asks.append(Ask(t_s, 1))
        t_s += luck.even(0.3, 2.5)
        asks.append(Ask(t_s, 0))
        t_s += luck.even(0.3, 3.0)
    return _script(draw, silicon, asks, eyes=board_eyes(luck), length_s=360.0)
