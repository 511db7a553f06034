"""A run of seconds during which the temperature stayed where it was, and what the power did meanwhile."""

from __future__ import annotations

from benchmon.analysis.throttle.rules import Rules


class Held:
    """A run of seconds during which the temperature stayed where it was."""

    __slots__ = (
        "_rules", "_slow_w", "anchor", "count", "drop_w", "first_w", "from_onset", "high_w", "last_s", "last_w",
        "low_w", "moved_k", "speed", "start_s", "temp",
    )  # fmt: skip

    def __init__(self, rules: Rules, start_s: float, temp_c: float, power_w: float | None, *, from_onset: bool) -> None:
        """A run starts at a temperature, with the power that held before."""
        self._rules = rules
        self.start_s = self.last_s = start_s
        self.temp = temp_c
        self.anchor = temp_c
        """Mean of the first seconds: the run may not drift away from it."""
        self.count = 1
        self.speed = 0.0
        """Mean speed."""
        self.first_w = power_w
        self.last_w = power_w
        self._slow_w = 0.0
        self.high_w = self.low_w = 0.0
        """Greatest and least slowly smoothed power since the first fall was over [W]."""
        self.drop_w = 0.0
        """Sum over the run of how far power was below its start [W·seconds seen]."""
        self.from_onset = from_onset
        self.moved_k = 0.0
        """How much further the temperature would have moved without control [K]."""

    @property
    def length_s(self) -> float:
        """Length of the run [s]."""
        return self.last_s - self.start_s

    def follow(self, power_w: float) -> None:
        """Smooth the power of the next second, and keep how far it wandered."""
        rules = self._rules
        self.last_w = power_w if self.last_w is None else self.last_w + rules.held_share * (power_w - self.last_w)
        if self.count == rules.fall_over_s:
            self._slow_w = self.high_w = self.low_w = self.last_w
        elif self.count > rules.fall_over_s:
            self._slow_w += rules.wander_share * (power_w - self._slow_w)
            self.high_w, self.low_w = max(self.high_w, self._slow_w), min(self.low_w, self._slow_w)

    @property
    def wander(self) -> float:
        """How far power moved while the temperature stayed, relative; the first fall left out."""
        return self.high_w / self.low_w - 1.0 if self.low_w > 0.0 else 0.0
