"""At which temperatures the processor is limited, and the machine shut down.

**The limit** is taken from the same sensor as the processor's temperature, for temperatures of two sensors cannot be
compared: from the chip's ``_crit`` where the driver says that this is where the hardware steps in (coretemp: "maximum
compared: from the chip's ``_crit`` where the driver says that this is where the hardware steps in (coretemp: "maximum
zone's lowest passive trip point. A chip that names no limit borrows that of a zone whose heat makes the kernel slow the
processor, and the source says so. ``_max`` of other chips is an alarm that anybody can set, and no limit.

**The critical temperature** is the lowest critical trip point of the chosen zone, else of a zone that slows the
processor, else of any ACPI zone. Trip points of 0 and less are disabled (kernel, x86_pkg_temp_thermal.rst).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from benchmon.model import keys
from benchmon.model.units import Unit
from benchmon.sensors.file_tree import number_of, shown
from benchmon.sensors.hwmon import Input
from benchmon.sensors.setting_value import SettingValue
from benchmon.sensors.temperature import LEAST_C, MILLI, MOST_C, choose, places
from benchmon.sensors.thermal_zone import Zone, zones

_CRIT_IS_THE_LIMIT = {"coretemp", "k10temp"}


class TempLimits:
    """Limits of the temperature that was chosen when this was made.

    Args:
        root: folder in which ``sys/`` lies.
    """

    def __init__(self, root: Path) -> None:
        self._root = root
        chosen = choose(places(root))
        self._origin: Input | Zone | None = chosen.origin if chosen else None
        all_zones = zones(root)
        own = [self._origin] if isinstance(self._origin, Zone) else []
        self._own_zones: list[Zone] = own
        self._slowing = [zone for zone in all_zones if zone.cools_processor]
        self._acpi = [zone for zone in all_zones if zone.kind == "acpitz"]

    def read(self) -> Iterator[SettingValue]:
        """The two limits, as far as the machine names them."""
        limit = self._chip_limit() or _lowest_trip(self._own_zones, "passive") or _lowest_trip(self._slowing, "passive")
        critical = (
            _lowest_trip(self._own_zones, "critical")
            or _lowest_trip(self._slowing, "critical")
            or _lowest_trip(self._acpi, "critical")
        )
        for key, found in ((keys.TEMP_LIMIT, limit), (keys.TEMP_CRITICAL, critical)):
            if found is not None:
                yield SettingValue(key, found[0], Unit.CELSIUS, shown(self._root, found[1]))

    def _chip_limit(self) -> tuple[float, Path] | None:
        origin = self._origin
        if not isinstance(origin, Input) or origin.chip.name not in _CRIT_IS_THE_LIMIT:
            return None
        path = origin.path.with_name(f"{origin.stem}_crit")
        number = number_of(path)
        return (number / MILLI, path) if number is not None and max(LEAST_C, 0) < number / MILLI < MOST_C else None


def _lowest_trip(among: list[Zone], kind: str) -> tuple[float, Path] | None:
    return min((trip for zone in among for trip in zone.trips_c(kind) if trip[0] < MOST_C), default=None)
