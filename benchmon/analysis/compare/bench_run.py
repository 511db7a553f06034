"""One run as it is compared: its phases with what loaded them, and the model of its machine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.live import LiveAnalysis
from benchmon.analysis.options import AnalysisOptions
from benchmon.analysis.summary import analysed, summary_of
from benchmon.analysis.thermal.grouping import IDLE, SOME, heating, load_of
from benchmon.analysis.thermal.heat_plateau import Held, held
from benchmon.analysis.thermal.steady import SteadyState
from benchmon.model import keys
from benchmon.model.comparison import ComparedRun, Side, WorkUnit
from benchmon.model.events import Cause, ThrottleEvent
from benchmon.model.findings import PhaseFindings, Summary
from benchmon.model.recorded import Recorded
from benchmon.model.records import LoadAction, LoadChange

if TYPE_CHECKING:
    from benchmon.analysis.thermal.machine import MachineModel

RUN_TAGS = ("run", "repeat", "pair")
"""Tags that tell runs of one configuration apart, and say nothing about the configuration."""
PAIR_TAG = "pair"
OTHER_KIND, OTHER_SIZE = "another kind of work", "units of work of another size"
WORK_NOT_TOLD = "what the work was is not told of all runs"
_OF_LEVEL = {
    keys.CLOCK: "clock_mhz",
    keys.PACKAGE_POWER: "power_w",
    keys.WALL_POWER: "wall_w",
    keys.PROCESSOR_TEMP: "temp_last_c",
    keys.WORK_RATE: "work_per_s",
}
"""Which figure of a throttled phase's sustained part a quantity is."""


@dataclass(frozen=True, slots=True)
class LoadKind:
    """What heated the processor in a phase; phases with the same one may be compared."""

    heating: str
    """``idle``, ``all cores``, ``some cores`` or ``unknown``."""
    cores: int | None = None
    """How many were busy, where only some were; None = not known."""
    work: str = ""
    """Kind of work, or the command; empty where nobody said."""
    unit: WorkUnit | None = None
    """What its work rate counts; None = its size is not known. Rates of other units are other rates."""
    is_after_load: bool = False
    """Idle, and warm from a load before."""

    def other_work(self, other: LoadKind) -> str:
        """Why the work of two phases may not be counted against one another; empty if it may."""
        if bool(self.work) != bool(other.work):
            return WORK_NOT_TOLD
        if self.work.casefold() != other.work.casefold():
            return OTHER_KIND
        return OTHER_SIZE if self.unit != other.unit else ""


def other_work_among(loads: Sequence[LoadKind]) -> str:
    """Why the work of so many phases may not be counted against one another; empty if it may."""
    return next((why for load in loads if (why := loads[0].other_work(load))), "")


@dataclass(frozen=True, slots=True)
class RunPhase:
    """A phase of one run."""

    phase: Phase
    row: PhaseFindings
    load: LoadKind
    state: SteadyState | str
    """As it would settle, or why that cannot be said."""
    held_s: Mapping[Cause, float]
    """How long it was held back, by cause [s]."""
    throttled_s: int = 0
    """The same of all causes, from second to second as a sheet tells the times of its events [s]."""

    @property
    def name(self) -> str:
        """What it is called."""
        return self.phase.name

    def reading(self, key: str) -> float | None:
        """A quantity as the sheet has it: of the sustained part where the phase was throttled, else of all of it.

        Args:
            key: canonical key of a channel; of the temperature it is the last reading.
        """
        spread, level = self.row.means.get(key), self.row.sustained
        if spread is None:
            return None
        if level is not None and key in _OF_LEVEL:
            value: float | None = getattr(level, _OF_LEVEL[key])
            return value
        return spread.last if key == keys.PROCESSOR_TEMP else spread.mean


