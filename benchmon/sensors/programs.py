"""Which programs are at work, and how much: from the kernel's counters of processor time."""

from __future__ import annotations

import os
import re
import time
from dataclasses import dataclass
from pathlib import Path

from benchmon.sensors.file_tree import bytes_of

_TICKS_PER_S = os.sysconf("SC_CLK_TCK")
_STAT = re.compile(rb"(\d+) \((.*)\) \S (\d+) (?:\S+ ){9}(\d+) (\d+) ", re.DOTALL)
"""Number, name, parent, then user and system time (proc_pid_stat(5))."""
_LEAST_PCT = 1.0


@dataclass(frozen=True, slots=True)
class Busy:
    """One program at work."""

    name: str
    core_pct: float
    """Processor time it took, 100 = one core [%]."""


def busiest(proc: Path, look_s: float) -> tuple[Busy, ...]:
    """Programs that took at least 1 % of a core while we looked, the busiest first; ourselves left out."""
    before, began_s = _times(proc), time.monotonic()
    time.sleep(look_s)
    after, passed_s = _times(proc), time.monotonic() - began_s
    found: dict[str, float] = {}
    for pid, (name, ticks) in after.items():
        last = before.get(pid)
        if pid != os.getpid() and last is not None and last[0] == name:
            found[name] = found.get(name, 0.0) + 100.0 * (ticks - last[1]) / _TICKS_PER_S / passed_s
    busy = [Busy(name, pct) for name, pct in found.items() if pct >= _LEAST_PCT]
    return tuple(sorted(busy, key=lambda one: -one.core_pct))


def _times(proc: Path) -> dict[int, tuple[str, int]]:
    """Process → its name and the time it has taken so far, in ticks."""
    try:
        names = os.listdir(proc)  # noqa: PTH208  # names are all that is needed
    except OSError:
        return {}
    times = {}
    for name in names:
        stat = _STAT.match(bytes_of(proc / name / "stat", 4096) or b"") if name.isdigit() else None
        if stat is not None:
            times[int(name)] = (stat[2].decode("utf-8", "replace"), int(stat[4]) + int(stat[5]))
    return times
