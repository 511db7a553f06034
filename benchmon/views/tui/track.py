"""The readings of one channel as the screen keeps them: small, and binned once for each zoom."""

from __future__ import annotations

from math import floor, inf, isnan, nan

from benchmon.model.channel import Channel
from benchmon.views.traces import Columns
from benchmon.views.tui.long_numbers import LongNumbers


class Track:
    """All readings of one channel, aligned to the session's list of times.

    NaN marks "not read" inside the list only; every way out gives None.

    Args:
        channel: what is read.
        times: times of all samples [s], shared by all tracks and grown by their owner.
        longest_join_s: readings farther apart are not joined [s].
    """

    def __init__(self, channel: Channel, times: LongNumbers, longest_join_s: float) -> None:
        self.channel = channel
        self.least, self.greatest = inf, -inf
        self._times = times
        self._values = LongNumbers()
        self._longest_join_s = longest_join_s
        self.kept_drawing: object = None
        """Whoever draws this track keeps its latest drawing here."""
        self._columns: Columns | None = None
        self._first_column = 0

    def add(self, value: float | None) -> None:
        """Take the reading that belongs to the newest time; None lifts the pen."""
        if value is None:
            self._values.append(nan)
            return
        self._values.append(value)
        self.least = min(self.least, value)
        self.greatest = max(self.greatest, value)

    def at(self, index: int) -> float | None:
        """Reading of one sample; None where it was not read."""
        value = self._values[index]
        return None if isnan(value) else value

    @property
    def last(self) -> float | None:
        """Newest reading; None if the newest sample has none."""
        return self.at(-1) if self._values else None

    @property
    def was_read(self) -> bool:
        """Whether there ever was a reading."""
        return self.least <= self.greatest

    def columns(self, step_s: float, first: int, count: int) -> Columns:
        """Extremes in ``count`` columns of ``step_s`` from column ``first`` on, and their neighbours to either side.

        Those of the latest window are kept and grown, so that memory does not grow with the session.
        """
        columns = self._columns
        if columns is None or columns.step_s != step_s or first < self._first_column:
            columns = self._columns = self._new_columns(step_s, first, 0.0)
        self._grow(columns, first + count - 1, 0.0)
        columns.forget_before(first)
        self._first_column = first
        return columns

    def moved_columns(self, step_s: float, start_s: float, end_s: float, shift_s: float) -> Columns:
        """The same for a stretch, with all times moved by ``shift_s`` [s]; made anew each time."""
        first, last = (floor((t_s + shift_s) / step_s + 1e-9) for t_s in (start_s, end_s))
        columns = self._new_columns(step_s, first, shift_s)
        self._grow(columns, last, shift_s)
        return columns

    def _new_columns(self, step_s: float, first: int, shift_s: float) -> Columns:
        """Columns that take the samples from one column on, or from the one with readings before it."""

        def begin(column: int) -> int:
            return self._times.count_below((column - 1e-6) * step_s - shift_s)

        columns, place = Columns(step_s, self._longest_join_s), begin(first)
        while place and isnan(self._values[place - 1]):
            place -= 1
        if place:
            place = begin(floor((self._times[place - 1] + shift_s) / step_s + 1e-9))
        columns.taken = place
        return columns

    def _grow(self, columns: Columns, last: int, shift_s: float) -> None:
        """Take samples until one reading lies beyond the last column: the pen goes on to it."""
        place = columns.taken
        for time_s, value in zip(self._times.since(place), self._values.since(place), strict=False):
            if columns.places and columns.places[-1] > last:
                return
            columns.add(time_s + shift_s, value)
