"""The running difference: this run against an earlier one, at the same moment of the same phase."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from benchmon.model.findings import Figure


class Silence(Enum):
    """Why nothing is said yet, or at all."""

    NO_PHASE = "no phase"
    """The earlier run has no phase of this name, or nothing has begun here."""
    OVER = "over"
    """The earlier run's phase did not last as long."""
    WORK = "work"
    """Another kind of work."""
    LOAD = "load"
    """Another load: other cores, or for another share of the time."""
    TEMPERATURE = "temperature"
    """A temperature is missing."""
    POWER = "power"
    """Package power is missing."""
    ROOM = "room"
    """A room temperature is missing."""
    EARLY = "early"
    """The phase has only begun."""
    COOL = "cool"
    """It is hardly above the room: what it did before counts for more than how it is cooled."""
    COOLING = "cooling"
    """It was hotter when the phase began: it cools down from what was before."""
    POWERS_APART = "powers apart"
    """The powers are too far from one another."""
    HEAT = "heat"
    """Heat throttles only one of them, since a moment."""


@dataclass(frozen=True, slots=True)
class NotSaid:
    """No running difference, and why."""

    silence: Silence
    """The reason."""
    from_s: float | None = None
    """So far into the phase something may be said; None = not by waiting [s]."""
    is_earlier: bool = False
    """What is missing is missing in the earlier run."""


@dataclass(frozen=True, slots=True)
class RunningDifference:
    """This run against an earlier one, at the same moment of the same phase."""

    difference: Figure
    """Kelvin warmer than then for the same watts; or watts more than then at the same temperature."""
    is_watts: bool
    """Heat throttles one of them: the watts are compared."""
    is_same_power: bool
    """The powers were the same; else what was then is brought to the power of now."""
    is_other_machine: bool = False
    """They are two machines: what their sensors and counters may be wrong by does not cancel."""

    @property
    def is_sure(self) -> bool:
        """Whether the interval leaves out nothing: warmer or cooler, more or less."""
        low, high = self.difference.low, self.difference.high
        return low is not None and high is not None and not low <= 0.0 <= high
