"""What is happening now, in sentences: what the screen says on top, each part by itself."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model.events import ThrottleEvent
from benchmon.model.units import Unit
from benchmon.views.numbers import clock_ghz, duration, quantity, share
from benchmon.views.words.evidence import evidence_sentences

WAITING = "Waiting for the recording to begin."
FIRST_READINGS = "The recording has begun; the first readings are on their way."
NEVER_LIMITED = "It was never throttled."


def ended_words(ended_s: float, reason: str) -> str:
    """``The recording ended at 12:00 (stopped by key).``."""
    return f"The recording ended at {duration(ended_s)} ({reason})."


def cut_words(last_s: float) -> str:
    """A stored session that stops without an end."""
    return f"The recording stops at {duration(last_s)} without an end: it was cut, or it still runs."


def silent_words(silent_s: float) -> str:
    """A recorder from which nothing comes."""
    return f"Nothing has come from the recorder for {duration(silent_s)}: it was stopped, or the machine is busy."


def phase_words(name: str, length_s: float) -> str:
    """``All cores for 3:10.``."""
    return f"{name[:1].upper()}{name[1:]} for {duration(length_s)}."


def free_words(clock_mhz: float | None, power_w: float | None, temp_c: float | None, temp_step: float | None) -> str:
    """What the processor does while nothing throttles it; empty if nothing is read.

    Args:
        clock_mhz: clock [MHz].
        power_w: package power [W].
        temp_c: temperature [°C].
        temp_step: smallest step of that temperature [K].
    """
    parts = []
    if clock_mhz is not None:
        parts.append(clock_ghz(clock_mhz))
    if power_w is not None:
        parts.append(quantity(power_w, Unit.WATT))
    if temp_c is not None:
        parts.append(quantity(temp_c, Unit.CELSIUS, temp_step))
    if clock_mhz is None:
        return f"Now {', '.join(parts)}." if parts else ""
    return f"Not throttled: {', '.join(parts)}."


def why_words(event: ThrottleEvent) -> str:
    """The strongest evidence for an event, and what it costs."""
    evidence = evidence_sentences(event)[0]
    lost = "" if event.work_lost is None else f" Work lost so far: {share(event.work_lost)}."
    return f"{evidence[:1].upper()}{evidence[1:]}.{lost}"


def not_read_words(missing: Sequence[str], reason: str | None) -> str:
    """Which of the quantities that matter are not read, and why."""
    because = f" ({reason})" if reason else " (“benchmon channels” says why)"
    return f"Not read here: {', '.join(missing)}{because}."
