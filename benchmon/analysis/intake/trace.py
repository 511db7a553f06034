"""The course of the few quantities that fits need, as means over equal bins of time, in bounded memory."""

from __future__ import annotations

from array import array
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan, nan
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

QUANTITIES = ("temp_c", "power_w", "clock_mhz", "load_pct", "wall_w", "room_c", "work_per_s")
_MOST_BINS = 20_000
"""More than five hours of whole seconds; beyond, bins double."""
_MOST = 1e9
"""A reading that is no smaller, from a damaged or foreign file, is none: no quantity of a bench is larger in its unit,
and squares would overflow."""


@dataclass(frozen=True, slots=True)
class Course:
    """One quantity over time: centres of the bins [s] and means; bins where nothing was read are left out."""

    times_s: tuple[float, ...]
    values: tuple[float, ...]

    def __len__(self) -> int:
        return len(self.times_s)

    def after(self, t_s: float) -> Course:
        """The part from a time on [s]."""
        place = bisect_left(self.times_s, t_s)
        return Course(self.times_s[place:], self.values[place:])


class Trace:
    """Means over bins of one second (of the period, if that is longer)."""

    def __init__(self, bin_s: float, places: Sequence[int | None] = range(len(QUANTITIES))) -> None:
        """Start empty.

        Args:
            bin_s: length of a bin [s].
            places: where each of ``QUANTITIES`` stands in a row of values; None where it is not read.
        """
        self.bin_s = bin_s
        self._places = tuple(places)
        self._times = array("d")
        self._columns = [array("d") for _ in QUANTITIES]
        self._number = -1
        self._open: list[Sequence[float | None]] = []

    def add(self, t_s: float, values: Sequence[float | None]) -> bool:
        """Take the next row of values; True when it completed a bin."""
        number = int(t_s / self.bin_s)
        if number == self._number or self._number < 0:
            self._number = number
            self._open.append(values)
            return False
        self._store()
        self._number = int(t_s / self.bin_s)  # bins may have doubled
        self._open.append(values)
        return True

    def course(self, quantity: str, start_s: float, end_s: float | None, most: int = 400) -> Course:
        """The completed bins that lie within the stretch, thinned to about ``most`` by taking means."""
        first = bisect_left(self._times, start_s + self.bin_s / 2)
        last = len(self._times) if end_s is None else bisect_left(self._times, end_s - self.bin_s / 2 + 1e-9)
        column = self._columns[QUANTITIES.index(quantity)]
        step = max(1, -(-(last - first) // most))
        times, values = [], []
        if step == 1:
            kept = [place for place in range(first, last) if not isnan(column[place])]
            return Course(tuple([self._times[place] for place in kept]), tuple([column[place] for place in kept]))
        for begin in range(first, last, step):
            read = [value for value in column[begin : min(begin + step, last)] if not isnan(value)]
            if read:
                slot = self._times[begin : min(begin + step, last)]
                times.append(sum(slot) / len(slot))
                values.append(sum(read) / len(read))
        return Course(tuple(times), tuple(values))

    def table(self) -> tuple[NDArray[float64], NDArray[float64]]:
        """Centres of all completed bins [s], and ``[quantity, bin]`` means, nan where nothing was read: copies."""
        from numpy import array as numbers  # noqa: PLC0415  (loaded when a fit is first needed, not before)

        return numbers(self._times), numbers([numbers(column) for column in self._columns])

    def last(self, quantity: str) -> tuple[float, float] | None:
        """Centre [s] and mean of the bin that was completed last; None if nothing was read in it."""
        if not self._times:
            return None
        value = self._columns[QUANTITIES.index(quantity)][-1]
        return None if isnan(value) else (self._times[-1], value)

    def _store(self) -> None:
        self._times.append((self._number + 0.5) * self.bin_s)
        rows, self._open = self._open, []
        for place, column in zip(self._places, self._columns, strict=True):
            total, count = 0.0, 0
            if place is not None:
                for row in rows:
                    value = row[place]
                    if value is not None and -_MOST < value < _MOST:
                        total += value
                        count += 1
            column.append(total / count if count else nan)
        if len(self._times) >= _MOST_BINS:  # an even number: each has its pair
            self._double()

    def _double(self) -> None:
        self.bin_s *= 2
        self._times = _pair_means(self._times)
        self._columns = [_pair_means(column) for column in self._columns]


def _pair_means(column: array[float]) -> array[float]:
    means = array("d")
    for first, second in zip(column[::2], column[1::2], strict=False):
        means.append(second if isnan(first) else first if isnan(second) else (first + second) / 2)
    return means
