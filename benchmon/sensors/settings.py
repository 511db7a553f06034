"""What the machine says about itself: rated clock, limits, governor."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from benchmon.model import keys
from benchmon.model.units import Unit
from benchmon.sensors.file_tree import entries, number_of, shown, text_of
from benchmon.sensors.power_limits import power_limits
from benchmon.sensors.setting_value import SettingValue
from benchmon.sensors.temp_limits import TempLimits
from benchmon.sensors.topology import CPU_FOLDER, cpu_folders, cpus

__all__ = ["SettingValue", "SettingsReader"]

_KHZ_PER_MHZ = 1000
_MHZ_PER_GHZ = 1000


class SettingsReader:
    """Reads the settings of one machine again and again.

    Args:
        root: folder in which ``sys/`` and ``proc/`` lie.
    """

    def __init__(self, root: Path) -> None:
        self._root = root
        self._temp_limits = TempLimits(root)
        self._seen: dict[str, SettingValue] = {}

    def read(self) -> tuple[SettingValue, ...]:
        """All settings that can be read; one that could be read before and now cannot has the value None."""
        now = {one.key: one for one in self._all()}
        for key, last in self._seen.items():
            now.setdefault(key, replace(last, value=None))
        self._seen = now
        return tuple(now.values())

    def _all(self) -> Iterator[SettingValue]:
        yield from _clocks(self._root)
        yield from _policy(self._root)
        yield from self._temp_limits.read()
        yield from power_limits(self._root)
        count = _online(self._root)
        if count:
            yield SettingValue(keys.CORE_COUNT, count, Unit.COUNT, "/sys/devices/system/cpu/online")


def _clocks(root: Path) -> Iterator[SettingValue]:
    folders = cpu_folders(root).values()
    for key, name, choose in (
        (keys.RATED_CLOCK, "cpufreq/base_frequency", max),
        (keys.HIGHEST_CLOCK, "cpufreq/cpuinfo_max_freq", max),
        (keys.LOWEST_CLOCK, "cpufreq/cpuinfo_min_freq", min),
    ):
        found = [(khz, folder / name) for folder in folders if (khz := number_of(folder / name))]
        if found:
            khz, path = choose(found, key=lambda pair: pair[0])
            yield SettingValue(key, khz / _KHZ_PER_MHZ, Unit.MEGAHERTZ, shown(root, path))
        elif key == keys.RATED_CLOCK:
            yield from _rated_clock_by_name(root)


def _rated_clock_by_name(root: Path) -> Iterator[SettingValue]:
    """From the processor's description: the firmware's table in MHz, or the maker's name, ``… @ 2.40GHz``."""
    nominal = root / CPU_FOLDER / "cpu0/acpi_cppc/nominal_freq"
    mhz = number_of(nominal)
    if mhz:
        yield SettingValue(keys.RATED_CLOCK, float(mhz), Unit.MEGAHERTZ, shown(root, nominal))
        return
    name = re.search(r"^model name\s*:.*@ *(\d+\.\d+) ?GHz", text_of(root / "proc/cpuinfo") or "", re.MULTILINE)
    if name:
        rated_mhz = round(float(name[1]) * _MHZ_PER_GHZ, 3)
        yield SettingValue(keys.RATED_CLOCK, rated_mhz, Unit.MEGAHERTZ, "the processor's name in /proc/cpuinfo")


def _policy(root: Path) -> Iterator[SettingValue]:
    folder = root / CPU_FOLDER
    for key, name in ((keys.GOVERNOR, "scaling_governor"), (keys.CLOCK_DRIVER, "scaling_driver")):
        texts = {text: path for path in _policy_files(root, name) if (text := text_of(path))}
        if texts:
            yield SettingValue(key, ", ".join(sorted(texts)), None, shown(root, next(iter(texts.values()))))
    no_turbo, boost = folder / "intel_pstate/no_turbo", folder / "cpufreq/boost"
    for path, on in ((no_turbo, 0), (boost, 1)):  # the two files say opposite things
        number = number_of(path)
        if number is not None:
            yield SettingValue(keys.TURBO, "on" if number == on else "off", None, shown(root, path))
            return


def _policy_files(root: Path, name: str) -> Iterator[Path]:
    """The file of each clock policy; where there is no folder of policies, of each core."""
    found = [folder / name for folder in entries(root / CPU_FOLDER / "cpufreq", r"policy\d+")]
    yield from found or (folder / "cpufreq" / name for folder in cpu_folders(root).values())


def _online(root: Path) -> int:
    """How many logical processors are online, from a list like ``0-3,6``."""
    text = text_of(root / CPU_FOLDER / "online")
    if text is None or not re.fullmatch(r"\d+(-\d+)?(,\d+(-\d+)?)*", text):
        return len(cpus(root))
    ranges = (part.partition("-") for part in text.split(","))
    return sum(int(last or first) - int(first) + 1 for first, _, last in ranges)
