"""Every temperature of the machine, and the choice of the one that is the processor's."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.survey import ClosedSource
from benchmon.model.units import Unit
from benchmon.sensors import hwmon, thermal_zone
from benchmon.sensors.file_readings import FileReadings, Reading
from benchmon.sensors.file_tree import number_of, shown
from benchmon.sensors.hwmon import Input
from benchmon.sensors.key_maker import KeyMaker
from benchmon.sensors.number_file import NumberFile
from benchmon.sensors.protocol import Guarded
from benchmon.sensors.thermal_zone import Zone
from benchmon.sensors.which_temperature import RULE, rank

LEAST_C = -40.0
"""A colder reading is none: a sensor's register of zeros reads as −64 °C or colder, and no room is that cold."""
MOST_C = 150.0
"""A hotter reading is none: silicon protects itself far below."""
MILLI = 1000


@dataclass(frozen=True, slots=True)
class Place:
    """Where one temperature can be read."""

    origin: Input | Zone
    path: Path
    words: str
    open: Callable[[], NumberFile]

    @property
    def temp_c(self) -> float | None:
        """What it shows now [°C]; None if nothing possible."""
        number = number_of(self.path)
        return number / MILLI if number is not None and LEAST_C < number / MILLI < MOST_C else None


def places(root: Path) -> list[Place]:
    """All temperatures, chips first."""
    chips = [
        Place(one, one.path, one.words, lambda one=one: hwmon.file_of(root, one))  # type: ignore[misc]
        for chip in hwmon.chips(root)
        for one in hwmon.inputs(chip, "temp")
    ]
    zones = [
        Place(zone, zone.folder / "temp", zone.words, lambda zone=zone: thermal_zone.file_of(root, zone))  # type: ignore[misc]
        for zone in thermal_zone.zones(root)
        if (zone.folder / "temp").exists()
    ]
    return [*chips, *zones]


def choose(found: list[Place]) -> Place | None:
    """The processor's temperature by the written rule; None if nothing can pass for it."""
    fit = [
        (place.temp_c is None, place_in_rule, -_heat(place), at)
        for at, place in enumerate(found)
        if (place_in_rule := rank(place.origin)) is not None
    ]
    return found[min(fit)[-1]] if fit else None


def _heat(place: Place) -> float:
    """Of sensors of equal rank the hottest is chosen; zones keep the kernel's order, for they may be anywhere."""
    return (place.temp_c or 0.0) if isinstance(place.origin, Input) else 0.0


class Temperatures(FileReadings):
    """All temperatures of the machine."""

    guarded: Guarded | None = None
    """Files of the processor's temperature; None if it is none of these."""


def guarded_files(found: list[Place], chosen: Place) -> Guarded:
    """The chosen temperature and the others of its chip.

    A ``Tctl`` beside a ``Tdie`` is left out: it may carry an offset (kernel, ``Documentation/hwmon/k10temp.rst``).
    """
    origin = chosen.origin
    beside = [
        str(place.path)
        for place in found
        if isinstance(origin, Input) and isinstance(place.origin, Input) and place is not chosen
        if place.origin.chip == origin.chip and place.origin.label != "Tctl"
    ]
    return Guarded(str(chosen.path), tuple(beside), MILLI)


def temperature_sensor(root: Path, key_maker: KeyMaker) -> tuple[Temperatures | None, list[ClosedSource], str]:
    """The sensor, what may not be read, and which temperature is the processor's, in words."""
    found = places(root)
    chosen = choose(found)
    readings: list[Reading] = []
    refusals: list[ClosedSource] = []
    for place in sorted(found, key=lambda place: place is not chosen):
        file = place.open()
        source = shown(root, place.path)
        if file.is_denied:
            refusals.append(
                ClosedSource(place.words, source, "permission denied", f"as administrator: chmod a+r {source}")
            )
            continue
        words = f"{place.words} ({source})"
        if place is chosen:
            channel = Channel(keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS, words)
        else:
            channel = key_maker.channel(place.words, place.words, Unit.CELSIUS, words)
        readings.append(Reading(channel, file, MILLI))
    told = f"{chosen.words} ({shown(root, chosen.path)}). {RULE}" if chosen else f"none was found. {RULE}"
    if not readings:
        return None, refusals, told
    sensor = Temperatures(readings, LEAST_C, MOST_C)
    if chosen is not None and any(reading.channel.key == keys.PROCESSOR_TEMP for reading in readings):
        sensor.guarded = guarded_files(found, chosen)
    return sensor, refusals, told
