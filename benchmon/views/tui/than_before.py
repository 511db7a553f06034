"""The running difference to the earlier run that is laid behind the traces, in words."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from benchmon.analysis.compare.comparable import is_one_machine
from benchmon.analysis.compare.differences import ROOM_SHARED
from benchmon.analysis.compare.running import BEFORE_S, WINDOW_S, Begin, Moment, running_difference
from benchmon.analysis.thermal.steady import ROOM_U_K, room_u_k
from benchmon.model import keys
from benchmon.model.events import Cause
from benchmon.model.findings import PhaseFindings
from benchmon.model.records import MarkKind
from benchmon.model.running import NotSaid, RunningDifference, Silence
from benchmon.views.tui.behind import Behind
from benchmon.views.tui.state import ViewState
from benchmon.views.words.running import not_said_sentence, running_sentence, when_words

SAME_LOAD_POINTS = 7.5
"""Mean loads this near to one another are the same [points of per cent]: as where a phase begins by its load."""


def than_before(state: ViewState, phases: Sequence[PhaseFindings], behind: Behind) -> str:
    """``4.1 ± 0.9 K cooler than on 12 November at the same power``, or why that is not said.

    Empty where no phase runs.
    """
    if not phases or phases[-1].end_s is not None or state.header is None or behind.state.header is None:
        return ""
    found = against(state, phases, behind)
    when = when_words(behind.state.header.started_at, state.header.started_at)
    return running_sentence(found, when) if isinstance(found, RunningDifference) else not_said_sentence(found, when)


def against(state: ViewState, phases: Sequence[PhaseFindings], behind: Behind) -> RunningDifference | NotSaid:
    """The phase that runs, held against its like in the earlier run at the same moment."""
    phase, then = phases[-1], behind.state
    twin = behind.twin(phases, phase)
    since_s = state.now_s - phase.start_s
    if twin is None:
        return NotSaid(Silence.NO_PHASE)
    if twin.start_s + since_s > (then.now_s if twin.end_s is None else twin.end_s):
        return NotSaid(Silence.OVER)
    if phase.work is not None and twin.work is not None and phase.work.kind != twin.work.kind:
        return NotSaid(Silence.WORK)
    if _loads_apart(phase, twin):
        return NotSaid(Silence.LOAD)
    same_thermometer = _source(state, keys.ROOM_TEMP) == _source(then, keys.ROOM_TEMP) is not None
    here = _moment(state, phase, state.now_s, same_thermometer=same_thermometer)
    there = _moment(then, twin, twin.start_s + since_s, same_thermometer=same_thermometer)
    if isinstance(here, Silence):
        return NotSaid(here)
    if isinstance(there, Silence):
        return NotSaid(there, is_earlier=True)
    return running_difference(here, there, since_s, same_machine=is_one_machine(state.machine, then.machine))


def _loads_apart(phase: PhaseFindings, twin: PhaseFindings) -> bool:
    """Whether phases of one name were loaded otherwise: one hot core is hotter for the same watts than all together."""
    loads = [one.means.get(keys.LOAD) for one in (phase, twin)]
    known = [load.mean for load in loads if load is not None]
    return len(known) == 2 and abs(known[0] - known[1]) > SAME_LOAD_POINTS


def _moment(state: ViewState, phase: PhaseFindings, t_s: float, *, same_thermometer: bool) -> Moment | Silence:
    """Means of the last readings before a time within a phase, or what was not read."""
    begin_s = max(t_s - WINDOW_S, phase.start_s)
    temp, power = (_mean(state, key, begin_s, t_s) for key in (keys.PROCESSOR_TEMP, keys.PACKAGE_POWER))
    if temp is None or power is None or phase.room_c is None:
        return Silence.TEMPERATURE if temp is None else Silence.POWER if power is None else Silence.ROOM
    step_k = state.tracks[keys.PROCESSOR_TEMP].channel.resolution or 0.0
    is_held = any(
        event.cause is Cause.THERMAL and event.start_s < t_s and (event.end_s is None or event.end_s >= t_s)
        for event in state.events.values()
    )
    room_u = _room_u(state, t_s) * (sqrt(1.0 - ROOM_SHARED) if same_thermometer else 1.0)
    return Moment(temp, power, phase.room_c, room_u, step_k, is_held, _begin(state, phase))


def _begin(state: ViewState, phase: PhaseFindings) -> Begin | None:
    """The last readings before the phase; None if there are none."""
    if phase.start_s <= 0.0 or phase.room_c is None:
        return None
    since_s, until_s = phase.start_s - BEFORE_S, phase.start_s - 1e-6
    temp, power = (_mean(state, key, since_s, until_s) for key in (keys.PROCESSOR_TEMP, keys.PACKAGE_POWER))
    return None if temp is None or power is None else Begin(temp - phase.room_c, power)


def _room_u(state: ViewState, t_s: float) -> float:
    """Standard uncertainty of the room: the longer ago it was entered, the further it may have drifted [K]."""
    if keys.ROOM_TEMP in state.tracks and state.tracks[keys.ROOM_TEMP].was_read:
        return ROOM_U_K
    away_s = min((abs(mark.t_s - t_s) for mark in state.marks.of(MarkKind.ROOM)), default=0.0)
    return room_u_k(away_s)


def _source(state: ViewState, key: str) -> str | None:
    """Where a channel that was read comes from."""
    track = state.tracks.get(key)
    return None if track is None or not track.was_read else track.channel.source


def _mean(state: ViewState, key: str, begin_s: float, end_s: float) -> float | None:
    """Mean of the readings after ``begin_s`` up to ``end_s``; None if there are none."""
    track = state.tracks.get(key)
    last, first = state.index_at(end_s), state.index_at(begin_s)
    if track is None or last is None:
        return None
    after = 0 if first is None else first + 1
    read = [value for at in range(after, last + 1) if (value := track.at(at)) is not None]
    return sum(read) / len(read) if read else None
