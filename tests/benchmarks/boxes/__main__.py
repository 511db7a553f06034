"""How honest the verdict is on boxes of other physics.

    python -m tests.benchmarks.boxes [COUNT] [FIRST_SEED]

Prints for each figure, and by kind of cooler and of room: how often it is due and given, how often its 95 % interval holds
the truth, the median error and the median half width. Errors of resistance and capacity in per cent of the truth.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from statistics import median

from tests.benchmarks.boxes.judge import Answer, Case, judged


def line(name: str, cases: list[Case]) -> str:
    given = [case for case in cases if case.given]
    if not given:
        return f"{name:38}{len(cases):5d}     0"
    errors = sorted(abs(case.error) for case in given)
    return (
        f"{name:38}{len(cases):5d} {len(given):5d} {len(given) / len(cases):5.0%}"
        f" {sum(case.covered for case in given) / len(given):8.0%} {median(errors):9.2f}"
        f" {errors[int(0.9 * len(errors))]:9.1f} {median(case.half for case in given):9.2f}"
    )


def table(cases: list[Case], *, by_kind: bool) -> Iterable[str]:
    yield f"{'':38}{'due':>5} {'given':>5} {'rate':>5} {'covered':>8} {'error':>9} {'90 %':>9} {'half':>9}"
    for name in sorted({case.figure for case in cases}):
        chosen = [case for case in cases if case.figure == name]
        yield line(name, chosen)
        if by_kind:
            for what in ("cooler", "room"):
                for kind in sorted({getattr(case, what) for case in chosen}):
                    yield line(f"    {kind}", [case for case in chosen if getattr(case, what) == kind])


def answers_line(answers: list[Answer]) -> str:
    yes, no = [a for a in answers if a.said == "yes"], [a for a in answers if a.said == "no"]
    wrong_yes, wrong_no = sum(not a.truth for a in yes), sum(a.truth for a in no)
    silent = sum(a.said == "cannot say" for a in answers)
    return (
        f"would it hold?  wrong yes {wrong_yes} of {len(yes)}, wrong no {wrong_no} of {len(no)},"
        f" cannot say {silent} of {len(answers)} ({silent / max(len(answers), 1):.0%})"
    )


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    os.nice(10)
    cases: list[Case] = []
    answers: list[Answer] = []
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for some, said in pool.map(judged, range(first, first + count), chunksize=4):
            cases += some
            answers += said
    print(f"{count} boxes from seed {first} on")
    print("\n".join(table(cases, by_kind=True)))
    print(answers_line(answers))


if __name__ == "__main__":
    main()
