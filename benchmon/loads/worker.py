"""One worker process: does units of work on one core, counts them in shared memory, and ends with its parent.

It also ends when its parent falls silent, stopped or stuck: a keeper that does not run guards nothing.
"""

from __future__ import annotations

import contextlib
import json
import mmap
import os
import signal
import sys
import time
from collections.abc import Sequence
from typing import NamedTuple

from benchmon.loads.pacing import Pace
from benchmon.loads.tether import die_with_parent
from benchmon.loads.work import NEEDS_NUMPY, PLAIN_WORK, Unit

SLOT_BYTES = 64
"""One slot for each cache line, so that the workers do not slow one another down: units finished, and the processor
time they took [ns]. Slot 0 is the parent's: the time, in nanoseconds of CLOCK_MONOTONIC, at which it was last alive."""
SILENCE_S = 3.0
SILENT = 75
"""Exit status of a worker whose parent fell silent."""
NO_NUMPY = 76
"""Exit status of a worker that could not load numpy."""


class Task(NamedTuple):
    """What all workers of a load do."""

    kind: str
    """One of ``WORK_KINDS``."""
    side: int = 0
    """Rows of the matrices, where there are any."""
    duty: float = 1.0
    """Share of its time that each works."""
    workers: int = 1
    """How many there are."""
    numpy_folder: str = ""
    """Where numpy lies, for what needs it."""


def main(arguments: Sequence[str]) -> None:
    """``TASK CPU COUNTER_FD SLOT PARENT_PID``; works until it is killed or its parent is gone."""
    task = Task(*json.loads(arguments[0]))
    cpu, counters_fd, slot, parent_pid = map(int, arguments[1:])
    die_with_parent(parent_pid)
    for number in (signal.SIGINT, signal.SIGTSTP):  # keys are for the recorder, which ends us in good order
        signal.signal(number, signal.SIG_IGN)
    _step_back(cpu)
    unit = _unit_of(task)
    pace = Pace(task.duty, (slot - 1) / task.workers) if task.duty < 1.0 else None
    with mmap.mmap(counters_fd, 0) as memory, memoryview(memory).cast("Q") as counters:
        place, used_ns = slot * SLOT_BYTES // 8, time.process_time_ns()
        while os.getppid() == parent_pid:
            unit()
            counters[place] += 1
            before_ns, used_ns = used_ns, time.process_time_ns()
            counters[place + 1] = used_ns
            if time.monotonic_ns() - counters[0] > SILENCE_S * 1e9:
                sys.exit(SILENT)
            if pace is not None:
                pace.rest((used_ns - before_ns) / 1e9)


def _unit_of(task: Task) -> Unit:
    if task.kind not in NEEDS_NUMPY:
        return PLAIN_WORK[task.kind]()
    sys.path.append(task.numpy_folder)  # last, so that nothing beside numpy can stand in for the standard library
    try:
        from benchmon.loads.wide_work import make_unit  # noqa: PLC0415  # only who needs it pays for it
    except Exception:  # noqa: BLE001  # a damaged installation can fail in any way
        sys.exit(NO_NUMPY)
    return make_unit(task.kind, task.side)


def _step_back(cpu: int) -> None:
    """Stay on one core, and give way to the recorder and everyone else."""
    with contextlib.suppress(OSError):  # the core may have gone offline, or be forbidden
        os.sched_setaffinity(0, {cpu})
    with contextlib.suppress(OSError):
        os.sched_setscheduler(0, os.SCHED_BATCH, os.sched_param(0))
    with contextlib.suppress(OSError):
        os.nice(10)
