"""What the picture of a change shows: two runs laid over one another phase by phase, and what differs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from benchmon.analysis.compare.differences import RISE
from benchmon.model import keys, phase_names
from benchmon.model.comparison import Comparison, Contrast, PhaseComparison, PhaseDifference
from benchmon.model.findings import PhaseFindings, Summary
from benchmon.model.recorded import Recorded
from benchmon.views.figures.run_picture import Piece, RunPicture, Stretch, Strip, run_picture
from benchmon.views.sheets.comparison.content import make_comparison, phase_row

_SHOWN = (RISE, keys.PACKAGE_POWER, keys.CLOCK, keys.WORK_RATE)
Run = tuple[Recorded, Summary]


@dataclass(frozen=True, slots=True)
class Difference:
    """One quantity of one phase, after less before."""

    phase: str
    words: str
    """``rise over the room, at the end: −4 ± 3 K``."""
    share: tuple[float, float, float] | None
    """Low end, value and high end as a share of before; None without an interval."""


@dataclass(frozen=True, slots=True)
class ChangePicture:
    """Two runs, and what became of the first."""

    run: RunPicture
    """Both, aligned phase by phase; the run before is ``earlier`` in each strip."""
    answers: tuple[str, ...]
    differences: tuple[Difference, ...]
    footing: tuple[str, ...]
    why_not: str = ""


def change_picture(comparison: Comparison, before: Run, after: Run) -> ChangePicture:
    """Gather the picture of the first contrast of a comparison."""
    contrast = comparison.contrasts[0]
    sheet = make_comparison(comparison)
    first, second = run_picture(*before), run_picture(*after)
    steps = list(_steps(contrast, before[1], after[1]))
    run = RunPicture(
        title=": ".join(part for part in ("Before and after", dict(sheet.facts).get("Changed", "")) if part),
        machine=second.machine,
        until_s=max(sum(step.length_s for step in steps), 1e-9),
        strips=tuple(_strips(first, second, steps)),
        phases=tuple((step.at_s, step.at_s + step.length_s, step.name) for step in steps),
        stretches=(*_stretches(first, "before", steps, 0), *_stretches(second, "after", steps, 1)),
        entries=(),
        footing=_footing(first, second),
    )
    return ChangePicture(
        run=run,
        answers=sheet.sections[0].answers,
        differences=tuple(_differences(contrast)),
        footing=run.footing,
        why_not="" if run.strips else "The runs have no phases that belong together, so there is nothing to lay over.",
    )


@dataclass(frozen=True, slots=True)
class _Step:
    """Two phases that belong together, at their place on the common axis [s]."""

    name: str
    at_s: float
    length_s: float
    spans: tuple[tuple[float, float], tuple[float, float]]
    """Start and end of the phase before, and after, each on its own axis."""


def _steps(contrast: Contrast, before: Summary, after: Summary) -> Iterable[_Step]:
    at_s = 0.0
    mine, others = _by_name(before), _by_name(after)
    for pair in contrast.phases:
        if pair.before not in mine or pair.after not in others:
            continue
        spans = (_span(mine[pair.before], before), _span(others[pair.after], after))
        length_s = max(end - start for start, end in spans)
        yield _Step(pair.after, at_s, length_s, spans)
        at_s += length_s


def _by_name(summary: Summary) -> Mapping[str, PhaseFindings]:
    return {phase.name: phase for phase in summary.phases}


def _span(phase: PhaseFindings, summary: Summary) -> tuple[float, float]:
    return phase.start_s, summary.quality.duration_s if phase.end_s is None else phase.end_s


def _strips(first: RunPicture, second: RunPicture, steps: list[_Step]) -> Iterable[Strip]:
    earlier = {(strip.label, strip.unit): strip for strip in first.strips}
    for strip in second.strips:
        other = earlier.get((strip.label, strip.unit))
        if other is None or not steps:
            continue
        yield replace(
            strip,
            pieces=tuple(_aligned(strip.pieces, steps, 1)),
            earlier=tuple(_aligned(other.pieces, steps, 0)),
            low=min(strip.low, other.low),
            high=max(strip.high, other.high),
            levels=tuple(dict.fromkeys((*strip.levels, *other.levels))),
            points=(),
        )


def _aligned(pieces: Iterable[Piece], steps: list[_Step], which: int) -> Iterable[Piece]:
    """The same readings on the common axis, cut where a phase ends."""
    for piece in pieces:
        for step in steps:
            start_s, end_s = step.spans[which]
            inside = [at for at, t_s in enumerate(piece.times_s) if start_s <= t_s < end_s]
            if inside:
                begin, end = inside[0], inside[-1] + 1
                times = tuple(step.at_s + t_s - start_s for t_s in piece.times_s[begin:end])
                yield Piece(times, piece.lows[begin:end], piece.highs[begin:end])


def _stretches(picture: RunPicture, when: str, steps: list[_Step], which: int) -> Iterable[Stretch]:
    for stretch in picture.stretches:
        for step in steps:
            start_s, end_s = step.spans[which]
            low, high = max(stretch.start_s, start_s), min(stretch.end_s, end_s)
            if low < high:
                words = f"{when}: {stretch.words}"
                yield Stretch(step.at_s + low - start_s, step.at_s + high - start_s, stretch.cause, words)


def _footing(first: RunPicture, second: RunPicture) -> tuple[str, ...]:
    """What both have in common is said once."""
    shared = tuple(line for line in second.footing if line in first.footing)
    before = [line for line in first.footing if line not in shared]
    after = [line for line in second.footing if line not in shared]
    both = f"Both: {'; '.join(shared)}" if shared else ""
    parts = (both, f"Before: {'; '.join(before)}" if before else "", f"After: {'; '.join(after)}" if after else "")
    return tuple(part for part in parts if part)


def _differences(contrast: Contrast) -> Iterable[Difference]:
    for pair in contrast.phases:
        for row in pair.rows:
            # How warm a machine idles or cools down tells of what it did before, not of the change.
            if row.key in _SHOWN and pair.after not in (phase_names.IDLE, phase_names.COOL_DOWN):
                yield _difference(pair, row)


def _difference(pair: PhaseComparison, row: PhaseDifference) -> Difference:
    name, unit, _, _, shown = phase_row(row, pair.work_unit)
    name = name.removesuffix(", at the end")
    moved, share = row.difference, None
    if row.before and moved.value is not None and moved.low is not None and moved.high is not None:
        share = (moved.low / abs(row.before), moved.value / abs(row.before), moved.high / abs(row.before))
    return Difference(pair.after, f"{name}: {shown}{'' if shown.startswith('(') else f' {unit}'}", share)
