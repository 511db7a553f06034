"""The table of phases as CSV: one row a phase, raw numbers with units in the column names, empty = not read."""

from __future__ import annotations

import csv
import io

from benchmon.model import keys
from benchmon.model.box_parts import PARTS
from benchmon.model.findings import Figure, PhaseFindings, Summary, WorkDone
from benchmon.views.doors import csv_cell
from benchmon.views.words.work import kind_in_short

_MEANS = (keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP, keys.LOAD, keys.WORK_RATE)

_LEVEL = ("start_s", "end_s", "clock_mhz", "power_w", "work_per_s", "wall_w", "temp_last_c", "temp_highest_c")
"""Of before and sustained."""


def render(summary: Summary) -> str:
    """Header line and a row for each phase; lines end with a line feed alone."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    head = ["phase", "start_s", "end_s"]
    for key in _MEANS:
        head += [f"{key}_mean", f"{key}_min", f"{key}_max", f"{key}_end"]
    head += ["room_c", "wall_w", "scores", "score_per_w", "score_w_of", "settled", "settled_at_s"]
    head += ["resistance_k_per_w", "resistance_low_k_per_w", "resistance_high_k_per_w", "energy_j", "event_numbers"]
    head += ["work", "work_gflop_per_s", "work_gop_per_s", "work_gbyte_per_s"]
    head += [f"box_{part}" for part in PARTS]
    head += [
        "throttled_after_s",
        *(f"{stretch}_{name}" for stretch in ("before", "sustained") for name in _LEVEL),
        "simulated",
    ]
    box = [csv_cell(summary.box[part].text) if part in summary.box else "" for part in PARTS]
    writer.writerow(head)
    for phase in summary.phases:
        writer.writerow([*_row(phase), *box, *_levels(phase), "yes" if summary.header.virtual else "no"])
    return out.getvalue()


def _row(phase: PhaseFindings) -> list[str]:
    row = [csv_cell(phase.name), _cell(phase.start_s), _cell(phase.end_s)]
    for key in _MEANS:
        spread = phase.means.get(key)
        figures = (None,) * 4 if spread is None else (spread.mean, spread.least, spread.greatest, spread.last)
        row += [_cell(figure) for figure in figures]
    settling = phase.settling.get(keys.PROCESSOR_TEMP)
    settled = "" if settling is None or settling.settled is None else ("yes" if settling.settled else "no")
    row += [_cell(phase.room_c), _cell(phase.wall_w), *_scores(phase), settled]
    row.append(_cell(None if settling is None else settling.settled_at_s))
    row += [*_interval(phase.resistance_k_per_w), _cell(phase.energy_j.value)]
    row.append(" ".join(str(number) for number in phase.events))
    return [*row, *_work(phase.work)]


def _levels(phase: PhaseFindings) -> list[str]:
    row = [_cell(phase.throttled_after_s)]
    for level in (phase.before, phase.sustained):
        row += [_cell(None if level is None else getattr(level, name)) for name in _LEVEL]
    return row


def _work(work: WorkDone | None) -> list[str]:
    if work is None:
        return ["", "", "", ""]
    rates = (work.floating_g_per_s, work.operations_g_per_s, work.moved_gb_per_s)
    return [csv_cell(kind_in_short(work)), *map(_cell, rates)]


def _scores(phase: PhaseFindings) -> list[str]:
    """All scores with their names; of the last, what it comes to per watt, and of which watts."""
    names = csv_cell("; ".join(f"{score.value:g} {score.name}".rstrip() for score in phase.scores))
    last = phase.scores[-1] if phase.scores else None
    return [names, "", ""] if last is None else [names, _cell(last.per_watt.value), last.watts_of]


def _interval(figure: Figure) -> list[str]:
    return [_cell(figure.value), _cell(figure.low), _cell(figure.high)]


def _cell(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"
