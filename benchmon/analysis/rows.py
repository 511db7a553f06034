"""One row of the bench sheet: a phase with its statistics, entered readings, energy and score."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchmon.analysis.intake.entered import room_at, spread_of, within
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.intake.tally import Tally
from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import Figure, PhaseFindings, Spread
from benchmon.model.records import Mark, MarkKind

POWER_DOUBT = 0.02
"""Doubt of power readings at 95 %, as a share: what IEC 62301 asks of a meter; counters have no published one."""
_LOADED_SHARE = 0.5


def make_row(notebook: Notebook, phase: Phase) -> PhaseFindings:
    """The row without settling and resistance, which need fits."""
    sums = notebook.sums(phase)
    means = _means(notebook, sums)
    marks = notebook.tracker.marks
    entered_wall = spread_of(within(marks.of(MarkKind.WALL), phase))
    if entered_wall is not None and keys.WALL_POWER not in means:
        means[keys.WALL_POWER] = entered_wall
    wall = means.get(keys.WALL_POWER)
    return PhaseFindings(
        name=phase.name,
        start_s=phase.start_s,
        end_s=phase.end_s,
        means=means,
        room_c=_room(notebook, phase, means.get(keys.ROOM_TEMP)),
        wall_w=None if wall is None else wall.mean,
        energy_j=_energy(notebook, phase, sums, means.get(keys.PACKAGE_POWER)),
    )


def with_events(row: PhaseFindings, events: Sequence[ThrottleEvent], now_s: float) -> PhaseFindings:
    """The row with the numbers of the events that touch it."""
    end_s = now_s if row.end_s is None else row.end_s
    numbers = tuple(
        event.number for event in events if event.start_s < end_s and (event.end_s is None or event.end_s > row.start_s)
    )
    return row if numbers == row.events else replace(row, events=numbers)


def with_scores(rows: Sequence[PhaseFindings], scores: Sequence[Mark]) -> tuple[PhaseFindings, ...]:
    """The rows with the scores that were entered, each at the phase in which it was earned.

    A benchmark tells its score when it is over. So a score that was entered in a phase with less than half the load of
    the phase before belongs to that one; not so one that was read as it was printed. The last score of a phase counts.
    """
    scored = list(rows)
    for mark in scores:
        place = next((at for at in range(len(rows) - 1, -1, -1) if rows[at].start_s <= mark.t_s), None)
        if place is None or mark.value is None:
            continue
        if place and not mark.source and _load(rows[place]) < _LOADED_SHARE * _load(rows[place - 1]):
            place -= 1
        scored[place] = _scored(scored[place], mark.value, mark.text)
    return tuple(scored)


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


def _load(row: PhaseFindings) -> float:
    """How busy a phase was: load, else power; 0 if neither was read."""
    spread = row.means.get(keys.LOAD) or row.means.get(keys.PACKAGE_POWER)
    return 0.0 if spread is None else spread.mean


def _scored(row: PhaseFindings, score: float, name: str) -> PhaseFindings:
    power, energy = row.means.get(keys.PACKAGE_POWER), row.energy_j
    no_power = Figure(why_not="package power was not read in this phase")
    per_watt, per_kwh = no_power, no_power
    if power is not None and power.mean > 0:
        per_watt = _ratio(score, Figure(power.mean, power.mean * (1 - POWER_DOUBT), power.mean * (1 + POWER_DOUBT)))
    if energy.value is not None and energy.value > 0 and energy.low is not None and energy.high is not None:
        kwh = 3.6e6
        per_kwh = _ratio(score, Figure(energy.value / kwh, energy.low / kwh, energy.high / kwh))
    return replace(row, score=score, score_name=name, score_per_watt=per_watt, score_per_kwh=per_kwh)


def _ratio(score: float, below: Figure) -> Figure:
    if below.value is None or below.low is None or below.high is None or below.low <= 0:
        return Figure(why_not="the energy is not known well enough")
    ends = sorted((score / below.high, score / below.low))
    return Figure(score / below.value, ends[0], ends[1])
