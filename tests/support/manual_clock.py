"""A clock that moves only when told to: no test sleeps."""

from __future__ import annotations

from collections.abc import Callable


class ManualClock:
    """Implements ``sampler.clock.Clock``.

    ``sleep_until_s`` jumps to the deadline plus ``late_s``, the lateness of a busy machine.
    """

    def __init__(self, now_s: float = 1000.0) -> None:
        self.time_s = now_s
        self.suspended_s = 0.0
        self.late_s = 0.0

    def now_s(self) -> float:
        return self.time_s

    def asleep_s(self) -> float:
        return self.suspended_s

    def real_s(self) -> float:
        return self.time_s

    def sleep_until_s(self, deadline_s: float, wait: Callable[[float], bool] | None = None) -> None:
        if wait is not None and wait(0.0):
            return
        self.time_s = max(self.time_s, deadline_s + self.late_s)

    def pass_s(self, seconds: float) -> None:
        """Time goes by."""
        self.time_s += seconds

    def suspend_s(self, seconds: float) -> None:
        """The machine sleeps."""
        self.time_s += seconds
        self.suspended_s += seconds
