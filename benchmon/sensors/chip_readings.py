"""Fans, and power as hardware monitoring chips and the ACPI power meter measure it."""

from __future__ import annotations

from pathlib import Path

from benchmon.model.survey import ClosedSource
from benchmon.model.units import Unit
from benchmon.sensors.file_readings import FileReadings, Reading
from benchmon.sensors.file_tree import shown
from benchmon.sensors.hwmon import Input, chips, file_of, inputs
from benchmon.sensors.key_maker import KeyMaker
from benchmon.sensors.protocol import Sensor

_MOST_RPM = 100_000.0
_MOST_W = 10_000.0
_MICRO = 1e6
_BELOW_ZERO = -1e-9
"""0 is a reading: a fan that stands still, a part that is switched off."""


class Fans(FileReadings):
    """Speeds of all fans."""


class PowerMeters(FileReadings):
    """Power of whatever the chips measure; never taken for the processor's or the wall's."""


def chip_sensors(root: Path, key_maker: KeyMaker) -> tuple[list[Sensor], list[ClosedSource]]:
    """Fans and power meters, and what may not be read."""
    found = chips(root)
    fans = [one for chip in found for one in inputs(chip, "fan")]
    meters = [one for chip in found for one in inputs(chip, "power", ("input", "average"))]
    fan_readings, fan_refusals = _readings(root, key_maker, fans, Unit.RPM, 1.0)
    meter_readings, meter_refusals = _readings(root, key_maker, meters, Unit.WATT, _MICRO)
    sensors: list[Sensor] = []
    if fan_readings:
        sensors.append(Fans(fan_readings, _BELOW_ZERO, _MOST_RPM))
    if meter_readings:
        sensors.append(PowerMeters(meter_readings, _BELOW_ZERO, _MOST_W))
    return sensors, fan_refusals + meter_refusals


def _readings(
    root: Path, key_maker: KeyMaker, found: list[Input], unit: Unit, divisor: float
) -> tuple[list[Reading], list[ClosedSource]]:
    readings: list[Reading] = []
    refusals: list[ClosedSource] = []
    for one in found:
        file = file_of(root, one)
        source = shown(root, one.path)
        if file.is_denied:
            refusals.append(
                ClosedSource(one.words, source, "permission denied", f"as administrator: chmod a+r {source}")
            )
        else:
            channel = key_maker.channel(one.words, one.words, unit, f"{one.words} ({source})")
            readings.append(Reading(channel, file, divisor))
    return readings, refusals
