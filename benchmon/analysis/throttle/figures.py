"""The figures of one event while it lasts: what was before, its time integrals, and what was seen around the onset."""

from __future__ import annotations

from dataclasses import dataclass, fields

from benchmon.analysis.throttle.held import HELD_K
from benchmon.analysis.throttle.readings import HOLD_READING_S, Reading, Seconds, mean_power

ONSET_KNOWN_AFTER_S = 3.0
"""What was seen around the onset is fixed by then."""
RISING_OVER_S = 10.0
CODE_KNOWN_AFTER_S = 2.5
"""Counters of energy and clock speak of the same time only after two or three samples."""


@dataclass(slots=True)
class Sums:
    """Time integrals over an event."""

    total_s: float = 0.0
    limited_s: float = 0.0
    deficit: float = 0.0
    clock: float = 0.0
    clock_s: float = 0.0
    power: float = 0.0
    power_s: float = 0.0
    temp: float = 0.0
    temp_s: float = 0.0
    work_lost: float = 0.0
    energy_j: float = 0.0

    def add(self, dt_s: float, reading: Reading, deficit: float, *, limited: bool, loss: float) -> None:
        """Add a sample that stands for ``dt_s`` seconds, with its relative deficit and loss of work."""
        is_first = self.total_s == 0.0
        clock, power, temp = reading.clock, reading.power, reading.temp
        self.total_s += dt_s
        self.deficit += deficit * dt_s
        if loss > 0.0:
            self.work_lost += loss * dt_s
        if power is not None:
            self.energy_j += power * dt_s
        if not limited:
            return
        self.limited_s += dt_s
        if clock is not None:
            self.clock += clock * dt_s
            self.clock_s += dt_s
        if power is not None and not is_first:  # the first was counted partly before the fall
            self.power += power * dt_s
            self.power_s += dt_s
        if temp is not None:
            self.temp += temp * dt_s
            self.temp_s += dt_s

    def merge(self, other: Sums) -> None:
        """Add all of another's."""
        for one in fields(Sums):
            setattr(self, one.name, getattr(self, one.name) + getattr(other, one.name))


@dataclass(slots=True)
class Onset:
    """What was seen around the onset; None = not known."""

    temp_c: float | None = None
    """Highest temperature around the onset [°C]."""
    cooler_before_k: float | None = None
    """How much cooler it was ten seconds before [K]."""
    crept_k: float | None = None
    """How much cooler it was about a minute before, at its warmest then [K]."""
    loaded_s: float | None = None
    """How long this load had run [s]."""
    settled_s: float | None = None
    """How long the temperature had been settled before [s]."""
    hottest_before_c: float | None = None
    free_high_c: float | None = None
    average_w: float | None = None
    """Running average of power over the limit's window [W]."""
    power_before_w: float | None = None
    """Mean power of the last seconds before [W]."""

    def look(self, start_s: float, seconds: Seconds) -> None:
        """Fill in what the seconds show around ``start_s``."""
        before = [second for second in seconds.since(start_s - 60.0, start_s - 0.01) if second.temp is not None]
        around = [one.temp for one in seconds.since(start_s - 2.5, start_s + 3.0) if one.temp is not None]
        if before and before[-1].temp is not None and start_s - before[-1].t_s <= HOLD_READING_S:
            around.append(before[-1].temp)  # with slow sampling, the last sample before is the one nearest to the peak
        if around:
            self.temp_c = max(around)
        if self.loaded_s is not None and self.loaded_s >= CODE_KNOWN_AFTER_S:
            self.power_before_w = mean_power(seconds.since(start_s - 6.0, start_s - 0.01)[-4:])
        if self.temp_c is None or not before or before[0].temp is None:
            return
        early = [one for one in before if one.t_s <= start_s - RISING_OVER_S]
        then_c = early[-1].temp if early else before[0].temp
        self.cooler_before_k = self.temp_c - then_c if then_c is not None else None
        settled_from = start_s
        for second in reversed(before):
            if second.temp is None or abs(second.temp - self.temp_c) > HELD_K:
                break
            settled_from = second.t_s
        self.settled_s = start_s - settled_from
        if start_s - before[0].t_s >= 30.0:
            self.crept_k = self.temp_c - max(s.temp for s in before[: max(len(before) // 6, 1)] if s.temp is not None)


class Figures:
    """Collects what is told of an event in numbers."""

    __slots__ = ("_tail", "least_clock", "least_power", "sums")

    def __init__(self) -> None:
        """Start at the onset."""
        self.sums = Sums()
        self._tail = Sums()
        self.least_clock: float | None = None
        self.least_power: float | None = None

    def add(self, dt_s: float, reading: Reading, deficit: float, *, limited: bool, loss: float) -> None:
        """Take a sample of the event; a recovery counts only if it is followed by limitation again."""
        if not limited:
            self._tail.add(dt_s, reading, deficit, limited=False, loss=loss)
            return
        if self._tail.total_s:
            self.sums.merge(self._tail)
            self._tail = Sums()
        self.sums.add(dt_s, reading, deficit, limited=True, loss=loss)
        clock, power = reading.clock, reading.power
        if clock is not None and (self.least_clock is None or clock < self.least_clock):
            self.least_clock = clock
        if power is not None and (self.least_power is None or power < self.least_power):
            self.least_power = power

    def mean_deficit(self) -> tuple[float, float]:
        """Mean relative deficit since the onset, a recovery that lasts included, and over how long [s]."""
        total_s = self.sums.total_s + self._tail.total_s
        return (self.sums.deficit + self._tail.deficit) / max(total_s, 1e-9), total_s

    @property
    def held_clock(self) -> float | None:
        """Mean clock while limited [MHz]."""
        return share_of(self.sums.clock, self.sums.clock_s)

    @property
    def held_power(self) -> float | None:
        """Mean power while limited [W]."""
        return share_of(self.sums.power, self.sums.power_s)


def share_of(part: float, whole: float) -> float | None:
    """Part over whole; None where the whole is nothing."""
    return part / whole if whole > 0.0 else None