@dataclass(frozen=True, slots=True)
class BenchRun:
    """One run, ready to be compared."""

    name: str
    """Of its file."""
    summary: Summary
    phases: tuple[RunPhase, ...]
    model: MachineModel | str
    plateau: Held | str
    """Where heat held it, or why it did not."""

    @property
    def configuration(self) -> dict[str, str]:
        """The tags without those that number the runs of one configuration."""
        return {key: value for key, value in self.summary.tags.items() if key.casefold() not in RUN_TAGS}

    @property
    def pair(self) -> str | None:
        """Which pair of runs it belongs to; None = none."""
        return next((value for key, value in self.summary.tags.items() if key.casefold() == PAIR_TAG), None)

    def length_s(self, phase: RunPhase) -> float:
        """How long a phase lasted, so far."""
        end_s = self.summary.quality.duration_s if phase.phase.end_s is None else phase.phase.end_s
        return end_s - phase.phase.start_s


@dataclass(frozen=True, slots=True)
class Group:
    """Runs of one configuration."""

    runs: tuple[BenchRun, ...]
    tags: Mapping[str, str]

    @property
    def first(self) -> BenchRun:
        """The run that speaks for all where one must."""
        return self.runs[0]

    def side(self) -> Side:
        """The same as it is told."""
        return Side(tuple(_compared(run) for run in self.runs), self.tags)


def _compared(run: BenchRun) -> ComparedRun:
    header = run.summary.header
    return ComparedRun(run.name, header.session_id, header.started_at, bool(header.virtual))


def bench_run(session: Recorded, name: str, options: AnalysisOptions | None = None) -> BenchRun:
    """Analyse a session as it is compared.

    Args:
        session: what was recorded.
        name: of its file, for tables.
        options: what a person told.
    """
    analysis, notes = analysed(session, options, look_every_s=float("inf"))
    changes = [record for record in session.others if isinstance(record, LoadChange)]
    return run_of(analysis, name, changes, notes)


def run_of(analysis: LiveAnalysis, name: str, changes: list[LoadChange], notes: tuple[str, ...] = ()) -> BenchRun:
    """The run that an analysis has seen so far; ``changes`` are what it was told about the load."""
    summary = summary_of(analysis, notes)
    notebook, states = analysis.notebook, analysis.states()
    rows = {row.start_s: row for row in summary.phases}
    phases, was_loaded = [], False
    for phase in notebook.tracker.phases:
        row = rows.get(phase.start_s)
        load = _load_kind(notebook, phase, changes, was_loaded=was_loaded)
        was_loaded = was_loaded or load.heating != IDLE
        if row is not None:
            throttled = _throttled(summary.events, phase, notebook.now_s)
            phases.append(RunPhase(phase, row, load, states[phase], *throttled))
    return BenchRun(name, summary, tuple(phases), analysis.model(), held(notebook, analysis.events))


def _load_kind(notebook: Notebook, phase: Phase, changes: list[LoadChange], *, was_loaded: bool) -> LoadKind:
    kind = heating(notebook, phase, load_of(notebook, phase))
    if kind == IDLE:
        return LoadKind(IDLE, is_after_load=was_loaded)
    end_s = notebook.now_s if phase.end_s is None else phase.end_s
    middle_s = (phase.start_s + end_s) / 2
    change = next((one for one in reversed(changes) if one.t_s <= middle_s), None)
    if change is None or change.action is not LoadAction.STARTED:
        return LoadKind(kind)
    cores = change.busy_cores if kind == SOME else None
    return LoadKind(kind, cores, _work(change), _unit(change))


def _unit(change: LoadChange) -> WorkUnit | None:
    sizes = change.unit_operations, change.unit_bytes
    return None if sizes == (None, None) else WorkUnit(change.work, *sizes)


def _work(change: LoadChange) -> str:
    """``matrix work`` of ``matrix work on all 6 cores``; a command as it is."""
    if not change.work:
        return change.what if change.busy_cores is None else change.what.partition(" on ")[0]
    return change.work if change.duty == 1.0 else f"{change.work} at {change.duty * 100:.0f} %"


def _throttled(events: tuple[ThrottleEvent, ...], phase: Phase, now_s: float) -> tuple[dict[Cause, float], int]:
    end_s = now_s if phase.end_s is None else phase.end_s
    found: dict[Cause, float] = {}
    shown_s = 0
    for event in events:
        first_s = max(event.start_s, phase.start_s)
        last_s = end_s if event.end_s is None else min(event.end_s, end_s)
        if last_s > first_s:
            found[event.cause] = found.get(event.cause, 0.0) + last_s - first_s
            shown_s += int(last_s) - int(first_s)
    return found, shown_s
