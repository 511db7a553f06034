"""What the machine itself says: limits, caps, cooling steps, heat counters, and the running average of power."""

from __future__ import annotations

from collections import deque
from math import exp, log
from typing import Any

from benchmon.analysis.intake.series import Observation, RisingCount
from benchmon.analysis.intake.told_limits import is_believed
from benchmon.model import keys

CAP_FALL = 0.01
"""A cap this much lower than before is lower."""
CAP_NEAR_S = 6.0
"""A cap that falls this near to the onset belongs to it; it may be read less often than the clock."""
_FIRST_TOLD = Observation._fields.index("temp_limit_c")
"""From there on an observation holds what the machine says, before that what is read many times a minute."""
JUMPS, JUMPS_WITHIN_S = 4, 60.0
"""A limit that changes so often is no limit: somebody else's register, or one that is being written to."""


class CapWatch:
    """Follows a cap on the clock and remembers when it fell."""

    __slots__ = ("before_mhz", "fell_s", "now_mhz")

    def __init__(self) -> None:
        """Start without a cap."""
        self.now_mhz: float | None = None
        self.before_mhz: float | None = None
        """The cap before its last fall [MHz]; None while it is not down."""
        self.fell_s = float("-inf")

    def feed(self, t_s: float, cap_mhz: float | None) -> None:
        """Take the next reading; None changes nothing."""
        last = self.now_mhz
        if cap_mhz is None or cap_mhz == last:
            return
        self.now_mhz = cap_mhz
        if last is not None and cap_mhz < last * (1.0 - CAP_FALL):
            # a fall in several steps keeps the cap from before the first of them
            if self.before_mhz is None or t_s - self.fell_s > 2.0 * CAP_NEAR_S:
                self.before_mhz = last
            self.fell_s = t_s
        elif self.before_mhz is not None and cap_mhz >= self.before_mhz * (1.0 - CAP_FALL):
            self.before_mhz = None
            self.fell_s = float("-inf")

    @property
    def is_down(self) -> bool:
        """True while the cap is lower than it was."""
        return self.before_mhz is not None


class HeatCountWatch:
    """Rises of the kernel's heat counters and of its cooling step, with their times."""

    __slots__ = ("_count", "_counted", "_rises", "_step_rises", "is_read", "step", "step_is_read")

    def __init__(self) -> None:
        """Start with nothing read."""
        self._count = RisingCount()
        self._counted = 0.0
        self._rises: deque[tuple[float, float]] = deque(maxlen=64)
        self._step_rises: deque[float] = deque(maxlen=64)
        self.is_read = False
        self.step = 0.0
        self.step_is_read = False

    def feed(self, t_s: float, count: float | None, step: float | None) -> None:
        """Take the next readings; None changes nothing."""
        if count is not None:
            self.is_read = True
            self._count.feed(count)
            total = self._count.rises or 0.0
            if total > self._counted:
                self._rises.append((t_s, total - self._counted))
                self._counted = total
        if step is not None:
            if step > self.step and self.step_is_read:
                self._step_rises.append(t_s)
            self.step = step
            self.step_is_read = True

    def step_rose_since(self, start_s: float) -> float | None:
        """The first rise of the cooling step from then on [s]; None if there was none."""
        return next((t_s for t_s in self._step_rises if t_s >= start_s), None)

    def counted_between(self, start_s: float, end_s: float) -> float:
        """Heat events counted in the closed interval."""
        return sum(count for t_s, count in self._rises if start_s <= t_s <= end_s)

    def last_between(self, start_s: float, end_s: float) -> float | None:
        """When the last heat event of the closed interval was counted [s]; None if there was none."""
        return next((t_s for t_s, _ in reversed(self._rises) if start_s <= t_s <= end_s), None)


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
            self.average_w += (power_w - self.average_w) * (1.0 - exp(-(t_s - self._last_s) / window_s))
        self._last_s = t_s


def time_at_higher_power_s(higher_w: float, sustained_w: float, before_w: float, window_s: float) -> float | None:
    """How long a running average lets the higher power last: window · ln((higher - before) / (higher - sustained)).

    None if the higher power is not above the sustained limit (it may last for ever) or the average starts above it.

    >>> round(time_at_higher_power_s(117.0, 65.0, 5.0, 8.0), 3)
    6.138
    """
    if higher_w <= sustained_w or before_w >= sustained_w:
        return None
    return window_s * log((higher_w - before_w) / (higher_w - sustained_w))


class Jumps:
    """Whether a told limit changes so often that it cannot be one."""

    __slots__ = ("_last", "_times_s")

    def __init__(self) -> None:
        """Start with no limit told."""
        self._last: float | None = None
        self._times_s: deque[float] = deque(maxlen=JUMPS)

    def is_jumping(self, t_s: float, value: float) -> bool:
        """Take the limit as it is told now."""
        if value != self._last:
            if self._last is not None:
                self._times_s.append(t_s)
            self._last = value
        return len(self._times_s) == JUMPS and t_s - self._times_s[0] <= JUMPS_WITHIN_S


class Told:
    """All of it together, fed with every observation."""

    __slots__ = (
        "_doubted",
        "_limits",
        "_look_again_s",
        "_power_jumps",
        "_short_jumps",
        "_temp_jumps",
        "_told",
        "budget",
        "cap",
        "heat",
        "known",
        "platform",
    )

    def __init__(self) -> None:
        """Start with nothing known."""
        self.cap, self.platform = CapWatch(), CapWatch()
        self.heat = HeatCountWatch()
        self.budget = PowerBudget()
        self.known = Observation(0.0)
        """The last observation that told anything new: its rated figures, and those of its limits that are believed."""
        self._told: tuple[Any, ...] = ()
        self._temp_jumps, self._power_jumps, self._short_jumps = Jumps(), Jumps(), Jumps()
        self._limits: tuple[float | None, ...] = ()
        self._look_again_s = float("-inf")
        self._doubted: dict[str, Any] = {}
        """Fields of limits that are told but not believed."""

    def feed(self, seen: Observation, power_w: float | None) -> None:
        """Take the next observation and the believable power [W]."""
        told = seen[_FIRST_TOLD:]
        if told != self._told or seen.t_s > self._look_again_s:
            self._told = told
            self.known = self._believed(seen)
            self.cap.feed(seen.t_s, seen.clock_cap_mhz)
            self.platform.feed(seen.t_s, seen.platform_cap_mhz)
            self.heat.feed(seen.t_s, seen.throttle_count, seen.cooling_step)
        if seen.power_window_s is not None:
            self.budget.feed(seen.t_s, power_w, seen.power_window_s)

    def _believed(self, seen: Observation) -> Observation:
        """The observation without limits that cannot be meant; looked at anew when one changes, and once a minute."""
        temp, power, short = seen.temp_limit_c, seen.power_limit_w, seen.power_limit_short_w
        if (temp, power, short) != self._limits or seen.t_s > self._look_again_s:
            self._limits, self._look_again_s = (temp, power, short), seen.t_s + JUMPS_WITHIN_S
            self._doubted = {
                field: None
                for field, key, value, jumps in (
                    ("temp_limit_c", keys.TEMP_LIMIT, temp, self._temp_jumps),
                    ("power_limit_w", keys.POWER_LIMIT_LONG, power, self._power_jumps),
                    ("power_limit_short_w", keys.POWER_LIMIT_SHORT, short, self._short_jumps),
                )
                if value is not None and (jumps.is_jumping(seen.t_s, value) or not is_believed(key, value))
            }
        return seen._replace(**self._doubted) if self._doubted else seen
