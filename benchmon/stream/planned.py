"""The plan of one recording, as the recorder sees it."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.model.plan import ConditionKind, StepEnd
from benchmon.model.records import PlannedRun, StepChange
from benchmon.stream.conditions import Conditions
from benchmon.stream.fanout import Sink
from benchmon.stream.judge import DoubtedJudge
from benchmon.stream.options import RecordOptions
from benchmon.stream.procedure import Move, Procedure

_JUDGED = {ConditionKind.SETTLED, ConditionKind.HELD_BACK}


class Planned:
    """Says what comes next; nothing, where there is no plan or it is over.

    Args:
        options: steps, plan and judge.
        remark: told what has to be noted in the session.
    """

    def __init__(self, options: RecordOptions, remark: Callable[[str], None]) -> None:
        plan = options.plan
        self._opening = PlannedRun(0.0, plan, options.first, options.resumes) if plan is not None else None
        end_when = () if plan is None else plan.end_when
        conditions = [*end_when, *(one for step in options.steps for one in step.until)]
        self._judge = DoubtedJudge(options.judge, remark)
        self._conditions = Conditions(self._judge)
        self.followers: tuple[Sink, ...] = ()
        """Who has to hear all records."""
        if any(one.kind in _JUDGED for one in conditions):
            self.followers = (self._judge, self._conditions)
        elif conditions:
            self.followers = (self._conditions,)
        greatest_s = None if plan is None else plan.greatest_s
        self._procedure = (
            Procedure(options.steps, self._conditions.holds, options.first, end_when, greatest_s)
            if options.steps
            else None
        )

    @property
    def is_on(self) -> bool:
        """Whether the plan says what happens."""
        return self._procedure is not None

    @property
    def due_s(self) -> float | None:
        """Session time at which something happens at the latest [s]; None if nothing will."""
        return None if self._procedure is None else self._procedure.due_s

    def opening(self) -> PlannedRun | None:
        """The record of the plan itself."""
        return self._opening

    def move(self, now_s: float) -> Move | None:
        """What is to be done now; None if nothing is."""
        move = None if self._procedure is None else self._procedure.move(now_s)
        if move is None:
            return None
        if move.begins is None:
            self._procedure = None
        else:
            self._conditions.begin(now_s)
        return move

    def confirm(self) -> bool:
        """A person says that the present phase is done; False if nobody waits for that."""
        waits = self._procedure is not None and self._procedure.waits_for(ConditionKind.CONFIRMED)
        self._conditions.is_confirmed = waits
        return waits

    def stop(self, now_s: float, because: StepEnd) -> StepChange | None:
        """The plan goes no further; the step that was on, as ended; None if none was."""
        procedure, self._procedure = self._procedure, None
        return None if procedure is None else procedure.stop(now_s, because)
