"""Load of the processor and of each core, from ``/proc/stat``."""

from __future__ import annotations

import os
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit

_IDLE, _IOWAIT = 3, 4
_FIELDS = 8
"""user nice system idle iowait irq softirq steal; guest time is already within user (proc(5))."""


class CpuLoad:
    """Share of time that was not idle since the last read, of all cores together and of each [%].

    Waiting for a disk counts as idle: the core could have worked and does not get hot.
    """

    def __init__(self, stat: Path) -> None:
        self._descriptor = os.open(stat, os.O_RDONLY | os.O_CLOEXEC)
        self._before = _counts(os.pread(self._descriptor, 65536, 0))
        self._size = 65536
        self.cpus = tuple(cpu for cpu in self._before if cpu >= 0)
        self.channels = (
            Channel(keys.LOAD, "load", Unit.PERCENT, str(stat)),
            *(Channel(keys.core_load_key(cpu), f"load of core {cpu}", Unit.PERCENT, str(stat)) for cpu in self.cpus),
        )
        self.loads: tuple[float | None, ...] = (None,) * len(self.channels)
        self._why = ("no earlier reading to compare with",) * len(self.channels)

    def read(self, now_s: float) -> tuple[float | None, ...]:  # noqa: ARG002  # the counters carry their own time
        """Loads since the last read [%]; None for a core that is offline."""
        try:
            text = os.pread(self._descriptor, self._size, 0)
        except OSError as fault:
            return self._nothing(f"no data: {fault.strerror}")
        now = _counts(text)
        before, self._before = self._before, now
        self.loads = tuple(_load(before.get(cpu), now.get(cpu)) for cpu in (-1, *self.cpus))
        self._why = ()
        return self.loads

    def why_not(self) -> tuple[str, ...]:
        """Reasons aligned to ``channels``."""
        return self._why or tuple("" if load is not None else "the core is offline" for load in self.loads)

    def close(self) -> None:
        """Give the file back."""
        os.close(self._descriptor)

    def _nothing(self, why: str) -> tuple[float | None, ...]:
        self.loads = (None,) * len(self.channels)
        self._why = (why,) * len(self.channels)
        return self.loads


def _counts(text: bytes) -> dict[int, tuple[int, int]]:
    """CPU number (-1 = all) → (ticks in all, idle ticks)."""
    counts = {}
    for line in text.split(b"\n"):
        if line[:3] != b"cpu":
            break  # the lines of the processors come first
        name, *fields = line.split()
        ticks = [int(field) for field in fields[:_FIELDS]]
        counts[int(name[3:] or -1)] = sum(ticks), ticks[_IDLE] + ticks[_IOWAIT]
    return counts


def _load(before: tuple[int, int] | None, now: tuple[int, int] | None) -> float | None:
    if before is None or now is None:
        return None
    passed = now[0] - before[0]
    if passed <= 0:
        return None
    return min(100.0, max(0.0, 100.0 * (1 - (now[1] - before[1]) / passed)))
