"""One row of the bench sheet: a phase with its statistics, entered readings and energy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchmon.analysis.intake.entered import room_at, spread_of, within
from benchmon.analysis.intake.named_load import contradiction
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.intake.tally import Tally
from benchmon.analysis.scores import POWER_DOUBT
from benchmon.analysis.work_done import work_done
from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, PhaseFindings, Spread
from benchmon.model.records import MarkKind


def make_row(notebook: Notebook, phase: Phase) -> PhaseFindings:
    """The row without settling and resistance, which need fits."""
    sums = notebook.sums(phase)
    means = _means(notebook, sums)
    marks = notebook.tracker.marks
    entered_wall = spread_of(within(marks.of(MarkKind.WALL), phase))
    if entered_wall is not None and keys.WALL_POWER not in means:
        means[keys.WALL_POWER] = entered_wall
    wall = means.get(keys.WALL_POWER)
    work = work_done(notebook.tracker, phase, means.get(keys.WORK_RATE))
    if work is not None and work.is_mixed:
        means.pop(keys.WORK_RATE, None)  # units of different size have no mean
    row = PhaseFindings(
        name=phase.name,
        start_s=phase.start_s,
        end_s=phase.end_s,
        means=means,
        room_c=_room(notebook, phase, means.get(keys.ROOM_TEMP)),
        wall_w=None if wall is None else wall.mean,
        energy_j=_energy(notebook, phase, sums, means.get(keys.PACKAGE_POWER)),
        work=work,
    )
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    return replace(row, contradiction=contradiction(row, end_s, notebook.tracker.logical_processors))


def with_events(row: PhaseFindings, events: Sequence[ThrottleEvent], now_s: float) -> PhaseFindings:
    """The row with the numbers of the events that touch it."""
    end_s = now_s if row.end_s is None else row.end_s
    numbers = tuple(
        event.number for event in events if event.start_s < end_s and (event.end_s is None or event.end_s > row.start_s)
    )
    return row if numbers == row.events else replace(row, events=numbers)


def _means(notebook: Notebook, sums: Tally | None) -> dict[str, Spread]:
    if sums is None:
        return {}
    pairs = zip(notebook.column_keys, sums.spreads, strict=True)
    return {key: spread for key, spread in pairs if spread is not None}


def _room(notebook: Notebook, phase: Phase, read: Spread | None) -> float | None:
    """The thermometer's mean where one was read, else the entered readings at the middle of the phase."""
    if read is not None:
        return read.mean
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    return room_at(notebook.tracker.marks.of(MarkKind.ROOM), (phase.start_s + end_s) / 2)


def _energy(notebook: Notebook, phase: Phase, sums: Tally | None, power: Spread | None) -> Figure:
    """Energy of the phase; time without readings counts with the mean power, and widens the interval."""
    if sums is None or power is None or sums.covered_s <= 0:
        return Figure(why_not="package power was not read in this phase")
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    missing_s = max(end_s - max(phase.start_s, sums.first_s) - sums.covered_s, 0.0)
    known = sums.energy_j
    mean = known / sums.covered_s
    return Figure(
        known + mean * missing_s,
        known * (1 - POWER_DOUBT) + power.least * missing_s,
        known * (1 + POWER_DOUBT) + power.greatest * missing_s,
    )
