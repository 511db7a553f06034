"""Which phases heat the processor alike, so that they may stand on one line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.intake.seen_load import ALL_PCT, idle_below_pct
from benchmon.analysis.thermal.steady import SteadyState
from benchmon.model import keys

IDLE, ALL, SOME, UNKNOWN = "idle", "all cores", "some cores", "unknown"


@dataclass(frozen=True, slots=True)
class Group:
    """Phases for one line."""

    states: tuple[SteadyState, ...]
    left_out: Mapping[str, str]
    main: SteadyState | None
    """The one that says most about the cooler: the hottest of those that heat all cores, else of all."""
    heating: str
    """How that one heats the processor."""


def heating(notebook: Notebook, phase: Phase, load_pct: float | None) -> str:
    """How a phase heats the processor: idle, all cores, or one core or some.

    By what the load was meant to be; where nobody said, by the load that was read.
    """
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    step = notebook.tracker.load_at((phase.start_s + end_s) / 2)
    if step is not None and step.busy_cores is not None and not step.is_seen:
        if step.busy_cores == 0:
            return IDLE
        return ALL if notebook.tracker.is_all_cores(step.busy_cores) else SOME
    if load_pct is None or (step is not None and step.is_by_power):
        return UNKNOWN
    idle_pct = idle_below_pct(notebook.tracker.logical_processors)
    return IDLE if load_pct < idle_pct else ALL if load_pct > ALL_PCT else SOME


def hot_spots(notebook: Notebook) -> tuple[tuple[tuple[float, float], ...], ...]:
    """When only some cores were busy, those with equally many together: begin and end of each stretch [s]."""
    found: dict[int, list[tuple[float, float]]] = {}
    for phase in notebook.tracker.phases:
        load = load_of(notebook, phase)
        if heating(notebook, phase, load) != SOME:
            continue
        step = notebook.tracker.load_at(phase.start_s + 0.5)
        busy = None if step is None or step.is_seen else step.busy_cores
        key = -round((load or 0.0) / 10.0) if busy is None else busy
        found.setdefault(key, []).append((phase.start_s, inf if phase.end_s is None else phase.end_s))
    return tuple(tuple(stretches) for stretches in found.values())


def load_of(notebook: Notebook, phase: Phase) -> float | None:
    """Mean load of a phase [%]; None if it was not read."""
    sums = notebook.sums(phase)
    if sums is None or keys.LOAD not in notebook.column_keys:
        return None
    spread = sums.spreads[notebook.column_keys.index(keys.LOAD)]
    return None if spread is None else spread.mean


def group(notebook: Notebook, states: Sequence[SteadyState], unsettled: Mapping[str, str]) -> Group:
    """Put together idling and full load; one hot core reads hotter for the same watts and stays apart.

    Where no phase loads all cores, idling and the phases with the most watts stand together. Phases of which nothing
    is known about the load stand with the full load, and the reader is told nothing: there is nothing to tell them by.
    """
    kinds: dict[Phase, str] = {}
    for state in states:
        kinds[state.phase] = heating(notebook, state.phase, load_of(notebook, state.phase))
    full = [state for state in states if kinds[state.phase] in {ALL, UNKNOWN}]
    wanted = {IDLE, ALL, UNKNOWN} if full else {IDLE, SOME}
    left_out = dict(unsettled)
    for state in states:
        if kinds[state.phase] not in wanted:
            left_out[state.phase.name] = "only some cores were busy: a hot core reads hotter for the same watts"
    chosen = tuple(state for state in states if kinds[state.phase] in wanted)
    loaded = full or [state for state in chosen if kinds[state.phase] != IDLE] or list(chosen)
    main = max(loaded, key=lambda state: state.power_w, default=None)
    return Group(chosen, left_out, main, UNKNOWN if main is None else kinds[main.phase])
