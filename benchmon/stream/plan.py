"""A plan: steps of idling and load, each a phase of the session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from benchmon.errors import UsageError
from benchmon.model import phase_names
from benchmon.model.durations import seconds_of
from benchmon.model.work_kinds import WIDEST, duty_words
from benchmon.stream.load_words import COMMAND, parse_load
from benchmon.stream.options import CommandChoice, LoadChoice, PlanStep

_MOST_STEPS = 1000
_HINT = "Write steps such as idle:60s,one:2m,all:5m,idle:2m; a number of cores, command or command x3 go too."


def parse_plan(text: str, work: str = WIDEST, command: CommandChoice | None = None) -> tuple[PlanStep, ...]:
    """``idle:60s,one:2m,all:5m,idle:2m`` → steps named idle, one core, all cores, cool-down.

    ``command`` runs the command once to its end, ``command x3`` three times, ``command:10m`` again and again for ten
    minutes, ``command x3:10m`` three times, ten minutes at most. A command without such a word is the last step.

    Args:
        text: the steps.
        work: kind of built-in work where a step names none.
        command: what the word ``command`` stands for, and how it is run; None = there is none.

    Raises:
        UsageError: if a step cannot be understood.
    """
    if text.count(",") >= _MOST_STEPS:
        raise UsageError(f"a plan has {_MOST_STEPS} steps at most", _HINT)
    steps = [_step(part.strip(), work, command) for part in text.split(",")]
    if command is not None and not any(isinstance(load, CommandChoice) for load, _ in steps):
        steps.append((command, None))
    names = _names([_name(load, work) for load, _ in steps])
    return tuple(PlanStep(name, seconds, load) for name, (load, seconds) in zip(names, steps, strict=True))


def _step(part: str, work: str, command: CommandChoice | None) -> tuple[LoadChoice | None, float | None]:
    """Load and time of one step."""
    word, colon, duration = part.partition(":")
    word = word.strip().lower()
    seconds = seconds_of(duration) if colon else None
    is_command = COMMAND.fullmatch(word) is not None
    if (seconds is None or seconds <= 0) if colon else not is_command:
        raise UsageError(f"the step {part[:40]!r} cannot be understood", _HINT)
    load = None if word == "idle" else parse_load(word, work, command)
    if isinstance(load, CommandChoice) and colon and word == "command":
        load = replace(load, times=None)
    return load, seconds


def _name(load: LoadChoice | None, usual_work: str) -> str:
    if load is None:
        return phase_names.IDLE
    if isinstance(load, CommandChoice):
        return phase_names.COMMAND
    cores = phase_names.ALL_CORES if load.cores is None else phase_names.by_cores(load.cores, is_all=False)
    kind = "" if load.work == usual_work else f", {load.work}"
    return f"{cores}{kind}{duty_words(load.duty)}"


def _names(names: list[str]) -> list[str]:
    """The last step is the cool-down if it idles after a load; a name that comes again is numbered."""
    if len(names) > 1 and names[-1] == phase_names.IDLE != names[-2]:
        names = [*names[:-1], phase_names.COOL_DOWN]
    return phase_names.numbered(names)


class Plan:
    """Where a plan has got to."""

    def __init__(self, steps: Sequence[PlanStep]) -> None:
        self._steps = tuple(steps)
        self._next = 0
        self._ends_s = 0.0

    @property
    def due_s(self) -> float | None:
        """Session time at which the next step begins, or the plan ends [s]; None once it is over."""
        return self._ends_s if self._next <= len(self._steps) else None

    def step(self, t_s: float) -> PlanStep | None:
        """The step that begins now, once; None if none does."""
        if t_s < self._ends_s or self._next >= len(self._steps):
            return None
        step = self._steps[self._next]
        self._next += 1
        self._ends_s = inf if step.duration_s is None else self._ends_s + step.duration_s
        return step

    def load_ended(self, t_s: float) -> None:
        """The load has ended by itself [s]: a step that runs a command is over with it."""
        if self._next and isinstance(self._steps[self._next - 1].load, CommandChoice):
            self._ends_s = min(self._ends_s, t_s)

    def is_over(self, t_s: float) -> bool:
        """True once all steps have had their time."""
        return self._next >= len(self._steps) and t_s >= self._ends_s
