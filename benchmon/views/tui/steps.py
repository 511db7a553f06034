"""A step is a phase and its load: what goes with the phase that a key has marked, offered and never done by itself."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model import keys, phase_names
from benchmon.model.records import MarkKind
from benchmon.model.work_kinds import WORK_KINDS
from benchmon.views.tui.prompts import Request
from benchmon.views.tui.state import ViewState

LOADED = {phase_names.ONE_CORE: "one", phase_names.ALL_CORES: "all"}
_AT_REST = {phase_names.IDLE, phase_names.COOL_DOWN}
_BUSY_SHARE = 0.6
"""Somebody else's load is there if so much of one core is busy that is not ours."""


@dataclass(frozen=True, slots=True)
class Offer:
    """What enter does; any other key goes its own way and leaves it undone."""

    words: str
    """What is offered, as a question."""
    requests: tuple[Request, ...]
    """What the recorder is asked then, in this order."""
    done: str
    """What is said when it was done."""


def offer_with_phase(state: ViewState, phase: str, number: object) -> Offer | None:
    """What goes with a phase that was just marked: its load, or the end of the one that runs; None if it is so already.

    Args:
        state: what is known.
        phase: the phase's name.
        number: the mark's number, so that the phase begins where its load does; anything else leaves it where it is.
    """
    load = state.load if state.load_runs else None
    if load is not None and load.busy_cores is None:
        return None  # the user's own command: when it ends is its own affair
    again: tuple[Request, ...] = ()
    if isinstance(number, int):
        again = ({"do": "mark", "kind": "phase", "text": phase, "replaces": number},)
    stop: tuple[Request, ...] = () if load is None else ({"do": "load_stop"},)
    if phase in _AT_REST:
        if load is None:
            return None
        words = f"The load still runs ({load.what}). Stop it?"
        return Offer(words, (*stop, *again), f"{_named(phase)}: the load was stopped.")
    wanted = LOADED.get(phase)
    if wanted is None or _is_so(state, wanted) or others_work(state):
        return None
    words = f"{wanted} {load.work}" if load is not None and load.work in WORK_KINDS else wanted
    start: Request = {"do": "load_start", "load": words}
    question = "Start its load?" if load is None else f"Change the load ({load.what})?"
    return Offer(
        f"{question} {_cores(wanted)} will be busy.", (*stop, start, *again), f"{_named(phase)}: its load runs."
    )


def offer_with_load(state: ViewState, phase: str) -> Offer | None:
    """The phase that goes with a load that was just started or stopped.

    None where phases follow the load by themselves, and where the one that was marked is right.

    Args:
        state: what is known.
        phase: what the load makes of the machine: ``one core``, ``all cores``, ``cool-down``; empty for any other.
    """
    mark = state.marks.latest(MarkKind.PHASE)
    if mark is None or not phase or mark.text == phase:
        return None
    if phase in _AT_REST and mark.text in _AT_REST:
        return None
    if phase not in _AT_REST and mark.text not in {*LOADED, *_AT_REST}:
        return None  # a name of the user's own says what it says
    request: Request = {"do": "mark", "kind": "phase", "text": phase}
    return Offer(f"The phase is still “{mark.text}”. Begin “{phase}”?", (request,), f"Phase: {phase}, from now.")


def phase_of_load(words: str) -> str:
    """What a load in these words makes of the machine: ``one scalar`` → ``one core``; empty for any other."""
    first = words.split(" ", 1)[0]
    return next((phase for phase, load in LOADED.items() if load == first), "")


def _is_so(state: ViewState, wanted: str) -> bool:
    """Whether the load that runs keeps so many cores busy already."""
    busy = state.load.busy_cores if state.load is not None and state.load_runs else None
    machine = state.machine
    if busy is None or wanted == "one":
        return busy == 1
    return machine is not None and busy in {machine.cores, machine.threads}


def others_work(state: ViewState) -> bool:
    """Whether a run of the user's own, started elsewhere, keeps the processor busy."""
    if state.load_runs:
        return False
    track = state.tracks.get(keys.LOAD)
    threads = state.machine.threads if state.machine is not None else None
    if track is None or track.last is None:
        return False
    return track.last > 100.0 * _BUSY_SHARE / (threads or 4)


def _cores(wanted: str) -> str:
    return "One core" if wanted == "one" else "All cores"


def _named(phase: str) -> str:
    return f"{phase[:1].upper()}{phase[1:]}"
