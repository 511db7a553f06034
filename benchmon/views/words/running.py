"""The running difference to an earlier run in words, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from benchmon.model.findings import Figure
from benchmon.model.running import NotSaid, RunningDifference, Silence
from benchmon.views.numbers import duration, figure_text, half_width, plain

_REASONS: Mapping[Silence, str] = {
    Silence.NO_PHASE: "it has no phase of this name",
    Silence.OVER: "that phase was over by then",
    Silence.WORK: "it did another kind of work",
    Silence.LOAD: "it was loaded otherwise",
    Silence.COOL: "it is hardly warmer than the room",
    Silence.COOLING: "it cools down from before",
    Silence.POWERS_APART: "the powers are too far apart",
    Silence.HEAT: "only one is throttled",
}
_MISSING: Mapping[Silence, str] = {
    Silence.TEMPERATURE: "processor temperature",
    Silence.POWER: "package power",
    Silence.ROOM: "room temperature",
}


def when_words(earlier: datetime, today: datetime) -> str:
    """``on 12 November``; ``at 13:10 UTC`` if it was today; with the year if it was another one."""
    if earlier.date() == today.date():
        return f"{earlier:at %H:%M UTC}"
    year = "" if earlier.year == today.year else f" {earlier.year}"
    return f"on {earlier.day} {earlier:%B}{year}"


def running_sentence(running: RunningDifference, when: str) -> str:
    """The running difference: ``4.1 ± 0.9 K cooler than on 12 November at the same power``.

    Args:
        running: the difference.
        when: of the earlier run: ``on 12 November``.
    """
    moved, unit = running.difference, "W" if running.is_watts else "K"
    value, text = moved.value or 0.0, figure_text(_unsigned(moved), unit)
    at = "at the same temperature" if running.is_watts else "at the same power"
    if not running.is_watts and not running.is_same_power:
        at = "for the same watts"
    at += ", on another machine" if running.is_other_machine else ""
    if not running.is_sure:
        what = "No more and no fewer watts" if running.is_watts else "No warmer and no cooler"
        return f"{what} than {when} {at}, as far as ± {plain(half_width(moved), 1)} {unit} can tell."
    if running.is_watts:
        return f"{text} {'more' if value > 0 else 'less'} than {when} {at}."
    return f"{text} {'warmer' if value > 0 else 'cooler'} than {when} {at}."


def not_said_sentence(found: NotSaid, when: str) -> str:
    """Why there is no running difference, and when there may be one: ``Compared with 12 November from 1:00 on.``.

    Args:
        found: the reason.
        when: of the earlier run: ``on 12 November``.
    """
    earlier = when.partition(" ")[2]
    if found.silence is Silence.EARLY:
        return f"Compared with {earlier} from {duration(found.from_s)} of this phase on."
    if found.silence in _MISSING:
        return f"Not compared with {earlier}: no {_MISSING[found.silence]} {'then' if found.is_earlier else 'here'}."
    later = "" if found.from_s is None else f"; it is from {duration(found.from_s)} of this phase on"
    return f"Not compared with {earlier}: {_REASONS[found.silence]}{later}."


def _unsigned(figure: Figure) -> Figure:
    if figure.value is None or figure.value >= 0 or figure.low is None or figure.high is None:
        return figure
    return Figure(-figure.value, -figure.high, -figure.low)
