"""What holds the chip back: controllers that move a ceiling by whole clock states, each with a sense of its own.

None of them is a proportional-integral loop: firmware of small machines looks every now and then, moves a few states
down when it is too hot and one up when it has been cool for a while.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from benchmon.model.events import Cause
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.silicon import Silicon

STEP_S = 0.1
"""Step of the whole play [s]."""
FREE_MHZ = math.inf


@dataclass
class Now:
    """What a controller can know; one object, filled anew at each step."""

    silicon: Silicon
    t_s: float = 0.0
    die_c: float = 0.0
    power_w: float = 0.0
    given_mhz: float = 0.0
    """Clock with nothing in the way [MHz]."""
    working: float = 0.0
    weight: float = 1.0
    is_busy: bool = False


class Limit(Protocol):
    """One reason to be held back. ``duty`` is the share of time in which the clock runs at all."""

    cause: Cause
    ceiling_mhz: float
    duty: float

    def look(self, now: Now) -> None:
        """Called at every step; sets ``ceiling_mhz`` and ``duty``."""


class Nose:
    """A sensor of the firmware's own: it lags, and it looks now and then."""

    def __init__(self, luck: Luck, every_s: float) -> None:
        self.every_s = every_s
        self._lag_s = luck.pick(0.2, 0.5, 1.0, 2.0)
        self._grain_k = luck.pick(0.25, 0.5, 1.0)
        self._seen_c: float | None = None
        self._next_s = 0.0

    def smell(self, now: Now) -> float | None:
        """The temperature [°C] if it is time to act, else None."""
        if self._seen_c is None:
            self._seen_c = now.die_c
        self._seen_c += (now.die_c - self._seen_c) * min(1.0, STEP_S / self._lag_s)
        if now.t_s < self._next_s:
            return None
        self._next_s = now.t_s + self.every_s
        return round(self._seen_c / self._grain_k) * self._grain_k


class Hold:
    """Keeps a temperature: down by some states for each kelvin too much, up by one when it was cool for a while."""

    cause = Cause.THERMAL
    duty = 1.0

    def __init__(self, luck: Luck, hold_c: float, *, every_s: float, states_per_k: float, patience: int) -> None:
        """``patience``: looks in a row that must be cool before it gives a state back."""
        self._nose, self._hold_c = Nose(luck, every_s), hold_c
        self._states_per_k, self._patience, self._cool = states_per_k, patience, 0
        self.ceiling_mhz = FREE_MHZ

    def look(self, now: Now) -> None:
        if not now.is_busy:
            self.ceiling_mhz = FREE_MHZ
            return
        seen_c = self._nose.smell(now)
        if seen_c is None:
            return
        state_mhz = now.silicon.state_mhz
        if seen_c > self._hold_c:
            states = max(1, round((seen_c - self._hold_c) * self._states_per_k * 40.0 / state_mhz))
            self.ceiling_mhz = min(self.ceiling_mhz, now.given_mhz) - states * state_mhz
            self.ceiling_mhz = max(self.ceiling_mhz, now.silicon.lowest_mhz)
            self._cool = 0
        elif seen_c < self._hold_c - 0.3:
            self._cool += 1
            if self._cool >= self._patience and self.ceiling_mhz < now.given_mhz:
                self.ceiling_mhz += state_mhz
                self._cool = 0


class Saw:
    """Down to a share at one temperature, back at a lower one; ``back_c`` None: not before the load ends."""

    cause = Cause.THERMAL

    def __init__(
        self,
        luck: Luck,
        trip_c: float,
        back_c: float | None,
        share: float,
        *,
        least_s: float = 0.0,
        by_duty: bool = False,
    ) -> None:
        self._nose = Nose(luck, luck.pick(0.1, 0.2, 0.5))
        self._trip_c, self._back_c, self._share = trip_c, back_c, share
        self._least_s, self._by_duty = least_s, by_duty
        self._down_at_s: float | None = None
        self.ceiling_mhz, self.duty = FREE_MHZ, 1.0

    def look(self, now: Now) -> None:
        seen_c = self._nose.smell(now)
        if not now.is_busy:
            self._release()
        elif seen_c is None:
            return
        elif self._down_at_s is None and seen_c >= self._trip_c:
            self._down_at_s = now.t_s
            if self._by_duty:
                self.duty = self._share
            else:
                self.ceiling_mhz = now.given_mhz * self._share
        elif self._down_at_s is not None and self._back_c is not None and seen_c <= self._back_c:
            if now.t_s - self._down_at_s >= self._least_s:
                self._release()

    def _release(self) -> None:
        self._down_at_s, self.ceiling_mhz, self.duty = None, FREE_MHZ, 1.0


