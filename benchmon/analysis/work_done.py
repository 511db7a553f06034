"""What the counted work of a phase amounts to: units of known size, and of one kind only."""

from __future__ import annotations

from bisect import bisect_right
from math import inf

from benchmon.analysis.intake.phases import SAME_MOMENT_S, LoadStep, Phase, PhaseTracker
from benchmon.model.findings import Spread, WorkDone
from benchmon.model.records import LoadChange
from benchmon.model.work_kinds import FLOATING_KINDS, kind_named_in

_GIGA = 1e9


def work_done(tracker: PhaseTracker, phase: Phase, rate: Spread | None) -> WorkDone | None:
    """The work of a phase; None if no built-in work ran in it.

    Args:
        tracker: knows the loads.
        phase: the stretch.
        rate: units a second in it; None if they were not counted.
    """
    started = _started_in(tracker.loads, phase)
    kinds = {(change.work or kind_named_in(change.what), change.duty) for change in started} - {("", 1.0)}
    if not kinds:
        return None
    (kind, duty), *others = sorted(kinds)
    sizes = {(change.unit_operations, change.unit_bytes) for change in started}
    if others or len(sizes) > 1:
        return WorkDone("", is_mixed=True)
    units = None if rate is None else rate.mean
    operations, moved = (_giga(units, size) for size in next(iter(sizes)))
    is_floating = kind in FLOATING_KINDS
    return WorkDone(kind, duty, operations, operations if is_floating else None, moved)


def _giga(units_per_s: float | None, size: float | None) -> float | None:
    return None if units_per_s is None or size is None else units_per_s * size / _GIGA


def _started_in(loads: list[LoadStep], phase: Phase) -> list[LoadChange]:
    """The loads that ran in a phase for longer than a moment."""
    told = [step for step in loads if not step.is_seen]
    phase_end_s = inf if phase.end_s is None else phase.end_s
    ran = []
    first = max(bisect_right(told, phase.start_s, key=lambda step: step.at_s) - 1, 0)
    for place, step in enumerate(told[first:], start=first + 1):
        if step.at_s >= phase_end_s:
            break
        end_s = told[place].at_s if place < len(told) else inf
        if step.started is not None and min(end_s, phase_end_s) - max(step.at_s, phase.start_s) > SAME_MOMENT_S:
            ran.append(step.started)
    return ran
