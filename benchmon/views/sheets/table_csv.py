"""The table of phases as CSV: one row a phase, raw numbers with units in the column names, empty = not read."""

from __future__ import annotations

import csv
import io

from benchmon.model import keys
from benchmon.model.box_parts import PARTS
from benchmon.model.findings import Figure, PhaseFindings, Summary
from benchmon.views.doors import csv_cell
from benchmon.views.words.work import kind_in_short

_MEANS = (keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP, keys.LOAD, keys.WORK_RATE)


def render(summary: Summary) -> str:
    """Header line and a row for each phase; lines end with a line feed alone."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    head = ["phase", "start_s", "end_s"]
    for key in _MEANS:
        head += [f"{key}_mean", f"{key}_least", f"{key}_greatest"]
    head += ["room_c", "wall_w", "scores", "score_per_w", "score_w_of", "settled", "settled_at_s"]
    head += ["resistance_k_per_w", "resistance_low_k_per_w", "resistance_high_k_per_w", "energy_j", "event_numbers"]
    head += ["work", "work_gflop_per_s", "work_gop_per_s", "work_gbyte_per_s"]
    head += [f"box_{part}" for part in PARTS]
    box = [csv_cell(summary.box[part].text) if part in summary.box else "" for part in PARTS]
    writer.writerow(head)
    for phase in summary.phases:
        writer.writerow([*_row(phase), *box])
    return out.getvalue()


def _row(phase: PhaseFindings) -> list[str]:
    row = [csv_cell(phase.name), _cell(phase.start_s), _cell(phase.end_s)]
    for key in _MEANS:
        spread = phase.means.get(key)
        row += ["", "", ""] if spread is None else [_cell(spread.mean), _cell(spread.least), _cell(spread.greatest)]
    settling = phase.settling.get(keys.PROCESSOR_TEMP)
    settled = "" if settling is None or settling.settled is None else ("yes" if settling.settled else "no")
    row += [_cell(phase.room_c), _cell(phase.wall_w), *_scores(phase), settled]
    row.append(_cell(None if settling is None else settling.settled_at_s))
    row += [*_interval(phase.resistance_k_per_w), _cell(phase.energy_j.value)]
    row.append(" ".join(str(number) for number in phase.events))
    work = phase.work
    if work is None:
        return [*row, "", "", "", ""]
    rates = (work.floating_g_per_s, work.operations_g_per_s, work.moved_gb_per_s)
    return [*row, csv_cell(kind_in_short(work)), *map(_cell, rates)]


def _scores(phase: PhaseFindings) -> list[str]:
    """All scores with their names; of the last, what it comes to per watt, and of which watts."""
    names = csv_cell("; ".join(f"{score.value:g} {score.name}".rstrip() for score in phase.scores))
    last = phase.scores[-1] if phase.scores else None
    return [names, "", ""] if last is None else [names, _cell(last.per_watt.value), last.watts_of]


def _interval(figure: Figure) -> list[str]:
    return [_cell(figure.value), _cell(figure.low), _cell(figure.high)]


def _cell(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"