class Stages:
    """A mild step at one temperature, a rough one at a higher one; it comes back one stage at a time, if at all."""

    cause = Cause.THERMAL
    duty = 1.0

    def __init__(self, luck: Luck, trips_c: Sequence[float], shares: Sequence[float], back_k: float) -> None:
        self._nose = Nose(luck, luck.pick(0.5, 1.0))
        self._trips_c, self._shares, self._back_k, self._stage = trips_c, shares, back_k, 0
        self.ceiling_mhz = FREE_MHZ

    def look(self, now: Now) -> None:
        seen_c = self._nose.smell(now)
        if not now.is_busy:
            self._stage = 0
        elif seen_c is not None:
            if self._stage < len(self._trips_c) and seen_c >= self._trips_c[self._stage]:
                self._stage += 1
            elif self._stage and seen_c < self._trips_c[self._stage - 1] - self._back_k:
                self._stage -= 1
        self.ceiling_mhz = now.given_mhz * self._shares[self._stage - 1] if self._stage else FREE_MHZ


class Eighths:
    """Gates the clock in eighths of the time: the clock that is read stays."""

    cause = Cause.THERMAL
    ceiling_mhz = FREE_MHZ

    def __init__(self, luck: Luck, hold_c: float) -> None:
        self._nose, self._hold_c = Nose(luck, luck.pick(1.0, 2.0, 4.0)), hold_c
        self._give_back_k = luck.even(0.5, 3.0)
        self.duty = 1.0

    def look(self, now: Now) -> None:
        seen_c = self._nose.smell(now)
        if not now.is_busy:
            self.duty = 1.0
        elif seen_c is not None and seen_c >= self._hold_c:
            self.duty = max(0.25, self.duty - 0.125)
        elif seen_c is not None and seen_c < self._hold_c - self._give_back_k:
            self.duty = min(1.0, self.duty + 0.125)


class Budget:
    """A power limit with a store of credit: what was not used fills it, more than the limit empties it.

    Args:
        luck: all chance.
        limits_w: (from [s], limit [W]), first at 0.
        window_s: the credit lasts so long at the burst's power; 0 = no more than the limit, ever.
        burst: power while there is credit, as a share of the limit.
        starts_empty: the credit was used up before the recording began.
    """

    cause = Cause.POWER_LIMIT
    duty = 1.0

    def __init__(
        self, luck: Luck, limits_w: Sequence[tuple[float, float]], window_s: float, burst: float, *, starts_empty: bool
    ) -> None:
        self.limits_w, self.window_s, self._burst = limits_w, window_s, burst
        self._credit_j = 0.0 if starts_empty else math.inf
        self._every_s, self._next_s = luck.pick(0.1, 0.2, 0.5, 1.0), 0.0
        self._meter = luck.even(0.975, 1.015)
        """The firmware's own meter against the truth."""
        self._debt_w = 0.0
        self._since_w = 0.0
        self._looks = 0
        self.ceiling_mhz = FREE_MHZ

    def limit_w(self, t_s: float) -> float:
        return [limit_w for from_s, limit_w in self.limits_w if from_s <= t_s][-1]

    def look(self, now: Now) -> None:
        limit_w = self.limit_w(now.t_s)
        metered_w = now.power_w / self._meter
        full_j = limit_w * (self._burst - 1.0) * self.window_s
        self._credit_j = max(0.0, min(full_j, self._credit_j + (limit_w - metered_w) * STEP_S))
        self._since_w += metered_w
        self._looks += 1
        if not now.is_busy:  # ready to act in the very step in which work comes
            self.ceiling_mhz, self._next_s = FREE_MHZ, now.t_s
            return
        if now.t_s < self._next_s:
            return
        self._next_s = now.t_s + self._every_s
        mean_w, self._since_w, self._looks = self._since_w / self._looks, 0.0, 0
        left = self._credit_j / full_j if full_j > 0.0 else 0.0
        allowed_w = limit_w * (1.0 + (self._burst - 1.0) * min(1.0, left / 0.15))
        if self.ceiling_mhz < now.given_mhz:  # between two states: the mean must come out right
            self._debt_w = max(-0.1, min(0.1, (self._debt_w * limit_w + 0.5 * (mean_w - allowed_w)) / limit_w))
        else:
            self._debt_w = 0.0
        aim_w = (allowed_w - self._debt_w * limit_w) * self._meter
        self.ceiling_mhz = now.silicon.clock_within(aim_w, now.working, now.weight, now.die_c)


class Cap:
    """A ceiling by somebody's hand or a signal's: (from [s], to [s], MHz)."""

    cause = Cause.OUTSIDE
    duty = 1.0

    def __init__(self, stretches: Sequence[tuple[float, float, float]]) -> None:
        self.stretches = stretches
        self.ceiling_mhz = FREE_MHZ

    def at(self, t_s: float) -> float:
        """The ceiling at a time [MHz]."""
        held = [mhz for from_s, to_s, mhz in self.stretches if from_s <= t_s < to_s]
        return min(held, default=FREE_MHZ)

    def look(self, now: Now) -> None:
        self.ceiling_mhz = self.at(now.t_s)
