"""Throttle events in sentences: what happened, and what else is known of it."""

from __future__ import annotations

from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.units import Unit
from benchmon.views.numbers import NOT_READ, clock_ghz, counted, duration, plain, quantity, share
from benchmon.views.words.evidence import CAUSE_WORDS, chance, evidence_sentences, likely_words, wanted_words

TOLD_APART_K = 3.0
"""A reported limit this far above the defended temperature is worth a sentence [K]."""

CAUSE_LETTERS = {Cause.THERMAL: "H", Cause.POWER_LIMIT: "P", Cause.OUTSIDE: "O", Cause.UNEXPLAINED: "?"}
"""One letter for each cause, where there is room for no more; never colour alone."""

AT_FIRST, SUSTAINED = "at first", "sustained"
"""What a throttled phase ran at until it was throttled, and in the last part of the throttled time."""

_STATES = {
    Cause.THERMAL: "throttled by heat",
    Cause.POWER_LIMIT: "power-limited",
    Cause.OUTSIDE: "limited from outside",
}
_THROUGHOUT = 0.995


def change(before: float | None, after: float | None, unit: Unit) -> str:
    """``50.5 → 38.9 W``; empty if neither is known."""
    if before is None and after is None:
        return ""
    if unit is Unit.MEGAHERTZ:
        first = NOT_READ if before is None else plain(before / 1000, 2)
        return f"{first} → {clock_ghz(after)}"
    return f"{NOT_READ if before is None else plain(before, 1)} → {quantity(after, unit)}"


def event_figures(event: ThrottleEvent) -> str:
    """Clock and power before and sustained: ``3.50 → 2.73 GHz, 50.5 → 38.9 W``.

    Where nothing was before, of what the machine can do: ``2.30 of 3.20 GHz, 15.0 W``.
    """
    clock, power = event.clock_sustained_mhz, event.power_sustained_w
    if event.from_start and event.clock_before_mhz is not None and clock is not None:
        reached = f"{plain(clock / 1000, 2)} of {clock_ghz(event.clock_before_mhz)}"
        return reached if power is None else f"{reached}, {quantity(power, Unit.WATT)}"
    parts = (
        change(event.clock_before_mhz, clock, Unit.MEGAHERTZ),
        change(event.power_before_w, power, Unit.WATT),
    )
    return ", ".join(part for part in parts if part)


def event_sentence(event: ThrottleEvent, recording_ended_s: float | None = None, *, with_figures: bool = True) -> str:
    """One sentence for an event, open or closed: ``Throttled by heat at 82 °C since 3:05: 3.50 → 2.78 GHz``.

    Args:
        event: the event.
        recording_ended_s: when the recording ended, if it has [s]; an event still open then lasted at least so long.
        with_figures: say clock and power; not where a table beside it has them.
    """
    text = f"{_state(event)} {_when(event, recording_ended_s)}"
    figures = event_figures(event) if with_figures else ""
    text = f"{text}: {figures}." if figures else f"{text}."
    is_over = not event.is_open or recording_ended_s is not None
    return f"Was {text}" if is_over else f"{text[:1].upper()}{text[1:]}"


def _state(event: ThrottleEvent) -> str:
    """``throttled by heat at 82 °C``; ``throttled at 82 °C, cause unknown,``."""
    at = "" if event.temp_plateau_c is None else f" at {quantity(event.temp_plateau_c, Unit.CELSIUS, 1.0)}"
    if event.cause is Cause.UNEXPLAINED:
        return f"throttled{at}, {likely_words(event) or CAUSE_WORDS[event.cause]},"
    state = _STATES[event.cause]
    if event.cause is Cause.POWER_LIMIT and event.from_start and event.power_limit_w is not None:
        return f"{state} to {quantity(event.power_limit_w, Unit.WATT)}"
    return f"{state}{at}"


def _when(event: ThrottleEvent, recording_ended_s: float | None) -> str:
    """``from 4:59 to 12:00 (7:01)``."""
    start = duration(event.start_s)
    if event.is_open and recording_ended_s is None:
        return f"since the load began at {start}" if event.from_start else f"since {start}"
    began = f"from the load's start at {start}" if event.from_start else f"from {start}"
    if event.is_open:
        return f"{began} until the recording ended"
    # From the times as they are shown, so that a reader who subtracts gets the same.
    length = duration(int(event.end_s or 0.0) - int(event.start_s))
    return f"{began} to {duration(event.end_s)} ({length})"


def event_details(event: ThrottleEvent) -> tuple[str, ...]:
    """What else is known of an event, a sentence each: cause, evidence, what is missing, how much was lost."""
    lines = [f"{sentence[:1].upper()}{sentence[1:]}." for sentence in evidence_sentences(event)]
    held_c, told_c = event.temp_plateau_c, event.temp_told_c
    if event.cause is Cause.THERMAL and held_c is not None and told_c is not None and told_c - held_c > TOLD_APART_K:
        lines.insert(0, f"The limit that the sensors report, {quantity(told_c, Unit.CELSIUS, 1.0)}, was not reached.")
    if event.cause is not Cause.UNEXPLAINED:
        lines.append(f"Confidence in the cause: {chance(event.confidence)}.")
    wanted = wanted_words(event)
    if wanted:
        lines.append(f"Needed to confirm: {wanted}.")
    lines.append(_extent(event))
    if event.revision:
        first = CAUSE_WORDS[event.first_cause]
        lines.append(f"First reported as {first} at {duration(event.announced_s)}, then corrected.")
    return tuple(line for line in lines if line)


def _extent(event: ThrottleEvent) -> str:
    """How much of the time, and how much work it cost: ``Throttled throughout; work lost: 20%``."""
    parts = []
    if event.limited_share is not None:
        if event.limited_share >= _THROUGHOUT:
            parts.append("throttled throughout")
        else:
            recovered = f", recovered {counted(event.recoveries, 'time')}" if event.recoveries else ""
            parts.append(f"throttled for {share(event.limited_share)} of that time{recovered}")
    if event.work_lost is not None:
        parts.append(f"work lost: {share(event.work_lost)}")
    text = "; ".join(parts)
    return f"{text[:1].upper()}{text[1:]}." if text else ""
