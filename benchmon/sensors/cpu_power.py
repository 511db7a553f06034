"""Package power from the powercap energy counters.

Files and units: Linux ``Documentation/ABI/testing/sysfs-class-powercap``; counters wrap at ``max_energy_range_uj``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.files import NumberFile, fixed, number_of, numbered, text_of

_MOST_WATTS = 2000.0
"""No package of a desktop draws as much: a backward step that implies more was a reset, not a wrap."""


@dataclass(frozen=True, slots=True)
class EnergyZone:
    """One counter of the powercap tree."""

    folder: Path
    key: str
    label: str
    is_package: bool


class ZonePower:
    """Mean power between two reads of one counter."""

    def __init__(self, zone: EnergyZone) -> None:
        path = zone.folder / "energy_uj"
        self.channel = Channel(zone.key, zone.label, Unit.WATT, str(path))
        self.is_package = zone.is_package
        self._file = NumberFile(fixed(path))
        self._range_uj = number_of(zone.folder / "max_energy_range_uj")
        self._energy_uj: int | None = None
        self._at_s = 0.0
        self.why = "no earlier reading to compare with"

    def read(self, now_s: float) -> float | None:
        """Mean power since the last read [W]."""
        energy_uj = self._file.read(now_s)
        before_uj, before_s = self._energy_uj, self._at_s
        self._energy_uj, self._at_s = energy_uj, now_s
        if energy_uj is None:
            self.why = self._file.why
            return None
        if before_uj is None or now_s <= before_s:
            self.why = "no earlier reading to compare with"
            return None
        return self._power(energy_uj - before_uj, now_s - before_s)

    def _power(self, step_uj: int, passed_s: float) -> float | None:
        if step_uj < 0:
            if self._range_uj is None:
                self.why = "the counter went back, and where it wraps is not known"
                return None
            step_uj += self._range_uj
        watts = step_uj / 1e6 / passed_s
        if not 0 <= watts <= _MOST_WATTS:
            self.why = "the counter was reset"
            return None
        self.why = ""
        return watts

    def close(self) -> None:
        """Give the file back."""
        self._file.close()


class CpuPower:
    """All packages together, then each counter by itself."""

    def __init__(self, zones: Sequence[EnergyZone]) -> None:
        self._zones = [ZonePower(zone) for zone in zones]
        packages = [zone for zone in self._zones if zone.is_package]
        self._has_total = bool(packages)
        source = " + ".join(zone.channel.source for zone in packages)
        total = (Channel(keys.PACKAGE_POWER, "package power", Unit.WATT, source),) if packages else ()
        self.channels = (*total, *(zone.channel for zone in self._zones))

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Powers [W]; a package that cannot be read makes the total None, never less."""
        watts = [zone.read(now_s) for zone in self._zones]
        if not self._has_total:
            return tuple(watts)
        packages = [value for value, zone in zip(watts, self._zones, strict=True) if zone.is_package]
        known = [value for value in packages if value is not None]
        return (sum(known) if len(known) == len(packages) else None, *watts)

    def why_not(self) -> tuple[str, ...]:
        """Reasons aligned to ``channels``."""
        reasons = tuple(zone.why for zone in self._zones)
        if not self._has_total:
            return reasons
        total = next((zone.why for zone in self._zones if zone.is_package and zone.why), "")
        return (total, *reasons)

    def close(self) -> None:
        """Give the files back."""
        for zone in self._zones:
            zone.close()


def energy_zones(root: Path) -> tuple[EnergyZone, ...]:
    """Counters worth reading: each package once, its parts, and the whole platform's.

    The same package can be offered by two drivers (registers and memory-mapped, control types ``intel-rapl`` and
    ``intel-rapl-mmio``): the first is kept, or the second if the first has no counter.
    """
    zones: dict[str, EnergyZone] = {}
    for folder in numbered(root / "sys/class/powercap", "*:*"):
        name = text_of(folder / "name")
        if name is None or not (folder / "energy_uj").exists():
            continue
        control, _, numbers = folder.name.partition(":")
        parent = ""
        if ":" in numbers:
            outer = text_of(folder.parent / f"{control}:{numbers.split(':')[0]}" / "name") or numbers.split(":")[0]
            parent = f"{_word(outer)}_"
        key = f"{parent}{_word(name)}_power_w"
        rank = 1 if "mmio" in control else 0
        if key not in zones or (rank == 0 and "mmio" in zones[key].folder.name):
            is_package = not parent and name.startswith("package")
            label = f"power of {name}" if not parent else f"power of {name} in {parent.rstrip('_')}"
            zones[key] = EnergyZone(folder, key, label, is_package)
    return tuple(sorted(zones.values(), key=lambda zone: (not zone.is_package, zone.key)))


def _word(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_").replace("package_", "package")
