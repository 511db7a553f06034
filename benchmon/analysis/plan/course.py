"""How far a plan has come, what it waits for, and what is missing."""

from __future__ import annotations

from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.plan.waiting import settles_at_s
from benchmon.model.plan import Asked, ConditionKind, StepAction
from benchmon.model.plan_findings import PlanFindings, PlanProgress, StepFindings
from benchmon.model.records import MarkKind, PlannedRun, Record, StepChange

_MARKS = {Asked.ROOM: MarkKind.ROOM, Asked.WALL: MarkKind.WALL, Asked.SCORE: MarkKind.SCORE, Asked.NOTE: MarkKind.NOTE}
_READ = {Asked.ROOM: "room_c", Asked.WALL: "wall_w"}
_AT_THE_EDGE_S = 1.0


class PlanCourse:
    """Follows the plan of one session."""

    def __init__(self) -> None:
        """Start without a plan."""
        self._run: PlannedRun | None = None
        self._began: dict[int, float] = {}
        self._ended: dict[int, StepChange] = {}

    def feed(self, record: Record) -> None:
        """Take the next record."""
        if isinstance(record, PlannedRun):
            self._run, self._began, self._ended = record, {}, {}
        elif isinstance(record, StepChange) and record.action is StepAction.BEGAN:
            self._began[record.number] = record.t_s
        elif isinstance(record, StepChange):
            self._ended[record.number] = record

    def findings(self, notebook: Notebook) -> PlanFindings | None:
        """How each phase went; None without a plan."""
        run = self._run
        if run is None:
            return None
        steps = [self._step(run, number, notebook) for number in range(run.first, len(run.plan.phases) + 1)]
        return PlanFindings(run, tuple(steps))

    def progress(self, notebook: Notebook) -> PlanProgress | None:
        """What the phase that runs waits for; None if none runs."""
        run = self._run
        number = next((one for one in self._began if one not in self._ended), None)
        if run is None or number is None or not 1 <= number <= len(run.plan.phases):
            return None
        phase, began_s = run.plan.phases[number - 1], self._began[number]
        ends_s = began_s + phase.greatest_s
        after_s = sum(one.greatest_s for one in run.plan.phases[number:])
        plan_ends_s = min(ends_s + after_s, run.plan.greatest_s or float("inf"))
        settles_s = settles_at_s(notebook, began_s) if phase.waits_for(ConditionKind.SETTLED) else None
        if settles_s is not None:
            settles_s = max(settles_s, began_s + phase.least_s)
        missing = _missing(phase.ask, notebook, began_s, None)
        return PlanProgress(run.plan, number, phase, began_s, settles_s, ends_s, plan_ends_s, missing)

    def _step(self, run: PlannedRun, number: int, notebook: Notebook) -> StepFindings:
        phase, began_s, ended = run.plan.phases[number - 1], self._began.get(number), self._ended.get(number)
        missing = phase.ask
        if began_s is not None:
            missing = _missing(phase.ask, notebook, began_s, None if ended is None else ended.t_s)
        ended_s, because = (None, None) if ended is None else (ended.t_s, ended.because)
        return StepFindings(number, phase, began_s, ended_s, because, missing)


def _missing(asked: tuple[Asked, ...], notebook: Notebook, began_s: float, ended_s: float | None) -> tuple[Asked, ...]:
    return tuple(one for one in asked if not _is_given(one, notebook, began_s, ended_s))


def _is_given(asked: Asked, notebook: Notebook, began_s: float, ended_s: float | None) -> bool:
    last_s = float("inf") if ended_s is None else ended_s + _AT_THE_EDGE_S
    if any(began_s - _AT_THE_EDGE_S <= mark.t_s <= last_s for mark in notebook.tracker.marks.of(_MARKS[asked])):
        return True
    read = _READ.get(asked)
    return read is not None and len(notebook.trace.course(read, began_s, ended_s, 4)) > 0
