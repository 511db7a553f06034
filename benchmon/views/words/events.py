"""Throttle events in sentences: what happened, and what else is known of it."""

from __future__ import annotations

from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.units import Unit
from benchmon.views.numbers import NOT_READ, clock_ghz, counted, duration, plain, quantity, share
from benchmon.views.words.evidence import CAUSE_WORDS, evidence_sentences, likely_words, tenths, wanted_words

TOLD_APART_K = 3.0
"""A told limit this far above the defended temperature is worth a sentence [K]."""

CAUSE_LETTERS = {Cause.THERMAL: "H", Cause.POWER_LIMIT: "P", Cause.OUTSIDE: "O", Cause.UNEXPLAINED: "?"}
"""One letter for each cause, where there is room for no more; never colour alone."""


def change(before: float | None, after: float | None, unit: Unit) -> str:
    """``52.4 → 39.9 W``; empty if neither is known."""
    if before is None and after is None:
        return ""
    if unit is Unit.MEGAHERTZ:
        first = NOT_READ if before is None else plain(before / 1000, 2)
        return f"{first} → {clock_ghz(after)}"
    return f"{NOT_READ if before is None else plain(before, 1)} → {quantity(after, unit)}"


def event_figures(event: ThrottleEvent) -> str:
    """Clock and power before, and their mean while held: ``3.50 → 2.79 GHz, 52.4 → 39.9 W``.

    Where nothing was before, of what the machine can do: ``2.30 of 3.20 GHz, 15.0 W``.
    """
    if event.from_start and event.clock_before_mhz is not None and event.clock_held_mhz is not None:
        held = f"{plain(event.clock_held_mhz / 1000, 2)} of {clock_ghz(event.clock_before_mhz)}"
        return held if event.power_held_w is None else f"{held}, {quantity(event.power_held_w, Unit.WATT)}"
    parts = (
        change(event.clock_before_mhz, event.clock_held_mhz, Unit.MEGAHERTZ),
        change(event.power_before_w, event.power_held_w, Unit.WATT),
    )
    return ", ".join(part for part in parts if part)


def event_sentence(event: ThrottleEvent, recording_ended_s: float | None = None) -> str:
    """One sentence for an event, open or closed: ``Held at 81 °C by heat since 3:05: 3.50 → 2.78 GHz``.

    Args:
        event: the event.
        recording_ended_s: when the recording ended, if it has [s]; an event still open then lasted at least so long.
    """
    plateau = f" at {quantity(event.temp_plateau_c, Unit.CELSIUS)}" if event.temp_plateau_c is not None else ""
    by = CAUSE_WORDS[event.cause]
    likely = likely_words(event)
    if likely:
        by = f"something not certain, {likely},"
    is_over = not event.is_open or recording_ended_s is not None
    if event.from_start:
        head = _from_start_words(event, likely, is_over=is_over)
    elif event.is_open and recording_ended_s is not None:
        head = f"Was held{plateau} by {by} from {duration(event.start_s)} until the recording ended"
    elif event.is_open:
        head = f"Held{plateau} by {by} since {duration(event.start_s)}"
    else:
        # From the times as they are shown, so that a reader who subtracts gets the same.
        length = duration(int(event.end_s or 0.0) - int(event.start_s))
        head = f"Was held{plateau} by {by} from {duration(event.start_s)} to {duration(event.end_s)} ({length})"
    figures = event_figures(event)
    return f"{head}: {figures}." if figures else f"{head}."


def _from_start_words(event: ThrottleEvent, likely: str, *, is_over: bool) -> str:
    """``At its 15 W power limit since the load began at 0:40``."""
    by = f"Limited, {likely}," if likely else f"Held back by {CAUSE_WORDS[event.cause]}"
    if event.cause is Cause.POWER_LIMIT and event.power_limit_w is not None:
        by = f"At its {quantity(event.power_limit_w, Unit.WATT)} power limit"
    if event.end_s is None:
        return f"{by} since the load began at {duration(event.start_s)}"
    was = f"Was {by[:1].lower()}{by[1:]}" if is_over else by
    return f"{was} from the load's first second on, {duration(event.start_s)} to {duration(event.end_s)}"


def event_details(event: ThrottleEvent) -> tuple[str, ...]:
    """What else is known of an event, a sentence each: evidence, doubt, share, work lost."""
    lines = [f"{sentence[:1].upper()}{sentence[1:]}." for sentence in evidence_sentences(event)]
    held_c, told_c = event.temp_plateau_c, event.temp_told_c
    if event.cause is Cause.THERMAL and held_c is not None and told_c is not None and told_c - held_c > TOLD_APART_K:
        held, told = quantity(held_c, Unit.CELSIUS), quantity(told_c, Unit.CELSIUS, 1.0)
        lines.insert(0, f"The machine defends {held}; the sensors tell {told}.")
    if event.cause is not Cause.UNEXPLAINED:
        lines.append(f"How sure that is: {tenths(event.confidence)}.")
    wanted = wanted_words(event)
    if wanted:
        lines.append(f"What would settle it: {wanted}.")
    lowest = (quantity(event.power_lowest_w, Unit.WATT), clock_ghz(event.clock_lowest_mhz))
    if lowest != (NOT_READ, NOT_READ):
        words = ", ".join(word for word in reversed(lowest) if word != NOT_READ)
        lines.append(f"Held means the average over the whole event; the lowest was {words}.")
    if event.limited_share is not None:
        recovered = f", recovering {counted(event.recoveries, 'time')}" if event.recoveries else ""
        lines.append(f"Limited {share(event.limited_share)} of that time{recovered}.")
    if event.work_lost is not None:
        lines.append(f"Work lost: {share(event.work_lost)}.")
    if event.revision:
        first = CAUSE_WORDS[event.first_cause]
        lines.append(
            f"First announced at {duration(event.announced_s)} as {first}; revised {counted(event.revision, 'time')}."
        )
    return tuple(lines)
