"""The experiment that settles a doubt: the same load begun at several temperatures, and what its onsets say together.

Heat strikes at the same temperature whatever happened before. A power budget is a running average that is used up: it
strikes when that average, which is worked out from the power read, is at the same height. A cap from outside asks for
neither. Each of the three is asked how likely it makes the times at which holding back set in, given the courses of
temperature and power until then.

What is assumed: the load is the same each time; the average is exponential with a window of 0.7 to 64 s (the vendors'
data sheets define it so), and what is held afterwards is the limit itself. ``docs/detector.md`` tells what breaks it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from math import erf, exp, log, pi, sqrt

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.plan.onset_courses import LoadCourse, averages_w, load_courses
from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.plan_findings import Experiment

NAMED_FROM = 0.9
"""A cause is named from this probability on."""
LEAST_ONSETS = 2
_CAUSES = (Cause.THERMAL, Cause.POWER_LIMIT, Cause.OUTSIDE)

_TEMP_U_K = 0.45
"""How well a temperature at an onset is known: noise and whole degrees [K]."""
_TIME_U_S = 1.2
"""How well the moment of an onset is known [s]."""
_PEAK_U_S = 0.5
"""The highest reading may have been taken so long before or after the highest temperature [s]."""
_TEMP_RANGE_K = 60.0
"""Limits of temperature lie within such a range."""
_TEMP_STEP_K = 0.25
_MOST_RANGE_K = 300.0
"""No more is gone through, whatever a damaged file says the temperature was."""
_WINDOWS_S = tuple(0.7 * (64.0 / 0.7) ** (number / 27.0) for number in range(28))
"""Windows of a running average that are tried [s]: what is common is 1 to 56 s."""
_AVERAGE_U = 0.025
"""How well a running average is known, as a share: the meter, and what lies between readings."""
_HELD_U = 0.06
"""How near a budget's limit what is held afterwards lies, as a share."""
_LEVELS = 120
_LOWEST_SHARE = 0.15
"""A limit is no lower than this share of the power that the load draws freely."""
_CAP_WITHIN_S = 300.0
"""A cap may come at any moment of a load; within so much time, for what is seen of it [s]."""
_AT_ONCE_S = 4.0
_CAP_STAYS = 0.5
"""How likely a cap that came once is there when the next load begins ..."""
_CAP_FROM_START = 0.2
"""... or was there before the first."""
_CAP_NONE = 0.3
"""How likely none comes in a load."""
_ALIKE_K = 2.0
"""Loads begin alike if they begin no further apart than this [K]; if all do, they are no experiment."""
_SOFTEST = 0.25
"""What one event says about itself counts by its square root, and no cause is less likely than this before: it comes
from the same onset, and its doubt is the reason for the experiment."""


def experiment(notebook: Notebook, events: Sequence[ThrottleEvent]) -> Experiment | None:
    """What the onsets of one session say together; None if it holds no such experiment.

    Args:
        notebook: the session so far.
        events: its throttle events.
    """
    loads = load_courses(notebook, events)
    starts_c = [load.start_c for load in loads if load.onset_at is not None]
    if len(starts_c) < LEAST_ONSETS or max(starts_c) - min(starts_c) <= _ALIKE_K:
        return None
    before, weights = _before(loads, events), _weights(loads)
    likely = {  # logarithms: hundreds of loads multiply to less than the least number there is
        Cause.THERMAL: _by_heat(loads, weights) + log(before[Cause.THERMAL]),
        Cause.POWER_LIMIT: _by_budget(loads, weights) + log(before[Cause.POWER_LIMIT]),
        Cause.OUTSIDE: _by_cap(loads, weights) + log(before[Cause.OUTSIDE]),
    }
    whole = _sum(likely.values())
    causes = {cause: exp(likely[cause] - whole) for cause in _CAUSES}
    best = max(_CAUSES, key=lambda cause: causes[cause])
    cause = best if causes[best] >= NAMED_FROM else Cause.UNEXPLAINED
    at_c = [load.peak_c for load in loads if load.onset_at is not None]
    return Experiment(cause, causes, tuple(load.told() for load in loads), max(at_c) - min(at_c))


def named(event: ThrottleEvent, found: Experiment | None) -> ThrottleEvent:
    """The event with the cause that the experiment gives it, if it had no name of its own and took part."""
    if found is None or event.cause is not Cause.UNEXPLAINED or found.cause is Cause.UNEXPLAINED:
        return event
    if event.number not in {onset.event for onset in found.onsets}:
        return event
    return replace(event, cause=found.cause, causes={**found.causes, Cause.UNEXPLAINED: 0.0}, wanted=())


