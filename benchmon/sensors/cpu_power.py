"""Power of the processor packages and of their parts, from the kernel's energy counters.

The same package may be offered through two interfaces (registers and memory-mapped); it is counted once. Zone names are
the kernel's: ``package-0``, ``package-0-die-1``, below them ``core``, ``uncore``, ``dram``; ``psys`` is the platform.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.survey import ClosedSource
from benchmon.model.units import Unit
from benchmon.sensors.energy_counter import EnergyCounter
from benchmon.sensors.file_tree import entries, number_of, shown, text_of
from benchmon.sensors.key_maker import KeyMaker
from benchmon.sensors.number_file import NumberFile
from benchmon.sensors.protocol import Sensor

CLASS_FOLDER = "sys/class/powercap"
REMEDY = (
    "The kernel shows energy counters to root only, for they can betray secrets (CVE-2020-8694). On a machine of your "
    "own an administrator can open them until the next start with\n"
    "  chmod a+r /sys/class/powercap/*/energy_uj\n"
    "or for good with this line in /etc/udev/rules.d/60-energy-counters.rules\n"
    '  SUBSYSTEM=="powercap", ACTION=="add", KERNEL=="*:*", RUN+="/bin/chmod a+r /sys%p/energy_uj"'
)


@dataclass(frozen=True, slots=True)
class PowerZone:
    """One energy counter, with every folder that offers it."""

    name: str
    """``package-0``, ``psys``; a part with its package: ``package-0 core``."""
    folders: tuple[Path, ...]
    """The one to read first; the others offer the same."""

    @property
    def is_package(self) -> bool:
        """True for a whole package (or die of one)."""
        return self.name.startswith("package-") and " " not in self.name


def power_zones(root: Path) -> list[PowerZone]:
    """All counters, each once, packages first."""
    found: dict[str, list[Path]] = {}
    for folder in entries(root / CLASS_FOLDER, r"[a-z-]+:\d+(:\d+)*"):
        name = text_of(folder / "name")
        if name is None or not (folder / "energy_uj").exists():
            continue
        parent, colon, _ = folder.name.rpartition(":")
        above = text_of(folder.with_name(parent) / "name") if ":" in parent else None
        found.setdefault(f"{above} {name}" if colon and above else name, []).append(folder)
    zones = [PowerZone(name, tuple(sorted(folders, key=_trust))) for name, folders in found.items()]
    return sorted(zones, key=lambda zone: (not zone.is_package, zone.name))


def _trust(folder: Path) -> tuple[bool, bool, str]:
    """The readable one first, then registers before their memory-mapped twin."""
    return (not os.access(folder / "energy_uj", os.R_OK), "mmio" in folder.name, folder.name)


class PackagePower:
    """The sum of counters as one channel: one missing counter makes the sum missing, not less.

    Args:
        channel: the sum's channel [W].
        counters: what is added up.
        stopwatch: as the counters'.
    """

    def __init__(
        self, channel: Channel, counters: Sequence[EnergyCounter], stopwatch: Callable[[], float] = time.perf_counter
    ) -> None:
        self.channels: tuple[Channel, ...] = (channel,)
        self._counters = tuple(counters)
        self._stopwatch = stopwatch

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Power since the last reading [W]."""
        stopwatch_s = self._stopwatch()
        total_w: float | None = 0.0
        for counter in self._counters:  # all are read even if one fails, so that each has its own last moment
            power_w = counter.power_w(now_s, stopwatch_s)
            total_w = None if power_w is None or total_w is None else total_w + power_w
        return (total_w,)

    def why_not(self) -> tuple[str, ...]:
        """The reason of each counter that gave nothing."""
        return ("; ".join(dict.fromkeys(counter.why for counter in self._counters if counter.why)),)

    def close(self) -> None:
        """Close the files."""
        for counter in self._counters:
            counter.file.close()


class PartPower(PackagePower):
    """Power of a part of a package, or of the platform."""


def power_sensors(root: Path, key_maker: KeyMaker) -> tuple[list[Sensor], list[ClosedSource]]:
    """A sensor for the packages together, one for each part, and what may not be read."""
    zones = power_zones(root)
    closed = [zone for zone in zones if not _may_read(zone)]
    stopwatch = time.perf_counter if root == Path("/") else _standing_still
    packages = [zone for zone in zones if zone.is_package]
    sensors: list[Sensor] = []
    if any(zone not in closed for zone in packages):
        label = "package power" if len(packages) == 1 else f"power of {len(packages)} packages"
        source = " + ".join(_source(root, zone) for zone in packages)
        channel = Channel(keys.PACKAGE_POWER, label, Unit.WATT, source)
        sensors.append(PackagePower(channel, [_counter(zone, stopwatch) for zone in packages], stopwatch))
    for zone in zones:
        if zone not in closed and not zone.is_package:
            name = zone.name if len(packages) > 1 else zone.name.rpartition(" ")[2]
            channel = key_maker.channel(f"{name} power", f"{name} power", Unit.WATT, _source(root, zone))
            sensors.append(PartPower(channel, [_counter(zone, stopwatch)], stopwatch))
    refusals = [
        ClosedSource(f"power of {zone.name}", shown(root, zone.folders[0] / "energy_uj"), "permission denied", REMEDY)
        for zone in closed
    ]
    return sensors, refusals


def _may_read(zone: PowerZone) -> bool:
    """Whether it can be opened: root's powers are not in the file's mode, so it is tried."""
    try:
        os.close(os.open(zone.folders[0] / "energy_uj", os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK))
    except PermissionError:
        return False
    except OSError:
        return True
    return True


def _counter(zone: PowerZone, stopwatch: Callable[[], float]) -> EnergyCounter:
    folder = zone.folders[0]
    return EnergyCounter(
        NumberFile(str(folder / "energy_uj")), number_of(folder / "max_energy_range_uj") or 0, stopwatch
    )


def _source(root: Path, zone: PowerZone) -> str:
    first, *twins = (shown(root, folder / "energy_uj") for folder in zone.folders)
    return first + "".join(f" (the same as {twin}, which is not counted again)" for twin in twins)


def _standing_still() -> float:
    return 0.0
