"""Load of the processor and of each core, from the kernel's tick counters.

Source: ``proc(5)`` and kernel, ``Documentation/filesystems/proc.rst``, section 1.7: user, nice, system, idle, iowait,
irq, softirq, steal; guest time is contained in user.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.file_tree import shown
from benchmon.sensors.number_file import OFFLINE, denied

STAT = "proc/stat"
_BYTES_PER_LINE = 256
_COUNTED = 8
_TOO_SOON = "load needs two readings, a tick of the kernel apart"


class CoreLoads:
    """Share of time that was not idle, since the last reading.

    Args:
        path: ``/proc/stat``.
        cpus: the logical processors to expect.
        source: the path for people.
    """

    def __init__(self, path: str, cpus: Sequence[int], source: str = "/proc/stat") -> None:
        self.channels: tuple[Channel, ...] = (
            Channel(keys.LOAD, "load", Unit.PERCENT, source),
            *(Channel(keys.core_load_key(cpu), f"load of core {cpu}", Unit.PERCENT, source) for cpu in cpus),
        )
        self.by_cpu: dict[int, float | None] = dict.fromkeys(cpus)
        """Load of each logical processor as last read [%]."""
        self._names = [b"cpu", *(b"cpu%d" % cpu for cpu in cpus)]
        self._cpus = tuple(cpus)
        self._last: Mapping[bytes, tuple[int, int]] = {}
        self._now: Mapping[bytes, tuple[int, int]] = {}
        self._most_bytes = _BYTES_PER_LINE * (len(cpus) + 1)
        self._fault = _TOO_SOON
        self._values: tuple[float | None, ...] = ()
        self._fd = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Load since the last reading: all cores together, then each core [%]."""
        del now_s  # shares of ticks need no time
        self._last, self._now = self._now, self._ticks()
        self._values = tuple([self._load(name) for name in self._names])
        self.by_cpu = dict(zip(self._cpus, self._values[1:], strict=True))
        return self._values

    def why_not(self) -> tuple[str, ...]:
        """Why there is no load."""
        return tuple(
            "" if value is not None else self._fault or (_TOO_SOON if name in self._now else OFFLINE)
            for name, value in zip(self._names, self._values or (None,) * len(self._names), strict=True)
        )

    def close(self) -> None:
        """Close the file."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1

    def __del__(self) -> None:
        if hasattr(self, "_fd"):  # the file may never have been opened
            self.close()

    def _ticks(self) -> Mapping[bytes, tuple[int, int]]:
        """Name → (idle, all) ticks since the start of the machine."""
        ticks: dict[bytes, tuple[int, int]] = {}
        try:
            for line in os.pread(self._fd, self._most_bytes, 0).split(b"\n"):
                name, *texts = line.split()[: _COUNTED + 1] or [b""]
                if not name.startswith(b"cpu"):
                    break
                counts = [int(text) for text in texts]
                ticks[name] = (sum(counts[3:5]), sum(counts))
        except OSError as fault:
            self._fault = f"no data: {(fault.strerror or 'unknown fault').lower()}"
            return {}
        except ValueError:
            self._fault = "the tick counters cannot be understood"
            return {}
        self._fault = ""
        return ticks

    def _load(self, name: bytes) -> float | None:
        now, last = self._now.get(name), self._last.get(name)
        if now is None or last is None or now[1] <= last[1]:
            return None
        idle = max(0, now[0] - last[0])  # iowait may go backwards, says the kernel's documentation
        return 100.0 * (1.0 - min(1.0, idle / (now[1] - last[1])))


def core_loads(root: Path, cpus: Sequence[int]) -> CoreLoads | str:
    """The sensor, or why there is none."""
    path = root / STAT
    try:
        return CoreLoads(str(path), cpus, shown(root, path))
    except PermissionError:
        return denied(shown(root, path))
    except OSError:
        return "there is no such file"
