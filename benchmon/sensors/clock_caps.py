"""What keeps the clock down from outside: the kernel's policy, the platform, the kernel's cooling.

Sources: kernel, ``Documentation/admin-guide/pm/cpufreq.rst`` (``scaling_max_freq``, ``bios_limit``) and
``Documentation/ABI/testing/sysfs-class-thermal`` (``cur_state``).
"""

from __future__ import annotations

from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.cpu_clock import KHZ_PER_MHZ
from benchmon.sensors.extreme import Extreme
from benchmon.sensors.file_tree import shown
from benchmon.sensors.number_file import NumberFile
from benchmon.sensors.protocol import Sensor
from benchmon.sensors.thermal_zone import processor_cooling_states
from benchmon.sensors.topology import cpu_folders


class ClockCap(Extreme):
    """Highest clock that is allowed now."""


class CoolingStep(Extreme):
    """Greatest state of the cooling devices that slow the processor."""


def cap_sensors(root: Path) -> list[Sensor]:
    """Those of the three that the machine offers."""
    sensors: list[Sensor] = []
    for key, label, name in (
        (keys.CLOCK_CAP, "highest clock the kernel allows", "scaling_max_freq"),
        (keys.PLATFORM_CAP, "highest clock the platform allows", "bios_limit"),
    ):
        paths = _distinct(root, name)
        if paths:
            channel = Channel(key, label, Unit.MEGAHERTZ, _source(root, paths, "least"))
            sensors.append(ClockCap(channel, _files(paths), min, KHZ_PER_MHZ))
    states = processor_cooling_states(root)
    if states:
        label = "cooling asked for by the kernel"
        channel = Channel(keys.COOLING_STEP, label, Unit.STEP, _source(root, states, "greatest"), 1.0)
        sensors.append(CoolingStep(channel, _files(states), max))
    return sensors


def _distinct(root: Path, name: str) -> list[Path]:
    """One file for each clock policy: cores that share a policy show the same file."""
    paths = (folder / "cpufreq" / name for folder in cpu_folders(root).values())
    return list({path.resolve(): path for path in paths if path.exists()}.values())


def _files(paths: list[Path]) -> list[NumberFile]:
    return [NumberFile(str(path)) for path in paths]


def _source(root: Path, paths: list[Path], which: str) -> str:
    first = shown(root, paths[0])
    return first if len(paths) == 1 else f"{which} of {first} and {len(paths) - 1} more like it"
