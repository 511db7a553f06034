"""How far a recording can be trusted: gaps, channels that were not read, how it ended."""

from __future__ import annotations

from benchmon.analysis.intake.standstill import Standstill
from benchmon.model.findings import Quality
from benchmon.model.records import ChannelState, Gap, Record, Sample, SessionEnd, SessionHeader


class QualityKeeper:
    """Follows the records and keeps what a reader must know before trusting the figures."""

    def __init__(self) -> None:
        """Start before the header."""
        self._columns: tuple[str, ...] = ()
        self._never_read: set[int] = set()
        self._unread: dict[str, str] = {}
        self._standstill = Standstill()
        self._count = 0
        self._gaps = 0
        self._missing_s = 0.0
        self._first_s: float | None = None
        self.last_s = 0.0
        """Time of the last sample, or of the end [s]."""

    def feed(self, record: Record) -> None:
        """Take the next record."""
        if isinstance(record, Sample):
            self.take(record)
            return
        self._standstill.feed(record)
        if isinstance(record, Gap):
            self._gaps += 1
            self._missing_s += record.end_s - record.start_s
        elif isinstance(record, ChannelState):
            if record.readable:
                self._unread.pop(record.key, None)
            else:
                self._unread[record.key] = record.reason or "no reason was given"
        elif isinstance(record, SessionHeader):
            self._columns = tuple(channel.key for channel in record.channels)
            self._never_read = set(range(len(self._columns)))
        elif isinstance(record, SessionEnd):
            self.last_s = max(self.last_s, record.t_s)

    def take(self, sample: Sample) -> None:
        """The same for a sample."""
        self._standstill.take(sample)
        self._count += 1
        self.last_s = sample.t_s
        if self._never_read:
            self._never_read -= {c for c in self._never_read if sample.values[c] is not None}
        if self._first_s is None:
            self._first_s = sample.t_s

    def quality(self, notes: tuple[str, ...] = ()) -> Quality:
        """What is known by now; ``notes`` are sentences from elsewhere."""
        unread = dict(self._unread)
        if self._count:
            for column in sorted(self._never_read):
                unread.setdefault(self._columns[column], "no value in the whole recording")
        duration = self.last_s - (self._first_s or 0.0)
        return Quality(self._count, duration, self._gaps, self._missing_s, unread, (*notes, *self._standstill.notes()))
