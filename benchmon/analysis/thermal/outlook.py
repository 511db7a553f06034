"""The forecast of a phase from the joint model: settled temperature and times."""

from __future__ import annotations

import numpy as np

from benchmon.analysis.fit.kinds import Array
from benchmon.analysis.fit.machines import LONGEST_S
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.thermal.machine import MachineModel, figure_of
from benchmon.analysis.thermal.steady import half_width
from benchmon.model.findings import Figure, Forecast

WORTH_K, WORTH_SHARE = 4.0, 0.55
"""An interval of ± 4 K, or of this share of the whole rise, is worth saying."""
LEAST_REACHING = 0.2
"""A time to the limit is given if so many of the machines that could be meant reach it."""


def outlook(model: MachineModel, phase: Phase, now_s: float, limit_c: float | None) -> Forecast:
    """The forecast; each figure says why where there is none."""
    found, ahead = model.settled(phase), model.ahead(phase)
    if found is None or ahead is None:
        no = Figure(why_not="there are too few readings in this phase")
        return Forecast(now_s, phase.name, no, no, no, limit_c)
    times_s, temps_c = ahead
    settles = figure_of(found.temp_c)
    limit = _limit(times_s, temps_c, found.seen_c, now_s, limit_c)
    rise = abs((settles.value or 0.0) - found.room_c)
    if half_width(settles) > max(WORTH_K, WORTH_SHARE * rise):
        no = Figure(why_not=f"uncertainty still ± {half_width(settles):.0f} K")
        return Forecast(now_s, phase.name, no, no, limit, limit_c)
    return Forecast(now_s, phase.name, settles, _within_1k(times_s, temps_c, now_s), limit, limit_c)


def _within_1k(times_s: Array, temps_c: Array, now_s: float) -> Figure:
    """When each machine comes within a kelvin of its end for good."""
    away = np.abs(temps_c - temps_c[-1][None]) > 1.0
    last = len(times_s) - 1 - np.argmax(away[::-1], axis=0)
    at = np.where(away.any(axis=0), times_s[np.minimum(last + 1, len(times_s) - 1)], now_s)
    found = figure_of(at)
    if found.value is not None and found.value - now_s >= LONGEST_S * 0.95:
        return Figure(why_not=f"not within {LONGEST_S / 3600:.0f} hours")
    return found


def _limit(times_s: Array, temps_c: Array, seen_c: float, now_s: float, limit_c: float | None) -> Figure:
    """When the limit is reached, by those machines that reach it."""
    if limit_c is None:
        return Figure(why_not="no limit temperature is known")
    over = temps_c >= limit_c
    reaches = over.any(axis=0)
    share = float(reaches.mean())
    if share < LEAST_REACHING or seen_c >= limit_c:
        doubt = " (but not surely)" if share > 0.03 else ""
        return Figure(why_not=f"it settles below the limit of {limit_c:.0f} °C{doubt}")
    first = np.argmax(over, axis=0)
    columns = np.arange(temps_c.shape[1])
    after_s, after_c = times_s[first], temps_c[first, columns]
    before_s = np.where(first > 0, times_s[np.maximum(first - 1, 0)], now_s)
    before_c = np.where(first > 0, temps_c[np.maximum(first - 1, 0), columns], seen_c)
    way = np.clip((limit_c - before_c) / np.maximum(after_c - before_c, 1e-6), 0.0, 1.0)
    return figure_of((before_s + way * (after_s - before_s))[reaches])
