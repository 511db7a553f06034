"""Which phase of one run belongs to which of another: by what loaded the processor; names come second."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from benchmon.analysis.compare.bench_run import BenchRun, LoadKind, RunPhase
from benchmon.analysis.thermal.grouping import ALL, IDLE, SOME, UNKNOWN
from benchmon.model import keys


@dataclass(frozen=True, slots=True)
class Pair:
    """Two phases that belong together."""

    before: RunPhase
    after: RunPhase
    by_name: bool = False
    """Their names are the same, but not what loaded them."""

    @property
    def other_work(self) -> str:
        """Why what they did may not be counted against one another; empty if it may."""
        return "another load" if self.by_name else self.before.load.other_work(self.after.load)


@dataclass(frozen=True, slots=True)
class Matched:
    """Phases of two runs."""

    pairs: tuple[Pair, ...]
    only_before: tuple[RunPhase, ...]
    only_after: tuple[RunPhase, ...]


def match(before: BenchRun, after: BenchRun) -> Matched:
    """Phases that were loaded alike, in order; then those that are called alike; the rest stands alone."""
    left, found = list(after.phases), []
    alone = list(before.phases)
    for rule in (_same_load, _same_heating, _same_name):
        for one in list(alone):
            twin = next((other for other in left if rule(one, other)), None)
            if twin is not None:
                found.append(Pair(one, twin, by_name=rule is _same_name))
                alone.remove(one)
                left.remove(twin)
    found.sort(key=lambda pair: pair.before.phase.start_s)
    return Matched(tuple(found), tuple(alone), tuple(left))


def main_phase(run: BenchRun, runs: Sequence[BenchRun]) -> RunPhase | None:
    """The phase that says most about the cooler and has its like in all runs: the hottest with all cores busy."""
    kinds = [{heats(phase.load) for phase in other.phases} for other in runs]
    shared = set.intersection(*kinds) if kinds else set()
    phases = [phase for phase in run.phases if heats(phase.load) in shared and phase.load.heating != IDLE]
    full = [phase for phase in phases if phase.load.heating in {ALL, UNKNOWN}]
    return max(full or phases, key=_watts, default=None)


def heats(load: LoadKind) -> tuple[str, int | None]:
    """How a load heats the processor: what must be the same for K/W to be compared."""
    return load.heating, load.cores if load.heating == SOME else None


def _watts(phase: RunPhase) -> float:
    power = phase.row.means.get(keys.PACKAGE_POWER) or phase.row.means.get(keys.LOAD)
    return 0.0 if power is None else power.mean


def _same_load(one: RunPhase, other: RunPhase) -> bool:
    same_after = one.load.is_after_load == other.load.is_after_load
    return same_after and heats(one.load) == heats(other.load) and one.load.work == other.load.work


def _same_heating(one: RunPhase, other: RunPhase) -> bool:
    return one.load.is_after_load == other.load.is_after_load and heats(one.load) == heats(other.load)


def _same_name(one: RunPhase, other: RunPhase) -> bool:
    return one.name.casefold() == other.name.casefold()
