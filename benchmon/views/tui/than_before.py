"""The running difference to the earlier run that is laid behind the traces, in words."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.analysis.compare.running import WINDOW_S, Moment, running_difference
from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.findings import PhaseFindings
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.state import ViewState
from benchmon.views.words.comparison import running_sentence


def than_before(state: ViewState, phases: Sequence[PhaseFindings], behind: Behind) -> str:
    """``4.1 ± 0.9 K cooler than on 12 November at the same power``; empty until it means something."""
    if not phases or phases[-1].end_s is not None or state.header is None or behind.state.header is None:
        return ""
    phase = phases[-1]
    twin = behind.twin(phases, phase)
    since_s = state.now_s - phase.start_s
    if twin is None or twin.start_s + since_s > (behind.state.now_s if twin.end_s is None else twin.end_s):
        return ""
    now = _moment(state, phase, state.now_s)
    then = _moment(behind.state, twin, twin.start_s + since_s)
    found = None if now is None or then is None else running_difference(now, then, since_s)
    if found is None:
        return ""
    earlier, today = behind.state.header.started_at, state.header.started_at
    is_same_day = earlier.date() == today.date()
    return running_sentence(found, f"{earlier:at %H:%M UTC}" if is_same_day else f"on {earlier.day} {earlier:%B}")


def _moment(state: ViewState, phase: PhaseFindings, t_s: float) -> Moment | None:
    """Means of the last readings before a time within a phase; None if something was not read."""
    begin_s = max(t_s - WINDOW_S, phase.start_s)
    temp, power = (_mean(state, key, begin_s, t_s) for key in (keys.PROCESSOR_TEMP, keys.PACKAGE_POWER))
    if temp is None or power is None or phase.room_c is None:
        return None
    step_k = state.tracks[keys.PROCESSOR_TEMP].channel.resolution or 0.0
    is_held = any(
        event.cause is Cause.THERMAL and event.start_s < t_s and (event.end_s is None or event.end_s >= t_s)
        for event in state.events.values()
    )
    return Moment(temp, power, phase.room_c, step_k, is_held)


def _mean(state: ViewState, key: str, begin_s: float, end_s: float) -> float | None:
    track = state.tracks.get(key)
    last, first = state.index_at(end_s), state.index_at(begin_s)
    if track is None or last is None:
        return None
    read = [value for at in range(0 if first is None else first, last + 1) if (value := track.at(at)) is not None]
    return sum(read) / len(read) if read else None
