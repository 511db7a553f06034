"""A plan: steps of idling and load, each a phase of the session."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.errors import UsageError
from benchmon.model import phase_names
from benchmon.model.durations import seconds_of
from benchmon.stream.options import WORK_KINDS, BuiltinChoice, CommandChoice, LoadChoice, PlanStep

_MOST_DIGITS = 5
_MOST_STEPS = 1000
_HINT = "Write steps such as idle:60s,one:2m,all:5m,idle:2m; a number of cores or the word command go too."


def parse_plan(text: str, work: str = "matrix", command: Sequence[str] = ()) -> tuple[PlanStep, ...]:
    """``idle:60s,one:2m,all:5m,idle:2m`` → steps named idle, one core, all cores, cool-down.

    Args:
        text: the steps.
        work: kind of built-in work.
        command: what the word ``command`` stands for.

    Raises:
        UsageError: if a step cannot be understood.
    """
    words, durations = [], []
    if text.count(",") >= _MOST_STEPS:
        raise UsageError(f"a plan has {_MOST_STEPS} steps at most", _HINT)
    for part in text.split(","):
        word, colon, duration = part.strip().partition(":")
        seconds = seconds_of(duration) if colon else None
        if seconds is None or seconds <= 0:
            raise UsageError(f"the step {part.strip()[:40]!r} cannot be understood", _HINT)
        words.append(word.strip().lower())
        durations.append(seconds)
    loads = [None if word == "idle" else parse_load(word, work, command) for word in words]
    names = _names([_name(load) for load in loads])
    return tuple(PlanStep(*step) for step in zip(names, durations, loads, strict=True))


def parse_load(word: str, work: str = "matrix", command: Sequence[str] = ()) -> LoadChoice:
    """``all``, ``one``, a number of cores or ``command`` → what the load is.

    Raises:
        UsageError: if it is none of these.
    """
    if work not in WORK_KINDS:
        raise UsageError(f"there is no work called {work!r}", f"Choose one of {', '.join(WORK_KINDS)}.")
    if word == "command" and command:
        return CommandChoice(tuple(command))
    if word == "command":
        raise UsageError("there is no command to run", "Give it at the end, after --.")
    if word == "all":
        return BuiltinChoice(None, work)
    if word == "one":
        return BuiltinChoice(1, work)
    if word.isascii() and word.isdigit() and len(word) <= _MOST_DIGITS and int(word) > 0:
        return BuiltinChoice(int(word), work)
    raise UsageError(f"{word[:40]!r} is no load", "Write all, one, a number of cores, or command; in a plan also idle.")


def _name(load: LoadChoice | None) -> str:
    if load is None:
        return phase_names.IDLE
    if isinstance(load, CommandChoice):
        return phase_names.COMMAND
    return phase_names.ALL_CORES if load.cores is None else phase_names.by_cores(load.cores, is_all=False)


def _names(names: list[str]) -> list[str]:
    """The last idle after a load is the cool-down; a name that comes again is numbered."""
    if len(names) > 1 and names[-1] == phase_names.IDLE:
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
        self._ends_s += step.duration_s
        return step

    def is_over(self, t_s: float) -> bool:
        """True once all steps have had their time."""
        return self._next >= len(self._steps) and t_s >= self._ends_s
