"""How hot each kind of built-in work is on this machine: collected from the records of a run through all of them."""

from __future__ import annotations

from dataclasses import dataclass, field

from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, Record, Sample, SessionHeader

KIND_S = 30.0
"""Each kind has so long."""
SKIPPED_S = 10.0
"""Clocks, counters and the first warming need a moment after a start."""


@dataclass(slots=True)
class KindHeat:
    """One kind of work, or idling. Sums until asked."""

    load: LoadChange | None
    """Its start; None for idling."""
    begun_s: float
    last_temp_c: float | None = None
    """At its end [°C]."""
    cut_short: str = ""
    """Why it had less than its time; empty if it had it."""
    _sums: dict[str, tuple[float, int]] = field(default_factory=dict)

    @property
    def kind(self) -> str:
        """The kind that ran; empty for idling."""
        return "" if self.load is None else self.load.work

    def mean(self, key: str) -> float | None:
        """Mean of a channel; None if it was not read."""
        total, count = self._sums.get(key, (0.0, 0))
        return total / count if count else None

    def in_billions(self, size: float | None) -> float | None:
        """Work rate in billions a second, with units of this size; None where it is not known."""
        rate = self.mean(keys.WORK_RATE)
        return None if rate is None or size is None else rate * size / 1e9

    def add(self, t_s: float, values: dict[str, float | None]) -> None:
        """Take a sample."""
        temp = values.get(keys.PROCESSOR_TEMP)
        self.last_temp_c = self.last_temp_c if temp is None else temp
        if t_s - self.begun_s < SKIPPED_S:
            return
        for key, value in values.items():
            if value is not None:
                total, count = self._sums.get(key, (0.0, 0))
                self._sums[key] = total + value, count + 1


class KindHeats:
    """Follows a recording that starts one kind of work after the other; idling before the first counts too."""

    WATCHED = (keys.PACKAGE_POWER, keys.CLOCK, keys.PROCESSOR_TEMP, keys.WORK_RATE, keys.WORK_SHARE)

    def __init__(self) -> None:
        """Start before the header."""
        self.idle = KindHeat(None, 0.0)
        self.kinds: list[KindHeat] = []
        self.read: set[str] = set()
        """Channels that were read at least once."""
        self._now: KindHeat | None = self.idle
        self._places: dict[str, int] = {}

    def accept(self, record: Record) -> None:
        """Take the next record."""
        if isinstance(record, SessionHeader):
            there = {channel.key: place for place, channel in enumerate(record.channels)}
            self._places = {key: there[key] for key in self.WATCHED if key in there}
        elif isinstance(record, Sample) and self._now is not None:
            values = {key: record.values[place] for key, place in self._places.items()}
            self.read |= {key for key, value in values.items() if value is not None}
            self._now.add(record.t_s, values)
        elif isinstance(record, LoadChange):
            self._follow(record)

    def _follow(self, change: LoadChange) -> None:
        if change.action is LoadAction.STARTED:
            if self._now is not None and self._now is not self.idle:
                self.kinds.remove(self._now)  # it became other work before it could be measured
            self._now = KindHeat(change, change.t_s)
            self.kinds.append(self._now)
        elif self._now is not None and change.action is not LoadAction.FAILED:
            if change.t_s - self._now.begun_s < KIND_S - 1.0:
                self._now.cut_short = change.reason
            self._now = None


def hottest(heats: KindHeats) -> KindHeat | None:
    """The kind with the greatest package power; None unless power was read for two kinds at least."""
    known = [heat for heat in heats.kinds if heat.mean(keys.PACKAGE_POWER) is not None]
    return max(known, key=lambda heat: heat.mean(keys.PACKAGE_POWER) or 0.0) if len(known) > 1 else None
