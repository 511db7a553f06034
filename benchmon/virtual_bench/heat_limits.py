"""Five ways in which firmware, and one in which the kernel, defends a temperature."""

from __future__ import annotations

from benchmon.model.events import Cause
from benchmon.virtual_bench.firmware import FREE, Moment


class HeatLimit:
    """What all of them share: a trip temperature, and a count of how often it was crossed.

    Args:
        trip_c: temperature of the hottest core at which it acts [°C].
    """

    cause = Cause.THERMAL

    def __init__(self, trip_c: float) -> None:
        self.trip_c = trip_c
        self.ceiling_mhz = FREE
        self.duty = 1.0
        self.crossings = 0
        """How often the trip was crossed upwards: what the kernel's counter shows."""
        self._is_above = False

    def update(self, now: Moment) -> None:
        """Count crossings, then decide; a limit lifts at once when the load ends."""
        if now.hot_c >= self.trip_c:
            if not self._is_above:
                self._is_above = True
                self.crossings += 1
        elif now.hot_c < self.trip_c - 0.3:
            self._is_above = False
        if now.busy:
            self.decide(now)
        else:
            self.release()

    def decide(self, now: Moment) -> None:
        """Set ceiling and duty under load."""
        raise NotImplementedError

    def release(self) -> None:
        """Limit no longer."""
        self.ceiling_mhz, self.duty = FREE, 1.0


class Latch(HeatLimit):
    """Drops hard, and stays down until it is ``reset_below_k`` cooler or the load ends."""

    def __init__(self, trip_c: float, low_mhz: float, reset_below_k: float = 60.0) -> None:
        super().__init__(trip_c)
        self._low_mhz, self._reset_c = low_mhz, trip_c - reset_below_k

    def decide(self, now: Moment) -> None:
        """Down at the trip; up only far below it."""
        if now.hot_c >= self.trip_c:
            self.ceiling_mhz = self._low_mhz
        elif now.hot_c <= self._reset_c:
            self.ceiling_mhz = FREE


class SawTooth(HeatLimit):
    """Down at the trip, up again ``hysteresis_k`` below it, but not before ``hold_s`` have passed."""

    def __init__(self, trip_c: float, low_mhz: float, hysteresis_k: float, hold_s: float = 1.0) -> None:
        super().__init__(trip_c)
        self._low_mhz, self._hysteresis_k, self._hold_s = low_mhz, hysteresis_k, hold_s
        self._down_since_s = 0.0

    def decide(self, now: Moment) -> None:
        """Hysteresis with a shortest time at the low clock."""
        if self.ceiling_mhz == FREE:
            if now.hot_c >= self.trip_c:
                self.ceiling_mhz, self._down_since_s = self._low_mhz, now.t_s
        elif now.hot_c <= self.trip_c - self._hysteresis_k and now.t_s - self._down_since_s >= self._hold_s:
            self.ceiling_mhz = FREE


class Glide(HeatLimit):
    """Holds the temperature at the trip by moving the ceiling slowly (a PI controller).

    Args:
        trip_c: temperature that is held [°C].
        slow_mhz: integral part, for each second and kelvin [MHz/(K·s)].
        fast_mhz: proportional part [MHz/K].
        step_mhz: the ceiling moves in steps of this size [MHz]; 0 = continuously.
        first_drop_mhz: extra drop at the moment it sets in [MHz].
    """

    def __init__(
        self, trip_c: float, slow_mhz: float, fast_mhz: float, step_mhz: float = 0.0, first_drop_mhz: float = 0.0
    ) -> None:
        super().__init__(trip_c)
        self._slow, self._fast, self._step, self._first = slow_mhz, fast_mhz, step_mhz, first_drop_mhz
        self._base_mhz = FREE

    def decide(self, now: Moment) -> None:
        """Integrate the error; free again when the ceiling has reached the wish in the cool."""
        spare_k = self.trip_c - now.hot_c
        if self._base_mhz == FREE:
            if spare_k > 0.0:
                return
            self._base_mhz = now.wish_mhz - self._first
        self._base_mhz += self._slow * spare_k * now.dt_s
        self._base_mhz = max(now.lowest_mhz, min(self._base_mhz, now.wish_mhz * 1.02))
        ceiling = self._base_mhz + self._fast * spare_k
        if self._step:
            ceiling = self._step * round(ceiling / self._step)
        self.ceiling_mhz = max(now.lowest_mhz, ceiling)
        if self._base_mhz > now.wish_mhz and spare_k > 2.0:
            self.release()

    def release(self) -> None:
        """Forget the ceiling."""
        super().release()
        self._base_mhz = FREE


