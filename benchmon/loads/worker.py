"""One worker process: does units of work on one core, counts them in shared memory, and ends with its parent.

It also ends when its parent falls silent, stopped or stuck: a keeper that does not run guards nothing.
"""

from __future__ import annotations

import contextlib
import mmap
import os
import signal
import sys
import time
from collections.abc import Sequence

from benchmon.loads.tether import die_with_parent
from benchmon.loads.work import WORK

SLOT_BYTES = 64
"""One slot for each cache line, so that the workers do not slow one another down: units finished, and the processor
time they took [ns]. Slot 0 is the parent's: the time, in nanoseconds of CLOCK_MONOTONIC, at which it was last alive."""
SILENCE_S = 3.0
SILENT = 75
"""Exit status of a worker whose parent fell silent."""


def main(arguments: Sequence[str]) -> None:
    """``KIND CPU COUNTER_FD SLOT PARENT_PID``; works until it is killed or its parent is gone."""
    kind, *numbers = arguments
    cpu, counters_fd, slot, parent_pid = map(int, numbers)
    die_with_parent(parent_pid)
    for number in (signal.SIGINT, signal.SIGTSTP):  # keys are for the recorder, which ends us in good order
        signal.signal(number, signal.SIG_IGN)
    _step_back(cpu)
    with mmap.mmap(counters_fd, 0) as memory, memoryview(memory).cast("Q") as counters:
        place = slot * SLOT_BYTES // 8
        unit = WORK[kind]()
        while os.getppid() == parent_pid:
            unit()
            counters[place] += 1
            counters[place + 1] = time.process_time_ns()
            if time.monotonic_ns() - counters[0] > SILENCE_S * 1e9:
                sys.exit(SILENT)


def _step_back(cpu: int) -> None:
    """Stay on one core, and give way to the recorder and everyone else."""
    with contextlib.suppress(OSError):  # the core may have gone offline, or be forbidden
        os.sched_setaffinity(0, {cpu})
    with contextlib.suppress(OSError):
        os.sched_setscheduler(0, os.SCHED_BATCH, os.sched_param(0))
    with contextlib.suppress(OSError):
        os.nice(10)
