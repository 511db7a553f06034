"""Clock of each core, and of the busy cores together.

Source: kernel, ``Documentation/admin-guide/pm/cpufreq.rst``; all its files are in kHz.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.file_tree import shown
from benchmon.sensors.number_file import NumberFile
from benchmon.sensors.topology import cpu_folders

KHZ_PER_MHZ = 1000
_ALL_IDLE_BELOW_PCT = 1.0
_NO_CORE = "no core's clock was read"

Loads = Callable[[], Mapping[int, float | None]]


class CoreClocks:
    """Clocks of the cores.

    The first channel, ``clock_mhz``, is the mean of the cores' clocks weighted by each core's load since the last
    sample: an idle core's low clock says nothing of the work that is done. Where no core has 1 % load, or loads are not
    known yet, it is the plain mean.

    Args:
        files: logical processor → its file; cores that share a clock share the file, which is then read once.
        sources: logical processor → the file for people.
        loads: loads by logical processor [%], as read in the same round; this sensor must come after that one.
    """

    def __init__(self, files: Mapping[int, NumberFile], sources: Mapping[int, str], loads: Loads) -> None:
        self.channels: tuple[Channel, ...] = (
            Channel(
                keys.CLOCK, "clock of the busy cores", Unit.MEGAHERTZ, "the cores' clocks, weighted by their loads"
            ),
            *(Channel(keys.core_clock_key(cpu), f"clock of core {cpu}", Unit.MEGAHERTZ, sources[cpu]) for cpu in files),
        )
        self._distinct = tuple({id(file): file for file in files.values()}.values())
        self._file_at = [self._distinct.index(file) for file in files.values()]
        self._files = tuple(files.values())
        self._cpus = tuple(files)
        self._loads = loads
        self._mean: float | None = None

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Clock of the busy cores, then of each core [MHz]; an offline core's is None and does not count."""
        read: list[float | None] = []
        for file in self._distinct:
            khz = file.read(now_s)
            read.append(None if khz is None else khz / KHZ_PER_MHZ)
        clocks = [read[at] for at in self._file_at]
        self._mean = weighted_clock(clocks, list(map(self._loads().get, self._cpus)))
        return (self._mean, *clocks)

    def why_not(self) -> tuple[str, ...]:
        """Why a clock was not read."""
        return ("" if self._mean is not None else _NO_CORE, *(file.why for file in self._files))

    def close(self) -> None:
        """Close the files."""
        for file in self._distinct:
            file.close()


def weighted_clock(clocks_mhz: list[float | None], loads_pct: list[float | None]) -> float | None:
    """Mean clock, weighted by load; the plain mean where every load is near zero or unknown [MHz].

    >>> weighted_clock([3600.0, 800.0], [100.0, 0.0])
    3600.0
    >>> weighted_clock([3600.0, 800.0], [0.2, 0.1])
    2200.0
    """
    total = weights = plain = greatest = 0.0
    count = 0
    for clock, load in zip(clocks_mhz, loads_pct, strict=True):
        if clock is None:
            continue
        plain += clock
        count += 1
        if load is not None:
            total += clock * load
            weights += load
            greatest = max(greatest, load)
    if greatest >= _ALL_IDLE_BELOW_PCT:
        return total / weights
    return plain / count if count else None


def core_clocks(root: Path, loads: Loads) -> CoreClocks | None:
    """The sensor; None if no core offers its clock."""
    files: dict[int, NumberFile] = {}
    by_real_path: dict[Path, NumberFile] = {}
    sources: dict[int, str] = {}
    for cpu, folder in cpu_folders(root).items():
        path = folder / "cpufreq/scaling_cur_freq"
        if path.exists():
            real = path.resolve()
            if real not in by_real_path:
                by_real_path[real] = NumberFile(str(path))
            files[cpu] = by_real_path[real]
            sources[cpu] = shown(root, path)
    return CoreClocks(files, sources, loads) if files else None
