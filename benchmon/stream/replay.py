"""Plays a stored session again at a pace. Pure: the time is told, never asked for."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from itertools import accumulate, islice
from math import inf
from typing import assert_never

from benchmon.model.recorded import Recorded
from benchmon.model.records import (
    ChannelState,
    Gap,
    LoadChange,
    Machine,
    Mark,
    PlannedRun,
    Record,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
    StepChange,
)

SLOWEST, FASTEST = 1.0, 60.0
"""Bounds of the speed: session seconds per second of the watcher."""
_TAKEN_AT_ONCE = 1024


class Replay:
    """A stored session as it would have come while it was recorded.

    It starts with the header, at the session's first record. After a jump back the next ``poll`` begins with the
    header again: whoever folds records into a state begins anew whenever it meets a header.

    Args:
        session: what to play.
        speed: session seconds per second, ``SLOWEST`` … ``FASTEST``; other values are brought within.
    """

    def __init__(self, session: Recorded, speed: float = 1.0) -> None:
        self._session = session
        self.header = session.header
        self.paused = False
        self._speed = 1.0
        self.speed = speed
        self._told_s: float | None = None
        self._entered: list[Record] = []
        self._begin()
        self.start_s = self._ahead_s[0] if self._ahead_s else 0.0
        self.end_s = max(self.start_s, _last_s(session))
        self._position_s = self.start_s

    def _begin(self) -> None:
        """From the start of the session; no more of it is held than what comes next."""
        self._coming = self._from_start()
        self._is_header_due = True
        self._ahead: list[Record] = []
        self._ahead_s: list[float] = []
        self._latest_s = -inf
        self._is_all = False
        self._look_ahead()

    def _from_start(self) -> Iterator[Record]:
        """All records after the header; what was entered meanwhile comes at the end, or may be in the file by now."""
        marks = set()
        for record in self._session.records:
            if isinstance(record, Mark):
                marks.add((record.number, record.kind, record.text))
            yield record
        for record in self._entered:
            if not isinstance(record, Mark) or (record.number, record.kind, record.text) not in marks:
                yield record

    def append(self, record: Record) -> None:
        """Take a record that was written into the session while it is played; it comes at the end."""
        self._entered.append(record)
        if self._is_all:
            self._latest_s = max(self._latest_s, came_at_s(record))
            self._ahead.append(record)
            self._ahead_s.append(self._latest_s)
        self.end_s = max(self.end_s, came_at_s(record))

    def _stay_within(self) -> None:
        """At what is said to be the end, see whether it is: a damaged file may end later."""
        if self._position_s >= self.end_s:
            while not self._is_all:
                self._look_ahead()
            self.end_s = max(self.end_s, self._latest_s)
            self._position_s = min(self._position_s, self.end_s)

    def _look_ahead(self) -> None:
        """Take the next records from the session."""
        records = list(islice(self._coming, _TAKEN_AT_ONCE))
        times = [*accumulate(map(came_at_s, records), max, initial=self._latest_s)][1:]
        self._ahead += records
        self._ahead_s += times
        self._is_all = not records
        if times:
            self._latest_s = times[-1]

    @property
    def records(self) -> Iterator[Record]:
        """All that will be played, the header first."""
        yield self.header
        yield from self._from_start()

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
        return self._is_all and not self._ahead and not self._is_header_due

    def poll(self, now_s: float) -> tuple[Record, ...]:
        """Move on, and give the records that have come since the last call.

        Args:
            now_s: the watcher's time, on any axis that never goes back [s].
        """
        if self._told_s is not None and not self.paused:
            passed_s = max(0.0, now_s - self._told_s) * self._speed
            self._position_s += passed_s
            self._stay_within()
        self._told_s = now_s
        while not self._is_all and (not self._ahead_s or self._ahead_s[-1] <= self._position_s):
            self._look_ahead()
        count = bisect_right(self._ahead_s, self._position_s)
        given = (*([self.header] if self._is_header_due else []), *self._ahead[:count])
        self._is_header_due = False
        del self._ahead[:count], self._ahead_s[:count]
        return given

    def seek(self, t_s: float) -> None:
        """Jump to a time of the session [s]; what lies outside becomes its start or end."""
        target_s = min(max(t_s, self.start_s), self.end_s)
        if target_s < self._position_s:
            self._begin()
        self._position_s = target_s


def _last_s(session: Recorded) -> float:
    """When the last record came [s]; a session without its end has to be gone through for that."""
    others = list(session.others)
    is_closed = any(isinstance(record, SessionEnd) for record in others)
    return max(map(came_at_s, others if is_closed else session.records), default=0.0)


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
