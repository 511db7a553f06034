"""Work that may be held up (a file that does not answer), done on a thread of its own, so that nobody waits for it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Generic, TypeVar

from benchmon.loads.tether import take_precedence

Result = TypeVar("Result")


class Beside(Generic[Result]):
    """Does one thing each time it is asked; never twice at once.

    The thread is a daemon: one that is held up for ever does not keep the recorder from ending.

    Args:
        work: what is done; must not raise.
    """

    def __init__(self, work: Callable[[], Result]) -> None:
        self._work = work
        # Bare locks: they cost a tenth of what events and semaphores do, twice a second and more.
        self._idle = threading.Lock()
        """Held while there is something to do."""
        self._wanted = threading.Lock()
        """Held until there is something to do."""
        self._wanted.acquire()
        self.result: Result | None = None
        """What it gave last; None before that."""
        self.begun_s = 0.0
        """When it was asked last, on ``time.monotonic`` [s]."""
        self.took_s = 0.0
        """How long it took the last time [s]."""
        threading.Thread(target=self._run, daemon=True).start()

    @property
    def is_idle(self) -> bool:
        """Whether it has done all it was asked for."""
        return not self._idle.locked()

    def ask(self) -> None:
        """Have it done once more, unless it is at it."""
        if self._idle.acquire(blocking=False):
            self.begun_s = time.monotonic()
            self._wanted.release()

    def wait(self, longest_s: float) -> bool:
        """Wait until it is done, so long at most [s]; whether it is."""
        if not self._idle.acquire(timeout=max(longest_s, 0.0)):
            return False
        self._idle.release()
        return True

    def _run(self) -> None:
        take_precedence()
        while True:
            self._wanted.acquire()
            self.result = self._work()
            self.took_s = time.monotonic() - self.begun_s
            self._idle.release()


class BesideSettings(Generic[Result]):
    """Settings read beside the recording: what was read last, and a word if a file holds them up.

    Args:
        read: reads them all.
    """

    FIRST_WAIT_S = 1.0
    """The first sample waits so long for the limits by which it is judged."""

    def __init__(self, read: Callable[[], Result]) -> None:
        self._beside = Beside(read)
        self._asked = False

    def __call__(self) -> Result | None:
        """What was read; None while it is being read: ask again a little later."""
        beside = self._beside
        if beside.is_idle and beside.result is None:
            beside.ask()
            beside.wait(0.0 if self._asked else self.FIRST_WAIT_S)
            self._asked = True
        if not beside.is_idle:
            return None
        found, beside.result = beside.result, None
        return found
