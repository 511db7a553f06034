"""Fans and power meters of the hardware monitoring chips."""

from __future__ import annotations

from pathlib import Path

from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.files import NumberFile
from benchmon.sensors.hwmon import finder, inputs


class ChipInputs:
    """All inputs of one kind, read as they are."""

    def __init__(self, channels: tuple[Channel, ...], files: tuple[NumberFile, ...], per_unit: float) -> None:
        self.channels = channels
        self._files = files
        self._per_unit = per_unit

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """Values in the channels' unit."""
        return tuple(None if (value := file.read(now_s)) is None else value / self._per_unit for file in self._files)

    def why_not(self) -> tuple[str, ...]:
        """Reasons aligned to ``channels``."""
        return tuple(file.why for file in self._files)

    def close(self) -> None:
        """Give the files back."""
        for file in self._files:
            file.close()


class FanSpeeds(ChipInputs):
    """Fans [rpm]. A standing fan really reads 0."""


class ChipPowers(ChipInputs):
    """Power meters of chips and of the firmware [W]: mean values where offered, else momentary ones."""


def fan_speeds(root: Path) -> FanSpeeds | None:
    """All fans; None if there is none."""
    found = inputs(root, "fan[0-9]*_input")
    channels = tuple(
        Channel(f"fan_{one.key_part}_rpm", f"fan, {one.words}", Unit.RPM, str(one.folder / f"{one.stem}_input"), 1.0)
        for one in found
    )
    files = tuple(NumberFile(finder(root, one, "_input")) for one in found)
    return FanSpeeds(channels, files, 1.0) if found else None


def chip_powers(root: Path) -> ChipPowers | None:
    """All power meters; None if there is none."""
    average = {(one.chip, one.stem): (one, "_average") for one in inputs(root, "power[0-9]*_average")}
    momentary = {(one.chip, one.stem): (one, "_input") for one in inputs(root, "power[0-9]*_input")}
    found = list({**momentary, **average}.values())
    channels = tuple(
        Channel(
            f"meter_{one.key_part}_w", f"power meter, {one.words}", Unit.WATT, str(one.folder / f"{one.stem}{ending}")
        )
        for one, ending in found
    )
    files = tuple(NumberFile(finder(root, one, ending)) for one, ending in found)
    return ChipPowers(channels, files, 1e6) if found else None
