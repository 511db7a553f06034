"""Kinds of run with a cap or a signal from elsewhere."""

from __future__ import annotations

from functools import partial
from typing import Any

from benchmon.model.events import Cause
from tests.benchmarks.third_bench.kind import Draw, Kind, cooled, register
from tests.benchmarks.third_bench.limits import Cap
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.script import Script, usual_eyes, work_between
from tests.benchmarks.third_bench.silicon import Silicon, draw_silicon

OUTSIDE_KINDS: dict[str, Kind] = {}
outside = partial(register, OUTSIDE_KINDS, Cause.OUTSIDE)


def _script(draw: Draw, silicon: Silicon, cap: Cap, **more: Any) -> Script:
    luck, room_c = draw.luck, draw.luck.even(16.0, 32.0)
    cooler: dict[str, Any] = more.pop("cooler", {})
    metal = cooled(luck, silicon, room_c, draw.ends_c(), **cooler)
    asks = more.pop("asks", None) or work_between(silicon.cores, luck.even(5.0, 50.0), luck.pick(None, 520.0))
    usual = {"told_power_w": silicon.draws_w(silicon.bins_mhz[-1], silicon.cores, 1.0, 80.0) * luck.even(1.25, 2.0)}
    eyes = usual_eyes(luck, **more.pop("eyes", {}))
    return Script(silicon, metal, room_c, asks, [cap], 600.0, eyes, **{**usual, **more})


def _lower(luck: Luck, silicon: Silicon) -> float:
    return silicon.state_below(silicon.bins_mhz[-1] * luck.even(0.5, 0.9))


@outside()
def hand_told(draw: Draw) -> Script:
    """Somebody sets a lower highest clock, and the kernel shows it."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    at_s = luck.even(120.0, 260.0)
    cap = Cap([(at_s, luck.pick(at_s + luck.even(40.0, 200.0), 1e9), _lower(luck, silicon))])
    return _script(draw, silicon, cap, told_cap=cap)


@outside()
def hand_not_told(draw: Draw) -> Script:
    """The same, and nothing shows it."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    at_s = luck.even(120.0, 260.0)
    return _script(draw, silicon, Cap([(at_s, luck.pick(at_s + luck.even(40.0, 200.0), 1e9), _lower(luck, silicon))]))


@outside()
def cap_moves(draw: Draw) -> Script:
    """A cap that is set lower, and lower, and taken away."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    first_s, lower_mhz = luck.even(100.0, 200.0), _lower(luck, silicon)
    second_s = first_s + luck.even(50.0, 120.0)
    last_s = second_s + luck.even(50.0, 120.0)
    least_mhz = silicon.state_below(lower_mhz * luck.even(0.6, 0.85))
    cap = Cap([(first_s, second_s, lower_mhz), (second_s, last_s, least_mhz)])
    return _script(draw, silicon, cap, told_cap=luck.pick(None, cap))


@outside()
def signal(draw: Draw) -> Script:
    """A supply or a regulator pulls a line: down to the lowest clock, once or in bouts."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    stretches, t_s = [], luck.even(90.0, 200.0)
    length_s, between_s = luck.even(3.0, 40.0), luck.even(25.0, 90.0)
    for _ in range(luck.pick(1, 2, 4)):
        stretches.append((t_s, t_s + length_s, silicon.lowest_mhz))
        t_s += length_s + between_s * luck.even(0.8, 1.2)
    return _script(draw, silicon, Cap(stretches))


@outside()
def cap_on_slow_cooler(draw: Draw) -> Script:
    """A cap while a slow cooler still warms up: temperature and leakage go on rising or relax for minutes."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    at_s = luck.even(150.0, 300.0)
    cooler = {"passive": luck.chance(0.5), "slow": 2.0}
    return _script(draw, silicon, Cap([(at_s, 1e9, _lower(luck, silicon))]), cooler=cooler)
