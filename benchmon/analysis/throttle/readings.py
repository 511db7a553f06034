"""Readings that can be believed, and their one-second means: what everything else here is fed with."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from typing import NamedTuple

from benchmon.analysis.intake.series import Observation

HOLD_READING_S = 10.0
"""A missing reading is bridged with the last good one for this long: the slowest sampling we promise to survive."""
GREATEST_CLOCK_MHZ = 10_000.0
"""No processor has run faster in a case; a greater number is a misread register."""
GREATEST_POWER_W = 1_500.0
"""More than a wall socket's circuit gives a small machine: a counter that stepped back and was "unwrapped"."""
DOUBTFUL_POWER_RATIO = 1.5
"""A power this many times the greatest so far must be seen twice: a real load lasts, a counter fault does not."""
LEAST_TEMP_C, GREATEST_TEMP_C = -30.0, 150.0
"""Outside this, silicon sensors give no meaning."""
SECOND_S = 0.95
"""A second is complete after this: deadlines jitter."""

_NEVER, _FOREVER = float("-inf"), float("inf")
_ALL_GOOD = (True,) * 5
_KEPT = 240


class Reading(NamedTuple):
    """The last believable value of each quantity; None once it has been missing for too long."""

    t_s: float
    clock: float | None
    power: float | None
    temp: float | None
    load: float | None
    work: float | None


class Cleaner:
    """Turns observations into readings, one at a time: impossible values dropped, short holes bridged."""

    __slots__ = ("_doubtful_power", "_greatest_power", "_last", "_last_s", "_seen_s")

    def __init__(self) -> None:
        """Start before the first observation."""
        self._last_s = _NEVER
        self._last = Reading(_NEVER, None, None, None, None, None)
        self._seen_s = [_NEVER] * 5
        self._greatest_power = self._doubtful_power = 0.0

    def clean(self, seen: Observation) -> Reading | None:
        """The reading at this moment, or None if time did not go forward or is no number."""
        now = seen.t_s
        if not self._last_s < now < _FOREVER:
            return None
        self._last_s = now
        clock, power, temp, load, work = seen.clock_mhz, seen.power_w, seen.temp_c, seen.load_pct, seen.work_rate
        good = (
            clock is not None and 0.0 < clock <= GREATEST_CLOCK_MHZ,
            power is not None and 0.0 <= power <= GREATEST_POWER_W and self._is_believed(power),
            temp is not None and LEAST_TEMP_C <= temp <= GREATEST_TEMP_C,
            load is not None and 0.0 <= load <= 110.0,  # two clocks, rounded: a little over 100
            work is not None and 0.0 <= work < _FOREVER,
        )
        reading = Reading(now, clock, power, temp, load, work)
        if good != _ALL_GOOD:
            return self._bridged(reading, good)
        self._last, self._seen_s = reading, [now] * 5
        return reading

    def _bridged(self, reading: Reading, good: tuple[bool, ...]) -> Reading:
        """The reading with the last good value where there is none now, unless that is too long ago."""
        values, now = list(reading), reading.t_s
        for place, is_good in enumerate(good):
            if is_good:
                self._seen_s[place] = now
            else:
                is_fresh = self._seen_s[place] >= now - HOLD_READING_S
                values[place + 1] = self._last[place + 1] if is_fresh else None
        self._last = Reading(now, *values[1:])
        return self._last

    def _is_believed(self, power: float) -> bool:
        """A power far above everything so far is believed when the next reading confirms it."""
        bound = self._greatest_power * DOUBTFUL_POWER_RATIO
        if power > bound > 0.0 and not self._doubtful_power * 2.0 > power > self._doubtful_power * 0.5:
            self._doubtful_power = power
            return False
        self._doubtful_power = 0.0
        self._greatest_power = max(self._greatest_power, power)
        return True


class Second(NamedTuple):
    """Means over about one second; None where nothing was read."""

    t_s: float
    """Time of the last sample in it [s]."""
    speed: float | None
    """Clock [MHz], or the work rate where there is no clock."""
    power: float | None
    temp: float | None
    work: float | None


class Seconds:
    """The last minutes in seconds. A sample that comes later than a second after the last is a second by itself."""

    __slots__ = ("_count", "_start_s", "_sums", "all")

    def __init__(self) -> None:
        """Start empty."""
        self.all: deque[Second] = deque(maxlen=_KEPT)
        self._start_s = _NEVER
        self._count = 0
        self._sums = [0.0] * 8

    def feed(self, reading: Reading, speed: float | None) -> Second | None:
        """Take a reading; gives the second that it completes, else None."""
        now = reading.t_s
        if self._count == 0 and now - self._start_s >= SECOND_S:
            return self._close(Second(now, speed, reading.power, reading.temp, reading.work))
        sums = self._sums
        self._count += 1
        for place, value in enumerate((speed, reading.power, reading.temp, reading.work)):
            if value is not None:
                sums[place] += value
                sums[place + 4] += 1.0
        if now - self._start_s < SECOND_S:
            return None
        means = [sums[place] / sums[place + 4] if sums[place + 4] else None for place in range(4)]
        self._count, self._sums = 0, [0.0] * 8
        return self._close(Second(now, means[0], means[1], means[2], means[3]))

    def _close(self, second: Second) -> Second:
        self._start_s = second.t_s
        self.all.append(second)
        return second

    def since(self, t_s: float, until_s: float = float("inf")) -> list[Second]:
        """Seconds with ``t_s <= second.t_s <= until_s``, oldest first."""
        found: list[Second] = []
        for second in reversed(self.all):
            if second.t_s < t_s:
                break
            if second.t_s <= until_s:
                found.append(second)
        found.reverse()
        return found


def mean(values: Iterable[float | None]) -> float | None:
    """Mean of those that were read; None if none was."""
    known = [value for value in values if value is not None]
    return sum(known) / len(known) if known else None


def mean_temp(seconds: Iterable[Second]) -> float | None:
    """Mean temperature [°C]; None if none was read."""
    return mean(second.temp for second in seconds)


def mean_power(seconds: Iterable[Second]) -> float | None:
    """Mean power [W]; None if none was read."""
    return mean(second.power for second in seconds)


def mean_speed(seconds: Iterable[Second]) -> float | None:
    """Mean speed; None if none was read."""
    return mean(second.speed for second in seconds)
