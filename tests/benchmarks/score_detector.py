"""Score the throttle detector on seeded virtual benches, whose firmware knows what really limited.

    python -m tests.benchmarks.score_detector [--second-bench | --third-bench] [--held-out] [--seeds 20]
        [--kinds NAME ...] [--worst] [--keep FOLDER] [--processes 2]

Tuning seeds are 0, 1, 2 …; held-out seeds are 1000, 1001, … and are for judging only: nothing may be tuned on them.
Truth and events are matched one to one; see ``tests/benchmarks/matching.py``. Every run is judged three times: with no
limits known, with the limits known, and with the limits and the kernel's heat counter. ``--second-bench`` and
``--third-bench`` take the runs of simulators that were written without knowledge of the first, by the same figures. On
the third each run is judged with told limits 0 to 32 K above what is really defended, too.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from tests.benchmarks.figures import HEAT, Judged, report, tally
from tests.benchmarks.figures import final as final_cause
from tests.benchmarks.judging import PROCESSES, judge_all
from tests.benchmarks.likelihoods import likelihood_lines
from tests.benchmarks.runs import BENCHES, SETTINGS
from tests.benchmarks.told_margins import margin_table

HELD_OUT_FROM = 1000


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    which = parser.add_mutually_exclusive_group()
    which.set_defaults(bench="first")
    for name in ("second", "third"):
        which.add_argument(
            f"--{name}-bench",
            dest="bench",
            action="store_const",
            const=name,
            help=f"judge on the runs of the {name} bench, written independently",
        )
    parser.add_argument("--kinds", nargs="+", metavar="NAME", help="kinds of run (default all)")
    parser.add_argument("--seeds", type=int, default=20, help="runs of each kind (default 20)")
    parser.add_argument("--held-out", action="store_true", help="judge the seeds that nothing was tuned on")
    parser.add_argument("--worst", action="store_true", help="also print the kinds with missed or false heat")
    parser.add_argument("--keep", type=Path, help="folder that keeps simulated runs between calls")
    parser.add_argument("--processes", type=int, default=PROCESSES, help="how many at once (default 2)")
    return parser


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the tables."""
    parser = _arguments()
    asked = parser.parse_args(arguments)
    bench = BENCHES[asked.bench]
    if unknown := set(asked.kinds or ()) - set(bench.kinds):
        parser.error(f"no such kinds: {', '.join(sorted(unknown))}; there are {', '.join(sorted(bench.kinds))}")
    first = HELD_OUT_FROM if asked.held_out else 0
    kinds = asked.kinds or sorted(bench.kinds)
    tasks = [(bench.name, kind, seed, asked.keep) for kind in kinds for seed in range(first, first + asked.seeds)]
    judged: dict[str, list[Judged]] = defaultdict(list)
    for run in judge_all(tasks, asked.processes):
        for setting, one in run:
            judged[setting].append(one)
    for setting in SETTINGS:
        print(report(setting, judged[setting]))
        print("\n".join(likelihood_lines(judged[setting])))
        if asked.worst:
            print(_worst(judged[setting]))
        print()
    if judged.keys() - SETTINGS.keys():
        print(margin_table(judged))


def _worst(runs: list[Judged]) -> str:
    lines = []
    for kind in sorted({run.kind for run in runs}):
        mine = [run for run in runs if run.kind == kind]
        loose = tally(mine, HEAT, final_cause, 0.0, pieces_false=False)
        strict = tally(mine, HEAT, final_cause, 0.5, pieces_false=True)
        false_runs = sum(bool(run.events) for run in mine if not run.true)
        if loose.false or loose.missed or strict.false or strict.missed or false_runs:
            lines.append(
                f"  {kind:28} any overlap: {loose.hits:3} hits {loose.false:3} false {loose.missed:3} missed {loose.pieces:3} pieces"
                f"   half: {strict.hits:3} hits {strict.false:3} false {strict.missed:3} missed"
                f"   events of nothing in {false_runs} runs"
            )
    return "\n".join(lines)


if __name__ == "__main__":
    main()
