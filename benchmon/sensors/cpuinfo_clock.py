"""Clocks from ``/proc/cpuinfo``, on machines without a clock driver: x86 kernels write ``cpu MHz`` there.

Source: kernel, ``arch/x86/kernel/cpu/proc.c``. Only processors that count their real cycles (flag ``aperfmperf``) give
a reading; elsewhere, in most virtual machines above all, the kernel repeats one nominal clock, which is no reading.
"""

from __future__ import annotations

import os
import re
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.cpu_clock import Loads, weighted_clock
from benchmon.sensors.file_tree import shown
from benchmon.sensors.number_file import OFFLINE

CPUINFO = "proc/cpuinfo"
_ROW = re.compile(rb"^(processor|cpu MHz)\s*:\s*([0-9.]+)\s*$", re.MULTILINE)
_COUNTS_CYCLES = re.compile(rb"^flags\s*:.*\baperfmperf\b", re.MULTILINE)
_BYTES_AT_ONCE = 65_536


class CpuinfoClocks:
    """The same channels as ``CoreClocks``, from one text that names all cores.

    Args:
        path: ``/proc/cpuinfo``.
        source: the path for people.
        loads: loads by logical processor [%], as read in the same round.

    Raises:
        OSError: if the file cannot be opened.
    """

    def __init__(self, path: str, source: str, loads: Loads) -> None:
        self._fd = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        self._loads = loads
        self._cpus = tuple(self._clocks())
        self._values: tuple[float | None, ...] = (None,) * (len(self._cpus) + 1)
        self.channels: tuple[Channel, ...] = (
            Channel(keys.CLOCK, "clock of the busy cores", Unit.MEGAHERTZ, f"{source}, weighted by the cores' loads"),
            *(Channel(keys.core_clock_key(cpu), f"clock of core {cpu}", Unit.MEGAHERTZ, source) for cpu in self._cpus),
        )

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Clock of the busy cores, then of each core [MHz]."""
        del now_s
        by_cpu = self._clocks()
        clocks = [by_cpu.get(cpu) for cpu in self._cpus]
        self._values = (weighted_clock(clocks, list(map(self._loads().get, self._cpus))), *clocks)
        return self._values

    def is_measured(self) -> bool:
        """Whether the clocks are counted, and not a nominal one repeated."""
        return len(self.channels) > 1 and _COUNTS_CYCLES.search(self._text()) is not None

    def why_not(self) -> tuple[str, ...]:
        """A core that is offline is not named in the text."""
        return tuple("" if value is not None else OFFLINE for value in self._values)

    def close(self) -> None:
        """Close the file."""
        os.close(self._fd)

    def _clocks(self) -> dict[int, float]:
        clocks: dict[int, float] = {}
        cpu = -1
        for name, number in _ROW.findall(self._text()):
            if name == b"processor":
                cpu = int(number)
            else:
                clocks[cpu] = float(number)
        return clocks

    def _text(self) -> bytes:
        text = b""
        try:
            while piece := os.pread(self._fd, _BYTES_AT_ONCE, len(text)):
                text += piece
        except OSError:
            return b""
        return text


def cpuinfo_clocks(root: Path, loads: Loads) -> CpuinfoClocks | None:
    """The sensor; None if the text names no clock, or only the nominal one."""
    path = root / CPUINFO
    try:
        sensor = CpuinfoClocks(str(path), shown(root, path), loads)
    except OSError:
        return None
    if sensor.is_measured():
        return sensor
    sensor.close()
    return None
