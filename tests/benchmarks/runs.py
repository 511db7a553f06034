"""Where the runs that are judged come from: three benches, each written for itself."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path

from benchmon.analysis.intake.series import Observation
from tests.benchmarks.first_bench.scenarios import KINDS, observe
from tests.benchmarks.matching import Span
from tests.benchmarks.second_bench import bench as second_bench
from tests.benchmarks.third_bench import bench as third_bench
from tests.benchmarks.third_bench.kind import FAR_MARGINS_K
from tests.benchmarks.told_margins import MARGINS_K, setting_of
from tests.support.rows import observations, records_of

BLIND = "no limits known"
SETTINGS: dict[str, tuple[str, ...]] = {
    BLIND: (),
    "limits known": ("limits",),
    "limits and counter known": ("limits", "counter"),
}
HIGHEST_TOLD_C = 112.0
"""A margin that would tell a higher limit than any processor does is left out [°C]."""


@dataclass(frozen=True)
class Simulated:
    """One run as it can be judged."""

    seen: dict[str, list[Observation]]
    """Setting → what was seen."""
    truth: list[Span]
    duration_s: float


@dataclass(frozen=True)
class Bench:
    """Where runs come from."""

    name: str
    kinds: Collection[str]
    simulate: Callable[[str, int], Simulated]

    def run(self, kind: str, seed: int, keep: Path | None = None) -> Simulated:
        """The run of a kind for a seed; ``keep`` is a folder for simulated runs, so that they are simulated once."""
        kept = keep / f"{self.name}-{kind}-{seed}.pickle" if keep is not None else None
        if kept is not None and kept.exists():
            simulated: Simulated = pickle.loads(kept.read_bytes())
            return simulated
        made = self.simulate(kind, seed)
        if kept is not None:
            kept.parent.mkdir(parents=True, exist_ok=True)
            kept.write_bytes(pickle.dumps(made))
        return made


def _from_first(kind: str, seed: int) -> Simulated:
    run = KINDS[kind].make(seed)
    seen_of = {
        setting: observations(records_of(observe(run, knows=knows), run.period_s))
        for setting, knows in SETTINGS.items()
    }
    end_s = run.duration_s
    spans = [
        Span(real.start_s, real.end_s if real.end_s is not None else end_s, real.cause, real.plateau_c)
        for real in run.truth
    ]
    return Simulated(seen_of, spans, end_s)


def _from_second(kind: str, seed: int) -> Simulated:
    run = second_bench.make(kind, seed)
    seen_of = {setting: run.observe(knows) for setting, knows in SETTINGS.items()}
    return Simulated(seen_of, list(run.truth), run.duration_s)


def _from_third(kind: str, seed: int) -> Simulated:
    run = third_bench.make(kind, seed)
    seen_of = {setting: observations(run.records(knows)) for setting, knows in SETTINGS.items()}
    has_heat = any(span.cause == "thermal" for span in run.truth)
    for margin_k in (MARGINS_K if has_heat else FAR_MARGINS_K) if run.truth else ():
        if run.reference_c + margin_k <= HIGHEST_TOLD_C:
            seen_of[setting_of(margin_k)] = observations(run.records(("limits",), margin_k))
    return Simulated(seen_of, list(run.truth), run.duration_s)


BENCHES = {
    "first": Bench("first", KINDS, _from_first),
    "second": Bench("second", second_bench.KINDS, _from_second),
    "third": Bench("third", third_bench.KINDS, _from_third),
}
