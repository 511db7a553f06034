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
Names = tuple[str, str]


def caveat_sentence(caveat: Caveat, names: Names) -> str:
    """One caveat in words.

    Args:
        caveat: the reason.
        names: of the two runs.
    """
    return _SENTENCES[caveat.doubt](caveat, names)


def _held(caveat: Caveat, names: Names) -> str:
    held, free = names if caveat.before == "held" else (names[1], names[0])
    return (
        f"{held} was throttled by heat in {caveat.what}, {free} was not: what is compared is the power that each cooler"
        " sustains at the defended temperature, measured for the one and predicted for the other."
    )


_SENTENCES: Mapping[Doubt, Callable[[Caveat, Names], str]] = {
    Doubt.MACHINE: lambda c, _: (
        f"These are two machines ({c.before}; {c.after}): sensors and power counters are not the same, and the"
        " processor's own part of the resistance is in the figures."
    ),
    Doubt.MACHINE_UNKNOWN: lambda _c, _n: "Which machine it was is not recorded; it is taken to be the same one.",
    Doubt.WORK: lambda c, _: (
        f"The work is of another kind ({c.before or 'not told'}; {c.after or 'not told'}): its rate is not compared,"
        " and another spot of the processor may be the hottest."
    ),
    Doubt.SENSOR: lambda c, _: (
        f"{_CHANNELS.get(c.what, c.what).capitalize()} was read in two ways ({c.before}; {c.after})."
    ),
    Doubt.SAMPLING: lambda c, _: f"The sampling period differs: {c.before} and {c.after}.",
    Doubt.SETTING: lambda c, _: f"Another setting: {_SETTINGS.get(c.what, c.what)} went from {c.before} to {c.after}.",
    Doubt.HELD: _held,
    Doubt.LIMIT: lambda c, _: (
        f"Another temperature is defended ({c.before} and {c.after} °C): the watts are worked out for their mean."
    ),
    Doubt.ROOM: lambda c, _: (
        f"The rooms differ ({c.before} and {c.after} °C): the cooling is worked out for their mean; clock, work and"
        " time throttled are as they were read."
    ),
    Doubt.UNSETTLED: lambda c, _: f"{c.what} had not settled: where it would end is predicted.",
    Doubt.STILL_MOVING: lambda c, _: (
        f"{c.what} was throttled, and still changing when it ended: a longer run would sustain other watts and clocks."
    ),
    Doubt.INCOMPLETE: lambda c, _: f"{c.what} was not closed in good order, or is damaged.",
    Doubt.MANY_TAGS: lambda c, _: f"More than one thing changed ({c.what}): which of them did it cannot be told.",
    Doubt.NO_TAGS: lambda _c, _n: "Their tags are the same: what is seen is what runs of one configuration differ by.",
}
