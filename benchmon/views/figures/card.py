"""The summary card: the few figures that a reader wants, in one picture."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.findings import Summary
from benchmon.model.recorded import Recorded
from benchmon.views.figures.run_picture import footing, machine_words
from benchmon.views.numbers import figure_text, plain, room_number
from benchmon.views.sheets.content import title
from benchmon.views.words.pictures import STRETCH_WORDS
from benchmon.views.words.simulated import seen_word

_MOST_SETTLED = 5


@dataclass(frozen=True, slots=True)
class Card:
    """Large figure, what it is, and four lines beside labels."""

    title: str
    machine: str
    capacity: str
    capacity_words: str
    lines: tuple[tuple[str, str], ...]
    footing: tuple[str, ...]
    why_not: str = ""


def card(session: Recorded, summary: Summary) -> Card:
    """Gather the card; what is not known is said to be so, not left out."""
    capacity = summary.thermal.capacity
    is_measured = capacity.measured_w.value is not None
    watts = capacity.measured_w if is_measured else capacity.predicted_w
    changed = ", ".join(f"{key} {value}" for key, value in summary.tags.items())
    return Card(
        title=title(summary, "Cooling"),
        machine=machine_words(summary),
        capacity=figure_text(watts, "W") if watts.value is not None else "–",
        capacity_words=_capacity_words(summary, is_measured=is_measured),
        lines=(
            ("defended temperature", _defended(summary)),
            ("settled temperatures", _settled(summary)),
            ("throttling", _throttled(summary)),
            ("thermal resistance", figure_text(summary.thermal.resistance_k_per_w, "K/W")),
            ("what was changed", changed or "nothing was noted"),
        ),
        footing=footing(session, summary),
    )


def _capacity_words(summary: Summary, *, is_measured: bool) -> str:
    thermal = summary.thermal
    watts = thermal.capacity.measured_w if is_measured else thermal.capacity.predicted_w
    if watts.value is None:
        return f"sustained power not known: {watts.why_not or 'no reason is known'}"
    at = "" if thermal.limit_c.value is None else f" at {plain(thermal.limit_c.value, 0)} °C"
    seen = seen_word(is_simulated=bool(summary.header.virtual))
    room = "" if thermal.room_c.value is None else f" in a {room_number(thermal.room_c.value)} °C room"
    return f"sustained by this cooler{at}{room}, {seen if is_measured else 'predicted'}"


def _defended(summary: Summary) -> str:
    if keys.PROCESSOR_TEMP not in {channel.key for channel in summary.header.channels}:
        return "not known: no processor temperature was read"
    held = [e.temp_plateau_c for e in summary.events if e.cause is Cause.THERMAL and e.temp_plateau_c is not None]
    told = summary.thermal.capacity.told_limit_c
    if not held:
        return "not reached"
    return f"{plain(held[-1], 0)} °C" + ("" if told is None else f" (the sensors report {plain(told, 0)} °C)")


def _settled(summary: Summary) -> str:
    parts = []
    for phase in summary.phases:
        held = phase.sustained
        if held is not None and held.is_settled and held.temp_last_c is not None:
            parts.append(f"{phase.name}, sustained, {plain(held.temp_last_c, 0)} °C")
            continue
        settling, temp = phase.settling.get(keys.PROCESSOR_TEMP), phase.means.get(keys.PROCESSOR_TEMP)
        if settling is not None and settling.settled and temp is not None:
            parts.append(f"{phase.name} {plain(temp.last, 0)} °C")
    if len(parts) > _MOST_SETTLED:
        parts = [*parts[:_MOST_SETTLED], f"and {len(parts) - _MOST_SETTLED} more phases"]
    return "; ".join(parts) or "no phase had settled"


def _throttled(summary: Summary) -> str:
    causes = dict.fromkeys(STRETCH_WORDS[event.cause] for event in summary.events)
    return ", ".join(causes) or "no"
