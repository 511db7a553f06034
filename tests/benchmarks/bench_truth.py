"""Whether every kind of run is what it says for many seeds: ``python -m tests.benchmarks.bench_truth FROM TO [KIND …]``."""

import sys
import time
from collections import Counter

from tests.benchmarks.first_bench.scenarios import KINDS


def main(first: int, behind_last: int, only: list[str]) -> None:
    simulated_s, began_s = 0.0, time.process_time()
    for kind in KINDS.values():
        if only and kind.name not in only:
            continue
        causes, odd = Counter(), []
        for seed in range(first, behind_last):
            run = kind.make(seed)
            found = {event.cause for event in run.truth}
            simulated_s += run.duration_s
            causes.update(found)
            if kind.is_heat is not ("thermal" in found):
                odd.append(seed)
        print(f"{kind.name:24} heat {kind.is_heat!s:5} seeds by cause {dict(causes)} odd seeds {odd}")
    print(f"{len(KINDS)} kinds, {simulated_s / (time.process_time() - began_s):.0f} times real time")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3:])
