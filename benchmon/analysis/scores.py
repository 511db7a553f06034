"""The scores of a benchmark, each at the phase in which it was earned, and what they come to per watt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchmon.model import keys
from benchmon.model.findings import Figure, PhaseFindings, Score
from benchmon.model.records import Mark

POWER_DOUBT = 0.02
"""Doubt of power readings at 95 %, as a share: what IEC 62301 asks of a meter; counters have no published one."""
_LOADED_SHARE = 0.5
_TIMES = frozenset({"s", "sec", "second", "seconds", "ms", "min", "minute", "minutes", "h", "hours"})


def with_scores(rows: Sequence[PhaseFindings], scores: Sequence[Mark]) -> tuple[PhaseFindings, ...]:
    """The rows with the scores that were entered or printed, each at the phase in which it was earned; all are kept.

    A benchmark tells its score when it is over. So a score that was entered in a phase with less than half the load of
    the phase before belongs to that one; not so one that was read as it was printed.
    """
    scored = list(rows)
    for mark in scores:
        place = next((at for at in range(len(rows) - 1, -1, -1) if rows[at].start_s <= mark.t_s), None)
        if place is None or mark.value is None:
            continue
        if place and not mark.source and _load(rows[place]) < _LOADED_SHARE * _load(rows[place - 1]):
            place -= 1
        score = _score(rows[place], mark.value, mark.text)
        scored[place] = replace(scored[place], scores=(*scored[place].scores, score))
    return tuple(scored)


def _load(row: PhaseFindings) -> float:
    """How busy a phase was: load, else power; 0 if neither was read."""
    spread = row.means.get(keys.LOAD) or row.means.get(keys.PACKAGE_POWER)
    return 0.0 if spread is None else spread.mean


def _score(row: PhaseFindings, value: float, name: str) -> Score:
    """By the watts at the wall where they were read in the phase, else by those of the package."""
    package = row.means.get(keys.PACKAGE_POWER)
    watts, of = (
        (row.wall_w, "wall") if row.wall_w is not None else (None if package is None else package.mean, "package")
    )
    if _is_a_time(name):
        return Score(value, name, Figure(why_not="it is a time: the less of it, the better"))
    if watts is None or watts <= 0:
        return Score(value, name, Figure(why_not="no power was read in this phase"))
    ends = sorted((value / (watts * (1 + POWER_DOUBT)), value / (watts * (1 - POWER_DOUBT))))
    return Score(value, name, Figure(value / watts, ends[0], ends[1]), of)


def _is_a_time(name: str) -> bool:
    """Whether its unit, the first of its words, is one of time."""
    return name.split(" ", maxsplit=1)[0].lower() in _TIMES
