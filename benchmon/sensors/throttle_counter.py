"""The kernel's counters of heat events.

Linux ``drivers/thermal/intel/therm_throt.c``: a core's counter repeats on its hyper-threads, a package's on every
core, so each is counted once. A count can rise while its time does not.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.files import NumberFile, fixed, number_of, numbered


class ThrottleCounters:
    """Heat events since boot: of the cores together, and of the packages together."""

    def __init__(self, cores: tuple[Path, ...], packages: tuple[Path, ...]) -> None:
        groups = (
            (keys.CORE_THROTTLE_COUNT, "heat events of the cores", cores),
            (keys.PACKAGE_THROTTLE_COUNT, "heat events of the package", packages),
        )
        self.channels = tuple(
            Channel(key, label, Unit.COUNT, str(paths[0]), 1.0) for key, label, paths in groups if paths
        )
        self._groups = [[NumberFile(fixed(path)) for path in paths] for _, _, paths in groups if paths]

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Counts; None as soon as one part cannot be read, since a sum without it would step."""
        return tuple(_sum(file.read(now_s) for file in group) for group in self._groups)

    def why_not(self) -> tuple[str, ...]:
        """Reasons aligned to ``channels``."""
        return tuple(next((file.why for file in group if file.why), "") for group in self._groups)

    def close(self) -> None:
        """Give the files back."""
        for group in self._groups:
            for file in group:
                file.close()


def throttle_counters(root: Path) -> ThrottleCounters | None:
    """Each physical core's and each package's counter once; None if the machine has none."""
    cores: dict[tuple[int, int], Path] = {}
    packages: dict[int, Path] = {}
    for cpu in numbered(root / "sys/devices/system/cpu", "cpu[0-9]*"):
        package = number_of(cpu / "topology/physical_package_id") or 0
        core = number_of(cpu / "topology/core_id")
        number = int(cpu.name.removeprefix("cpu"))
        folder = cpu / "thermal_throttle"
        if (folder / "core_throttle_count").exists():
            cores.setdefault((package, number if core is None else core), folder / "core_throttle_count")
        if (folder / "package_throttle_count").exists():
            packages.setdefault(package, folder / "package_throttle_count")
    found = ThrottleCounters(tuple(cores.values()), tuple(packages.values()))
    return found if found.channels else None


def _sum(values: Iterable[int | None]) -> float | None:
    total = 0
    for value in values:
        if value is None:
            return None
        total += value
    return float(total)
