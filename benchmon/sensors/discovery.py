"""Which sensors a machine offers."""

from __future__ import annotations

from pathlib import Path

from benchmon.sensors.chip_inputs import chip_powers, fan_speeds
from benchmon.sensors.cpu_clock import ClockCaps, CpuClock, clock_policies, processor_cooling
from benchmon.sensors.cpu_load import CpuLoad
from benchmon.sensors.cpu_power import CpuPower, energy_zones
from benchmon.sensors.protocol import Discovery, Refusal, Sensor
from benchmon.sensors.temperature import Temperatures, temperature_sources
from benchmon.sensors.throttle_counter import throttle_counters


def discover(root: Path = Path("/")) -> Discovery:
    """Find what can be read below ``root``."""
    sensors: list[Sensor] = []
    refusals: list[Refusal] = []
    zones = energy_zones(root)
    if zones:
        sensors.append(CpuPower(zones))  # first: its time is the round's
    load = None
    stat = root / "proc/stat"
    if stat.exists():
        load = CpuLoad(stat)
        sensors.append(load)
    policies = clock_policies(root)
    if policies:
        sensors.append(CpuClock(policies, load))
    caps = ClockCaps(policies, processor_cooling(root))
    if caps.channels:
        sensors.append(caps)
    temperatures = Temperatures(temperature_sources(root))
    if temperatures.channels:
        sensors.append(temperatures)
    sensors += [sensor for sensor in (fan_speeds(root), chip_powers(root), throttle_counters(root)) if sensor]
    return Discovery(tuple(sensors), tuple(refusals), temperatures.chosen_words)
