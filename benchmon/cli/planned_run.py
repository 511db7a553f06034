"""From ``--steps`` and ``--plan`` to the plan that is carried out."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass

from benchmon.errors import UsageError
from benchmon.loads.cores import usable_cpus
from benchmon.model.plan import CUT_SHORT, Condition, ConditionKind, Plan
from benchmon.model.records import PlannedRun, StepChange
from benchmon.plans.steps import plan_of_steps
from benchmon.stream.judge import Judge
from benchmon.stream.options import CommandChoice, VirtualMachine

_JUDGED = {ConditionKind.SETTLED, ConditionKind.HELD_BACK}


@dataclass(frozen=True, slots=True)
class Chosen:
    """A plan, and where in it to begin."""

    plan: Plan
    first: int = 1
    resumes: str = ""
    """Session that was interrupted in that phase."""


def chosen_plan(
    args: argparse.Namespace, command: CommandChoice | None, virtual: VirtualMachine | None
) -> Chosen | None:
    """The plan that was asked for; None if none was.

    Raises:
        UsageError: if it cannot be understood, or says nothing of a command that was given.
    """
    given = [option for option in ("plan", "steps", "resume") if getattr(args, option) is not None]
    if not given:
        return None
    if len(given) > 1:
        raise UsageError(f"there are both a --{given[0]} and --{given[1]}", "Leave one out.")
    if args.resume is not None:
        return _resumed(args.resume)
    cores = len(usable_cpus(args.root)) if virtual is None else virtual.box.spec.cores
    if args.steps is not None:
        return Chosen(plan_of_steps(args.steps, cores, has_command=command is not None))
    from benchmon.plans.shipped import find_plan

    plan = find_plan(args.plan, cores)
    if command is not None and not any(phase.load.startswith("command") for phase in plan.phases):
        raise UsageError(
            f"the plan {plan.name} has no phase for the command after --", 'Give one of its phases load = "command".'
        )
    return Chosen(plan)


def _resumed(name: str) -> Chosen:
    """The plan of a session, from the phase in which it was interrupted."""
    from benchmon.session.reader import read_session
    from benchmon.stream.running import is_being_recorded
    from benchmon.stream.store import find_session

    path = find_session(name)
    session = read_session(path)
    if is_being_recorded(path):
        raise UsageError(f"{path.name} is still being recorded", "Look at it with: benchmon join")
    run = next((one for one in session.records if isinstance(one, PlannedRun)), None)
    if run is None:
        raise UsageError(f"{path.name} was recorded without a plan", "Begin one with --plan.")
    changes = [one for one in session.records if isinstance(one, StepChange)]
    done = {one.number for one in changes if one.because is not None and one.because not in CUT_SHORT}
    left = [number for number in range(run.first, len(run.plan.phases) + 1) if number not in done]
    if not left:
        raise UsageError(f"the plan {run.plan.name} was carried out to its end in {path.name}", "Begin it anew.")
    return Chosen(run.plan, left[0], session.header.session_id)


def judge_for(conditions: Sequence[Condition]) -> Judge | None:
    """Who says what has settled and what is throttled; None, and nothing is loaded, where no condition asks for it."""
    if not any(one.kind in _JUDGED for one in conditions):
        return None
    from benchmon.analysis.plan.judge import PhaseJudge

    return PhaseJudge()
