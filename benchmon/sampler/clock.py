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


class ScaledClock:
    """Time that runs ``speed`` times faster than real; for the virtual bench only."""

    def __init__(self, speed: float) -> None:
        self._speed = speed

    def now_s(self) -> float:
        """Scaled seconds."""
        return time.monotonic() * self._speed

    def asleep_s(self) -> float:
        """Always 0: a machine that does not exist does not sleep."""
        return 0.0

    def real_s(self) -> float:
        """Not scaled."""
        return time.perf_counter()

    def sleep_until_s(self, deadline_s: float, wait: Wait | None = None) -> None:
        """Sleep until scaled time reaches the deadline."""
        wait = wait or _plain_wait
        while (left_s := deadline_s - self.now_s()) > 0:
            if wait(left_s / self._speed):
                return
