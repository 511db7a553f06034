"""The kernel's thermal zones and cooling devices.

Source of names and units: kernel, ``Documentation/ABI/testing/sysfs-class-thermal``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from benchmon.sensors.file_tree import entries, number_of, text_of
from benchmon.sensors.number_file import NumberFile

CLASS_FOLDER = "sys/class/thermal"
_PROCESSOR_COOLING = re.compile(r"Processor|(thermal-)?cpufreq-.+")
"""``Processor`` on ACPI machines, ``cpufreq-cpu0`` or the like where the clock driver is the cooling device."""


@dataclass(frozen=True, slots=True)
class Zone:
    """One thermal zone."""

    folder: Path
    kind: str
    """The file ``type``: ``acpitz``, ``x86_pkg_temp``, ``cpu-thermal`` …"""
    place: int
    """0, 1 … among the zones of the same kind."""
    cools_processor: bool
    """A cooling device that slows the processor belongs to it."""

    @property
    def words(self) -> str:
        """For people."""
        return f"thermal zone {self.kind}" + (f" no. {self.place + 1}" if self.place else "")

    def trips_c(self, kind: str) -> list[tuple[float, Path]]:
        """Trip points of one kind that are in force, lowest first [°C]; 0 and less means: disabled."""
        found = [
            (millidegrees / 1000, path)
            for type_path in entries(self.folder, r"trip_point_\d+_type")
            if text_of(type_path) == kind
            and (millidegrees := number_of(path := type_path.with_name(type_path.name[:-4] + "temp"))) is not None
            and millidegrees > 0
        ]
        return sorted(found)


def zones(root: Path) -> list[Zone]:
    """All zones, in the kernel's order."""
    found: list[Zone] = []
    for folder in entries(root / CLASS_FOLDER, r"thermal_zone\d+"):
        kind = text_of(folder / "type") or "unnamed"
        place = sum(zone.kind == kind for zone in found)
        devices = (text_of(device / "type") or "" for device in entries(folder, r"cdev\d+"))
        found.append(Zone(folder, kind, place, any(map(_PROCESSOR_COOLING.fullmatch, devices))))
    return found


def file_of(root: Path, zone: Zone) -> NumberFile:
    """The zone's temperature [0.001 °C], found again by kind and place."""

    def locate() -> str | None:
        same = [new for new in zones(root) if (new.kind, new.place) == (zone.kind, zone.place)]
        return str(same[0].folder / "temp") if same else None

    return NumberFile(str(zone.folder / "temp"), locate, empty_means="no data: the file is empty")


def processor_cooling_states(root: Path) -> list[Path]:
    """Files with the state of every device that slows the processor; 0 = no cooling asked for."""
    return [
        device / "cur_state"
        for device in entries(root / CLASS_FOLDER, r"cooling_device\d+")
        if _PROCESSOR_COOLING.fullmatch(text_of(device / "type") or "")
    ]
