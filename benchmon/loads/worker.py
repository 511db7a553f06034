"""One worker process: does units of work on one core, counts them in shared memory, and ends with its parent."""

from __future__ import annotations

import contextlib
import mmap
import os
import signal
from collections.abc import Sequence

from benchmon.loads.tether import die_with_parent
from benchmon.loads.work import WORK

SLOT_BYTES = 64
"""One counter for each cache line, so that the workers do not slow one another down."""


def main(arguments: Sequence[str]) -> None:
    """``KIND CPU COUNTER_FD SLOT PARENT_PID``; works until it is killed or its parent is gone."""
    kind, *numbers = arguments
    cpu, counters_fd, slot, parent_pid = map(int, numbers)
    die_with_parent(parent_pid)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the recorder, which ends us in good order
    _step_back(cpu)
    with mmap.mmap(counters_fd, 0) as memory, memoryview(memory).cast("Q") as counters:
        place = slot * SLOT_BYTES // 8
        unit = WORK[kind]()
        while os.getppid() == parent_pid:
            unit()
            counters[place] += 1


def _step_back(cpu: int) -> None:
    """Stay on one core, and give way to the recorder and everyone else."""
    with contextlib.suppress(OSError):  # the core may have gone offline, or be forbidden
        os.sched_setaffinity(0, {cpu})
    with contextlib.suppress(OSError):
        os.sched_setscheduler(0, os.SCHED_BATCH, os.sched_param(0))
    with contextlib.suppress(OSError):
        os.nice(10)
