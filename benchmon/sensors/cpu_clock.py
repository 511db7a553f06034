"""Clocks of the cores, the clock of the busy ones, and the caps that are in force."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.cpu_load import CpuLoad
from benchmon.sensors.files import NumberFile, fixed, number_of, numbered, text_of

_KHZ = 1000.0
_IDLE_BELOW_PCT = 1.0
"""Below this load no core is busy; then the plain mean stands for the processor."""


class CpuClock:
    """Each core's clock and the mean weighted by load: an idle core's low clock says nothing about the busy ones.

    Args:
        policies: ``cpuN/cpufreq`` folders.
        load: read before this sensor in every round; None where there is no load to weight with.
    """

    def __init__(self, policies: Sequence[Path], load: CpuLoad | None) -> None:
        self._load = load
        self._files = [NumberFile(fixed(policy / "scaling_cur_freq")) for policy in policies]
        cpus = [int(policy.parent.name.removeprefix("cpu")) for policy in policies]
        self._places = [load.cpus.index(cpu) + 1 if load and cpu in load.cpus else None for cpu in cpus]
        source = str(policies[0].parent.parent / "cpu*/cpufreq/scaling_cur_freq")
        self.channels = (
            Channel(keys.CLOCK, "clock of the busy cores", Unit.MEGAHERTZ, source, 0.001),
            *(
                Channel(
                    keys.core_clock_key(cpu), f"clock of core {cpu}", Unit.MEGAHERTZ, str(p / "scaling_cur_freq"), 0.001
                )
                for cpu, p in zip(cpus, policies, strict=True)
            ),
        )
        self._mean: float | None = None

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Clocks [MHz], the busy cores' first."""
        clocks = []
        for file in self._files:
            khz = file.read(now_s)
            clocks.append(None if khz is None else khz / _KHZ)
        self._mean = self._busy_mean(clocks)
        return (self._mean, *clocks)

    def why_not(self) -> tuple[str, ...]:
        """Reasons aligned to ``channels``; an empty file means that the core is offline."""
        first = "" if self._mean is not None else "no core's clock could be read"
        return (first, *("the core is offline" if "empty" in file.why else file.why for file in self._files))

    def close(self) -> None:
        """Give the files back."""
        for file in self._files:
            file.close()

    def _busy_mean(self, clocks: Sequence[float | None]) -> float | None:
        total = weight = 0.0
        loads = self._load.loads if self._load else ()
        for clock, place in zip(clocks, self._places, strict=True):
            load = loads[place] if place is not None and place < len(loads) else None
            if clock is not None and load is not None and load >= _IDLE_BELOW_PCT:
                total += clock * load
                weight += load
        if weight:
            return total / weight
        known = [clock for clock in clocks if clock is not None]
        return sum(known) / len(known) if known else None


class ClockCaps:
    """The least clock that policy, platform and the kernel's cooling allow at the moment."""

    def __init__(self, policies: Sequence[Path], cooling: Sequence[Path]) -> None:
        caps = {
            keys.CLOCK_CAP: ("highest clock allowed by policy", Unit.MEGAHERTZ, "scaling_max_freq", policies),
            keys.PLATFORM_CAP: ("highest clock allowed by the platform", Unit.MEGAHERTZ, "bios_limit", policies),
            keys.COOLING_STEP: ("cooling asked for by the kernel", Unit.STEP, "cur_state", cooling),
        }
        self.channels: tuple[Channel, ...] = ()
        self._groups: list[list[NumberFile]] = []
        for key, (label, unit, name, folders) in caps.items():
            paths = [folder / name for folder in folders if (folder / name).exists()]
            if paths:
                resolution = 0.001 if unit is Unit.MEGAHERTZ else 1.0
                self.channels += (Channel(key, label, unit, str(paths[0]), resolution),)
                self._groups.append([NumberFile(fixed(path)) for path in paths])

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Least cap of the cores that can be read; greatest cooling step."""
        return tuple(self._joined(i, now_s) for i in range(len(self._groups)))

    def why_not(self) -> tuple[str, ...]:
        """Reasons aligned to ``channels``."""
        return tuple("" if any(not f.why for f in group) else group[0].why for group in self._groups)

    def close(self) -> None:
        """Give the files back."""
        for group in self._groups:
            for file in group:
                file.close()

    def _joined(self, index: int, now_s: float) -> float | None:
        known = [value for file in self._groups[index] if (value := file.read(now_s)) is not None]
        if not known:
            return None
        if self.channels[index].unit is Unit.STEP:
            return float(max(known))
        return min(known) / _KHZ


def clock_policies(root: Path) -> tuple[Path, ...]:
    """The ``cpuN/cpufreq`` folders that offer a clock."""
    folder = root / "sys/devices/system/cpu"
    return tuple(
        cpu / "cpufreq" for cpu in numbered(folder, "cpu[0-9]*") if (cpu / "cpufreq/scaling_cur_freq").exists()
    )


def processor_cooling(root: Path) -> tuple[Path, ...]:
    """Cooling devices with which the kernel slows the processor down."""
    found = numbered(root / "sys/class/thermal", "cooling_device[0-9]*")
    wanted = ("processor", "cpufreq", "intel_powerclamp", "cpuidle")
    return tuple(
        device
        for device in found
        if (text_of(device / "type") or "").lower().startswith(wanted) and number_of(device / "cur_state") is not None
    )
