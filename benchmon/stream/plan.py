"""A plan's phases as steps that the recorder can carry out: words of loads become loads."""

from __future__ import annotations

import shlex
from dataclasses import replace

from benchmon.errors import UsageError
from benchmon.model.plan import Condition, ConditionKind, Plan, PlanPhase
from benchmon.model.work_kinds import WIDEST
from benchmon.plans.steps import plan_of_steps
from benchmon.stream.load_words import parse_load
from benchmon.stream.options import CommandChoice, PlanStep

_ENDED = Condition(ConditionKind.COMMAND_ENDED)


def parse_plan(text: str, work: str = WIDEST, command: CommandChoice | None = None) -> tuple[PlanStep, ...]:
    """``idle:60s,one:2m,all:5m,idle:2m`` → steps named idle, one core, all cores, cool-down.

    Args:
        text: the steps.
        work: kind of built-in work.
        command: what the word ``command`` stands for, and how it is run; None = there is none.

    Raises:
        UsageError: if a step cannot be understood.
    """
    return steps_of(plan_of_steps(text, has_command=command is not None), work, command)


def steps_of(plan: Plan, work: str = WIDEST, command: CommandChoice | None = None) -> tuple[PlanStep, ...]:
    """What the recorder does in each phase.

    Args:
        plan: stairs written out.
        work: kind of built-in work of phases that name none.
        command: what the load ``command`` stands for where a phase does not say it, and how it is run.

    Raises:
        UsageError: naming the phase whose load cannot be understood.
    """
    steps = []
    for phase in plan.phases:
        try:
            steps.append(_step(phase, work, command))
        except UsageError as error:
            raise UsageError(f"phase “{phase.name}”: {error.message}", error.hint) from None
    return tuple(steps)


def _step(phase: PlanPhase, work: str, command: CommandChoice | None) -> PlanStep:
    if phase.is_idle:
        return PlanStep(phase.name, phase.greatest_s, None, phase.until, phase.least_s)
    if phase.command:
        command = replace(command or CommandChoice(()), argv=_argv(phase.command))
    load, until = parse_load(phase.load, phase.work or work, command), phase.until
    if isinstance(load, CommandChoice):
        load = _read_as(load, phase)
        # A command with nothing but a time is run again and again until then; else it is over when it ends.
        if phase.load == "command" and not until:
            load = replace(load, times=None)
        until = (*until, _ENDED) if _ENDED not in until else until
    return PlanStep(phase.name, phase.greatest_s, load, until, phase.least_s)


def _read_as(load: CommandChoice, phase: PlanPhase) -> CommandChoice:
    """The command with the patterns of its phase, where it has any."""
    return replace(
        load,
        score_from=phase.score_from or load.score_from,
        phases=phase.phase_from or load.phases,
        version_from="".join(phase.version_from) or load.version_from,
    )


def _argv(text: str) -> tuple[str, ...]:
    try:
        words = tuple(shlex.split(text))
    except ValueError as error:
        raise UsageError(f"the command {text[:40]!r} cannot be understood: {error}".lower()) from None
    if not words:
        raise UsageError("the command is empty")
    return words
