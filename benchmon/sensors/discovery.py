"""Which sensors a machine offers, which it refuses, and which temperature is the processor's."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from benchmon.model.survey import ClosedSource
from benchmon.sensors.chip_readings import chip_sensors
from benchmon.sensors.clock_caps import cap_sensors
from benchmon.sensors.cpu_clock import CoreClocks, core_clocks
from benchmon.sensors.cpu_load import STAT, CoreLoads, core_loads
from benchmon.sensors.cpu_power import CLASS_FOLDER as POWER_FOLDER
from benchmon.sensors.cpu_power import power_sensors
from benchmon.sensors.cpuinfo_clock import CPUINFO, CpuinfoClocks, cpuinfo_clocks
from benchmon.sensors.file_tree import shown
from benchmon.sensors.hwmon import CLASS_FOLDER as CHIPS_FOLDER
from benchmon.sensors.key_maker import KeyMaker
from benchmon.sensors.protocol import Discovery, Sensor
from benchmon.sensors.temperature import temperature_sensor
from benchmon.sensors.throttle_counter import throttle_counters
from benchmon.sensors.topology import CPU_FOLDER, cpus


def discover(root: Path = Path("/")) -> Discovery:
    """Find what can be read.

    Args:
        root: folder in which ``sys/`` and ``proc/`` lie.

    Returns:
        The sensors with all files open, what is refused, and which temperature was chosen. Never raises for what a
        machine lacks.
    """
    key_maker = KeyMaker()
    loads, load_refusals = _load_sensor(root)
    clocks, clock_refusals = _clock_sensor(root, loads)
    power, power_refusals = power_sensors(root, key_maker)
    temperatures, temp_refusals, chosen = temperature_sensor(root, key_maker)
    chip_things, chip_refusals = chip_sensors(root, key_maker)
    sensors: list[Sensor | None] = [  # the clocks come right after the loads by which they are weighted
        loads,
        clocks,
        *power,
        temperatures,
        *cap_sensors(root),
        *throttle_counters(root),
        *chip_things,
    ]
    refusals = [*load_refusals, *clock_refusals, *power_refusals, *temp_refusals, *chip_refusals]
    if not power and not power_refusals:
        refusals.append(_no_power(root))
    if temperatures is None:
        remedy = "load the driver of the processor's sensor (modprobe coretemp or k10temp); virtual machines have none"
        refusals.append(
            ClosedSource("temperatures", shown(root, root / CHIPS_FOLDER), "the kernel offers none", remedy)
        )
    guarded = temperatures.guarded if temperatures is not None else None
    return Discovery(tuple(one for one in sensors if one is not None), tuple(refusals), chosen, guarded)


def _load_sensor(root: Path) -> tuple[Sensor | None, list[ClosedSource]]:
    sensor = core_loads(root, cpus(root))
    if not isinstance(sensor, str):
        return sensor, []
    return None, [ClosedSource("load", shown(root, root / STAT), sensor, "")]


def _clock_sensor(root: Path, loads: Sensor | None) -> tuple[Sensor | None, list[ClosedSource]]:
    def by_cpu() -> Mapping[int, float | None]:
        return loads.by_cpu if isinstance(loads, CoreLoads) else {}

    sensor = core_clocks(root, by_cpu) or cpuinfo_clocks(root, by_cpu)
    if isinstance(sensor, CoreClocks):
        return sensor, []
    told = shown(root, root / CPUINFO) if isinstance(sensor, CpuinfoClocks) else ""
    path = shown(root, root / CPU_FOLDER / "cpu0/cpufreq/scaling_cur_freq")
    why = "the kernel offers none" + (f"; read from {told} instead" if told else "")
    remedy = "virtual machines have none, and only repeat a nominal clock in /proc/cpuinfo"
    return sensor, [ClosedSource("the clock driver's clocks", path, why, remedy)]


def _no_power(root: Path) -> ClosedSource:
    remedy = "load the counters' driver (modprobe intel_rapl_msr); older processors and virtual machines have none"
    return ClosedSource(
        "package power", shown(root, root / POWER_FOLDER), "the kernel offers no energy counter", remedy
    )
