"""Every temperature the machine offers, and the one that is the processor's."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.files import NumberFile, fixed, numbered, text_of
from benchmon.sensors.hwmon import ChipInput, finder, inputs

LEAST_C, MOST_C = -40.0, 150.0
"""Outside of this no bench PC lives: −64 °C is a zeroed register, 255 °C one that is not connected."""

RULES = (
    ("coretemp", r"package", "the package sensor of the processor's own digital thermometers"),
    ("k10temp", r"tdie", "the die sensor (the control value beside it may carry an offset)"),
    ("k10temp", r"tctl|", "the control value the processor regulates by"),
    ("coretemp", r"core", "the first core's own digital thermometer (no package sensor is offered)"),
    ("zone", r"x86_pkg_temp", "the kernel's zone of the processor package"),
    ("zone", r"(cpu|soc).*", "the kernel's zone of the processor"),
    ("(cpu|soc).*|via_cputemp|fam15h_power", r".*", "the chip that carries the processor's name"),
    (".*", r".*\b(cpu|processor|tcpu)\b.*", "the board's sensor that is labelled as the processor's"),
    ("zone", r"acpitz", "the firmware's thermal zone: on or near the processor, often slow"),
)
"""Chip (or ``zone``), label, reason; the first rule that fits a readable sensor decides. The nearer to the die the
better: it is the die that the firmware defends."""

_STEPS = {"coretemp": 1.0, "k10temp": 0.125, "acpitz": 0.1, "x86_pkg_temp": 1.0}
"""Steps of well-known drivers [K]; the unit of the file (0.001) says nothing about the sensor."""


@dataclass(frozen=True, slots=True)
class TempSource:
    """A temperature that can be read."""

    chip: str
    """Chip name, or ``zone``."""
    label: str
    path: Path
    file: NumberFile
    key: str
    words: str


class Temperatures:
    """The processor's temperature first, then every one that is offered [°C]."""

    def __init__(self, sources: Sequence[TempSource]) -> None:
        self._sources = tuple(sources)
        self._chosen, self.chosen_words = choose(self._sources)
        own = tuple(
            Channel(source.key, f"temperature, {source.words}", Unit.CELSIUS, str(source.path), _step(source))
            for source in self._sources
        )
        if self._chosen is not None:
            path, step = own[self._chosen].source, own[self._chosen].resolution
            own = (Channel(keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS, path, step), *own)
        self.channels = own
        self._impossible: list[str] = [""] * len(self._sources)

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Temperatures; a value no bench PC can have is no reading."""
        values: list[float | None] = []
        for i, source in enumerate(self._sources):
            milli = source.file.read(now_s)
            celsius = None if milli is None else milli / 1000.0
            self._impossible[i] = ""
            if celsius is not None and not LEAST_C < celsius < MOST_C:
                self._impossible[i] = f"{celsius:g} °C is no temperature: the register is empty or not connected"
                celsius = None
            values.append(celsius)
        return tuple(values) if self._chosen is None else (values[self._chosen], *values)

    def why_not(self) -> tuple[str, ...]:
        """Reasons aligned to ``channels``."""
        own = tuple(
            impossible or source.file.why for impossible, source in zip(self._impossible, self._sources, strict=True)
        )
        return own if self._chosen is None else (own[self._chosen], *own)

    def close(self) -> None:
        """Give the files back."""
        for source in self._sources:
            source.file.close()


def temperature_sources(root: Path) -> tuple[TempSource, ...]:
    """All chip inputs and thermal zones, each under a key of its own."""
    found = [_from_chip(root, chip_input) for chip_input in inputs(root, "temp[0-9]*_input")]
    seen: dict[str, int] = {}
    for zone in numbered(root / "sys/class/thermal", "thermal_zone[0-9]*"):
        kind = text_of(zone / "type")
        if kind is None or not (zone / "temp").exists():
            continue
        seen[kind] = seen.get(kind, 0) + 1
        name = kind if seen[kind] == 1 else f"{kind} {seen[kind]}"
        key = f"temp_zone_{re.sub(r'[^a-z0-9]+', '_', name.lower()).strip('_')}_c"
        path = zone / "temp"
        found.append(TempSource("zone", kind, path, NumberFile(fixed(path)), key, f"zone {name}"))
    return tuple({source.key: source for source in found}.values())


def choose(sources: Sequence[TempSource]) -> tuple[int | None, str]:
    """Which source is the processor's temperature, and why in words."""
    for chip_pattern, label_pattern, reason in RULES:
        for i, source in enumerate(sources):
            chip = source.chip.split("#", maxsplit=1)[0]
            if re.fullmatch(chip_pattern, chip) and _label_fits(label_pattern, source.label) and _plausible(source):
                return i, f"{source.words} ({source.path}): {reason}."
    return None, "none: no sensor that is known to sit on the processor."


def _label_fits(pattern: str, label: str) -> bool:
    return re.match(pattern, label.lower()) is not None and (pattern != r"tctl|" or label.lower() in ("tctl", ""))


def _plausible(source: TempSource) -> bool:
    milli = source.file.read(0.0)
    return milli is not None and LEAST_C < milli / 1000.0 < MOST_C


def _from_chip(root: Path, chip_input: ChipInput) -> TempSource:
    path = chip_input.folder / f"{chip_input.stem}_input"
    file = NumberFile(finder(root, chip_input, "_input"))
    return TempSource(chip_input.chip, chip_input.label, path, file, f"temp_{chip_input.key_part}_c", chip_input.words)


def _step(source: TempSource) -> float | None:
    return _STEPS.get(source.label if source.chip == "zone" else source.chip.split("#", maxsplit=1)[0])