class Modulation(HeatLimit):
    """Stops the clock for a share of each few microseconds, in steps: the clock's reading stays.

    Steps of an eighth as on common processors; down while at the trip, up ``hysteresis_k`` below it.
    """

    def __init__(self, trip_c: float, hysteresis_k: float, every_s: float = 1.0, step: float = 0.125) -> None:
        super().__init__(trip_c)
        self._hysteresis_k, self._every_s, self._step = hysteresis_k, every_s, step
        self._next_s = 0.0

    def decide(self, now: Moment) -> None:
        """One step at a time."""
        if now.t_s < self._next_s:
            return
        if now.hot_c >= self.trip_c and self.duty - self._step > 0.12:
            self.duty -= self._step
            self._next_s = now.t_s + self._every_s
        elif now.hot_c <= self.trip_c - self._hysteresis_k and self.duty < 1.0:
            self.duty = min(1.0, self.duty + self._step)
            self._next_s = now.t_s + self._every_s


class TwoSteps(HeatLimit):
    """A mild drop at the trip and, if that does not help, a deep one ``second_above_k`` above it; both latch."""

    def __init__(self, trip_c: float, mild_mhz: float, deep_mhz: float, second_above_k: float, settle_s: float) -> None:
        super().__init__(trip_c)
        self._mild_mhz, self._deep_mhz = mild_mhz, deep_mhz
        self._second_c, self._settle_s = trip_c + second_above_k, settle_s
        self._since_s = 0.0

    def decide(self, now: Moment) -> None:
        """Second step only after the first had ``settle_s`` to help."""
        if self.ceiling_mhz == FREE:
            if now.hot_c >= self.trip_c:
                self.ceiling_mhz, self._since_s = self._mild_mhz, now.t_s
        elif now.hot_c >= self._second_c and now.t_s - self._since_s >= self._settle_s:
            self.ceiling_mhz = self._deep_mhz


class KernelSteps(HeatLimit):
    """The kernel's step-wise policy: one cooling state more or less every few seconds.

    Args:
        trip_c: passive trip point [°C].
        step_mhz: clock taken away by each state [MHz].
        every_s: polling time [s].
        most_steps: highest state.
    """

    def __init__(self, trip_c: float, step_mhz: float, every_s: float, most_steps: int = 10) -> None:
        super().__init__(trip_c)
        self._step_mhz, self._every_s, self.most_steps = step_mhz, every_s, most_steps
        self.steps = 0
        self._next_s = 0.0
        self._last_c = 0.0

    def decide(self, now: Moment) -> None:
        """More while above the trip and rising, less while below and falling."""
        if now.t_s >= self._next_s:
            rising = now.hot_c > self._last_c
            if now.hot_c >= self.trip_c and rising:
                self.steps = min(self.steps + 1, self.most_steps)
            elif now.hot_c < self.trip_c and not rising:
                self.steps = max(self.steps - 1, 0)
            self._last_c = now.hot_c
            self._next_s = now.t_s + self._every_s
        self.ceiling_mhz = now.wish_mhz - self.steps * self._step_mhz if self.steps else FREE

    def release(self) -> None:
        """State zero."""
        super().release()
        self.steps = 0
