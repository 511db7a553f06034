"""The readings of one channel as the screen keeps them: small, and binned once for each zoom."""

from __future__ import annotations

from array import array
from math import inf, isnan, nan

from benchmon.model.channel import Channel
from benchmon.views.traces import Columns


class Track:
    """All readings of one channel, aligned to the session's list of times.

    NaN marks "not read" inside the array only (eight bytes a reading); every way out gives None.

    Args:
        channel: what is read.
        times: times of all samples [s], shared by all tracks and grown by their owner.
        longest_join_s: readings farther apart are not joined [s].
    """

    def __init__(self, channel: Channel, times: array[float], longest_join_s: float) -> None:
        self.channel = channel
        self.least, self.greatest = inf, -inf
        self._times = times
        self._values = array("d")
        self._longest_join_s = longest_join_s
        self.kept_drawing: object = None
        """Whoever draws this track keeps its latest drawing here."""
        self._columns: Columns | None = None

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

    def columns(self, step_s: float) -> Columns:
        """Extremes in columns of ``step_s``; those of the latest zoom are kept and grown."""
        columns = self._columns
        if columns is None or columns.step_s != step_s:
            columns = self._columns = Columns(step_s, self._longest_join_s)
        self._grow(columns, 0.0)
        return columns

    def new_columns(self, step_s: float, shift_s: float) -> Columns:
        """Extremes in columns of ``step_s``, with all times moved by ``shift_s`` [s]."""
        columns = Columns(step_s, self._longest_join_s)
        self._grow(columns, shift_s)
        return columns

    def _grow(self, columns: Columns, shift_s: float) -> None:
        times, values, add = self._times, self._values, columns.add
        for index in range(columns.taken, len(values)):
            add(times[index] + shift_s, values[index])
