"""The only place that knows the time while recording."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Protocol

Wait = Callable[[float], bool]
"""Waits at most so many real seconds; True ends the sleep early."""


class Clock(Protocol):
    """Time that never goes back."""

    def now_s(self) -> float:
        """Seconds since some fixed moment, time spent in suspend included."""

    def asleep_s(self) -> float:
        """Seconds the machine has spent in suspend since it was started."""

    def real_s(self) -> float:
        """Seconds as they pass for the machine benchmon runs on: what work costs."""

    def sleep_until_s(self, deadline_s: float, wait: Wait | None = None) -> None:
        """Return at the deadline, or as soon as ``wait`` returns True."""


def _plain_wait(seconds: float) -> bool:
    time.sleep(seconds)
    return False


class SystemClock:
    """The machine's monotonic clock, suspend included.

    A part keeps cooling while the machine sleeps and a wall clock keeps running, so the session's time has to run on
    as well: CLOCK_BOOTTIME does, CLOCK_MONOTONIC does not, and their difference is the time asleep.
    """

    def now_s(self) -> float:
        """Seconds since boot."""
        return time.clock_gettime(time.CLOCK_BOOTTIME)

    def asleep_s(self) -> float:
        """Seconds in suspend since boot."""
        return time.clock_gettime(time.CLOCK_BOOTTIME) - time.clock_gettime(time.CLOCK_MONOTONIC)

    def real_s(self) -> float:
        """The finest monotonic clock."""
        return time.perf_counter()

    def sleep_until_s(self, deadline_s: float, wait: Wait | None = None) -> None:
        """Sleep in one piece; again only if something woke it before the deadline."""
        wait = wait or _plain_wait
        while (left_s := deadline_s - self.now_s()) > 0:
            if wait(left_s):
                return


class SimulatedClock:
    """Time of the virtual bench, ``speed`` times faster than real at most: it passes when it is told to.

    Between two sleeps it stands still, however long the recorder takes or is kept from running. So every deadline is
    met to the digit, none is ever missed, and a seed gives the same session on a busy machine as on an idle one.
    Whatever comes in during a sleep (a key, a reading) finds the time that has passed of it by then.
    """

    def __init__(self, speed: float) -> None:
        self._speed = speed
        self._now_s = 0.0
        self._real_due_s = self.real_s()
        """When the present moment was due in real time; later than that, and the lateness is let go."""
        self._deadline_s: float | None = None

    def now_s(self) -> float:
        """Simulated seconds since this clock was made."""
        if self._deadline_s is None:
            return self._now_s
        left_s = (self._real_due_s - self.real_s()) * self._speed
        return max(self._now_s, min(self._deadline_s, self._deadline_s - left_s))

    def asleep_s(self) -> float:
        """Always 0: a machine that does not exist does not sleep."""
        return 0.0

    def pass_s(self, seconds: float) -> None:
        """So much simulated time passes at once: what something costs on a machine that does not exist."""
        self._now_s += seconds
        self._real_due_s += seconds / self._speed

    def real_s(self) -> float:
        """Not simulated."""
        return time.perf_counter()

    def sleep_until_s(self, deadline_s: float, wait: Wait | None = None) -> None:
        """Let simulated time pass up to the deadline; ``wait`` is called at least once, so that nobody goes unheard."""
        wait = wait or _plain_wait
        ahead_s = max(0.0, deadline_s - self._now_s) / self._speed
        self._real_due_s = max(self._real_due_s + ahead_s, self.real_s())
        self._deadline_s = max(deadline_s, self._now_s)
        while True:
            if wait(max(0.0, self._real_due_s - self.real_s())) or self.real_s() >= self._real_due_s:
                break
        self._now_s, self._deadline_s = self.now_s(), None
        self._real_due_s = min(self._real_due_s, self.real_s())
