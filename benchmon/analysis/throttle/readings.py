"""Readings that can be believed, and their one-second means: what everything else here is fed with."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from functools import partial
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
_KEPT = 240


class Reading(NamedTuple):
    """The last believable value of each quantity; None once it has been missing for too long."""

    t_s: float
    clock: float | None
    power: float | None
    temp: float | None
    load: float | None
    work: float | None


_make_reading: Callable[[tuple[float | None, ...]], Reading] = partial(tuple.__new__, Reading)
"""As ``Reading._make``, in half its time."""


class Cleaner:
    """Turns observations into readings, one at a time: impossible values dropped, short holes bridged."""

    __slots__ = (
        "_clock_s", "_doubtful_power", "_greatest_power", "_last", "_last_s", "_load_s", "_power_s", "_temp_s",
        "_work_s",
    )  # fmt: skip

    def __init__(self) -> None:
        """Start before the first observation."""
        self._last_s = _NEVER
        self._last = Reading(_NEVER, None, None, None, None, None)
        self._clock_s = self._power_s = self._temp_s = self._load_s = self._work_s = _NEVER
        self._greatest_power = self._doubtful_power = 0.0

    def clean(self, seen: Observation) -> Reading | None:
        """The reading at this moment, or None if time did not go forward or is no number."""
        now, clock, power, temp, load, work = seen[:6]
        if not self._last_s < now < _FOREVER:
            return None
        self._last_s = now
        last, bridged_from_s = self._last, now - HOLD_READING_S
        if clock is not None and 0.0 < clock <= GREATEST_CLOCK_MHZ:
            self._clock_s = now
        else:
            clock = last.clock if self._clock_s >= bridged_from_s else None
        if power is not None and 0.0 <= power <= GREATEST_POWER_W and self._is_believed(power):
            self._power_s = now
        else:
            power = last.power if self._power_s >= bridged_from_s else None
        if temp is not None and LEAST_TEMP_C <= temp <= GREATEST_TEMP_C:
            self._temp_s = now
        else:
            temp = last.temp if self._temp_s >= bridged_from_s else None
        if load is not None and 0.0 <= load <= 110.0:  # two clocks, rounded: a little over 100
            self._load_s = now
        else:
            load = last.load if self._load_s >= bridged_from_s else None
        if work is not None and 0.0 <= work < _FOREVER:
            self._work_s = now
        else:
            work = last.work if self._work_s >= bridged_from_s else None
        self._last = reading = _make_reading((now, clock, power, temp, load, work))
        return reading

    def _is_believed(self, power: float) -> bool:
        """A power far above everything so far is believed when the next reading confirms it."""
        if power > self._greatest_power:
            bound = self._greatest_power * DOUBTFUL_POWER_RATIO
            if power > bound > 0.0 and not self._doubtful_power * 2.0 > power > self._doubtful_power * 0.5:
                self._doubtful_power = power
                return False
            self._greatest_power = power
        self._doubtful_power = 0.0
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


_make_second: Callable[[tuple[float | None, ...]], Second] = partial(tuple.__new__, Second)


class Seconds:
    """The last minutes in seconds. A sample that comes later than a second after the last is a second by itself."""

    __slots__ = ("_open", "_start_s", "all")

    def __init__(self) -> None:
        """Start empty."""
        self.all: deque[Second] = deque(maxlen=_KEPT)
        self._start_s = _NEVER
        self._open: list[Second] = []
        """What was read since the last second."""

    def feed(self, reading: Reading, speed: float | None) -> Second | None:
        """Take a reading; gives the second that it completes, else None."""
        now, _, power, temp, _, work = reading
        read = _make_second((now, speed, power, temp, work))
        if now - self._start_s < SECOND_S:
            self._open.append(read)
            return None
        self._start_s = now
        if self._open:
            self._open.append(read)
            _, speeds, powers, temps, works = zip(*self._open, strict=True)
            read = _make_second((now, mean(speeds), mean(powers), mean(temps), mean(works)))
            self._open = []
        self.all.append(read)
        return read

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
    return mean([second.temp for second in seconds])


def mean_power(seconds: Iterable[Second]) -> float | None:
    """Mean power [W]; None if none was read."""
    return mean([second.power for second in seconds])


def mean_speed(seconds: Iterable[Second]) -> float | None:
    """Mean speed; None if none was read."""
    return mean([second.speed for second in seconds])
