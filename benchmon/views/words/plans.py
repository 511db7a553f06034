"""Plans in words: what will be done, what is waited for, and how a phase ended."""

from __future__ import annotations

from typing import assert_never

from benchmon.model.plan import CUT_SHORT, Condition, ConditionKind, Plan, PlanPhase, StepEnd
from benchmon.model.plan_findings import PlanFindings, PlanProgress
from benchmon.model.records import PlannedRun, StepChange
from benchmon.plans.stairs import is_stair
from benchmon.views.numbers import counted, duration

CONFIRM_KEY = "Press y when it is done."


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
    """``all cores (all): until settled or throttled for 3:00; 5:00 at least, 45:00 at most``."""
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
            return f"throttled for {duration(value)}" if value else "throttled"
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
    StepEnd.TIME: "its time was over",
    StepEnd.GREATEST: "its longest time was over and what it waited for had not happened",
    StepEnd.SETTLED: "settled",
    StepEnd.HELD_BACK: "throttled long enough",
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


def plan_sentences(found: PlanFindings | None) -> tuple[str, ...]:
    """How far a plan came, what had not settled and what is missing, a sentence each; empty without a plan."""
    if found is None:
        return ()
    plan, steps = found.run.plan, found.steps
    done = sum(step.because is not None and step.because not in CUT_SHORT for step in steps)
    lines = [f"Plan {plan.name}: {done} of {counted(len(steps), 'phase')} carried out."]
    if found.run.first > 1:
        whose = f" of session {found.run.resumes}" if found.run.resumes else ""
        lines.append(f"It went on at phase {found.run.first}{whose}; {_phases(found.run.first - 1)} came before.")
    for step in steps:
        if step.because is StepEnd.GREATEST:
            waited = _any_of(step.phase.until)
            lines.append(f"{step.phase.name} ended after its longest time, {duration(step.phase.greatest_s)}: "
                         f"not {waited}.")  # fmt: skip
        elif step.because in CUT_SHORT or (step.began_s is not None and step.because is None):
            why = ENDS[step.because] if step.because is not None else "the recording stops there"
            lines.append(f"{step.phase.name} was not carried out to its end: {why}.")
    never = [step.phase.name for step in steps if step.began_s is None]
    if never:
        lines.append(f"Not reached: {', '.join(never)}.")
    for step in steps:
        if step.missing and step.began_s is not None:
            what = ", ".join(one.value for one in step.missing)
            lines.append(f'Missing in {step.phase.name}: {what} (benchmon add … --in "{step.phase.name}").')
    return tuple(lines)


def _phases(count: int) -> str:
    return counted(count, "phase")


def progress_sentence(progress: PlanProgress, now_s: float, *, confirm: str = "") -> str:
    """``Phase 2 of 5, until settled: about 4:10 more, 12:00 more at most; the plan 58:00 more at most``.

    What a person is to do stands first, and how to say that it is done: the rest may be cut where there is little room.

    Args:
        progress: what is waited for.
        now_s: the time [s].
        confirm: how to say that what was to be done is done; empty where that cannot be said.
    """
    phase = progress.phase
    most_s = max(0.0, progress.ends_at_most_s - now_s)
    plan = f"the plan {duration(max(0.0, progress.plan_ends_at_most_s - now_s))} more at most"
    head = f"Phase {progress.number} of {len(progress.plan.phases)}"
    entered = f"To be entered: {', '.join(one.value for one in progress.missing)}." if progress.missing else ""
    if phase.do:
        parts = (
            f"{head}. To do: {phase.do.rstrip('.')}.",
            confirm,
            entered,
            f"{duration(most_s)} more at most; {plan}.",
        )
        return " ".join(part for part in parts if part)
    if phase.until:
        about = "" if progress.settles_s is None else f"about {duration(max(0.0, progress.settles_s - now_s))} more, "
        head += f", until {_any_of(phase.until)}: {about}{duration(most_s)} more at most"
    else:
        head += f": {duration(most_s)} more"
    return f"{head}; {plan}. {entered}".rstrip()


def step_sentence(change: StepChange, plan: Plan) -> str:
    """How a phase ended, or what begins and how long; empty for what need not be said."""
    if not 1 <= change.number <= len(plan.phases):
        return ""
    phase = plan.phases[change.number - 1]
    if change.because is not None:
        return f"Phase {change.number} of {len(plan.phases)} is over: {ENDS[change.because]}."
    return f"Phase {change.number} of {len(plan.phases)}: {phase_words(phase)}."
