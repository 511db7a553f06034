"""Where a phase would settle, and its resistance, from the joint model; or why that cannot be said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

from benchmon.analysis.intake.entered import room_at
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.findings import Figure
from benchmon.model.records import MarkKind

if TYPE_CHECKING:
    from benchmon.analysis.thermal.machine import MachineModel, Settled

POWER_U = 0.01
"""Standard uncertainty of a wall meter's readings as a share: 2 % at 95 %, what IEC 62301 asks of a power meter."""
COUNTER_U = 0.017
"""The same of a package's power counter: counters are wrong by up to ± 3 % (rectangular, GUM 4.3.7)."""
ROOM_U_K = 0.5
"""Standard uncertainty of a room thermometer: ± 1 K at 95 % (common practice, no source)."""
ROOM_DRIFT_K_PER_H, ROOM_DRIFT_MOST_K = 0.5, 3.0
"""How far a room may drift away from what was read, and how far at most, indoors (common practice, no source)."""
LEAST_S = 45.0
"""A phase shorter than this says nothing about where it settles [s]."""
LEAST_POWER_W = 0.5
MOST_OPEN = 0.6
"""A resistance that is open by more than this share of itself is not told."""
BELOW_ROOM = "the sensor reads below the room: one of the two is wrong"


@dataclass(frozen=True, slots=True)
class SteadyState:
    """A phase when it has settled."""

    phase: Phase
    temp: Figure
    resistance: Figure
    power_w: float
    rise_k: float
    settled: Settled
    """The same for each machine that could be meant."""


def steady_state(
    notebook: Notebook, phase: Phase, events: Sequence[ThrottleEvent], model: MachineModel | str
) -> SteadyState | str:
    """Temperature, power and rise of a phase as if it had been left alone until it settled; or why not."""
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    if heat_within(events, phase.start_s, end_s):
        return "it was throttled by heat: a defended temperature is no equilibrium"
    if not len(notebook.trace.course("temp_c", phase.start_s, end_s, 8)):
        return "no processor temperature was read in this phase"
    if isinstance(model, str):
        return model
    if end_s - phase.start_s < LEAST_S:
        return f"it lasted {end_s - phase.start_s:.0f} s only; {LEAST_S:.0f} s are needed"
    if model.changed_s is not None and phase.start_s < model.changed_s:
        return "the cooler changed after it, or while it lasted"
    found = model.settled(phase)
    if found is None:
        return "there are too few readings in this phase"
    if not model.readings.room_known:
        return "no room temperature was entered"
    if not model.readings.has_watts or not len(notebook.trace.course("power_w", phase.start_s, end_s, 8)):
        return "package power was not read in this phase"
    return _state(phase, found)


def _state(phase: Phase, found: Settled) -> SteadyState:
    from benchmon.analysis.thermal.machine import figures_of  # noqa: PLC0415  (loads numpy, which is there by now)

    temp, rises, powers = figures_of(found.temp_c, found.rise_k, found.power_w)
    rise, watts = rises.value or 0.0, powers.value or 0.0
    if rise <= 0 or found.seen_c < found.room_c - 1.0:
        resistance = Figure(why_not=BELOW_ROOM)
    elif watts < LEAST_POWER_W:
        resistance = Figure(why_not=f"less than {LEAST_POWER_W:g} W says nothing about a cooler")
    else:
        (resistance,) = figures_of(found.rise_k / found.power_w)
        if half_width(resistance) > MOST_OPEN * (resistance.value or 0.0):
            resistance = Figure(why_not="it had not settled, and too much of its rise is still to come")
    return SteadyState(phase, temp, resistance, watts, rise, found)


def half_width(found: Figure) -> float:
    """Half of the 95 % interval; 0 without one."""
    return 0.0 if found.low is None or found.high is None else (found.high - found.low) / 2.0


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
    return room, room_u_k(0.0 if between else min(before))


def room_u_k(away_s: float) -> float:
    """Standard uncertainty of a room that was read so long before or after [s]; [K]."""
    return sqrt(ROOM_U_K**2 + min(ROOM_DRIFT_K_PER_H * (away_s / 3600.0), ROOM_DRIFT_MOST_K) ** 2)