def _before(loads: Sequence[LoadCourse], events: Sequence[ThrottleEvent]) -> Mapping[Cause, float]:
    """What the first event says about itself; its own doubt is not made less."""
    numbers = [load.event for load in loads if load.event is not None]
    first = next(event for event in events if event.number == min(numbers))
    return {cause: max(_SOFTEST, sqrt(first.causes.get(cause, 0.0))) for cause in _CAUSES}


def _weights(loads: Sequence[LoadCourse]) -> list[float]:
    """What each load counts: of many that begin alike, the third tells nothing that the first two have not told."""
    ordered = sorted(load.start_c for load in loads)
    alike = [
        bisect_right(ordered, load.start_c + _ALIKE_K) - bisect_left(ordered, load.start_c - _ALIKE_K) for load in loads
    ]
    return [min(1.0, 2.0 / count) for count in alike]


def _by_heat(loads: Sequence[LoadCourse], weights: Sequence[float]) -> float:
    """How likely the onsets are if a temperature is defended, over all temperatures that it could be; a logarithm."""
    lowest_c = min(load.peak_c for load in loads) - 5.0
    range_k = min(max(load.peak_c for load in loads) + 5.0 - lowest_c, _MOST_RANGE_K)
    steps = int(range_k / _TEMP_STEP_K)
    each = []
    for number in range(steps):
        limit_c = lowest_c + number * _TEMP_STEP_K
        found = 0.0
        for load, counts in zip(loads, weights, strict=True):
            u_k = sqrt(_TEMP_U_K**2 + (load.rate_k_per_s * _PEAK_U_S) ** 2)
            if load.onset_at is None:
                found += counts * _below((limit_c - load.peak_c) / u_k)
            else:
                found += counts * (_bell(load.peak_c, limit_c, u_k) + log(load.rate_k_per_s))
                found += counts * _below((limit_c + 1.0 - load.hottest_before_c) / u_k)
        each.append(found)
    return _sum(each) + log(_TEMP_STEP_K / _TEMP_RANGE_K)


def _by_budget(loads: Sequence[LoadCourse], weights: Sequence[float]) -> float:
    """The same if a running average of power is limited, over all windows and limits that it could have."""
    return _sum([_by_window(loads, weights, window_s) for window_s in _WINDOWS_S]) - log(len(_WINDOWS_S))


def _by_window(loads: Sequence[LoadCourse], weights: Sequence[float], window_s: float) -> float:
    averages = averages_w(loads, window_s)
    highest_w = max(load.free_w for load in loads)
    held_w = next((load.held_w for load in loads if load.held_w is not None), None)
    ratio = (1.2 / _LOWEST_SHARE) ** (1.0 / _LEVELS)
    each = []
    for number in range(_LEVELS):
        limit_w = highest_w * _LOWEST_SHARE * ratio**number
        found = 0.0
        for load, counts, average_w in zip(loads, weights, averages, strict=True):
            u_w = sqrt((_AVERAGE_U * limit_w) ** 2)
            if load.onset_at is None:
                found += counts * _below((limit_w - average_w) / u_w)
                continue
            rate = max((load.free_w - average_w) / window_s, 0.002 * load.free_w)
            found += counts * (_bell(average_w, limit_w, sqrt(u_w**2 + (rate * _TIME_U_S) ** 2)) + log(rate))
        if held_w is not None:  # once: what is held after the next onsets is the same, whatever holds it
            found += _bell(held_w, limit_w, _HELD_U * limit_w) + log(highest_w)
        each.append(found)
    return _sum(each) - log(_LEVELS)


def _by_cap(loads: Sequence[LoadCourse], weights: Sequence[float]) -> float:
    """The same if something outside comes when it likes."""
    found, came = 0.0, False
    for load, counts in zip(loads, weights, strict=True):
        at_once = _CAP_STAYS if came else _CAP_FROM_START
        if load.onset_at is None:
            found += counts * log(_CAP_NONE)
        elif load.onset_after_s <= _AT_ONCE_S:
            found += counts * log(at_once / _AT_ONCE_S)
        else:
            found += counts * log((1.0 - at_once) * (1.0 - _CAP_NONE) / _CAP_WITHIN_S)
        came = came or load.onset_at is not None
    return found


def _sum(each: Iterable[float]) -> float:
    """Logarithm of the sum of what these are the logarithms of."""
    logs = list(each)
    most = max(logs)
    return most + log(sum(exp(one - most) for one in logs))


def _bell(value: float, middle: float, u: float) -> float:
    """Logarithm of the density of the normal distribution."""
    return -0.5 * ((value - middle) / u) ** 2 - log(u * sqrt(2.0 * pi))


def _below(z: float) -> float:
    """Logarithm of the share of the normal distribution below ``z`` standard deviations; never quite nothing."""
    return log(max(0.5 * (1.0 + erf(z / sqrt(2.0))), 1e-6))
