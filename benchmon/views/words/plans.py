"""Plans in words: what will be done, what is waited for, and how a phase ended."""

from __future__ import annotations

from typing import assert_never

from benchmon.model.plan import Condition, ConditionKind, Plan, PlanPhase, StepEnd
from benchmon.model.records import PlannedRun
from benchmon.plans.stairs import is_stair
from benchmon.views.numbers import counted, duration


def plan_lines(plan: Plan) -> list[str]:
    """A plan explained: what it is for, and a line for each of its phases."""
    lines = [f"{plan.name}: {plan.about}" if plan.about else plan.name]
    lines += [f"  {number}. {phase_words(phase)}" for number, phase in enumerate(plan.phases, 1)]
    if plan.end_when:
        lines.append(f"  It ends at any time when {_any_of(plan.end_when)}.")
    a_stair = any(is_stair(phase.load) for phase in plan.phases)
    lines.append(f"  It takes {duration(plan.longest_s)} at most{', for each step of its stair' if a_stair else ''}.")
    return lines


def phase_words(phase: PlanPhase) -> str:
    """``all cores (all): until settled or held back for 3:00; 5:00 at least, 45:00 at most``."""
    load = "" if phase.is_idle else f" (load: {phase.load}{f', {phase.work} work' if phase.work else ''})"
    words = f"{phase.name}{load}: {_how_long(phase)}"
    if phase.do:
        words += f". To do: {phase.do.rstrip('.')}"
    if phase.ask:
        words += f". To be entered: {', '.join(one.value for one in phase.ask)}"
    return words


def _how_long(phase: PlanPhase) -> str:
    if not phase.until:
        return f"for {duration(phase.greatest_s)}"
    least = f"{duration(phase.least_s)} at least, " if phase.least_s else ""
    return f"until {_any_of(phase.until)}; {least}{duration(phase.greatest_s)} at most"


def _any_of(conditions: tuple[Condition, ...]) -> str:
    return " or ".join(condition_words(one) for one in conditions)


def condition_words(condition: Condition) -> str:
    """What is waited for, after ``until``."""
    value = condition.value or 0.0
    match condition.kind:
        case ConditionKind.SETTLED:
            return "settled"
        case ConditionKind.HELD_BACK:
            return f"held back for {duration(value)}" if value else "held back"
        case ConditionKind.COOLED:
            return f"cooled by {value:g} %"
        case ConditionKind.BELOW:
            return f"below {value:g} °C"
        case ConditionKind.ABOVE:
            return f"above {value:g} °C"
        case ConditionKind.COMMAND_ENDED:
            return "the command has ended"
        case ConditionKind.CONFIRMED:
            return "somebody says that it is done"
        case _:
            assert_never(condition.kind)


ENDS = {
    StepEnd.TIME: "it had its time",
    StepEnd.GREATEST: "its greatest time was over, and what was waited for had not come",
    StepEnd.SETTLED: "settled",
    StepEnd.HELD_BACK: "held back long enough",
    StepEnd.COOLED: "cooled far enough",
    StepEnd.BELOW: "cool enough",
    StepEnd.ABOVE: "hot enough",
    StepEnd.COMMAND_ENDED: "the command has ended",
    StepEnd.CONFIRMED: "somebody said that it is done",
    StepEnd.PLAN_ENDED: "the plan's own end came",
    StepEnd.STOPPED: "the plan was stopped",
    StepEnd.INTERRUPTED: "the recording ended",
}
"""Why a phase ended."""


def planned_run_sentence(run: PlannedRun) -> str:
    """What is going to be done, when it begins."""
    plan = run.plan
    words = f"Plan {plan.name}: {counted(len(plan.phases), 'phase')}, {duration(plan.longest_s)} at most."
    return words if run.first == 1 else f"{words} Resumed at phase {run.first}."
