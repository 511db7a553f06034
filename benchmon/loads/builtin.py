"""Built-in work: one worker process for each core, whose finished units are counted."""

from __future__ import annotations

import mmap
import os
import signal
import time
from collections.abc import Sequence
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from benchmon.errors import LoadError
from benchmon.loads.caches import matrix_side
from benchmon.loads.cores import usable_cpus
from benchmon.loads.guard import Guarding
from benchmon.loads.kept import Keeping
from benchmon.loads.protocol import Load
from benchmon.loads.scale import Scale, scale_of
from benchmon.loads.told import stopped_by_keeper
from benchmon.loads.work import NEEDS_NUMPY
from benchmon.loads.worker import NO_NUMPY, SILENT, SLOT_BYTES, Task
from benchmon.model.records import LoadAction, LoadChange
from benchmon.model.work_kinds import KIND_WORDS, SCALAR, WIDEST, WORK_KINDS, duty_words

_FAULTS = {signal.SIGILL, signal.SIGSEGV, signal.SIGBUS, signal.SIGABRT, signal.SIGFPE}
"""By these a library ends its process that was built for another processor, or is damaged."""


class BuiltinLoad:
    """Keeps cores busy with counted work.

    Work that needs numpy becomes scalar work, and says so, where numpy is not there or cannot be loaded.

    Args:
        cores: how many logical processors; None = all.
        work: one of ``WORK_KINDS``.
        cpus: the processors to choose from, best first; None = those this process may use.
        guarding: what guards it.
        duty: share of their time that they work, 0 < duty ≤ 1.

    Raises:
        LoadError: if there are not so many, or no such work.
    """

    def __init__(
        self,
        cores: int | None = None,
        work: str = WIDEST,
        cpus: Sequence[int] | None = None,
        guarding: Guarding | None = None,
        duty: float = 1.0,
    ) -> None:
        usable = list(usable_cpus() if cpus is None else cpus)
        wanted = len(usable) if cores is None else cores
        if not 1 <= wanted <= len(usable):
            raise LoadError(f"this machine lets benchmon use {len(usable)} cores, not {wanted}", "Ask for fewer.")
        if work not in WORK_KINDS:
            raise LoadError(f"there is no work called {work!r}", f"Choose one of {', '.join(WORK_KINDS)}.")
        self._cpus = usable[:wanted]
        self._guarding = guarding or Guarding()
        self._on = core_words(wanted, len(usable))
        self.busy_cores: int | None = wanted
        self.duty = duty
        self._keeping: Keeping | None = None
        self._before: Keeping | None = None
        """What was kept with numpy, until nothing of it is left."""
        self._counters: memoryview | None = None
        self._be(work)

    def _be(self, work: str) -> None:
        self._work = work
        self.words = load_words(work, self._on, self.duty)

    def start(self, t_s: float) -> LoadChange:
        """Start keeper and workers; they are at work some 60 ms later, with numpy some 200 ms.

        Raises:
            LoadError: if the keeper cannot be started.
        """
        if self._work in NEEDS_NUMPY and not numpy_folder():
            return self._fall_back(t_s, "numpy is not installed")
        return self._launch(t_s)

    def _launch(self, t_s: float, reason: str = "") -> LoadChange:
        side = matrix_side(self._cpus)
        task = Task(self._work, side, self.duty, len(self._cpus), numpy_folder())
        descriptor = os.memfd_create("benchmon-work")
        try:
            os.ftruncate(descriptor, SLOT_BYTES * (1 + len(self._cpus)))
            self._counters = memoryview(mmap.mmap(descriptor, 0)).cast("Q")
            self._counters[0] = time.monotonic_ns()
            what = {"kind": "builtin", "task": task, "cpus": self._cpus, "counters": descriptor}
            self._keeping = Keeping(what, self._guarding, passed=descriptor)
        except OSError as error:
            raise LoadError(f"the built-in load cannot be started: {error.strerror or error}") from error
        finally:
            os.close(descriptor)
        return started(t_s, self, self._work, scale_of(self._work, side), reason)

    def _fall_back(self, t_s: float, why: str) -> LoadChange:
        """Do scalar work instead, under its own name."""
        wanted = KIND_WORDS[self._work]
        self._be(SCALAR)
        return self._launch(t_s, f"{why}, so that this runs in place of {wanted}")

    def stop(self, t_s: float, reason: str) -> LoadChange:
        """Have the keeper kill the workers; they have nothing to save."""
        if self._keeping is not None:
            self._keeping.hang_up()
        return LoadChange(t_s, LoadAction.STOPPED, self.words, self.busy_cores, reason)

    def poll(self, t_s: float) -> LoadChange | None:
        """What ended it: the guard, the recorder's own silence, or a worker that ended by itself.

        A change ``STARTED`` says that it goes on with other work.
        """
        message = self._keeping.hear() if self._keeping is not None else None
        if message is None:
            return None
        if "exited" not in message:
            return stopped_by_keeper(message, t_s, self.words, self.busy_cores)
        status, which = int(message["exited"]), int(message["which"])
        if self._work in NEEDS_NUMPY and self._never_began(which) and (status == NO_NUMPY or -status in _FAULTS):
            self._before = self._keeping
            return self._fall_back(t_s, "numpy cannot be loaded")
        reason = f"the worker on core {self._cpus[which]} was ended from outside"
        if status == SILENT:
            reason = "its keeper was held up"
        return LoadChange(t_s, LoadAction.EXITED, self.words, self.busy_cores, reason, status)

    def _never_began(self, which: int) -> bool:
        return self._counters is not None and self._counters[SLOT_BYTES // 8 * (1 + which)] == 0

    def work_count(self) -> int | None:
        """Finished units, all workers together; None before the start."""
        return self._sum_of(0)

    def work_time_s(self) -> float | None:
        """Processor time of the finished units, all workers together [s]; None before the start."""
        nanoseconds = self._sum_of(1)
        return None if nanoseconds is None else nanoseconds / 1e9

    def is_over(self) -> bool:
        """Whether nothing of it is left."""
        return all(keeping.is_over() for keeping in self._kept())

    def close(self) -> None:
        """Wait until nothing of it is left."""
        for keeping in self._kept():
            keeping.wait()

    def _kept(self) -> list[Keeping]:
        return [keeping for keeping in (self._before, self._keeping) if keeping is not None]

    def _sum_of(self, place: int) -> int | None:
        if self._counters is None:
            return None
        return sum(self._counters[SLOT_BYTES // 8 + place :: SLOT_BYTES // 8].tolist())


@cache
def numpy_folder() -> str:
    """The folder in which numpy lies, found without loading it; empty if it is nowhere."""
    try:
        spec = find_spec("numpy")
    except (ImportError, ValueError):
        return ""
    return "" if spec is None or spec.origin is None else str(Path(spec.origin).parents[1])


def started(t_s: float, load: Load, work: str, scale: Scale, reason: str = "") -> LoadChange:
    """The record of built-in work that starts."""
    return LoadChange(
        t_s,
        LoadAction.STARTED,
        load.words,
        load.busy_cores,
        reason,
        work=work,
        duty=load.duty,
        unit_operations=scale.operations,
        unit_bytes=scale.moved_bytes,
    )


def load_words(work: str, on: str, duty: float) -> str:
    """``memory copies on 2 of 4 cores at 50 %``."""
    return f"{KIND_WORDS[work]} on {on}{duty_words(duty)}"


def core_words(wanted: int, usable: int) -> str:
    """``one core``, ``all 4 cores``, ``2 of 4 cores``."""
    if wanted == usable and usable > 1:
        return f"all {usable} cores"
    return "one core" if wanted == 1 else f"{wanted} of {usable} cores"
