"""The short form of a plan: ``idle:60s,one:2m,all:5m,idle:2m``."""

from __future__ import annotations

from benchmon.errors import UsageError
from benchmon.model.durations import seconds_of
from benchmon.model.plan import LONGEST_S, MOST_PHASES, Condition, ConditionKind, Plan, PlanPhase
from benchmon.plans.stairs import names_told_apart, stair_loads

NAME = "steps"
_LONGEST_COMMAND_S = 86_400.0
"""A command that runs to its end has so long [s]."""
_COMMAND = "command"
_HINT = (
    "Write steps such as idle:60s,one:2m,all:5m,idle:2m; all:settled:30m lasts until settled, 30 minutes at most; "
    "a number of cores, command or command x3 go too."
)


def plan_of_steps(text: str, cores: int | None = None, *, has_command: bool = False) -> Plan:
    """The plan that a line of steps is.

    ``command`` runs the command once to its end, ``command x3`` three times, ``command:10m`` again and again for ten
    minutes, ``command x3:10m`` three times, ten minutes at most. A command without such a word is the last step.

    Args:
        text: words of loads, each with its time; ``settled`` between them waits until settled.
        cores: of this machine, for stairs.
        has_command: whether a command was given.

    Raises:
        UsageError: if a step cannot be understood.
    """
    if text.count(",") >= MOST_PHASES:
        raise UsageError(f"a plan has {MOST_PHASES} steps at most", _HINT)
    phases: list[PlanPhase] = []
    for part in text.split(","):
        phases += _phases(part.strip(), cores)
    if has_command and not any(phase.load.startswith(_COMMAND) for phase in phases):
        phases += _phases(_COMMAND, cores)
    if len(phases) > MOST_PHASES:
        raise UsageError(f"a plan has {MOST_PHASES} steps at most", _HINT)
    return Plan(NAME, tuple(names_told_apart(phases)))


def _phases(part: str, cores: int | None) -> list[PlanPhase]:
    word, *rest = (piece.strip().lower() for piece in part.split(":"))
    until: tuple[Condition, ...] = ()
    if rest and rest[0] == ConditionKind.SETTLED.value:
        until, rest = (Condition(ConditionKind.SETTLED),), rest[1:]
    seconds = seconds_of(rest[0]) if len(rest) == 1 else None
    if not rest and not until and word.startswith(_COMMAND):
        until, seconds = (Condition(ConditionKind.COMMAND_ENDED),), _LONGEST_COMMAND_S
    if seconds is None or not 0 < seconds <= LONGEST_S or not word:
        raise UsageError(f"the step {part[:40]!r} cannot be understood", _HINT)
    return [PlanPhase("", load, seconds, until) for load in stair_loads(" ".join(word.split()), cores)]
