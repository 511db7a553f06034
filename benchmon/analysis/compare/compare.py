"""Runs held against one another: sides by their tags, each against the first, and whether it helped."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import sqrt

from benchmon.analysis.compare.bench_run import BenchRun, Group, RunPhase, other_work_among
from benchmon.analysis.compare.comparable import caveats
from benchmon.analysis.compare.differences import Shared, differences
from benchmon.analysis.compare.effects import Effects
from benchmon.analysis.compare.judging import Asked, judge_capacity, judge_cooling, judge_speed, pairs_of, shared_by
from benchmon.analysis.compare.matching import Matched, main_phase, match
from benchmon.model import keys
from benchmon.model.comparison import (
    Caveat,
    Comparison,
    Contrast,
    Doubt,
    PhaseComparison,
    RunSpread,
)

ASSUMED_SPREAD = 0.03
"""What taking a cooler off and putting it back changes of its resistance (standard deviation, as a share): a kelvin or
two of a rise of 50 K (common practice, no source)."""
SURE = 0.95


def compare(runs: Sequence[BenchRun], spread: float | None = None) -> Comparison:
    """Hold runs against one another; the first is what the others are held against.

    Two runs are two sides, whatever their tags. More are put together by their tags, without those that number runs; a
    copy of a recording counts once.

    Args:
        runs: two or more.
        spread: what runs of one configuration scatter by (standard deviation, as a share); None = it is assumed.

    Raises:
        ValueError: if there are fewer than two.
    """
    if len(runs) < 2:
        message = "a comparison needs two runs"
        raise ValueError(message)
    runs, copies = _without_copies(runs)
    sides = sides_of(runs)
    expected = ASSUMED_SPREAD if spread is None else spread
    others = sides[1:]
    sureness = 1.0 - (1.0 - SURE) / max(len(others), 1)  # Bonferroni: all intervals hold together in 95 of 100
    made = [_contrast(sides[0], side, expected, sureness) for side in others]
    seen, degrees = _seen([effects for _, effects in made if effects is not None])
    contrasts = sorted((one for one, _ in made), key=_worth, reverse=True)
    is_many = len(contrasts) > 1
    told = RunSpread(expected, spread is not None, seen, degrees)
    return Comparison(sides[0].side(), tuple(contrasts), told, is_many, copies)


def _without_copies(runs: Sequence[BenchRun]) -> tuple[Sequence[BenchRun], dict[str, str]]:
    """Each recording once, for a copy is no repeat; a run and itself stay, if they are all there is."""
    first: dict[str, BenchRun] = {}
    copies = {}
    for run in runs:
        known = first.setdefault(run.summary.header.session_id, run)
        if known is not run:
            copies[run.name] = known.name
    return (runs, {}) if len(first) == 1 else (tuple(first.values()), copies)


def sides_of(runs: Sequence[BenchRun]) -> list[Group]:
    """Runs put together by their tags, in the order in which they are given."""
    if len(runs) == 2:
        return [Group((run,), run.configuration) for run in runs]
    sides: list[Group] = []
    for run in runs:
        place = next((at for at, side in enumerate(sides) if side.tags == run.configuration), None)
        if place is None:
            sides.append(Group((run,), run.configuration))
        else:
            sides[place] = replace(sides[place], runs=(*sides[place].runs, run))
    return sides


def _contrast(before: Group, after: Group, spread: float, sureness: float) -> tuple[Contrast, Effects | None]:
    shared = shared_by(before, after)
    changed = _changed(before.tags, after.tags)
    runs = (*before.runs, *after.runs)
    asked = Asked(before, after, shared, spread, sureness)
    cooling, at, effects = judge_cooling(asked)
    capacity, capacity_at = judge_capacity(asked, at)
    speed, speed_key = judge_speed(before, after, shared, sureness)
    main = main_phase(before.first, runs), main_phase(after.first, runs)
    found = [*_tag_caveats(changed, shared), *caveats(before, after)]
    matched = match(before.first, after.first)
    contrast = Contrast(
        side=after.side(),
        changed=changed,
        caveats=tuple(found),
        is_paired=bool(pairs_of(before, after)),
        cooling=cooling,
        at=at,
        capacity=capacity,
        capacity_at=capacity_at,
        speed=speed,
        speed_key=speed_key,
        speed_unit=None if main[0] is None or shared.other_work else main[0].load.unit,
        is_speed_sustained=_is_sustained(runs, speed_key),
        phases=_phases(before, after, matched, shared, spread),
        only_before=tuple(phase.name for phase in matched.only_before),
        only_after=tuple(phase.name for phase in matched.only_after),
    )
    return contrast, effects


def _is_sustained(runs: Sequence[BenchRun], speed_key: str) -> bool:
    phases = [main_phase(run, runs) for run in runs]
    is_rate = speed_key in {keys.WORK_RATE, keys.CLOCK}
    return is_rate and any(phase is not None and phase.row.sustained is not None for phase in phases)


def _changed(before: Mapping[str, str], after: Mapping[str, str]) -> dict[str, tuple[str | None, str | None]]:
    names = [*before, *(key for key in after if key not in before)]
    return {key: (before.get(key), after.get(key)) for key in names if before.get(key) != after.get(key)}


def _tag_caveats(changed: Mapping[str, object], shared: Shared) -> list[Caveat]:
    if not changed and not shared.itself:
        return [Caveat(Doubt.NO_TAGS)]
    return [Caveat(Doubt.MANY_TAGS, what=", ".join(changed))] if len(changed) > 1 else []


def _phases(
    before: Group, after: Group, matched: Matched, shared: Shared, spread: float
) -> tuple[PhaseComparison, ...]:
    """Each pair of phases of the sides' first runs, with the means over the runs of each side."""
    made = []
    for pair in matched.pairs:
        sides = [_same_in_all(side, one) for side, one in ((before, pair.before), (after, pair.after))]
        loads = [phase.load for side in sides for _, phase in side]
        other_work = pair.other_work or other_work_among(loads)
        rows = differences(sides[0], sides[1], replace(shared, other_work=other_work), spread)
        runs = len(sides[0]), len(sides[1])
        sustained = _sustained(sides[0]), _sustained(sides[1])
        unit = None if other_work else pair.before.load.unit
        made.append(PhaseComparison(pair.before.name, pair.after.name, pair.by_name, rows, runs, sustained, unit))
    return tuple(made)


def _sustained(side: Sequence[tuple[BenchRun, RunPhase]]) -> int:
    return sum(phase.row.sustained is not None for _, phase in side)


def _same_in_all(side: Group, phase: RunPhase) -> list[tuple[BenchRun, RunPhase]]:
    """A phase of the first run with its like in the repeats."""
    found = [(side.first, phase)]
    for run in side.runs[1:]:
        twin = next((pair.after for pair in match(side.first, run).pairs if pair.before is phase), None)
        if twin is not None:
            found.append((run, twin))
    return found


def _seen(effects: Sequence[Effects]) -> tuple[float | None, int]:
    """What repeats scatter by; those of the first side count once."""
    squares, degrees = 0.0, 0
    for place, one in enumerate(effects):
        some = one.scatter() if place == 0 else one.scatter_after()
        squares, degrees = squares + some[0], degrees + some[1]
    return (sqrt(squares / degrees), degrees) if degrees else (None, 0)


def _worth(contrast: Contrast) -> float:
    """Best first; what cannot be said last."""
    value = contrast.cooling.change.value
    return -2.0 if value is None else value
