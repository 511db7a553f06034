"""How often the processor's heat sensors have stepped in since the machine was started.

Source: kernel, ``drivers/thermal/intel/therm_throt.c``. Every thread of a core counts the core's events, and every
thread of a package counts the package's, so each core and each package is counted once.
"""

from __future__ import annotations

from collections.abc import Hashable
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.extreme import CountSum
from benchmon.sensors.file_tree import shown
from benchmon.sensors.number_file import NumberFile
from benchmon.sensors.protocol import Sensor
from benchmon.sensors.topology import core_of, cpu_folders, package_of


class ThrottleCount(CountSum):
    """Heat events of all cores, or of all packages."""


def throttle_counters(root: Path) -> list[Sensor]:
    """Those of the two that the machine offers."""
    folders = cpu_folders(root)
    cores: dict[Hashable, list[Path]] = {}
    packages: dict[Hashable, list[Path]] = {}
    for cpu, folder in folders.items():
        cores.setdefault(core_of(cpu, folder), []).append(folder / "thermal_throttle/core_throttle_count")
        packages.setdefault(package_of(folder), []).append(folder / "thermal_throttle/package_throttle_count")
    sensors: list[Sensor] = []
    for key, label, groups in (
        (keys.CORE_THROTTLE_COUNT, "heat events of the cores", cores),
        (keys.PACKAGE_THROTTLE_COUNT, "heat events of the packages", packages),
    ):
        there = [found for paths in groups.values() if (found := [path for path in paths if path.exists()])]
        if there:
            more = f" and {len(there) - 1} more like it" if len(there) > 1 else ""
            channel = Channel(key, label, Unit.COUNT, shown(root, there[0][0]) + more, 1.0)
            files = [[NumberFile(str(path)) for path in paths] for paths in there]
            sensors.append(ThrottleCount(channel, files))
    return sensors
