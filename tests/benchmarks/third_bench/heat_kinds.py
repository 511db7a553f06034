"""Kinds of run in which a temperature is defended."""

from __future__ import annotations

from functools import partial
from typing import Any

from benchmon.model.events import Cause
from tests.benchmarks.third_bench.kind import Draw, Kind, cooled, register, too_hot_c
from tests.benchmarks.third_bench.limits import Budget, Eighths, Hold, Limit, Saw, Stages
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.script import Ask, Fan, Script, board_eyes, usual_eyes, work_between
from tests.benchmarks.third_bench.silicon import draw_board, draw_silicon

HEAT_KINDS: dict[str, Kind] = {}
heat = partial(register, HEAT_KINDS, Cause.THERMAL)


def _steady(luck: Luck, hold_c: float) -> Hold:
    every_s = luck.pick(0.2, 0.5, 1.0, 2.0)
    return Hold(luck, hold_c, every_s=every_s, states_per_k=luck.even(0.3, 1.5), patience=luck.pick(1, 2, 4))


def _slow(luck: Luck, hold_c: float) -> Hold:
    every_s = luck.even(3.0, 12.0)
    return Hold(luck, hold_c, every_s=every_s, states_per_k=luck.even(0.8, 2.5), patience=luck.pick(1, 2))


def _saw(luck: Luck, trip_c: float) -> Saw:
    back_c = trip_c - luck.even(2.0, 12.0)
    return Saw(luck, trip_c, back_c, luck.even(0.35, 0.8), least_s=luck.pick(0.0, 1.0, 5.0))


def _script(draw: Draw, limit_of: Any, **more: Any) -> Script:
    """All cores from the first minute on, too much for the cooler."""
    luck, defended_c = draw.luck, draw.defended_c()
    silicon = more.pop("silicon", None) or draw_silicon(luck)
    room_c = luck.even(16.0, 32.0)
    cooler: dict[str, Any] = more.pop("cooler", {})
    beyond: tuple[float, float] = more.pop("beyond", (0.1, 0.5))
    busy: int = more.pop("busy", silicon.cores)
    metal = cooled(luck, silicon, room_c, too_hot_c(luck, room_c, defended_c, *beyond), busy=busy, **cooler)
    length_s = more.pop("length_s", 600.0)
    ends_s = length_s - luck.even(20.0, 90.0) if luck.chance(0.4) else None
    asks = more.pop("asks", None) or work_between(busy, luck.even(5.0, 60.0), ends_s)
    eyes = usual_eyes(luck, **more.pop("eyes", {}))
    limits: list[Limit] = [*more.pop("also", []), limit_of(luck, defended_c)]
    usual = {"told_power_w": silicon.draws_w(silicon.bins_mhz[-1], busy, 1.0, 90.0) * luck.even(1.25, 2.0)}
    return Script(silicon, metal, room_c, asks, limits, length_s, eyes, defends_c=defended_c, **{**usual, **more})


@heat()
def steady(draw: Draw) -> Script:
    """A temperature is held, state by state."""
    return _script(draw, _steady)


@heat()
def slow_glide(draw: Draw) -> Script:
    """The firmware looks every few seconds: the clock goes down in a long stair."""
    return _script(draw, _slow, beyond=(0.06, 0.3), cooler={"slow": 2.0}, length_s=720.0)


@heat()
def saw(draw: Draw) -> Script:
    """Down hot, back cooler."""
    return _script(draw, _saw)


@heat()
def latch(draw: Draw) -> Script:
    """One hard drop that lasts as long as the load."""
    share = draw.luck.even(0.4, 0.82)
    return _script(draw, lambda luck, trip_c: Saw(luck, trip_c, None, share))


@heat()
def two_steps(draw: Draw) -> Script:
    """A mild step first, a rough one a few kelvin on."""

    def stages(luck: Luck, trip_c: float) -> Stages:
        first = luck.even(0.78, 0.92)
        return Stages(
            luck, (trip_c - luck.even(2.0, 6.0), trip_c), (first, first * luck.even(0.5, 0.75)), luck.even(4, 15)
        )

    return _script(draw, stages, beyond=(0.3, 0.8))


@heat()
def eighths(draw: Draw) -> Script:
    """The clock is gated in eighths: it reads as if nothing were."""
    return _script(draw, Eighths)


@heat()
def gated_saw(draw: Draw) -> Script:
    """Half the time, or a quarter, until it is cool again."""
    share = draw.luck.pick(0.25, 0.5, 0.625)
    return _script(draw, lambda luck, trip_c: Saw(luck, trip_c, trip_c - luck.even(2, 6), share, by_duty=True))


@heat()
def passive_steady(draw: Draw) -> Script:
    """No fan, much metal: it takes minutes to get there."""
    cooler = {"passive": True}
    return _script(draw, _steady, cooler=cooler, beyond=(0.08, 0.35), length_s=1500.0)


