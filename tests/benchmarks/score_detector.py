"""Score the throttle detector on seeded virtual benches, whose firmware knows what really limited.

    python -m tests.benchmarks.score_detector [--kinds NAME ...] [--seeds 20] [--held-out] [--worst] [--keep FOLDER]

Tuning seeds are 0, 1, 2 …; held-out seeds are 1000, 1001, … and are for judging only: nothing may be tuned on them.
Truth and events are matched one to one; see ``tests/benchmarks/matching.py``. Every run is judged three times: with no
limits known, with the limits known, and with the limits and the kernel's heat counter.
"""

from __future__ import annotations

import argparse
import pickle
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from statistics import median

from benchmon.analysis.detector.detector import Detector
from benchmon.analysis.series import observation_of
from benchmon.model import keys
from benchmon.virtual_bench.scenarios import KINDS, observe
from tests.benchmarks.figures import HEAT, Judged, report, tally
from tests.benchmarks.figures import final as final_cause
from tests.benchmarks.matching import Span

HELD_OUT_FROM = 1000
SETTINGS: dict[str, tuple[str, ...]] = {
    "no limits known": (),
    "limits known": ("limits",),
    "limits and counter known": ("limits", "counter"),
}


def judge(kind: str, seed: int, keep: Path | None) -> Iterator[tuple[str, Judged]]:
    """One run, judged in every setting; ``keep`` is a folder for simulated runs, so that they are simulated once."""
    rows_of, spans, duration_s = _simulated(kind, seed, keep)
    spans = [replace(span, latched=_is_latched(span, rows_of["no limits known"])) for span in spans]
    for setting, rows in rows_of.items():
        seen = [observation_of(t_s, values) for t_s, values in rows]
        detector = Detector()
        began = time.process_time()
        for one in seen:
            detector.push(one)
        detector.finish()
        cost_us = (time.process_time() - began) / max(len(seen), 1) * 1e6
        yield setting, Judged(kind, seed, spans, detector.events, duration_s, len(seen), cost_us)


def _is_latched(span: Span, rows: list) -> bool:
    """True for one drop to a clock that then neither moves nor comes back: nothing in it shows who holds it."""
    clocks = [(t_s, values[keys.CLOCK]) for t_s, values in rows if values.get(keys.CLOCK)]
    before = [clock for t_s, clock in clocks if span.start_s - 10.5 <= t_s < span.start_s]
    held = [clock for t_s, clock in clocks if span.start_s + 3.0 <= t_s < span.end_s - 1.0]
    if not before or len(held) < 6:
        return False
    third = len(held) // 3
    levels = [median(held[:third]), median(held[third : 2 * third]), median(held[2 * third :])]
    halfway = (median(before) + median(held)) / 2.0
    recovered = sum(clock > halfway for clock in held)
    return max(levels) / min(levels) - 1.0 <= 0.02 and recovered <= 0.03 * len(held)


def _simulated(kind: str, seed: int, keep: Path | None):
    kept = keep / f"{kind}-{seed}.pickle" if keep is not None else None
    if kept is not None and kept.exists():
        return pickle.loads(kept.read_bytes())
    run = KINDS[kind].make(seed)
    rows_of = {setting: list(observe(run, knows=knows)) for setting, knows in SETTINGS.items()}
    end_s = run.duration_s
    spans = [
        Span(real.start_s, real.end_s if real.end_s is not None else end_s, real.cause, real.plateau_c)
        for real in run.truth
    ]
    made = rows_of, spans, end_s
    if kept is not None:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(pickle.dumps(made))
    return made


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kinds", nargs="+", choices=sorted(KINDS), default=sorted(KINDS), metavar="NAME")
    parser.add_argument("--seeds", type=int, default=20, help="runs of each kind (default 20)")
    parser.add_argument("--held-out", action="store_true", help="judge the seeds that nothing was tuned on")
    parser.add_argument("--worst", action="store_true", help="also print the kinds with missed or false heat")
    parser.add_argument("--keep", type=Path, help="folder that keeps simulated runs between calls")
    asked = parser.parse_args()
    first = HELD_OUT_FROM if asked.held_out else 0
    judged: dict[str, list[Judged]] = {setting: [] for setting in SETTINGS}
    for kind in asked.kinds:
        for seed in range(first, first + asked.seeds):
            for setting, run in judge(kind, seed, asked.keep):
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
