"""Work in a process of its own: what it loads and takes is gone with it, and a fault in it is not ours.

The process is a copy of this one (fork(2)), so it knows all that is known here and nothing has to be handed over.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import time
from collections.abc import Callable
from typing import Generic, NoReturn, TypeVar

T = TypeVar("T")

NICENESS = 10
"""Beside a load the work gets as much as one of its workers, and the recorder goes first (sched(7))."""
LONGEST_S = 120.0
"""Work that is not done by then is given up [s]: a fit takes a second on a slow machine, ten beside a full load."""
_PR_SET_PDEATHSIG = 1
_PIECE_BYTES = 1 << 16


class Apart(Generic[T]):
    """One piece of work at a time. Nothing here waits."""

    def __init__(self) -> None:
        """Begin with nothing to do."""
        self._pid = 0
        self._pipe = -1
        self._came = bytearray()
        self._begun_s = 0.0

    def __del__(self) -> None:
        """Nobody will ask any more."""
        self.drop()

    @property
    def is_busy(self) -> bool:
        """Whether work was begun whose result nobody has taken."""
        return self._pid != 0

    def begin(self, work: Callable[[], T]) -> bool:
        """Do this apart; False if the system lets no process be made now.

        Args:
            work: anything; what it gives must be picklable.
        """
        self.drop()
        ours, theirs = os.pipe()
        try:
            pid = os.fork()
        except OSError:
            os.close(ours)
            os.close(theirs)
            return False
        if pid == 0:
            _be_apart(work, theirs)
        os.close(theirs)
        os.set_blocking(ours, False)
        self._pid, self._pipe, self._begun_s = pid, ours, time.monotonic()
        return True

    def result(self) -> tuple[bool, T | None]:
        """Whether the work is over, and what it gave; None if it failed or took too long."""
        if not self._read():
            if time.monotonic() - self._begun_s < LONGEST_S:
                return False, None
            self.drop()
            return True, None
        came = bytes(self._came)
        is_good = self._reap() == 0
        return True, pickle.loads(came) if is_good else None  # noqa: S301  (it comes from a copy of this process)

    def drop(self) -> None:
        """Give up what is being worked on."""
        if self._pid:
            os.kill(self._pid, signal.SIGKILL)
            self._reap()

    def _read(self) -> bool:
        """Take what has come; True when nothing more will."""
        try:
            while piece := os.read(self._pipe, _PIECE_BYTES):
                self._came += piece
        except BlockingIOError:
            return False
        return True

    def _reap(self) -> int:
        pid, self._pid = self._pid, 0
        os.close(self._pipe)
        self._came = bytearray()
        try:
            return os.waitpid(pid, 0)[1]
        except ChildProcessError:  # whoever adopts processes here has reaped it
            return 1


def _be_apart(work: Callable[[], object], pipe: int) -> NoReturn:
    """The copy's whole life: it has nothing of its parent's to speak to, and ends with it."""
    status = 1
    try:
        import ctypes  # noqa: PLC0415  (the parent is smaller without it)

        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
        signal.set_wakeup_fd(-1)
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT):
            signal.signal(number, signal.SIG_DFL)
        nowhere = os.open(os.devnull, os.O_RDWR)
        for standard in range(3):
            os.dup2(nowhere, standard)
        os.closerange(3, pipe)
        os.closerange(pipe + 1, os.sysconf("SC_OPEN_MAX"))
        os.nice(NICENESS)
        gc.disable()  # to go through all objects would copy all memory
        with os.fdopen(pipe, "wb") as told:
            pickle.dump(work(), told)
        status = 0
    except BaseException:  # noqa: BLE001  (whatever it is, the parent is told by the status alone)
        status = 1
    finally:
        os._exit(status)
