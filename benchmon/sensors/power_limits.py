"""Limits of package power that are in force.

Source: kernel, ``Documentation/ABI/testing/sysfs-class-powercap`` (``constraint_N_name``, ``…_power_limit_uw``,
``…_time_window_us``). A package that is offered through two interfaces is held to the lower limit of the two.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from benchmon.model import keys
from benchmon.model.units import Unit
from benchmon.sensors.cpu_power import PowerZone, power_zones
from benchmon.sensors.file_tree import entries, number_of, shown, text_of
from benchmon.sensors.setting_value import SettingValue

_MICRO = 1e6
_NAMES = (
    ("long_term", keys.POWER_LIMIT_LONG, keys.POWER_WINDOW_LONG),
    ("short_term", keys.POWER_LIMIT_SHORT, keys.POWER_WINDOW_SHORT),
)


def power_limits(root: Path) -> Iterator[SettingValue]:
    """Sustained and short-term limit, added over the packages as their powers are, and the first package's windows."""
    packages = [zone for zone in power_zones(root) if zone.is_package]
    for name, limit_key, window_key in _NAMES:
        found = [limit for zone in packages if (limit := _lowest(zone, name)) is not None]
        if not found or len(found) < len(packages):
            continue
        source = " + ".join(shown(root, path) for _, path in found)
        yield SettingValue(limit_key, sum(uw for uw, _ in found) / _MICRO, Unit.WATT, source)
        window = found[0][1].with_name(found[0][1].name.replace("power_limit_uw", "time_window_us"))
        window_us = number_of(window)
        if window_us is not None:
            yield SettingValue(window_key, window_us / _MICRO, Unit.SECOND, shown(root, window))


def _lowest(zone: PowerZone, name: str) -> tuple[int, Path] | None:
    """Lowest limit of that name in force [µW]; 0 is none, and neither is one of a disabled zone."""
    limits: list[tuple[int, Path]] = []
    for folder in zone.folders:
        if number_of(folder / "enabled") == 0:
            continue
        for name_path in entries(folder, r"constraint_\d+_name"):
            path = name_path.with_name(name_path.name[:-4] + "power_limit_uw")
            limit_uw = number_of(path) if text_of(name_path) == name else None
            if limit_uw:
                limits.append((limit_uw, path))
    return min(limits, default=None)
