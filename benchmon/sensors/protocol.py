"""What every sensor offers, and what is said about a source that cannot be read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from benchmon.model.channel import Channel
from benchmon.model.survey import ClosedSource


class Sensor(Protocol):
    """Channels that are read together."""

    channels: tuple[Channel, ...]
    """What ``read`` gives, in this order; never changes."""

    def read(self, now_s: float) -> tuple[float | None, ...]:
        """The values now, aligned to ``channels``; None = not read. Never raises.

        Args:
            now_s: the moment of the reading on a monotonic axis [s]; rates are taken over its differences.
        """
        ...

    def why_not(self) -> tuple[str, ...]:
        """Why the last ``read`` gave no value, aligned to ``channels``; empty where it gave one."""
        ...

    def close(self) -> None:
        """Let go of the files. Afterwards ``read`` must not be called."""
        ...


@dataclass(frozen=True, slots=True)
class Guarded:
    """The files by which a load can be guarded: the processor's temperature, and others of the same chip."""

    file: str
    beside: tuple[str, ...]
    divisor: float
    """The files' numbers are this many times a degree Celsius."""


@dataclass(frozen=True, slots=True)
class Discovery:
    """What a machine offers."""

    sensors: tuple[Sensor, ...]
    refusals: tuple[ClosedSource, ...]
    chosen_temp: str
    """Which temperature is taken for the processor's, and by which rule; in words."""
    guarded: Guarded | None = None
    """Where that temperature can be read beside the recorder; None if there is no such file."""
