"""The watts that are held while firmware defends a temperature: capacity, measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, sqrt

from benchmon.analysis.fit.approach import Expectation, approaches
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.trace import Course
from benchmon.analysis.thermal.steady import COVERS, MODEL_SHARE, POWER_U, room_of
from benchmon.model import keys
from benchmon.model.events import Cause, ThrottleEvent

CASE_SHARE, CASE_S = 0.05, 1800.0
"""What a case that warms up unseen may still take from the watts, and its time constant [s] (judged)."""
LEAST_HELD_S = 60.0
_ONSET_S = 10.0
_SLICES = 40


@dataclass(frozen=True, slots=True)
class Held:
    """A plateau that heat limited."""

    event: ThrottleEvent
    power_w: float
    """What it comes down to when the whole box has settled [W]."""
    power_u: float
    """Standard uncertainty [W]."""
    temp_c: float
    temp_u: float
    room_c: float | None
    room_u: float


def held(notebook: Notebook, events: Sequence[ThrottleEvent]) -> Held | str:
    """The longest plateau; or why there is none."""
    heat = [event for event in events if event.cause is Cause.THERMAL]
    if not heat:
        was_read = len(notebook.trace.course("temp_c", 0.0, None))
        return "no limitation by heat was found" if was_read else "no processor temperature was read"
    longest = max(heat, key=lambda event: (event.end_s or notebook.now_s) - event.start_s)
    start_s, end_s = longest.start_s + _ONSET_S, longest.end_s or notebook.now_s
    end_s = min(end_s, _load_end(notebook, start_s, end_s))
    if end_s - start_s < LEAST_HELD_S:
        return f"heat limited it for {end_s - longest.start_s:.0f} s only; {LEAST_HELD_S + _ONSET_S:.0f} s are needed"
    power = _whole_cycles(notebook.trace.course("power_w", start_s, end_s))
    temp = notebook.trace.course("temp_c", start_s, end_s)
    if len(power) < 8 or not len(temp):
        return "power or temperature was not read while heat limited it"
    late = temp.after(start_s + (end_s - start_s) / 2) or temp
    temp_c = sum(late.values) / len(late)
    resolution = notebook.resolution(keys.PROCESSOR_TEMP) or 0.0
    swing = sqrt(sum((value - temp_c) ** 2 for value in late.values) / len(late))
    watts, u = _comes_down_to(power, start_s)
    room = room_of(notebook, start_s, end_s)
    room_c, room_u = (None, 0.0) if room is None else room
    temp_u = sqrt(resolution**2 / 6.0 + (0.5 * swing) ** 2)
    return Held(longest, watts, sqrt(u**2 + (POWER_U * watts) ** 2), temp_c, temp_u, room_c, room_u)


def _load_end(notebook: Notebook, start_s: float, end_s: float) -> float:
    """The load's own end, if a record tells one before the event's end was seen."""
    ends = [step.at_s for step in notebook.tracker.loads if step.busy_cores == 0 and start_s < step.at_s <= end_s]
    return min(ends, default=end_s)


def _whole_cycles(power: Course) -> Course:
    """Means over so many equal slices that each holds whole teeth of a saw, if it is one.

    The period is the mean distance of rises through the mean; slices are whole multiples of it.
    """
    count = len(power)
    if count < 16:
        return power
    mean = sum(power.values) / count
    rises = [k for k in range(1, count) if power.values[k - 1] < mean <= power.values[k]]
    period = (rises[-1] - rises[0]) / (len(rises) - 1) if len(rises) > 2 else 1.0
    wanted = max(count / _SLICES, 1.0)
    width = period * max(1.0, round(wanted / period)) if period > 1.0 else wanted
    width = min(width, count / 8)
    edges = [round(k * width) for k in range(int(count / width) + 1)]
    slices = [(a, b) for a, b in pairwise(edges) if b > a]
    times = tuple(sum(power.times_s[a:b]) / (b - a) for a, b in slices)
    return Course(times, tuple(sum(power.values[a:b]) / (b - a) for a, b in slices))


def _from_its_height(power: Course, start_s: float) -> tuple[Course, float]:
    """Without the recovery from a first drop that went too far: from its height on, power follows the cooler."""
    height = max(range(len(power) // 2 + 1), key=lambda k: power.values[k])
    if height == 0:
        return power, start_s
    return Course(power.times_s[height:], power.values[height:]), power.times_s[height - 1]


def _comes_down_to(power: Course, start_s: float) -> tuple[float, float]:
    """Watts when everything has settled, and standard uncertainty.

    While a temperature is held, power falls as heatsink and case warm up: the same approach as that of a temperature.
    """
    power, start_s = _from_its_height(power, start_s)
    late = power.values[len(power) // 2 :]
    mean = sum(late) / len(late)
    scatter = sqrt(sum((value - mean) ** 2 for value in late) / max(len(late) - 1, 1) / len(late))
    scale = 1.0 / max(mean, 1e-9) * 40.0  # in the size of a temperature rise, for which the approach is made
    ways = approaches([t - start_s for t in power.times_s], [v * scale for v in power.values], Expectation())
    if not ways:
        return mean, max(scatter, 0.02 * mean)
    settled = sum(way.weight * way.settled for way in ways)
    variance = sum(way.weight * (way.settled - settled) ** 2 for way in ways)
    watts, u = settled / scale, sqrt(variance) / scale
    lasted_s = power.times_s[-1] - start_s
    unseen = CASE_SHARE * exp(-lasted_s / CASE_S) * mean
    u = sqrt(u**2 + scatter**2 + (MODEL_SHARE * (watts - mean)) ** 2 + unseen**2)
    if u * COVERS > 0.25 * mean or watts <= 0:  # the fit does not tell: what was held is still what was held
        return mean, max(scatter, abs(watts - mean) / 2, 0.03 * mean)
    return watts, u
