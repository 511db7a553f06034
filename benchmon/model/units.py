"""Units of everything that is recorded: their code in files, their symbol for people, the suffix of keys."""

from __future__ import annotations

from enum import Enum


class Unit(Enum):
    """A unit of a channel. The value is its code in session files."""

    CELSIUS = "degC"
    MEGAHERTZ = "MHz"
    WATT = "W"
    JOULE = "J"
    RPM = "rpm"
    PERCENT = "%"
    COUNT = "count"
    PER_SECOND = "1/s"
    SECOND = "s"
    MILLISECOND = "ms"
    STEP = "step"

    @property
    def symbol(self) -> str:
        """How people write the unit: ``°C``, ``MHz`` …; empty for plain numbers."""
        return _SYMBOLS[self]

    @property
    def suffix(self) -> str:
        """The ending, without underscore, that a channel's key of this unit must have."""
        return _SUFFIXES[self]


_SYMBOLS = {
    Unit.CELSIUS: "°C",
    Unit.MEGAHERTZ: "MHz",
    Unit.WATT: "W",
    Unit.JOULE: "J",
    Unit.RPM: "rpm",
    Unit.PERCENT: "%",
    Unit.COUNT: "",
    Unit.PER_SECOND: "/s",
    Unit.SECOND: "s",
    Unit.MILLISECOND: "ms",
    Unit.STEP: "",
}

_SUFFIXES = {
    Unit.CELSIUS: "c",
    Unit.MEGAHERTZ: "mhz",
    Unit.WATT: "w",
    Unit.JOULE: "j",
    Unit.RPM: "rpm",
    Unit.PERCENT: "pct",
    Unit.COUNT: "count",
    Unit.PER_SECOND: "per_s",
    Unit.SECOND: "s",
    Unit.MILLISECOND: "ms",
    Unit.STEP: "step",
}
