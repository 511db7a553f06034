"""What limits a clock: one small object for each limit, asked at every step of the model."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from benchmon.model.events import Cause

FREE = math.inf
"""Ceiling of a limit that does not limit."""


@dataclass(slots=True)
class Moment:
    """What firmware knows at one step; one object, updated in place."""

    t_s: float = 0.0
    dt_s: float = 0.1
    hot_c: float = 25.0
    """Hottest core [°C]."""
    case_c: float = 25.0
    """Last stage of the cooler [°C]."""
    power_w: float = 0.0
    """Package power of the step before [W]."""
    busy: int = 0
    wish_mhz: float = 0.0
    """Clock the load would get with nothing in the way [MHz]."""
    lowest_mhz: float = 0.0
    power_at: Callable[[float], float] = lambda _mhz: 0.0
    """Package power the present load would draw at a clock [MHz → W]."""


class Limit(Protocol):
    """One reason for which the clock may be held down."""

    cause: Cause
    ceiling_mhz: float
    """Highest clock it allows now [MHz]; FREE if it does not care."""
    duty: float
    """Share of time the clock is let through, 1 = all of it."""

    def update(self, now: Moment) -> None:
        """Look at the moment and decide."""


def clock_for_power(now: Moment, allowed_w: float) -> float:
    """Clock at which the present load draws ``allowed_w`` [W → MHz]; FREE if it draws no more at its wish.

    Firmware dithers between neighbouring steps within milliseconds; the mean clock is therefore continuous.
    """
    if now.power_at(now.wish_mhz) <= allowed_w:
        return FREE
    low, high = now.lowest_mhz, now.wish_mhz
    too_little_w, too_much_w = now.power_at(low) - allowed_w, now.power_at(high) - allowed_w
    if too_little_w >= 0.0:
        return low
    middle = high
    for _ in range(10):  # regula falsi; halving the end that stays (Illinois) makes both ends move
        middle = low - too_little_w * (high - low) / (too_much_w - too_little_w)
        off_w = now.power_at(middle) - allowed_w
        if abs(off_w) < 0.0005 * allowed_w:
            break
        if off_w < 0.0:
            low, too_little_w, too_much_w = middle, off_w, 0.5 * too_much_w
        else:
            high, too_much_w, too_little_w = middle, off_w, 0.5 * too_little_w
    return middle


class PowerLimit:
    """Sustained and short-term package power limit.

    The running average follows ``avg' = (P - avg) / window``; up to the short-term limit is allowed until the average
    reaches the sustained one (derived from the vendors' data sheet definition of an exponentially weighted average).

    Args:
        long_w: sustained limit [W].
        short_w: short-term limit [W].
        window_s: time constant of the average [s].
        average_w: where the average starts [W].
    """

    cause = Cause.POWER_LIMIT
    duty = 1.0

    def __init__(self, long_w: float, short_w: float, window_s: float, average_w: float = 0.0) -> None:
        self.long_w, self.short_w, self.window_s = long_w, short_w, window_s
        self.average_w = average_w
        self.ceiling_mhz = FREE
        self.is_spent = False
        """The average has reached the sustained limit."""

    def update(self, now: Moment) -> None:
        """Follow the average and allow what it leaves."""
        self.average_w += (now.power_w - self.average_w) * (1.0 - math.exp(-now.dt_s / self.window_s))
        if self.average_w >= self.long_w:
            self.is_spent = True
        elif self.average_w < 0.96 * self.long_w:
            self.is_spent = False
        allowed_w = self.long_w if self.is_spent else self.short_w
        self.ceiling_mhz = clock_for_power(now, allowed_w) if now.busy else FREE


@dataclass(slots=True)
class Cap:
    """A highest clock that somebody set for a while: a user (``by_platform`` false) or the platform.

    Args:
        spans: (from [s], to [s], clock [MHz]).
        by_platform: shows as the platform's limit and not as the kernel's policy.
    """

    spans: tuple[tuple[float, float, float], ...]
    by_platform: bool = False
    cause: Cause = Cause.OUTSIDE
    ceiling_mhz: float = FREE
    duty: float = 1.0

    def update(self, now: Moment) -> None:
        """Look up whether a span holds now."""
        self.ceiling_mhz = min((mhz for start, end, mhz in self.spans if start <= now.t_s < end), default=FREE)


@dataclass(slots=True)
class OutsideSignal:
    """A hot regulator, a weak supply or a dock pulls a wire: floor clock, at any temperature.

    Args:
        spans: (from [s], to [s]).
    """

    spans: tuple[tuple[float, float], ...]
    cause: Cause = Cause.OUTSIDE
    ceiling_mhz: float = FREE
    duty: float = 1.0

    def update(self, now: Moment) -> None:
        """Clamp while the wire is pulled."""
        pulled = any(start <= now.t_s < end for start, end in self.spans)
        self.ceiling_mhz = now.lowest_mhz if pulled else FREE


class SkinLimit:
    """Defends the temperature of the case, which no sensor shows, by slowly taking power away.

    Args:
        limit_c: temperature of the case that is held [°C].
        gain_per_k_s: share of the power taken away per second for each kelvin too much.
        least_w: power it never goes below [W].
    """

    cause = Cause.UNEXPLAINED
    duty = 1.0

    def __init__(self, limit_c: float, gain_per_k_s: float, least_w: float) -> None:
        self._limit_c, self._gain, self._least_w = limit_c, gain_per_k_s, least_w
        self._allowed_w = FREE
        self.ceiling_mhz = FREE

    def update(self, now: Moment) -> None:
        """Take away while too warm, give back while cooler; forget when the load is gone."""
        if not now.busy:
            self._allowed_w = self.ceiling_mhz = FREE
            return
        over_k = now.case_c - self._limit_c
        if self._allowed_w == FREE:
            if over_k < 0.0:
                return
            self._allowed_w = now.power_w
        self._allowed_w = max(self._least_w, self._allowed_w * (1.0 - self._gain * over_k * now.dt_s))
        self.ceiling_mhz = clock_for_power(now, self._allowed_w)
        if self.ceiling_mhz == FREE and over_k < 0.0:
            self._allowed_w = FREE
