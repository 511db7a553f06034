"""Better, worse, no difference, or cannot say: of the cooling, and of the speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, log, sinh, sqrt
from typing import TYPE_CHECKING

from benchmon.analysis.compare.bench_run import OTHER_SIZE, BenchRun, Group, RunPhase, other_work_among
from benchmon.analysis.compare.comparable import is_same_machine
from benchmon.analysis.compare.differences import RUN_U, SCORE, SENSOR_U_K, Shared, score_key, score_of
from benchmon.analysis.compare.effects import Effects
from benchmon.analysis.compare.matching import main_phase
from benchmon.analysis.thermal.steady import COUNTER_U
from benchmon.model import keys
from benchmon.model.comparison import Answer, At, Verdict, Want
from benchmon.model.findings import Figure

if TYPE_CHECKING:
    from benchmon.analysis.compare.cooling import Conditions, Cooling


WATTS, KELVIN = "W", "K"


def pairs_of(before: Group, after: Group) -> tuple[tuple[int, int], ...]:
    """Places of the runs that belong together by their tag; empty unless every run has its partner."""
    names = [[run.pair for run in side.runs] for side in (before, after)]
    if len(names[0]) < 2 or None in names[0] or len(set(names[0])) < len(names[0]):
        return ()
    if sorted(map(str, names[0])) != sorted(map(str, names[1])):
        return ()
    return tuple((place, names[1].index(name)) for place, name in enumerate(names[0]))


@dataclass(frozen=True, slots=True)
class Asked:
    """What is held against what, and how sure an answer must be."""

    before: Group
    after: Group
    shared: Shared
    spread: float
    sureness: float

    @property
    def runs(self) -> tuple[BenchRun, ...]:
        """All of them."""
        return (*self.before.runs, *self.after.runs)


def judge_cooling(asked: Asked) -> tuple[Verdict, At | None, Effects | None]:
    """Whether the cooling became better, under which conditions, and the values it rests on."""
    from benchmon.analysis.compare.cooling import conditions, why_no_cooling  # noqa: PLC0415  (loads numpy)

    for run in asked.runs:
        missing = why_no_cooling(run, main_phase(run, asked.runs))
        if missing is not None:
            whose = "" if missing[0] is Want.SAME_LOAD else f" ({run.name})"
            return _not(f"{missing[1]}{whose}", missing[0]), None, None
    return _judge_at(asked, conditions(asked.runs))


def judge_capacity(asked: Asked, at: At | None) -> tuple[Verdict, At | None]:
    """The watts at the limit, where the cooling itself was judged by the rise; may rest on a limit nobody reached."""
    if at is None or at.power_w is None:
        return _not("the cooling was not judged by the rise", Want.LONGER), None
    from benchmon.analysis.compare.cooling import Conditions  # noqa: PLC0415  (numpy is loaded by now)

    limits = [run.summary.thermal.limit_c.value for run in asked.runs]
    known = [limit for limit in limits if limit is not None]
    if len(known) < len(limits):
        return _not("no limit temperature is known in all runs", Want.LONGER), None
    verdict, told, _ = _judge_at(asked, Conditions(at.room_c, None, sum(known) / len(known)))
    return verdict, told


def _judge_at(asked: Asked, at: Conditions) -> tuple[Verdict, At | None, Effects | None]:
    from benchmon.analysis.compare.cooling import cooling  # noqa: PLC0415  (numpy is loaded by now)

    phases = [main_phase(run, asked.runs) for run in asked.runs]
    found: list[Cooling] = []
    for run, phase in zip(asked.runs, phases, strict=True):
        value = "" if phase is None else cooling(run, phase, at)
        if isinstance(value, str):
            return _not(f"{value} ({run.name})", Want.LONGER), None, None
        found.append(value)
    sides = found[: len(asked.before.runs)], found[len(asked.before.runs) :]
    effects = _cooling_effects(sides, asked, is_rise=at.watts is not None)
    runs, measured = (len(sides[0]), len(sides[1])), (_measured(sides[0]), _measured(sides[1]))
    told = At(at.room_c, at.watts, at.limit_c, runs, measured, phases[0].name if phases[0] else "")
    values = [[one.value for one in side] for side in sides]
    verdict = _told(effects, asked.shared, values, WATTS if at.watts is None else KELVIN)
    if verdict.wants == (Want.LONGER,):
        verdict = replace(verdict, wants=(_wanted(asked.shared, told),))
    return verdict, told, effects


def _wanted(shared: Shared, at: At) -> Want:
    """What would decide it where more runs would not."""
    if not shared.machine:
        return Want.SAME_MACHINE
    if shared.other_work and shared.other_work != OTHER_SIZE:
        return Want.SAME_LOAD
    return Want.LONGER if at.is_alike else Want.ALIKE


def judge_speed(before: Group, after: Group, shared: Shared, sureness: float) -> tuple[Verdict, str]:
    """Whether the same work went faster, and by which quantity that is said."""
    runs = (*before.runs, *after.runs)
    phases = [main_phase(run, runs) for run in runs]
    if any(phase is None for phase in phases):
        return _not("no phase with load has its like in all runs", Want.SAME_LOAD), ""
    if shared.other_work and shared.other_work != OTHER_SIZE:  # another clock, too, is usual with other work
        return _not(shared.other_work, Want.SAME_LOAD), ""
    found = [phase for phase in phases if phase is not None]
    scores = [score_key(score) for score in found[0].row.scores]
    for key in (keys.WORK_RATE, *scores, keys.CLOCK):
        values = [_speed(key, phase) for phase in found]
        if any(value is None or value <= 0 for value in values) or (key == keys.WORK_RATE and shared.other_work):
            continue
        logs = [log(value) for value in values if value]
        split = len(before.runs)
        effects = Effects(logs[:split], logs[split:], (RUN_U, RUN_U), 0.0, 0.0, _paired(logs, before, after), sureness)
        sides = [[exp(value) for value in side] for side in (logs[:split], logs[split:])]
        unit = {keys.WORK_RATE: "1/s", keys.CLOCK: "MHz"}.get(key, "")
        return _told(effects, shared, sides, unit), key
    return _not("neither work rate, score nor clock was read in all runs", Want.SAME_LOAD), ""


def _cooling_effects(found: tuple[Sequence[Cooling], Sequence[Cooling]], asked: Asked, *, is_rise: bool) -> Effects:
    from benchmon.analysis.compare.cooling import left_open  # noqa: PLC0415  (numpy is loaded by now)

    shared, spread = asked.shared, asked.spread
    logs = [[(-1.0 if is_rise else 1.0) * log(one.value) for one in side] for side in found]
    fits = left_open(*found, same_machine=shared.machine, same_work=not shared.other_work)
    own, common = [sqrt(_own_square(side) + spread**2 + fits.own_u**2) for side in found], fits.common_u
    if not shared.machine:  # another counter, another sensor
        kelvin = min(one.kelvin for side in found for one in side)
        common = sqrt(common**2 + 2 * COUNTER_U**2 + 2 * (SENSOR_U_K / kelvin) ** 2)
    paired = _paired([*logs[0], *logs[1]], asked.before, asked.after)
    return Effects(logs[0], logs[1], (own[0], own[1]), common, fits.change_u, paired, asked.sureness)


def _own_square(side: Sequence[Cooling]) -> float:
    return sum(one.own_u**2 for one in side) / len(side)


def _told(effects: Effects, shared: Shared, sides: list[list[float]], unit: str) -> Verdict:
    """A verdict from effects: means of the sides, the change, and what would decide it."""
    before, after = (exp(sum(log(value) for value in side) / len(side)) for side in sides)
    if shared.itself:
        nothing = Figure(0.0, 0.0, 0.0)
        return Verdict(Answer.SAME, "it is the same recording", before, after, unit, nothing, nothing, 1.0)
    change, answer = effects.change(), effects.answer()
    # Around the middle of both, so that swapping the sides changes the signs and nothing else.
    middle, ends = sqrt(before * after), effects.interval()
    if unit == KELVIN:  # less is better
        ends = (-ends[1], -ends[0])
    low, high = (2.0 * middle * sinh(end / 2.0) for end in ends)
    difference = Figure(after - before, low, high)
    more = effects.more_runs() if answer is Answer.CANNOT_SAY else None
    wants = () if answer is not Answer.CANNOT_SAY else (Want.MORE_RUNS if more else Want.LONGER,)
    chance = min(effects.difference().chance * 0.05 / (1.0 - effects.sureness), 1.0)
    return Verdict(answer, "", before, after, unit, change, difference, chance, more, wants)


def _measured(side: Sequence[Cooling]) -> int:
    return sum(one.held for one in side)


def _not(why: str, want: Want) -> Verdict:
    return Verdict(Answer.CANNOT_SAY, why, change=Figure(why_not=why), difference=Figure(why_not=why), wants=(want,))


def _paired(values: Sequence[float], before: Group, after: Group) -> tuple[tuple[float, float], ...]:
    split = len(before.runs)
    return tuple((values[one], values[split + other]) for one, other in pairs_of(before, after))


def _speed(key: str, phase: RunPhase) -> float | None:
    if key.startswith(SCORE):
        return score_of(phase, key)
    return phase.reading(key)


def shared_by(before: Group, after: Group) -> Shared:
    """What all runs of two sides have in common."""
    runs: tuple[BenchRun, ...] = (*before.runs, *after.runs)
    loads = [phase.load for run in runs if (phase := main_phase(run, runs)) is not None]
    other_work = other_work_among(loads)
    ids = {run.summary.header.session_id for run in runs}
    same_machine = all(is_same_machine(runs[0], run) for run in runs[1:])
    return Shared(same_machine, other_work, len(ids) == 1)
