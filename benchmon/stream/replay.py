"""Plays a stored session again at a pace. Pure: the time is told, never asked for."""

from __future__ import annotations

from bisect import bisect_right
from itertools import accumulate
from math import inf
from typing import assert_never

from benchmon.model.records import (
    ChannelState,
    Gap,
    LoadChange,
    Machine,
    Mark,
    PlannedRun,
    Record,
    Sample,
    Session,
    SessionEnd,
    SessionHeader,
    Setting,
    StepChange,
)

SLOWEST, FASTEST = 1.0, 60.0
"""Bounds of the speed: session seconds per second of the watcher."""


class Replay:
    """A stored session as it would have come while it was recorded.

    It starts with the header, at the session's first record. After a jump back the next ``poll`` begins with the
    header again: whoever folds records into a state begins anew whenever it meets a header.

    Args:
        session: what to play.
        speed: session seconds per second, ``SLOWEST`` … ``FASTEST``; other values are brought within.
    """

    def __init__(self, session: Session, speed: float = 1.0) -> None:
        self._records = (session.header, *session.records)
        self._come_at_s = tuple(accumulate((came_at_s(record) for record in self._records), max))
        known_s = self._come_at_s[1:] or (0.0,)
        self.start_s, self.end_s = known_s[0], known_s[-1]
        self.header = session.header
        self.paused = False
        self._speed = 1.0
        self.speed = speed
        self._position_s = self.start_s
        self._told_s: float | None = None
        self._given = 0

    @property
    def records(self) -> tuple[Record, ...]:
        """All that will be played, the header first."""
        return self._records

    def append(self, record: Record) -> None:
        """Take a record that was written into the session while it is played; it comes at the end."""
        self._records = (*self._records, record)
        self._come_at_s = (*self._come_at_s, max(self._come_at_s[-1], came_at_s(record)))
        self.end_s = self._come_at_s[-1]

    @property
    def speed(self) -> float:
        """Session seconds per second."""
        return self._speed

    @speed.setter
    def speed(self, wanted: float) -> None:
        self._speed = min(max(wanted, SLOWEST), FASTEST)

    @property
    def position_s(self) -> float:
        """How far it has been played, on the session's axis [s]."""
        return self._position_s

    @property
    def ended(self) -> bool:
        """True when the last record has been given; a jump back makes it False again."""
        return self._given == len(self._records)

    def poll(self, now_s: float) -> tuple[Record, ...]:
        """Move on, and give the records that have come since the last call.

        Args:
            now_s: the watcher's time, on any axis that never goes back [s].
        """
        if self._told_s is not None and not self.paused:
            passed_s = max(0.0, now_s - self._told_s) * self._speed
            self._position_s = min(self._position_s + passed_s, self.end_s)
        self._told_s = now_s
        first, self._given = self._given, max(self._given, bisect_right(self._come_at_s, self._position_s))
        return self._records[first : self._given]

    def seek(self, t_s: float) -> None:
        """Jump to a time of the session [s]; what lies outside becomes its start or end."""
        target_s = min(max(t_s, self.start_s), self.end_s)
        if target_s < self._position_s:
            self._given = 0
        self._position_s = target_s


def came_at_s(record: Record) -> float:
    """When the recorder wrote the record, on the session's axis [s]; minus infinity for the header."""
    match record:
        case SessionHeader():
            return -inf
        case Mark():
            return record.entered_s
        case Gap():
            return record.end_s
        case (
            Sample()
            | Setting()
            | Machine()
            | ChannelState()
            | LoadChange()
            | PlannedRun()
            | StepChange()
            | SessionEnd()
        ):
            return record.t_s
        case _:
            assert_never(record)
