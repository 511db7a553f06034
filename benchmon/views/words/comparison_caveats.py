"""Why two runs differ, a sentence each."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from benchmon.model import keys
from benchmon.model.comparison import Caveat, Doubt

_CHANNELS = {
    keys.PROCESSOR_TEMP: "processor temperature",
    keys.PACKAGE_POWER: "package power",
    keys.WALL_POWER: "wall power",
    keys.ROOM_TEMP: "room temperature",
}
_SETTINGS = {
    keys.TURBO: "turbo",
    keys.GOVERNOR: "the clock governor",
    keys.POWER_LIMIT_LONG: "the sustained power limit [W]",
    keys.POWER_LIMIT_SHORT: "the short-term power limit [W]",
    keys.POWER_WINDOW_LONG: "the window of the power limit [s]",
    keys.HIGHEST_CLOCK: "the highest clock [MHz]",
    keys.TEMP_LIMIT: "the told temperature limit [°C]",
}


def caveat_sentence(caveat: Caveat) -> str:
    """One caveat in words."""
    return _SENTENCES[caveat.doubt](caveat)


def _work(c: Caveat) -> str:
    if c.what:
        return f"The units of work ({c.before}) are of another size: their rates are not compared."
    if not (c.before and c.after):
        return f"What the work was is told of one side only ({c.before or c.after}): how fast it went is not compared."
    return (
        f"The work is of another kind ({c.before}; {c.after}): how fast it went is not compared, and another spot of"
        " the processor may be the hottest."
    )


_SENTENCES: Mapping[Doubt, Callable[[Caveat], str]] = {
    Doubt.MACHINE: lambda c: (
        f"These are two machines ({c.before}; {c.after}): sensors and power counters are not the same, and the"
        " processor's own part of the resistance is in the figures."
    ),
    Doubt.SIMULATED: lambda c: (
        f"Simulated: {c.what}; the rest is of a machine. A difference says how far the simulation is from the machine,"
        " and nothing of a change."
    ),
    Doubt.MACHINE_UNKNOWN: lambda _: "Which machine it was is not recorded; it is taken to be the same one.",
    Doubt.WORK: _work,
    Doubt.SENSOR: lambda c: (
        f"{_CHANNELS.get(c.what, c.what).capitalize()} was read in two ways ({c.before}; {c.after})."
    ),
    Doubt.SAMPLING: lambda c: f"The sampling period differs: {c.before} and {c.after}.",
    Doubt.SETTING: lambda c: f"Another setting: {_SETTINGS.get(c.what, c.what)} went from {c.before} to {c.after}.",
    Doubt.HELD: lambda c: (
        f"Throttled by heat in {c.what}: {c.before}; not throttled: {c.after}. What is compared is the power that each"
        " cooler sustains at the defended temperature, seen where it was throttled and predicted where it was not."
    ),
    Doubt.LIMIT: lambda c: (
        f"Another temperature is defended ({c.before} and {c.after} °C): the watts are worked out for their mean."
    ),
    Doubt.ROOM: lambda c: (
        f"The rooms differ ({c.before} and {c.after} °C): the cooling is worked out for their mean; clock, work and"
        " time throttled are as they were read."
    ),
    Doubt.LENGTH: lambda c: (
        f"The phases are of other lengths ({c.what}: {c.before} and {c.after}): a short one has not shown what it"
        " sustains."
    ),
    Doubt.UNSETTLED: lambda c: f"Not settled: {c.what}. Where it would end is predicted.",
    Doubt.STILL_MOVING: lambda c: (
        f"Throttled, and still changing at the end: {c.what}. A longer run would sustain other watts and clocks."
    ),
    Doubt.INCOMPLETE: lambda c: f"Not closed in good order, or damaged: {c.what}.",
    Doubt.MANY_TAGS: lambda c: f"More than one thing changed ({c.what}): which of them did it cannot be told.",
    Doubt.NO_TAGS: lambda _: "Their tags are the same: what is seen is what runs of one configuration differ by.",
}
