"""From ``--steps`` and ``--plan`` to the plan that is carried out."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from benchmon.errors import UsageError
from benchmon.loads.cores import usable_cpus
from benchmon.model.plan import Condition, ConditionKind, Plan
from benchmon.plans.steps import plan_of_steps
from benchmon.stream.judge import Judge
from benchmon.stream.options import CommandChoice, VirtualMachine

_JUDGED = {ConditionKind.SETTLED, ConditionKind.HELD_BACK}


def chosen_plan(args: argparse.Namespace, command: CommandChoice | None, virtual: VirtualMachine | None) -> Plan | None:
    """The plan that was asked for; None if none was.

    Raises:
        UsageError: if it cannot be understood, or says nothing of a command that was given.
    """
    if args.plan is None and args.steps is None:
        return None
    if args.plan is not None and args.steps is not None:
        raise UsageError("there are both a plan and steps", "Leave out either --plan or --steps.")
    cores = len(usable_cpus(args.root)) if virtual is None else virtual.box.spec.cores
    if args.steps is not None:
        return plan_of_steps(args.steps, cores, has_command=command is not None)
    from benchmon.plans.shipped import find_plan

    plan = find_plan(args.plan, cores)
    if command is not None and not any(phase.load.startswith("command") for phase in plan.phases):
        raise UsageError(
            f"the plan {plan.name} has no phase for the command after --", 'Give one of its phases load = "command".'
        )
    return plan


def judge_for(conditions: Sequence[Condition]) -> Judge | None:
    """Who says what has settled and what is held back; None, and nothing is loaded, where no condition asks for it."""
    if not any(one.kind in _JUDGED for one in conditions):
        return None
    from benchmon.analysis.plan.judge import PhaseJudge

    return PhaseJudge()
