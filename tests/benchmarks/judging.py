"""Runs the detector over runs and keeps what it said; two processes, as the smallest machine has two cores."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from statistics import median

from benchmon.analysis.intake.series import Observation
from benchmon.analysis.throttle.detector import Detector
from tests.benchmarks.figures import Judged
from tests.benchmarks.matching import Span
from tests.benchmarks.runs import BENCHES, BLIND

PROCESSES = 2

Task = tuple[str, str, int, Path | None]
"""Bench, kind, seed, folder that keeps runs."""


def judge(task: Task) -> list[tuple[str, Judged]]:
    """One run, judged in every setting."""
    bench, kind, seed, keep = task
    run = BENCHES[bench].run(kind, seed, keep)
    spans = [replace(span, latched=is_latched(span, run.seen[BLIND])) for span in run.truth]
    judged = []
    for setting, seen in run.seen.items():
        detector = Detector()
        began = time.process_time()
        for one in seen:
            detector.push(one)
        detector.finish()
        cost_us = (time.process_time() - began) / max(len(seen), 1) * 1e6
        judged.append((setting, Judged(kind, seed, spans, detector.events, run.duration_s, len(seen), cost_us)))
    return judged


def judge_all(tasks: Iterable[Task], processes: int = PROCESSES) -> Iterator[list[tuple[str, Judged]]]:
    """Every task's judgements, in order."""
    listed = list(tasks)
    if processes <= 1:
        yield from map(judge, listed)
        return
    with ProcessPoolExecutor(processes) as pool:
        yield from pool.map(judge, listed, chunksize=4)


def is_latched(span: Span, seen: list[Observation]) -> bool:
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
