"""What the phase that runs is going to do: where it settles, when, and whether it reaches the limit before."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import sqrt

from benchmon.analysis.fit.approach import Approach
from benchmon.analysis.fit.quantiles import weighted_quantile
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.thermal.steady import COVERS, Outlook, heat_within, is_worth_saying
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, Forecast

NOT_BEFORE_S = 75.0
"""Intervals of the first minute proved too bold on virtual benches [s]."""
_LONGEST_S = 6 * 3600.0
_HELD_LATELY_S = 20.0


def make_forecast(
    notebook: Notebook,
    phase: Phase,
    events: Sequence[ThrottleEvent],
    limit_c: float | None,
    *,
    found: Outlook | str,
) -> Forecast:
    """The forecast for a phase as it stands, from its outlook; its figures say why if there is none."""
    now_s = notebook.now_s
    if heat_within(events, now_s - _HELD_LATELY_S, now_s):
        return _refused(now_s, phase, limit_c, "heat limits it now: a temperature that is held is no equilibrium")
    if heat_within(events, phase.start_s, now_s):
        return _refused(now_s, phase, limit_c, "heat limited it in this phase: it does not rise freely")
    if isinstance(found, str):
        return _refused(now_s, phase, limit_c, found)
    if now_s - found.start_s < NOT_BEFORE_S:
        return _refused(now_s, phase, limit_c, f"it is too early: nothing is said in the first {NOT_BEFORE_S:.0f} s")
    if not is_worth_saying(found):
        why = f"the readings leave it open by ± {found.u_k * COVERS:.0f} K"
        return _refused(now_s, phase, limit_c, why)
    settles = Figure(found.settled_c, found.settled_c - COVERS * found.u_k, found.settled_c + COVERS * found.u_k)
    return Forecast(now_s, phase.name, settles, _within_1k(found, now_s), _limit(found, now_s, limit_c), limit_c)


def _refused(now_s: float, phase: Phase, limit_c: float | None, why: str) -> Forecast:
    no = Figure(why_not=why)
    return Forecast(now_s, phase.name, no, no, no, limit_c)


def _within_1k(found: Outlook, now_s: float) -> Figure:
    times = [(_first_time(partial(_is_within_1k, way), 0.0) + found.start_s, way.weight) for way in found.ways]
    low, middle, high = (weighted_quantile(times, share) for share in (0.025, 0.5, 0.975))
    if middle - found.start_s >= _LONGEST_S:
        return Figure(why_not=f"not within {_LONGEST_S / 3600:.0f} hours")
    if middle <= now_s:
        return Figure(middle, min(low, middle), max(high, middle))
    return Figure(middle, low, high)


def _limit(found: Outlook, now_s: float, limit_c: float | None) -> Figure:
    """When the limit is reached, by those ways that reach it; only if most do."""
    if limit_c is None:
        return Figure(why_not="no limit temperature is known")
    if found.settled_c < limit_c or found.settled_c < found.last_c:
        doubt = " (but not surely)" if found.settled_c + COVERS * found.u_k >= limit_c else ""
        return Figure(why_not=f"it settles below the limit of {limit_c:.0f} °C{doubt}")
    # The extra doubt of the outlook (sensor steps, fans) widens the ways about their middle.
    own = sum(way.weight * (way.settled - found.settled_c) ** 2 for way in found.ways)
    extra = sqrt(max(found.u_k**2 - own, 0.0))
    begin = now_s - found.start_s
    times = []
    for way in found.ways:
        for shift, share in ((-extra, 0.25), (0.0, 0.5), (extra, 0.25)):
            if way.settled + shift > limit_c:
                reached = _first_time(partial(_has_reached, way, shift, begin, limit_c), begin)
                times.append((reached + found.start_s, way.weight * share))
    if not times:
        return Figure(why_not=f"it settles below the limit of {limit_c:.0f} °C")
    low, middle, high = (weighted_quantile(times, share) for share in (0.025, 0.5, 0.975))
    return Figure(middle, low, high)


def _is_within_1k(way: Approach, t_s: float) -> bool:
    return abs(way.remaining(t_s)) <= 1.0


def _has_reached(way: Approach, shift_k: float, begin_s: float, limit_c: float, t_s: float) -> bool:
    return way.at(t_s) + shift_k * _shown(way, t_s, begin_s) >= limit_c


def _shown(way: Approach, t_s: float, begin_s: float) -> float:
    """How much of a doubt about the end shows at a time: none now, all in the end, in proportion to the way gone."""
    left = way.remaining(begin_s)
    return 1.0 - way.remaining(t_s) / left if abs(left) > 1e-9 else 1.0


def _first_time(holds: Callable[[float], bool], begin_s: float) -> float:
    """First time from ``begin_s`` on at which something holds that goes on holding [s]; bounded."""
    if holds(begin_s):
        return begin_s
    low, step = begin_s, 10.0
    high = begin_s + step
    while not holds(high):
        if high >= _LONGEST_S:
            return _LONGEST_S
        low, step = high, step * 1.6
        high += step
    for _ in range(12):
        middle = 0.5 * (low + high)
        if holds(middle):
            high = middle
        else:
            low = middle
    return high
