"""A temperature that stands still to the digit though the load changed: a sensor that does not say the truth."""

from __future__ import annotations

from benchmon.model import keys
from benchmon.model.records import LoadAction, LoadChange, Record, Sample, SessionHeader

STANDSTILL_S = 60.0
"""So long after a load began or ended no processor keeps its temperature to the digit (common practice, no source)."""


class Standstill:
    """Follows the processor's temperature through the changes of the load."""

    def __init__(self) -> None:
        """Start before the header."""
        self._at: int | None = None
        self._stands_c: float | None = None
        self._since_s = 0.0
        self._changed_s: float | None = None
        self._longest: tuple[float, float] | None = None
        """Time [s] and temperature [°C] of the longest standstill."""

    def feed(self, record: Record) -> None:
        """Take the next record."""
        if isinstance(record, Sample):
            self.take(record)
        elif isinstance(record, LoadChange):
            if record.action is not LoadAction.FAILED:
                self._changed_s = record.t_s
        elif isinstance(record, SessionHeader):
            found = [place for place, channel in enumerate(record.channels) if channel.key == keys.PROCESSOR_TEMP]
            self._at = found[0] if found else None

    def take(self, sample: Sample) -> None:
        """The same for a sample."""
        temp_c = None if self._at is None else sample.values[self._at]
        if temp_c is None:
            return
        if temp_c != self._stands_c:
            self._stands_c, self._since_s = temp_c, sample.t_s
        elif self._changed_s is not None and self._since_s < self._changed_s <= sample.t_s - STANDSTILL_S:
            stood_s = sample.t_s - self._since_s
            if self._longest is None or stood_s > self._longest[0]:
                self._longest = stood_s, temp_c

    def notes(self) -> tuple[str, ...]:
        """A sentence if it ever stood still; empty if not."""
        if self._longest is None:
            return ()
        stood_s, temp_c = self._longest
        words = f"The processor temperature stood still at {temp_c:g} °C for {stood_s:.0f} s though the load changed"
        return (f"{words}: its sensor may not say the truth.",)
