"""Courses of a run written out by hand, a second at a time: clock, power and temperature are whatever a test says.

No machine stands behind them, so each piece of evidence can be shown alone: temperature that stays though power falls,
power that stays though the clock moves. Before the load it idles at 800 MHz, 4 W and 40 °C; a load without anything in
the way runs at 4 GHz and 60 W.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import exp

from benchmon.analysis.intake.series import Observation

START_S = 20.0
IDLE_MHZ, IDLE_W, IDLE_C = 800.0, 4.0, 40.0
FREE_MHZ, FREE_W = 4000.0, 60.0

Value = float | Callable[[float], float]


def at(value: Value, t_s: float) -> float:
    """The value of a constant or of a function of time."""
    return value(t_s) if callable(value) else value


def warming(
    to_c: float, tau_s: float = 30.0, from_c: float = IDLE_C, start_s: float = START_S
) -> Callable[[float], float]:
    """An exponential approach that starts with the load."""
    return lambda t_s: to_c - (to_c - from_c) * exp(-max(t_s - start_s, 0.0) / tau_s)


@dataclass(frozen=True)
class Stretch:
    """What is seen from ``start_s`` on, until the next one."""

    start_s: float
    clock_mhz: Value = FREE_MHZ
    power_w: Value = FREE_W
    temp_c: Value = IDLE_C
    load_pct: float = 100.0


def idle(start_s: float = 0.0, temp_c: Value = IDLE_C) -> Stretch:
    """Nothing to do."""
    return Stretch(start_s, IDLE_MHZ, IDLE_W, temp_c, 1.0)


def course(*stretches: Stretch, until_s: float, known: Observation | None = None) -> Iterator[Observation]:
    """One observation a second, with the limits and counters of ``known``."""
    template = known or Observation(0.0)
    for second in range(1, round(until_s) + 1):
        t_s = float(second)
        now = max((one for one in stretches if one.start_s <= t_s), key=lambda one: one.start_s)
        yield template._replace(
            t_s=t_s,
            clock_mhz=at(now.clock_mhz, t_s),
            power_w=at(now.power_w, t_s),
            temp_c=at(now.temp_c, t_s),
            load_pct=now.load_pct,
        )
