"""What can be read on a machine, what cannot, and what would open it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from benchmon.model.channel import Channel
from benchmon.plain_text import make_plain, one_line


@dataclass(frozen=True, slots=True)
class ChannelSurvey:
    """One channel, tried out for a moment."""

    channel: Channel
    value: float | None
    """The last value; None = not read."""
    why_not: str
    """Why it was not read; empty if it was."""
    changed_every_s: float | None
    """Mean time between two different values while it was tried [s]; None = it did not change."""
    read_cost_us: float
    """Median time to read the whole sensor that this channel belongs to [µs]."""
    sensor: str
    """Which channels are read together: the same word for all of one sensor."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)


@dataclass(frozen=True, slots=True)
class ClosedSource:
    """Something that could be there but cannot be read."""

    what: str
    path: str
    why: str
    remedy: str
    """What a person could do about it, in one or more lines; empty if nothing. Printed, never applied."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain; the lines of the remedy stay lines."""
        lines = self.remedy.split("\n")
        make_plain(self)
        indents = [" " * min(len(line) - len(line.lstrip(" ")), 4) for line in lines]
        plain = "\n".join(indent + one_line(line) for indent, line in zip(indents, lines, strict=True))
        object.__setattr__(self, "remedy", plain)


@dataclass(frozen=True, slots=True)
class Survey:
    """Everything ``benchmon channels`` says."""

    channels: tuple[ChannelSurvey, ...]
    closed: tuple[ClosedSource, ...]
    settings: Mapping[str, tuple[str, str]]
    """What the machine says about itself: key → value in words, source."""
    chosen_temp: str
    """Which temperature is taken for the processor's, and by which rule."""
    round_cost_us: float
    """Median time of one round of reading everything [µs]."""
    tried_s: float
    """How long it was tried [s]."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)
