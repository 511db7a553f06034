"""Where a phase would settle: temperature, power and room with standard uncertainties, or why it cannot be said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from benchmon.analysis.fit.approach import Approach, Expectation, approaches, learn
from benchmon.analysis.intake.entered import room_at
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.intake.trace import Course
from benchmon.analysis.thermal.lesson import Lesson
from benchmon.model import keys
from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.records import MarkKind

COVERS = 1.96
POWER_U = 0.01
"""Standard uncertainty of power readings as a share: 2 % at 95 %, what IEC 62301 asks of a power meter."""
ROOM_U_K = 0.5
"""Standard uncertainty of a room thermometer: ± 1 K at 95 % (common practice, no source)."""
ROOM_DRIFT_K_PER_H = 0.5
"""How far a room may drift away from what was read (common practice, no source)."""
MODEL_SHARE = 0.15
"""Doubt of what is extrapolated, as a share of it: fans answer, leakage bends the curve."""
LEAST_U_K = 0.25
"""No settled temperature is known better than this: rooms breathe, fans hunt [K]."""
LEAST_S = 45.0
"""A phase shorter than this says nothing about where it settles [s]."""
_STEP_SHARE, _STEP_S = 0.08, 10.0
_MOST_BINS = 200


@dataclass(frozen=True, slots=True)
class Outlook:
    """What the readings of one stretch say about its end."""

    start_s: float
    """Since when nothing changed [s]."""
    ways: tuple[Approach, ...]
    settled_c: float
    u_k: float
    """Standard uncertainty [K]."""
    last_c: float
    """Latest reading, smoothed [°C]."""


WORTH_K, WORTH_SHARE = 3.0, 0.3
_LEAST_STEP_W = 1.0
_LEAST_RISE_K = 4.0


@dataclass(frozen=True, slots=True)
class SteadyState:
    """A phase when it has settled, each with its standard uncertainty."""

    phase: Phase
    temp_c: float
    temp_u: float
    power_w: float
    power_u: float
    """Without the common share of all power readings."""
    room_c: float
    room_u: float
    seen_c: float
    """What was really reached [°C]."""

    @property
    def rise_k(self) -> float:
        """Above the room [K]."""
        return self.temp_c - self.room_c


def outlook(notebook: Notebook, phase: Phase, now_s: float) -> Outlook | str:
    """Where the temperature of a phase is going, or a sentence why that cannot be said."""
    end_s = now_s if phase.end_s is None else min(phase.end_s, now_s)
    start_s = _unchanged_since(notebook.trace.course("power_w", phase.start_s, end_s), phase.start_s)
    course = notebook.trace.course("temp_c", start_s, end_s, _MOST_BINS)
    if not len(course):
        return "no processor temperature was read in this phase"
    if course.times_s[-1] - start_s < LEAST_S or len(course) < 8:
        since = "the phase began" if start_s == phase.start_s else "the power last changed"
        return f"it is too early: {course.times_s[-1] - start_s:.0f} s since {since}, {LEAST_S:.0f} s are needed"
    resolution = notebook.resolution(keys.PROCESSOR_TEMP) or 0.0
    expected = expectation(notebook, phase, start_s, end_s, resolution)
    ways = approaches([t - start_s for t in course.times_s], course.values, expected)
    if not ways:
        return "the readings do not determine where it settles"
    settled = sum(way.weight * way.settled for way in ways)
    variance = sum(way.weight * (way.settled - settled) ** 2 for way in ways)
    last = sum(course.values[-5:]) / len(course.values[-5:])
    # Two steps' worth: one for the step itself, one for not knowing whether the sensor rounds or cuts.
    u = sqrt(variance + resolution**2 / 6.0 + (MODEL_SHARE * (settled - last)) ** 2 + LEAST_U_K**2)
    return Outlook(start_s, ways, settled, u, last)


def expectation(notebook: Notebook, phase: Phase, start_s: float, end_s: float, resolution: float) -> Expectation:
    """What the phases before this one teach about it."""
    if start_s != phase.start_s:
        return Expectation(resolution)
    before = next((other for other in notebook.tracker.phases if other.end_s == phase.start_s), None)
    now = mean_power(notebook, start_s + 2.0, end_s)
    if before is None or now is None:
        return Expectation(resolution)
    lesson = lesson_of(notebook, before)
    if lesson is None:
        return Expectation(resolution)
    step_w = now[0] - lesson.power_w
    return Expectation(
        resolution,
        lesson.known if abs(step_w) > _LEAST_STEP_W else (),
        step_w,
        lesson.still_to_go,
        lesson.still_to_go_doubt,
    )


def lesson_of(notebook: Notebook, phase: Phase) -> Lesson | None:
    """What a phase that is over teaches; None if it says nothing, for instance because heat limited it.

    The cooler's parts are learned from the phase with the greatest change so far; looked at once, then remembered.
    """
    key = (phase.start_s, phase.end_s or 0.0)
    if key in notebook.lessons:
        return notebook.lessons[key]
    end_s = phase.end_s or notebook.now_s
    notebook.lessons[key] = None
    power = mean_power(notebook, max(phase.start_s, end_s - 60.0), end_s)
    found = outlook(notebook, phase, end_s)
    if power is None or isinstance(found, str) or found.start_s != phase.start_s:
        return None
    before = next((other for other in notebook.tracker.phases if other.end_s == phase.start_s), None)
    earlier = None if before is None else lesson_of(notebook, before)
    known = () if earlier is None else earlier.known
    step_w = 0.0 if earlier is None else power[0] - earlier.power_w
    if (
        abs(step_w) > _LEAST_STEP_W
        and abs(found.settled_c - sum(way.weight * way.at(0.0) for way in found.ways)) > _LEAST_RISE_K
    ):
        known = learn(found.ways, step_w)
    to_go = found.settled_c - found.last_c
    lesson = Lesson(power[0], known, to_go, found.u_k)
    notebook.lessons[key] = lesson
    return lesson


def is_worth_saying(found: Outlook) -> bool:
    """Whether an outlook is narrow enough: ± 3 K at 95 %, or 30 % of the whole way, if that is more."""
    began_c = sum(way.weight * way.at(0.0) for way in found.ways)
    return found.u_k * COVERS <= max(WORTH_K, WORTH_SHARE * abs(found.settled_c - began_c))


def steady_state(
    notebook: Notebook, phase: Phase, events: Sequence[ThrottleEvent], found: Outlook | str | None = None
) -> SteadyState | str:
    """Temperature, power and room of a phase as if it had been left alone until it settled; or why not.

    ``found``: the outlook, if it is known already.
    """
    now_s = notebook.now_s
    end_s = now_s if phase.end_s is None else phase.end_s
    if heat_within(events, phase.start_s, end_s):
        return "heat limited it: a temperature that is held is no equilibrium"
    room = room_of(notebook, phase.start_s, end_s)
    if room is None:
        return "no room temperature was entered"
    found = outlook(notebook, phase, end_s) if found is None else found
    if isinstance(found, str):
        return found
    if not is_worth_saying(found):
        return f"it had not settled, and its end is open by ± {found.u_k * COVERS:.0f} K"
    power = mean_power(notebook, max(found.start_s, end_s - max(60.0, 0.25 * (end_s - found.start_s))), end_s)
    if power is None:
        return "package power was not read in this phase"
    return SteadyState(phase, found.settled_c, found.u_k, *power, *room, found.last_c)


def heat_within(events: Sequence[ThrottleEvent], start_s: float, end_s: float) -> bool:
    """Whether heat limited the processor within this time."""
    return any(
        event.cause is Cause.THERMAL and event.start_s < end_s and (event.end_s is None or event.end_s > start_s)
        for event in events
    )


def mean_power(notebook: Notebook, start_s: float, end_s: float) -> tuple[float, float] | None:
    """Mean package power and the standard uncertainty of the mean [W]; neighbours are not taken as independent."""
    course = notebook.trace.course("power_w", start_s, end_s, 60)
    if len(course) < 3:
        return None
    mean = sum(course.values) / len(course)
    scatter = sqrt(sum((value - mean) ** 2 for value in course.values) / (len(course) - 1))
    return mean, max(scatter / sqrt(max(len(course) / 4.0, 1.0)), 0.002 * abs(mean))


def room_of(notebook: Notebook, start_s: float, end_s: float) -> tuple[float, float] | None:
    """Room temperature towards the end of a stretch, and its standard uncertainty [°C, K]; None if not known."""
    read = notebook.trace.course("room_c", max(start_s, end_s - 300.0), end_s)
    if len(read):
        return sum(read.values) / len(read), ROOM_U_K
    marks = notebook.tracker.marks.of(MarkKind.ROOM)
    room = room_at(marks, end_s)
    if room is None:
        given = notebook.assumed_room_c
        return None if given is None else (given, 2.0 * ROOM_U_K)
    before = [abs(mark.t_s - end_s) for mark in marks]
    between = any(mark.t_s >= end_s for mark in marks) and any(mark.t_s <= end_s for mark in marks)
    away_h = 0.0 if between else min(before) / 3600.0
    return room, sqrt(ROOM_U_K**2 + (ROOM_DRIFT_K_PER_H * away_h) ** 2)


def _unchanged_since(power: Course, start_s: float) -> float:
    """Time of the last step of the power within a phase [s]; the start if there was none.

    A step: the means of 10 s before and after differ by more than 8 %, and by more than the scatter explains.
    """
    if len(power) < 8:
        return start_s
    step_s = (power.times_s[-1] - power.times_s[0]) / (len(power) - 1)
    width = max(2, round(_STEP_S / step_s))
    for middle in range(len(power) - width, width, -1):
        before, after = power.values[middle - width : middle], power.values[middle : middle + width]
        mean_before, mean_after = sum(before) / width, sum(after) / width
        wide = max(max(before) - min(before), max(after) - min(after))
        change = abs(mean_after - mean_before)
        if change > _STEP_SHARE * max(mean_after, mean_before) and change > wide and change > 0.5:
            return power.times_s[middle] - step_s / 2
    return start_s
