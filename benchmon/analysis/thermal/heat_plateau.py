"""The stretch in which firmware defended a temperature: where capacity is measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.sustained import ONE_STRETCH_S, load_end
from benchmon.analysis.thermal.steady import room_of
from benchmon.model import keys
from benchmon.model.events import Cause, ThrottleEvent

LEAST_HELD_S = 60.0
_ONSET_S = 10.0
_SAW_K = 3.0
_MOST_BINS = 4000


@dataclass(frozen=True, slots=True)
class Held:
    """A plateau that heat limited: one event, or several that belong together."""

    start_s: float
    end_s: float
    temp_c: float
    """What is defended: the mean of what was held, the tips if it saws [°C]."""
    temp_u: float
    room_c: float | None


def held(notebook: Notebook, events: Sequence[ThrottleEvent]) -> Held | str:
    """The longest plateau; or why there is none."""
    plateaus = plateaus_of(notebook, events)
    if not plateaus:
        was_read = len(notebook.trace.course("temp_c", 0.0, None))
        return "no limitation by heat was found" if was_read else "no processor temperature was read"
    first_s, end_s = max(plateaus, key=lambda stretch: stretch[1] - stretch[0])
    start_s = first_s + _ONSET_S
    if end_s - start_s < LEAST_HELD_S:
        return f"heat limited it for {end_s - first_s:.0f} s only; {LEAST_HELD_S + _ONSET_S:.0f} s are needed"
    power = notebook.trace.course("power_w", start_s, end_s)
    temp = notebook.trace.course("temp_c", start_s, end_s, _MOST_BINS)
    if len(power) < 8 or not len(temp):
        return "power or temperature was not read while heat limited it"
    defended, u = _defended(temp.values, notebook.resolution(keys.PROCESSOR_TEMP) or 0.0)
    room = room_of(notebook, start_s, end_s)
    return Held(first_s, end_s, defended, u, None if room is None else room[0])


def with_plateau(event: ThrottleEvent, notebook: Notebook) -> ThrottleEvent:
    """The event with the temperature that heat held in it, by the same rule as the verdict's, where it lasted."""
    end_s = load_end(notebook, event.start_s, notebook.now_s if event.end_s is None else event.end_s)
    if event.temp_plateau_c is None or event.cause is not Cause.THERMAL or end_s - event.start_s < LEAST_HELD_S:
        return event
    temp = notebook.trace.course("temp_c", event.start_s + _ONSET_S, end_s, _MOST_BINS)
    if not len(temp):
        return event
    return replace(event, temp_plateau_c=_defended(temp.values, notebook.resolution(keys.PROCESSOR_TEMP) or 0.0)[0])


def plateaus_of(notebook: Notebook, events: Sequence[ThrottleEvent]) -> list[tuple[float, float]]:
    """Begin and end of the stretches that heat limited [s]; neighbours under one load together."""
    merged: list[tuple[float, float]] = []
    for event in events:
        if event.cause is not Cause.THERMAL:
            continue
        end_s = notebook.now_s if event.end_s is None else event.end_s
        end_s = load_end(notebook, event.start_s, end_s)
        if (
            merged
            and event.start_s - merged[-1][1] <= ONE_STRETCH_S
            and _same_load(notebook, merged[-1][1], event.start_s)
        ):
            merged[-1] = (merged[-1][0], max(merged[-1][1], end_s))
        else:
            merged.append((event.start_s, end_s))
    return merged


def _same_load(notebook: Notebook, start_s: float, end_s: float) -> bool:
    """Whether no phase begins between."""
    return not any(start_s < phase.start_s <= end_s for phase in notebook.tracker.phases)


def _defended(temps: Sequence[float], resolution: float) -> tuple[float, float]:
    """The temperature that is defended and its standard uncertainty.

    A temperature that is steered to swings about its aim, and the aim is its mean. One that saws turns at its tips:
    they are the limit, and the mean is not.
    """
    ordered = sorted(temps)
    low, high = ordered[int(0.05 * len(ordered))], ordered[int(0.95 * (len(ordered) - 1))]
    swing = high - low
    if swing > _SAW_K + 2.0 * resolution:
        return high, sqrt(resolution**2 / 6.0 + 0.5**2)
    mean = sum(temps) / len(temps)
    return mean, sqrt(resolution**2 / 6.0 + (0.15 * swing) ** 2)
