"""A sensor made of number files, each of which is one channel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from benchmon.model.channel import Channel
from benchmon.sensors.number_file import NumberFile


@dataclass(frozen=True, slots=True)
class Reading:
    """A channel and where its number comes from."""

    channel: Channel
    file: NumberFile
    divisor: float
    """The file's number is this many times the channel's unit."""


class FileReadings:
    """Reads its files one after another.

    Args:
        readings: one for each channel.
        least: a smaller value is impossible, and no reading [the channel's unit].
        most: a greater value is impossible, and no reading [the channel's unit].
    """

    def __init__(self, readings: Sequence[Reading], least: float, most: float) -> None:
        self.channels: tuple[Channel, ...] = tuple(one.channel for one in readings)
        self._files = [(one.file, one.divisor) for one in readings]
        self._least = least
        self._most = most
        self._impossible: dict[int, float] = {}

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """All values; None where the file gives none or an impossible one."""
        self._impossible.clear()
        values: list[float | None] = []
        for file, divisor in self._files:
            number = file.read(now_s)
            if number is None:
                values.append(None)
                continue
            value = number / divisor
            if not self._least < value < self._most:
                self._impossible[len(values)] = value
                values.append(None)
                continue
            values.append(value)
        return tuple(values)

    def why_not(self) -> tuple[str, ...]:
        """Why a file gave no value."""
        return tuple(self._why(index, file) for index, (file, _) in enumerate(self._files))

    def close(self) -> None:
        """Close the files."""
        for file, _ in self._files:
            file.close()

    def _why(self, index: int, file: NumberFile) -> str:
        if index in self._impossible:
            return f"impossible value {self._impossible[index]:g} {self.channels[index].unit.symbol}"
        return file.why
