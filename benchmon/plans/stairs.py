"""Stairs: one written phase that becomes several, each with more load; and what phases are called."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from benchmon.model import phase_names
from benchmon.model.plan import IDLE, PlanPhase

MOST_STEPS = 16
"""A stair whose steps are not counted has so many at most: what more would show lies between two of them."""
_BY_CORES = re.compile(r"(\d{1,5}|one) to (all|\d{1,5})( .*)?")
_BY_DUTY = re.compile(r"(.+?) at (\d{1,3}) ?% to (\d{1,3}) ?%")
_DUTY_STEPS = 5
_NAMES = {"one": phase_names.ONE_CORE, "1": phase_names.ONE_CORE, "all": phase_names.ALL_CORES}


def stair_loads(load: str, cores: int | None, steps: int = 0) -> list[str]:
    """The loads of a stair's steps, from little to much; the load itself if it is no stair, or cores are not known.

    >>> stair_loads("1 to all", 4)
    ['1', '2', '3', 'all']
    """
    if found := _BY_DUTY.fullmatch(load):
        first, last = int(found[2]), int(found[3])
        count = steps or _DUTY_STEPS
        if cores is None or not 0 < first < last <= 100:
            return [load]
        return [f"{found[1]} at {value} %" for value in _spread(first, last, count)]
    found = _BY_CORES.fullmatch(load)
    if found is None or cores is None:
        return [load]
    first, last = 1 if found[1] == "one" else int(found[1]), cores if found[2] == "all" else int(found[2])
    if not 0 < first <= last:
        return [load]
    counts = _spread(first, last, min(last - first + 1, steps or MOST_STEPS))
    return [("all" if count == cores else f"{count}") + (found[3] or "") for count in counts]


def is_stair(load: str) -> bool:
    """Whether a load is a stair that needs the machine's cores to become steps."""
    return _BY_CORES.fullmatch(load) is not None or _BY_DUTY.fullmatch(load) is not None


def _spread(first: int, last: int, count: int) -> list[int]:
    """``count`` whole numbers from first to last, as even as they can be, none twice."""
    if count < 2 or first == last:
        return [last]
    return sorted({first + round(number * (last - first) / (count - 1)) for number in range(count)})


def names_told_apart(phases: Sequence[PlanPhase]) -> list[PlanPhase]:
    """Phases with names: what has none is called by its load, the last idling cool-down; repeated ones are numbered."""
    names = [phase.name or load_name(phase.load) for phase in phases]
    if len(phases) > 1 and phases[-1].is_idle and not phases[-1].name and not phases[-2].is_idle:
        names[-1] = phase_names.COOL_DOWN
    return [replace(phase, name=name) for phase, name in zip(phases, phase_names.numbered(names), strict=True)]


def load_name(load: str) -> str:
    """What a phase with this load is called.

    >>> load_name("all memory at 50 %")
    'all cores, memory at 50 %'
    """
    words, at, duty = load.partition(" at ")
    word, _, kind = words.partition(" ")
    if load == IDLE or not word:
        return phase_names.IDLE
    if word == phase_names.COMMAND:
        return phase_names.COMMAND
    name = _NAMES.get(word) or (f"{word} cores" if word.isdigit() else word)
    return f"{name}{f', {kind}' if kind else ''}{at}{duty}"
