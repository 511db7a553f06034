"""Built-in work: one worker process for each core, whose finished units are counted."""

from __future__ import annotations

import mmap
import os
import subprocess
import time
from collections.abc import Sequence

from benchmon.errors import LoadError
from benchmon.loads.child_python import command_line
from benchmon.loads.cores import usable_cpus
from benchmon.loads.work import WORK
from benchmon.loads.worker import SILENCE_S, SILENT, SLOT_BYTES
from benchmon.model.records import LoadAction, LoadChange

_LONGEST_END_S = 2.0


class BuiltinLoad:
    """Keeps cores busy with counted work.

    Args:
        cores: how many logical processors; None = all.
        work: a kind of ``WORK``.
        cpus: the processors to choose from, best first; None = those this process may use.

    Raises:
        LoadError: if there are not so many, or no such work.
    """

    def __init__(self, cores: int | None = None, work: str = "matrix", cpus: Sequence[int] | None = None) -> None:
        usable = list(usable_cpus() if cpus is None else cpus)
        wanted = len(usable) if cores is None else cores
        if not 1 <= wanted <= len(usable):
            raise LoadError(f"this machine lets benchmon use {len(usable)} cores, not {wanted}", "Ask for fewer.")
        if work not in WORK:
            raise LoadError(f"there is no work called {work!r}", f"Choose one of {', '.join(WORK)}.")
        self._work = work
        self._cpus = usable[:wanted]
        self.busy_cores: int | None = wanted
        self.words = f"{work} work on {core_words(wanted, len(usable))}"
        self._workers: list[subprocess.Popen[bytes]] = []
        self._counters: memoryview | None = None
        self._ended = False

    def start(self, t_s: float) -> LoadChange:
        """Start the workers; they are at work some 20 ms later.

        Raises:
            LoadError: if a worker cannot be started.
        """
        descriptor = os.memfd_create("benchmon-work")
        try:
            os.ftruncate(descriptor, SLOT_BYTES * (1 + len(self._cpus)))
            self._counters = memoryview(mmap.mmap(descriptor, 0)).cast("Q")
            self._counters[0] = time.monotonic_ns()
            for slot, cpu in enumerate(self._cpus, start=1):
                arguments = (self._work, cpu, descriptor, slot, os.getpid())
                self._workers.append(
                    subprocess.Popen(
                        command_line("benchmon.loads.worker", *map(str, arguments)),
                        stdin=subprocess.DEVNULL,
                        pass_fds=(descriptor,),
                    )
                )
        except OSError as error:
            self._kill()
            raise LoadError(f"the built-in load cannot be started: {error.strerror or error}") from error
        finally:
            os.close(descriptor)
        return LoadChange(t_s, LoadAction.STARTED, self.words, self.busy_cores)

    def stop(self, t_s: float, reason: str) -> LoadChange:
        """Kill the workers; they have nothing to save."""
        self._kill()
        return LoadChange(t_s, LoadAction.STOPPED, self.words, self.busy_cores, reason)

    def poll(self, t_s: float) -> LoadChange | None:
        """A worker that ended by itself ends the load: what remains is not what was asked for."""
        if self._ended or self._counters is None:
            return None
        self._counters[0] = time.monotonic_ns()
        for cpu, worker in zip(self._cpus, self._workers, strict=True):
            status = worker.poll()
            if status is not None:
                self._kill()
                reason = f"the worker on core {cpu} was ended from outside"
                if status == SILENT:
                    reason = f"the recorder was held up for more than {SILENCE_S:g} s"
                return LoadChange(t_s, LoadAction.EXITED, self.words, self.busy_cores, reason, status)
        return None

    def work_count(self) -> int | None:
        """Finished units, all workers together; None before the start."""
        return self._sum_of(0)

    def work_time_s(self) -> float | None:
        """Processor time of the finished units, all workers together [s]; None before the start."""
        nanoseconds = self._sum_of(1)
        return None if nanoseconds is None else nanoseconds / 1e9

    def close(self) -> None:
        """Kill what is left and wait until it is gone."""
        self._kill()
        for worker in self._workers:
            try:
                worker.wait(_LONGEST_END_S)
            except subprocess.TimeoutExpired:
                continue  # killed, but stuck inside the kernel; nobody can do more

    def _sum_of(self, place: int) -> int | None:
        if self._counters is None:
            return None
        return sum(self._counters[SLOT_BYTES // 8 + place :: SLOT_BYTES // 8].tolist())

    def _kill(self) -> None:
        self._ended = True
        for worker in self._workers:
            worker.kill()


def core_words(wanted: int, usable: int) -> str:
    """``one core``, ``all 4 cores``, ``2 of 4 cores``."""
    if wanted == usable and usable > 1:
        return f"all {usable} cores"
    return "one core" if wanted == 1 else f"{wanted} of {usable} cores"
