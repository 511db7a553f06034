"""The plain words on top: what is happening, and what comes next. The sentences themselves are in ``views.words``."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.findings import Forecast, PhaseFindings
from benchmon.model.plan import ConditionKind
from benchmon.views.tui.quantities import shown_quantities
from benchmon.views.tui.state import ViewState
from benchmon.views.words.events import event_sentence
from benchmon.views.words.now import (
    FIRST_READINGS,
    NEVER_LIMITED,
    WAITING,
    cut_words,
    ended_words,
    free_words,
    not_read_words,
    phase_words,
    silent_words,
    why_words,
)
from benchmon.views.words.outlook import forecast_sentence
from benchmon.views.words.plans import CONFIRM_KEY, progress_sentence
from benchmon.views.words.records import gap_sentence, missing_words
from benchmon.views.words.sustains import sustains_sentence
from benchmon.views.words.verdict import answers

_ANSWERS = 2
"""So many sentences of the verdict stand above the paper; all of them are on the sheet."""
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
        return WAITING
    if state.end is not None:
        return ended_words(state.end.t_s, state.end.reason)
    if is_cut:
        return cut_words(state.now_s)
    if silent_s is not None and silent_s > max(_STALE_PERIODS * state.header.period_s, 5.0):
        return silent_words(silent_s)
    if not state.times:
        return FIRST_READINGS
    parts = [_phase_words(state, phases)]
    event = state.open_event
    if event is not None:
        parts.insert(0, event_sentence(event))
    elif state.gaps and state.now_s - state.gaps[-1].end_s < _RECENT_S:
        parts.append(gap_sentence(state.gaps[-1]))
    else:
        parts.append(_free_words(state))
    return " ".join(part for part in parts if part)


def coming(state: ViewState) -> str:
    """What a plan waits for; then what the cooler sustains, else the forecast, else what cannot be seen here."""
    progress = state.analyst.progress() if state.end is None else None
    rest = _coming_by_itself(state)
    if progress is None:
        return rest
    pause = any(one.kind is ConditionKind.CONFIRMED for one in progress.phase.until)
    words = progress_sentence(progress, state.now_s, confirm=CONFIRM_KEY if pause else "")
    return f"{words} {rest}".rstrip()


def _coming_by_itself(state: ViewState) -> str:
    forecast, sustained = _forecast_of_now(state), state.analyst.sustains
    event = state.open_event
    if event is not None and event.cause is Cause.THERMAL and sustained is not None:
        return sustains_sentence(sustained)
    if event is not None and event.evidence:
        return why_words(event)
    if forecast is not None and forecast.settles_at_c.value is not None:
        return forecast_sentence(forecast, state.now_s)
    missing = not_read(state)
    if missing:
        return missing
    return forecast_sentence(forecast, state.now_s) if forecast is not None else ""


def _forecast_of_now(state: ViewState) -> Forecast | None:
    """The latest forecast, if it speaks of the phase that lasts: it may come late, when another has begun."""
    forecast, phases = state.analyst.forecast, state.analyst.phases()
    if forecast is None or not phases:
        return forecast
    is_of_it = forecast.phase == phases[-1].name and forecast.said_at_s >= phases[-1].start_s
    return forecast if is_of_it else None


def concluded(state: ViewState) -> list[str]:
    """What is said of a run that is over, the answer first; empty before it was concluded."""
    found = state.conclusion
    if found is None:
        return []
    events = [_last_event(state)] if state.events else [NEVER_LIMITED] if keys.CLOCK in state.tracks else []
    return [*answers(found)[:_ANSWERS], *events]


def not_read(state: ViewState) -> str:
    """Which of the quantities that matter cannot be read here; empty if all can."""
    if not state.times:
        return ""
    missing = missing_words({one.key for one in shown_quantities(state)} - state.unreadable.keys())
    if not missing:
        return ""
    matter = (keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP)
    reasons = [state.unreadable[key] for key in matter if state.unreadable.get(key)]
    return not_read_words(missing, reasons[0] if reasons else None)


def _phase_words(state: ViewState, phases: Sequence[PhaseFindings]) -> str:
    if not phases or phases[-1].end_s is not None:
        return ""
    phase = phases[-1]
    return phase_words(phase.name, state.now_s - phase.start_s)


def _free_words(state: ViewState) -> str:
    """Not throttled, with what the processor does."""
    clock, power, temp = (
        state.tracks[key].last if key in state.tracks else None
        for key in (keys.CLOCK, keys.PACKAGE_POWER, keys.PROCESSOR_TEMP)
    )
    step = state.tracks[keys.PROCESSOR_TEMP].channel.resolution if temp is not None else None
    return free_words(clock, power, temp, step)


def _last_event(state: ViewState) -> str:
    return event_sentence(max(state.events.values(), key=lambda event: event.start_s))
