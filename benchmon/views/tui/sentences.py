"""The words on top: the heading, what is happening, and what comes next. Sentences of one event are in ``views.words``."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import PhaseFindings
from benchmon.model.records import MarkKind
from benchmon.model.units import Unit
from benchmon.views.numbers import NOT_READ, clock_ghz, duration, plain, quantity, share
from benchmon.views.tui.look import Run
from benchmon.views.tui.quantities import shown_quantities
from benchmon.views.tui.state import ViewState
from benchmon.views.words import event_sentence, forecast_sentence, gap_sentence

_RECENT_S = 10.0
_STALE_PERIODS = 6.0


def heading_left(state: ViewState) -> str:
    """What is on the bench: tags in words, else the processor."""
    tags = ", ".join(f"{key} {value}".strip() for key, value in state.tags.items())
    if tags:
        return tags
    if state.machine is not None and state.machine.processor:
        return state.machine.processor
    return "bench sheet"


def heading_right(state: ViewState, screen_cost_pct: float | None) -> list[list[Run]]:
    """Room, wall, time running and cost; the later a part stands, the earlier it may be left out."""
    now_s = state.now_s
    parts: list[list[Run]] = [
        [("plain", "lasted " if state.end is not None else "running "), ("strong", duration(now_s))]
    ]
    room = state.latest_of(keys.ROOM_TEMP, MarkKind.ROOM)
    parts.append([("plain", f"room {quantity(room[0] if room else None, Unit.CELSIUS)}")])
    wall = state.latest_of(keys.WALL_POWER, MarkKind.WALL)
    if wall is None:
        parts.append([("plain", f"wall {NOT_READ}")])
    else:
        age = "" if keys.WALL_POWER in state.tracks else f", {duration(now_s - wall[1])} ago"
        parts.append([("plain", f"wall {quantity(wall[0], Unit.WATT)}{age}")])
    cost = own_cost(state, screen_cost_pct)
    if cost:
        parts.append([("dim", cost)])
    return parts


def own_cost(state: ViewState, screen_cost_pct: float | None) -> str:
    """What the tool itself takes from the machine, recorder and screen together; empty if it is not known."""
    track = state.tracks.get(keys.RECORDER_COST)
    recorder = track.last if track is not None else None
    known = [cost for cost in (recorder, screen_cost_pct) if cost is not None]
    return f"this tool {plain(sum(known), 1)}% of a core" if known else ""


def time_words(state: ViewState) -> str:
    """That time does not run as usual; empty if it does."""
    header = state.header
    if header is None or (header.time_scale == 1.0 and not header.virtual):
        return ""
    pace = "" if header.time_scale == 1.0 else f"{header.time_scale:g}× real time"
    return ", ".join(words for words in ("virtual bench" if header.virtual else "", pace) if words)


def happening(state: ViewState, phases: Sequence[PhaseFindings], silent_s: float | None) -> str:
    """What is happening now, the most important thing first.

    Args:
        state: what is known.
        phases: rows of the sheet.
        silent_s: real seconds since anything came from a recorder that should be running; None if none should.
    """
    if state.header is None:
        return "Waiting for the recording to begin."
    if state.end is not None:
        return f"The recording ended at {duration(state.end.t_s)} ({state.end.reason}). {_last_event(state)}".rstrip()
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
    shown = {one.key for one in shown_quantities(state)}
    words = {keys.CLOCK: "clock", keys.PACKAGE_POWER: "package power", keys.PROCESSOR_TEMP: "temperature"}
    missing = [word for key, word in words.items() if key not in shown or key in state.unreadable]
    if not missing:
        return ""
    reasons = [state.unreadable[key] for key in words if state.unreadable.get(key)]
    because = f" ({reasons[0]})" if reasons else " (“benchmon sensors” says why)"
    return f"Not read here: {', '.join(missing)}{because}."


def reading_at(state: ViewState, t_s: float) -> str:
    """Every quantity at one instant, exactly as it was read."""
    index = state.index_at(t_s)
    if index is None:
        return f"At {duration(t_s)} nothing had been read yet."
    at_s = state.times[index]
    words = [
        f"{one.name} {one.words(track.at(index), track.channel.resolution)}"
        for one in shown_quantities(state)
        for track in (state.tracks[one.key],)
    ]
    return f"At {duration(at_s)}{_fraction(at_s)}: {', '.join(words)}."


def _fraction(t_s: float) -> str:
    return f".{int(t_s * 10 + 1e-6) % 10}"


def _why(event: ThrottleEvent) -> str:
    """The strongest evidence for an event, and what it costs."""
    evidence = event.evidence[0]
    lost = "" if event.work_lost is None else f" Work lost so far: {share(event.work_lost)}."
    return f"{evidence[:1].upper()}{evidence[1:].rstrip('.')}.{lost}"


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
