"""The plain words on top: what is happening, and what comes next. Sentences of one event are in ``views.words``."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import PhaseFindings
from benchmon.model.units import Unit
from benchmon.views.evidence_words import evidence_sentences
from benchmon.views.numbers import clock_ghz, duration, quantity, share
from benchmon.views.tui.quantities import shown_quantities
from benchmon.views.tui.state import ViewState
from benchmon.views.words import event_sentence, forecast_sentence, gap_sentence, missing_words

_RECENT_S = 10.0
_STALE_PERIODS = 6.0


def happening(
    state: ViewState, phases: Sequence[PhaseFindings], silent_s: float | None, *, is_cut: bool = False
) -> str:
    """What is happening now, the most important thing first.

    Args:
        state: what is known.
        phases: rows of the sheet.
        silent_s: real seconds since anything came from a recorder that should be running; None if none should.
        is_cut: a stored session stops here without having been ended.
    """
    if state.header is None:
        return "Waiting for the recording to begin."
    if state.end is not None:
        return f"The recording ended at {duration(state.end.t_s)} ({state.end.reason}). {_last_event(state)}".rstrip()
    if is_cut:
        return f"The recording stops at {duration(state.now_s)} without an end: it was cut, or it still runs."
    if silent_s is not None and silent_s > max(_STALE_PERIODS * state.header.period_s, 5.0):
        return f"Nothing has come from the recorder for {duration(silent_s)}: it was stopped, or the machine is busy."
    if not state.times:
        return "The recording has begun; the first readings are on their way."
    parts = [_phase_words(state, phases)]
    event = state.open_event
    if event is not None:
        parts.append(event_sentence(event))
    elif state.gaps and state.now_s - state.gaps[-1].end_s < _RECENT_S:
        parts.append(gap_sentence(state.gaps[-1]))
    else:
        parts.append(_free_words(state))
    return " ".join(part for part in parts if part)


def coming(state: ViewState) -> str:
    """The forecast; where there is none to give, what cannot be seen here."""
    forecast = state.analyst.forecast
    event = state.open_event
    if event is not None and event.evidence:
        return _why(event)
    if forecast is not None and forecast.settles_at_c.value is not None and state.end is None:
        return forecast_sentence(forecast, state.now_s)
    missing = not_read(state)
    if missing:
        return missing
    return forecast_sentence(forecast, state.now_s) if forecast is not None and state.end is None else ""


def not_read(state: ViewState) -> str:
    """Which of the quantities that matter cannot be read here; empty if all can."""
    if not state.times:
        return ""
    missing = missing_words({one.key for one in shown_quantities(state)} - state.unreadable.keys())
    if not missing:
        return ""
    matter = (keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP)
    reasons = [state.unreadable[key] for key in matter if state.unreadable.get(key)]
    because = f" ({reasons[0]})" if reasons else " (“benchmon channels” says why)"
    return f"Not read here: {', '.join(missing)}{because}."


def _why(event: ThrottleEvent) -> str:
    """The strongest evidence for an event, and what it costs."""
    evidence = evidence_sentences(event)[0]
    lost = "" if event.work_lost is None else f" Work lost so far: {share(event.work_lost)}."
    return f"{evidence[:1].upper()}{evidence[1:]}.{lost}"


def _phase_words(state: ViewState, phases: Sequence[PhaseFindings]) -> str:
    if not phases or phases[-1].end_s is not None:
        return ""
    phase = phases[-1]
    name = phase.name[:1].upper() + phase.name[1:]
    return f"{name} for {duration(state.now_s - phase.start_s)}."


def _free_words(state: ViewState) -> str:
    """Not held back, with what the processor does."""
    clock, power, temp = (
        state.tracks[key].last if key in state.tracks else None
        for key in (keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP)
    )
    parts = []
    if clock is not None:
        parts.append(clock_ghz(clock))
    if power is not None:
        parts.append(quantity(power, Unit.WATT))
    if temp is not None:
        parts.append(quantity(temp, Unit.CELSIUS, state.tracks[keys.PROCESSOR_TEMP].channel.resolution))
    if clock is None:
        return f"Now {', '.join(parts)}." if parts else ""
    return f"Not held back: {', '.join(parts)}."


def _last_event(state: ViewState) -> str:
    if not state.events:
        return "It was never held back." if keys.CLOCK in state.tracks else ""
    return event_sentence(max(state.events.values(), key=lambda event: event.start_s))