@heat()
def passive_saw(draw: Draw) -> Script:
    """No fan, and a firmware with two temperatures."""
    return _script(draw, _saw, cooler={"passive": True}, beyond=(0.1, 0.4), length_s=1500.0)


@heat()
def dry_paste(draw: Draw) -> Script:
    """The heat hardly leaves the die: limited within seconds."""
    limit = draw.luck.pick(_steady, _saw)
    return _script(draw, limit, cooler={"dry_paste": True}, beyond=(0.5, 1.2))


@heat()
def fan_curve(draw: Draw) -> Script:
    """The fan takes its time to come, and is not enough even then."""
    luck = draw.luck
    fan = Fan(luck.even(0.3, 0.6), luck.even(45.0, 55.0), luck.even(62.0, 75.0), luck.even(4.0, 25.0))
    return _script(draw, _steady, fan=fan, beyond=(0.05, 0.3))


@heat()
def fan_fails(draw: Draw) -> Script:
    """All was well until the fan stopped."""
    fan = Fan(fails_s=draw.luck.even(120.0, 260.0))
    limit = draw.luck.pick(_steady, _saw, _slow)
    return _script(draw, limit, fan=fan, beyond=(-0.3, -0.08), length_s=780.0)


@heat()
def one_of_eight(draw: Draw) -> Script:
    """One busy core of eight is enough for a cooler like this."""
    silicon = draw_silicon(draw.luck, cores=8)
    return _script(draw, _steady, silicon=silicon, busy=1, beyond=(0.1, 0.3))


@heat(Cause.POWER_LIMIT)
def budget_then_heat(draw: Draw) -> Script:
    """At its power limit from the first second, and much later that is too hot still."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    free_w = silicon.draws_w(silicon.bins_mhz[-1], silicon.cores, 1.0, 70.0)
    limit_w = free_w * luck.even(0.6, 0.82)
    budget = Budget(luck, [(0.0, limit_w)], 0.0, 1.0, starts_empty=True)
    cooler = {"power_w": limit_w}
    return _script(
        draw,
        _steady,
        silicon=silicon,
        also=[budget],
        told_power=budget,
        cooler=cooler,
        beyond=(0.08, 0.3),
        length_s=900.0,
    )


@heat()
def no_power(draw: Draw) -> Script:
    """No power is read."""
    limit = draw.luck.pick(_steady, _saw, _slow)
    return _script(draw, limit, eyes={"hides": frozenset({"power"})})


@heat()
def no_load(draw: Draw) -> Script:
    """No load is read."""
    limit = draw.luck.pick(_steady, _saw)
    return _script(draw, limit, eyes={"hides": frozenset({"load"})})


@heat()
def work_alone(draw: Draw) -> Script:
    """No clock is read: the rate of work is all there is."""
    limit = draw.luck.pick(_steady, _saw)
    return _script(draw, limit, eyes={"hides": frozenset({"clock"}), "tells_work": True})


@heat()
def load_with_pauses(draw: Draw) -> Script:
    """It cools in every pause and is limited again after it."""
    luck, silicon = draw.luck, draw_silicon(draw.luck)
    asks, t_s = [Ask(0.0, 0)], luck.even(10.0, 40.0)
    while t_s < 700.0:
        asks.append(Ask(t_s, silicon.cores))
        t_s += luck.even(70.0, 160.0)
        asks.append(Ask(t_s, 0))
        t_s += luck.even(8.0, 60.0)
    return _script(draw, luck.pick(_steady, _saw), silicon=silicon, asks=asks, beyond=(0.2, 0.7), length_s=720.0)


@heat()
def seldom(draw: Draw) -> Script:
    """Read every ten seconds."""
    return _script(draw, draw.luck.pick(_steady, _saw, _slow), eyes={"period_s": 10.0}, length_s=1200.0)


@heat()
def often(draw: Draw) -> Script:
    """Read ten times a second, with holes."""
    limit = draw.luck.pick(_steady, _saw, _slow)
    return _script(draw, limit, eyes={"period_s": 0.1, "holes": 2, "lost": 0.01}, length_s=400.0)


@heat()
def unsteady(draw: Draw) -> Script:
    """The clock wanders by itself as well."""
    return _script(draw, draw.luck.pick(_steady, _saw), wander=draw.luck.even(0.01, 0.04), eyes={"clock_noise": 0.02})


@heat()
def board_hot(draw: Draw) -> Script:
    """An accelerator board in a warm slot; the load that is read is the host's."""
    silicon = draw_board(draw.luck)
    return _script(draw, _steady, silicon=silicon, eyes=board_eyes(draw.luck), beyond=(0.1, 0.4))
