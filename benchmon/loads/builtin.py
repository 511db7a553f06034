"""Built-in work: one worker process for each core, whose finished units are counted."""

from __future__ import annotations

import mmap
import os
import time
from collections.abc import Sequence

from benchmon.errors import LoadError
from benchmon.loads.cores import usable_cpus
from benchmon.loads.guard import Guarding
from benchmon.loads.kept import Keeping
from benchmon.loads.told import stopped_by_keeper
from benchmon.loads.work import WORK
from benchmon.loads.worker import SILENT, SLOT_BYTES
from benchmon.model.records import LoadAction, LoadChange


class BuiltinLoad:
    """Keeps cores busy with counted work.

    Args:
        cores: how many logical processors; None = all.
        work: a kind of ``WORK``.
        cpus: the processors to choose from, best first; None = those this process may use.
        guarding: what guards it.

    Raises:
        LoadError: if there are not so many, or no such work.
    """

    def __init__(
        self,
        cores: int | None = None,
        work: str = "matrix",
        cpus: Sequence[int] | None = None,
        guarding: Guarding | None = None,
    ) -> None:
        usable = list(usable_cpus() if cpus is None else cpus)
        wanted = len(usable) if cores is None else cores
        if not 1 <= wanted <= len(usable):
            raise LoadError(f"this machine lets benchmon use {len(usable)} cores, not {wanted}", "Ask for fewer.")
        if work not in WORK:
            raise LoadError(f"there is no work called {work!r}", f"Choose one of {', '.join(WORK)}.")
        self._work = work
        self._cpus = usable[:wanted]
        self._guarding = guarding or Guarding()
        self.busy_cores: int | None = wanted
        self.words = f"{work} work on {core_words(wanted, len(usable))}"
        self._keeping: Keeping | None = None
        self._counters: memoryview | None = None

    def start(self, t_s: float) -> LoadChange:
        """Start keeper and workers; they are at work some 60 ms later.

        Raises:
            LoadError: if the keeper cannot be started.
        """
        descriptor = os.memfd_create("benchmon-work")
        try:
            os.ftruncate(descriptor, SLOT_BYTES * (1 + len(self._cpus)))
            self._counters = memoryview(mmap.mmap(descriptor, 0)).cast("Q")
            self._counters[0] = time.monotonic_ns()
            what = {"kind": "builtin", "work": self._work, "cpus": self._cpus, "counters": descriptor}
            self._keeping = Keeping(what, self._guarding, passed=descriptor)
        except OSError as error:
            raise LoadError(f"the built-in load cannot be started: {error.strerror or error}") from error
        finally:
            os.close(descriptor)
        return LoadChange(t_s, LoadAction.STARTED, self.words, self.busy_cores)

    def stop(self, t_s: float, reason: str) -> LoadChange:
        """Have the keeper kill the workers; they have nothing to save."""
        if self._keeping is not None:
            self._keeping.hang_up()
        return LoadChange(t_s, LoadAction.STOPPED, self.words, self.busy_cores, reason)

    def poll(self, t_s: float) -> LoadChange | None:
        """What ended it: the guard, the recorder's own silence, or a worker that ended by itself."""
        message = self._keeping.hear() if self._keeping is not None else None
        if message is None:
            return None
        if "exited" in message:
            status = int(message["exited"])
            reason = f"the worker on core {self._cpus[int(message['which'])]} was ended from outside"
            if status == SILENT:
                reason = "its keeper was held up"
            return LoadChange(t_s, LoadAction.EXITED, self.words, self.busy_cores, reason, status)
        return stopped_by_keeper(message, t_s, self.words, self.busy_cores)

    def work_count(self) -> int | None:
        """Finished units, all workers together; None before the start."""
        return self._sum_of(0)

    def work_time_s(self) -> float | None:
        """Processor time of the finished units, all workers together [s]; None before the start."""
        nanoseconds = self._sum_of(1)
        return None if nanoseconds is None else nanoseconds / 1e9

    def is_over(self) -> bool:
        """Whether nothing of it is left."""
        return self._keeping is None or self._keeping.is_over()

    def close(self) -> None:
        """Wait until nothing of it is left."""
        if self._keeping is not None:
            self._keeping.wait()

    def _sum_of(self, place: int) -> int | None:
        if self._counters is None:
            return None
        return sum(self._counters[SLOT_BYTES // 8 + place :: SLOT_BYTES // 8].tolist())


def core_words(wanted: int, usable: int) -> str:
    """``one core``, ``all 4 cores``, ``2 of 4 cores``."""
    if wanted == usable and usable > 1:
        return f"all {usable} cores"
    return "one core" if wanted == 1 else f"{wanted} of {usable} cores"
