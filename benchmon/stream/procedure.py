"""Carries out the steps of a plan: which one is on, when it ends and why."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from benchmon.model.plan import Condition, ConditionKind, StepAction, StepEnd
from benchmon.model.records import StepChange
from benchmon.stream.options import PlanStep

Holds = Callable[[Condition, float], bool]
"""Whether a condition holds at a session time [s]."""
_NEVER = float("inf")


@dataclass(frozen=True, slots=True)
class Move:
    """What is to be done now."""

    ended: StepChange | None
    """The step that ended; None where the first one begins."""
    begins: PlanStep | None
    """The step that begins; None where the plan is over."""
    began: StepChange | None


class Procedure:
    """Where a plan has got to.

    Args:
        steps: at least one.
        holds: asked about conditions.
        first: number of the step to begin with, from 1.
        end_when: any of them ends the plan.
        greatest_s: the plan ends then at the latest [s]; None = with its steps.
    """

    def __init__(
        self,
        steps: Sequence[PlanStep],
        holds: Holds,
        first: int = 1,
        end_when: Sequence[Condition] = (),
        greatest_s: float | None = None,
    ) -> None:
        self._steps = tuple(steps)
        self._holds = holds
        self._end_when = tuple(end_when)
        self._greatest_s = _NEVER if greatest_s is None else greatest_s
        self._next = first - 1
        self._began_s = self._ends_s = 0.0
        self._is_on = False

    @property
    def due_s(self) -> float:
        """Session time at which something happens at the latest [s]."""
        return min(self._ends_s, self._greatest_s)

    def waits_for(self, kind: ConditionKind) -> bool:
        """Whether a condition of this kind may end the step that is on."""
        return self._is_on and any(one.kind is kind for one in self._steps[self._next - 1].until)

    def move(self, t_s: float) -> Move | None:
        """What is to be done at a session time [s]; None if the step that is on goes on.

        A step that had its whole time ends when it should have, not when somebody looked: the plan does not drift.
        """
        if not self._is_on:
            return self._go_on(t_s, None)
        because, at_s = self._end(t_s)
        if because is None:
            return None
        ended = StepChange(t_s, self._next, StepAction.ENDED, because)
        if because is StepEnd.PLAN_ENDED:
            self._next = len(self._steps)
        return self._go_on(at_s, ended)

    def stop(self, t_s: float, because: StepEnd) -> StepChange | None:
        """The plan goes no further; the step that was on, as ended; None if none was."""
        if not self._is_on:
            return None
        self._is_on = False
        return StepChange(t_s, self._next, StepAction.ENDED, because)

    def _end(self, t_s: float) -> tuple[StepEnd | None, float]:
        """Why the step that is on ends now, and at what time it does [s]."""
        step = self._steps[self._next - 1]
        if t_s >= self._greatest_s or any(self._holds(one, t_s) for one in self._end_when):
            return StepEnd.PLAN_ENDED, t_s
        if t_s - self._began_s >= step.least_s:
            for condition in step.until:
                if self._holds(condition, t_s):
                    return StepEnd.by(condition.kind), t_s
        if t_s >= self._ends_s:
            return StepEnd.GREATEST if step.until else StepEnd.TIME, self._ends_s
        return None, t_s

    def _go_on(self, at_s: float, ended: StepChange | None) -> Move:
        self._is_on = self._next < len(self._steps)
        if not self._is_on:
            return Move(ended, None, None)
        step = self._steps[self._next]
        self._next += 1
        self._began_s, self._ends_s = at_s, at_s + step.duration_s
        return Move(ended, step, StepChange(at_s, self._next, StepAction.BEGAN))
