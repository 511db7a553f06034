"""What the machine itself says: caps, cooling steps, heat counters, and the running average of power."""

from __future__ import annotations

from collections import deque
from math import exp, log

from benchmon.analysis.intake.series import Observation, RisingCount
from benchmon.analysis.throttle.rules import Rules


class CapWatch:
    """Follows a cap on the clock and remembers when it fell."""

    __slots__ = ("_rules", "before_mhz", "fell_s", "now_mhz")

    def __init__(self, rules: Rules) -> None:
        """Start without a cap."""
        self._rules = rules
        self.now_mhz: float | None = None
        self.before_mhz: float | None = None
        """The cap before its last fall [MHz]."""
        self.fell_s = float("-inf")

    def feed(self, t_s: float, cap_mhz: float | None) -> None:
        """Take the next reading; None changes nothing."""
        last = self.now_mhz
        if cap_mhz is None or cap_mhz == last:
            return
        self.now_mhz = cap_mhz
        if last is not None and cap_mhz < last * (1.0 - self._rules.cap_fall):
            # a fall in several steps keeps the cap from before the first of them
            if self.before_mhz is None or t_s - self.fell_s > 2.0 * self._rules.cap_near_s:
                self.before_mhz = last
            self.fell_s = t_s
        elif self.before_mhz is not None and cap_mhz >= self.before_mhz * (1.0 - self._rules.cap_fall):
            self.before_mhz = None
            self.fell_s = float("-inf")

    @property
    def is_down(self) -> bool:
        """True while the cap is lower than it was."""
        return self.before_mhz is not None


class HeatCountWatch:
    """Rises of the kernel's heat counters and of its cooling step, with their times."""

    __slots__ = ("_count", "_last_step", "counted", "is_read", "rises", "step", "step_is_read", "step_rises")

    def __init__(self) -> None:
        """Start with nothing read."""
        self._count = RisingCount()
        self._last_step = 0.0
        self.counted = 0.0
        self.rises: deque[tuple[float, float]] = deque(maxlen=64)
        """(time [s], events)."""
        self.is_read = False
        self.step = 0.0
        self.step_is_read = False
        self.step_rises: deque[float] = deque(maxlen=64)
        """When the cooling step rose [s]."""

    def feed(self, t_s: float, count: float | None, step: float | None) -> None:
        """Take the next readings; None changes nothing."""
        if count is not None:
            self.is_read = True
            self._count.feed(count)
            total = self._count.rises or 0.0
            if total > self.counted:
                self.rises.append((t_s, total - self.counted))
                self.counted = total
        if step is not None:
            if step > self.step and self.step_is_read:
                self.step_rises.append(t_s)
            self.step = step
            self.step_is_read = True

    def step_rose_since(self, start_s: float) -> float | None:
        """The first rise of the cooling step from then on [s]; None if there was none."""
        return next((t_s for t_s in self.step_rises if t_s >= start_s), None)

    def counted_between(self, start_s: float, end_s: float) -> float:
        """Heat events counted in the closed interval."""
        return sum(count for t_s, count in self.rises if start_s <= t_s <= end_s)

    def last_between(self, start_s: float, end_s: float) -> float | None:
        """When the last heat event of the closed interval was counted [s]; None if there was none."""
        return next((t_s for t_s, _ in reversed(self.rises) if start_s <= t_s <= end_s), None)


class PowerBudget:
    """Running average of package power, as a limit with an averaging window sees it.

    avg' = (P - avg) / window, the exponentially weighted average that processor datasheets name for the sustained
    limit. ``docs/detector.md`` has the arithmetic of the time at the higher limit.
    """

    __slots__ = ("_last_s", "average_w", "window_s")

    def __init__(self) -> None:
        """Start with nothing averaged."""
        self._last_s = float("-inf")
        self.average_w: float | None = None
        self.window_s: float | None = None

    def feed(self, t_s: float, power_w: float | None, window_s: float | None) -> None:
        """Take the power since the last call [W] and the window [s]; without a window there is no average."""
        if window_s is None or window_s <= 0.0 or power_w is None:
            return
        self.window_s = window_s
        if self.average_w is None:
            self.average_w = power_w
        else:
            self.average_w += (power_w - self.average_w) * -_expm1(-(t_s - self._last_s) / window_s)
        self._last_s = t_s


def _expm1(exponent: float) -> float:
    return exp(exponent) - 1.0


def time_at_higher_power_s(higher_w: float, sustained_w: float, before_w: float, window_s: float) -> float | None:
    """How long a running average lets the higher power last: window · ln((higher - before) / (higher - sustained)).

    None if the higher power is not above the sustained limit (it may last for ever) or the average starts above it.

    >>> round(time_at_higher_power_s(117.0, 65.0, 5.0, 8.0), 3)
    6.138
    """
    if higher_w <= sustained_w or before_w >= sustained_w:
        return None
    return window_s * log((higher_w - before_w) / (higher_w - sustained_w))


class MachineWatch:
    """All of it together, fed with every observation."""

    __slots__ = ("budget", "cap", "heat", "known", "platform")

    def __init__(self, rules: Rules) -> None:
        """Start with nothing known."""
        self.cap = CapWatch(rules)
        self.platform = CapWatch(rules)
        self.heat = HeatCountWatch()
        self.budget = PowerBudget()
        self.known = Observation(0.0)
        """The last observation: its limits and rated figures."""

    def feed(self, seen: Observation, power_w: float | None) -> None:
        """Take the next observation and the believable power [W]."""
        self.known = seen
        now = seen.t_s
        if seen.clock_cap_mhz is not None:
            self.cap.feed(now, seen.clock_cap_mhz)
        if seen.platform_cap_mhz is not None:
            self.platform.feed(now, seen.platform_cap_mhz)
        if seen.throttle_count is not None or seen.cooling_step is not None:
            self.heat.feed(now, seen.throttle_count, seen.cooling_step)
        if seen.power_window_s is not None:
            self.budget.feed(now, power_w, seen.power_window_s)
