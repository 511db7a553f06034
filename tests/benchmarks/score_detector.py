"""Score the throttle detector on seeded virtual benches, whose firmware knows what really limited.

    python -m tests.benchmarks.score_detector [--kinds NAME ...] [--seeds 20] [--held-out] [--worst] [--keep FOLDER]
        [--second-bench]

Tuning seeds are 0, 1, 2 …; held-out seeds are 1000, 1001, … and are for judging only: nothing may be tuned on them.
Truth and events are matched one to one; see ``tests/benchmarks/matching.py``. Every run is judged three times: with no
limits known, with the limits known, and with the limits and the kernel's heat counter. ``--second-bench`` takes the runs
of a simulator that was written without knowledge of the first, by the same figures.
"""

from __future__ import annotations

import argparse
import pickle
import time
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median

from benchmon.analysis.intake.series import Observation, observation_of
from benchmon.analysis.throttle.detector import Detector
from benchmon.virtual_bench.scenarios import KINDS, observe
from tests.benchmarks.figures import HEAT, Judged, report, tally
from tests.benchmarks.figures import final as final_cause
from tests.benchmarks.matching import Span
from tests.benchmarks.second_bench import bench as second_bench

HELD_OUT_FROM = 1000
SETTINGS: dict[str, tuple[str, ...]] = {
    "no limits known": (),
    "limits known": ("limits",),
    "limits and counter known": ("limits", "counter"),
}


Simulated = tuple[dict[str, list[Observation]], list[Span], float]
"""What was seen in each setting, what was true, and the length of the run [s]."""


@dataclass(frozen=True)
class Bench:
    """Where runs come from."""

    name: str
    kinds: Collection[str]
    simulate: Callable[[str, int], Simulated]


def _from_virtual_bench(kind: str, seed: int) -> Simulated:
    run = KINDS[kind].make(seed)
    seen_of = {
        setting: [observation_of(t_s, values) for t_s, values in observe(run, knows=knows)]
        for setting, knows in SETTINGS.items()
    }
    end_s = run.duration_s
    spans = [
        Span(real.start_s, real.end_s if real.end_s is not None else end_s, real.cause, real.plateau_c)
        for real in run.truth
    ]
    return seen_of, spans, end_s


def _from_second_bench(kind: str, seed: int) -> Simulated:
    run = second_bench.make(kind, seed)
    return {setting: run.observe(knows) for setting, knows in SETTINGS.items()}, list(run.truth), run.duration_s


VIRTUAL_BENCH = Bench("virtual", KINDS, _from_virtual_bench)
SECOND_BENCH = Bench("second", second_bench.KINDS, _from_second_bench)


def judge(bench: Bench, kind: str, seed: int, keep: Path | None) -> Iterator[tuple[str, Judged]]:
    """One run, judged in every setting; ``keep`` is a folder for simulated runs, so that they are simulated once."""
    seen_of, spans, duration_s = _simulated(bench, kind, seed, keep)
    spans = [replace(span, latched=_is_latched(span, seen_of["no limits known"])) for span in spans]
    for setting, seen in seen_of.items():
        detector = Detector()
        began = time.process_time()
        for one in seen:
            detector.push(one)
        detector.finish()
        cost_us = (time.process_time() - began) / max(len(seen), 1) * 1e6
        yield setting, Judged(kind, seed, spans, detector.events, duration_s, len(seen), cost_us)


def _is_latched(span: Span, seen: list[Observation]) -> bool:
    """True for one drop to a clock that then neither moves nor comes back: nothing in it shows who holds it."""
    clocks = [(one.t_s, one.clock_mhz) for one in seen if one.clock_mhz]
    before = [clock for t_s, clock in clocks if span.start_s - 10.5 <= t_s < span.start_s]
    held = [clock for t_s, clock in clocks if span.start_s + 3.0 <= t_s < span.end_s - 1.0]
    if not before or len(held) < 6:
        return False
    third = len(held) // 3
    levels = [median(held[:third]), median(held[third : 2 * third]), median(held[2 * third :])]
    halfway = (median(before) + median(held)) / 2.0
    recovered = sum(clock > halfway for clock in held)
    return max(levels) / min(levels) - 1.0 <= 0.02 and recovered <= 0.03 * len(held)


def _simulated(bench: Bench, kind: str, seed: int, keep: Path | None) -> Simulated:
    kept = keep / f"{bench.name}-{kind}-{seed}.pickle" if keep is not None else None
    if kept is not None and kept.exists():
        return pickle.loads(kept.read_bytes())
    made = bench.simulate(kind, seed)
    if kept is not None:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(pickle.dumps(made))
    return made


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kinds", nargs="+", metavar="NAME", help="kinds of run (default all)")
    parser.add_argument("--seeds", type=int, default=20, help="runs of each kind (default 20)")
    parser.add_argument("--held-out", action="store_true", help="judge the seeds that nothing was tuned on")
    parser.add_argument("--worst", action="store_true", help="also print the kinds with missed or false heat")
    parser.add_argument("--keep", type=Path, help="folder that keeps simulated runs between calls")
    parser.add_argument(
        "--second-bench", action="store_true", help="judge on the runs of the second, independent bench"
    )
    asked = parser.parse_args()
    bench = SECOND_BENCH if asked.second_bench else VIRTUAL_BENCH
    if unknown := set(asked.kinds or ()) - set(bench.kinds):
        parser.error(f"no such kinds: {', '.join(sorted(unknown))}; there are {', '.join(sorted(bench.kinds))}")
    first = HELD_OUT_FROM if asked.held_out else 0
    judged: dict[str, list[Judged]] = {setting: [] for setting in SETTINGS}
    for kind in asked.kinds or sorted(bench.kinds):
        for seed in range(first, first + asked.seeds):
            for setting, run in judge(bench, kind, seed, asked.keep):
                judged[setting].append(run)
    for setting, runs in judged.items():
        print(report(setting, runs))
        if asked.worst:
            print(_worst(runs))
        print()


def _worst(runs: list[Judged]) -> str:
    lines = []
    for kind in sorted({run.kind for run in runs}):
        mine = [run for run in runs if run.kind == kind]
        loose = tally(mine, HEAT, final_cause, 0.0, pieces_false=False)
        strict = tally(mine, HEAT, final_cause, 0.5, pieces_false=True)
        if loose.false or loose.missed or strict.false or strict.missed:
            lines.append(
                f"  {kind:28} any overlap: {loose.hits:3} hits {loose.false:3} false {loose.missed:3} missed {loose.pieces:3} pieces"
                f"   half: {strict.hits:3} hits {strict.false:3} false {strict.missed:3} missed"
            )
    return "\n".join(lines)


if __name__ == "__main__":
    main()
