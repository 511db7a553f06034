"""What people entered by hand, put to the phase it speaks of: wall readings, room temperatures, scores."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.analysis.intake.phases import Phase
from benchmon.model.findings import Spread
from benchmon.model.records import Mark


def within(marks: Sequence[Mark], phase: Phase) -> tuple[Mark, ...]:
    """The marks with a value that speak of a time in the phase."""
    end_s = float("inf") if phase.end_s is None else phase.end_s
    return tuple(mark for mark in marks if mark.value is not None and phase.start_s <= mark.t_s < end_s)


def spread_of(marks: Sequence[Mark]) -> Spread | None:
    """Plain statistics of entered values; None if there are none."""
    values = [mark.value for mark in marks if mark.value is not None]
    if not values:
        return None
    return Spread(sum(values) / len(values), min(values), max(values), values[-1], len(values))


def room_at(marks: Sequence[Mark], t_s: float) -> float | None:
    """Room temperature at a time [°C]: straight between two entered readings, the nearest one before and after all.

    Args:
        marks: room marks in order of time.
        t_s: session time [s].
    """
    readings = [(mark.t_s, mark.value) for mark in marks if mark.value is not None]
    if not readings:
        return None
    before = [reading for reading in readings if reading[0] <= t_s]
    after = [reading for reading in readings if reading[0] > t_s]
    if not before or not after:
        return before[-1][1] if before else after[0][1]
    (earlier_s, earlier), (later_s, later) = before[-1], after[0]
    return earlier + (later - earlier) * (t_s - earlier_s) / (later_s - earlier_s)
