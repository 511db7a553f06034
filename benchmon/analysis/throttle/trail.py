"""The last minutes in one-second means: what causes are judged on, whatever the sampling was."""

from __future__ import annotations

from collections import deque
from typing import NamedTuple

from benchmon.analysis.throttle.cleaning import Reading

_KEPT = 240


class Second(NamedTuple):
    """Means over about one second; None where nothing was read."""

    t_s: float
    """Time of the last sample in it [s]."""
    speed: float | None
    power: float | None
    temp: float | None
    work: float | None


class Trail:
    """Gathers readings into seconds. A sample that comes later than a second after the last is a second by itself."""

    __slots__ = ("_count", "_last", "_start_s", "_sums", "seconds")

    def __init__(self) -> None:
        """Start empty."""
        self.seconds: deque[Second] = deque(maxlen=_KEPT)
        self._start_s = float("-inf")
        self._count = 0
        self._last: Reading | None = None
        self._sums = [0.0] * 8

    def feed(self, reading: Reading, speed: float | None, width_s: float) -> Second | None:
        """Take a reading; gives the second that it completes, else None."""
        now = reading.t_s
        if self._count == 0 and now - self._start_s >= width_s * 0.95:
            self._start_s = now
            second = Second(now, speed, reading.power, reading.temp, reading.work)
            self.seconds.append(second)
            return second
        sums = self._sums
        self._count += 1
        for place, value in enumerate((speed, reading.power, reading.temp, reading.work)):
            if value is not None:
                sums[place] += value
                sums[place + 4] += 1.0
        if now - self._start_s < width_s * 0.95:
            return None
        means = [sums[place] / sums[place + 4] if sums[place + 4] else None for place in range(4)]
        second = Second(now, means[0], means[1], means[2], means[3])
        self._start_s, self._count, self._sums = now, 0, [0.0] * 8
        self.seconds.append(second)
        return second

    def since(self, t_s: float, until_s: float = float("inf")) -> list[Second]:
        """Seconds with ``t_s <= second.t_s <= until_s``, oldest first."""
        found: list[Second] = []
        for second in reversed(self.seconds):
            if second.t_s < t_s:
                break
            if second.t_s <= until_s:
                found.append(second)
        found.reverse()
        return found


def mean_temp(seconds: list[Second]) -> float | None:
    """Mean temperature [°C]; None if none was read."""
    known = [second.temp for second in seconds if second.temp is not None]
    return sum(known) / len(known) if known else None


def mean_power(seconds: list[Second]) -> float | None:
    """Mean power [W]; None if none was read."""
    known = [second.power for second in seconds if second.power is not None]
    return sum(known) / len(known) if known else None


def mean_speed(seconds: list[Second]) -> float | None:
    """Mean speed; None if none was read."""
    known = [second.speed for second in seconds if second.speed is not None]
    return sum(known) / len(known) if known else None
