"""What a recording is asked to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from benchmon.errors import UsageError
from benchmon.model.plan import Condition, Plan
from benchmon.model.work_kinds import WIDEST
from benchmon.stream.judge import Judge

if TYPE_CHECKING:  # the virtual bench is not loaded for a recording of the real machine
    from benchmon.virtual_bench.box import VirtualBox
    from benchmon.virtual_bench.tree import SysTree

SHORTEST_PERIOD_S = 0.1
LONGEST_PERIOD_S = 10.0


@dataclass(frozen=True, slots=True)
class BuiltinChoice:
    """Built-in work."""

    cores: int | None = None
    """How many logical processors to keep busy; None = all."""
    work: str = WIDEST
    """One of ``WORK_KINDS``."""
    duty: float = 1.0
    """Share of their time that the cores work, 0 < duty ≤ 1."""


@dataclass(frozen=True, slots=True)
class CommandChoice:
    """The user's own command: a load like any other."""

    argv: tuple[str, ...]
    """Command and arguments; no shell is involved."""
    times: int | None = 1
    """How often it is run, one after the other; None = again and again, until something else ends it."""
    cores: tuple[int, ...] | None = None
    """Numbers of the logical processors it may use; None = all."""
    phases: tuple[str, ...] = ()
    """Patterns; a line of its output that fits one begins a phase, named by the pattern's group, else by what fits."""
    score_from: tuple[str, ...] = ()
    """Patterns, the first group of each a number: lines of its output that tell a score."""
    version_from: str = ""
    """Pattern of the line of its output that tells its version; empty = none does."""


LoadChoice = BuiltinChoice | CommandChoice
"""What the load is; None where there is none."""


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step of a plan; a phase of the session."""

    name: str
    duration_s: float
    """Greatest time [s]; how long it lasts where nothing else ends it."""
    load: LoadChoice | None
    until: tuple[Condition, ...] = ()
    """Any of them ends it ..."""
    least_s: float = 0.0
    """... but not before [s]."""


@dataclass(frozen=True, slots=True)
class VirtualMachine:
    """A machine of the virtual bench that is recorded in place of the real one."""

    name: str
    box: VirtualBox
    tree: SysTree
    folder: Path
    """Where the tree writes ``sys/`` and ``proc/``."""
    time_scale: float = 1.0
    """Session seconds per real second."""


@dataclass(frozen=True, slots=True)
class RecordOptions:
    """Everything that can be chosen about a recording.

    Raises:
        UsageError: if the period lies outside 0.1 … 10 s.
    """

    destination: Path | None = None
    """File or folder to write to; None = the sessions folder."""
    period_s: float = 0.5
    """Time between samples [s], 0.1 … 10."""
    duration_s: float | None = None
    """When to end [s]; None = when the steps end, when the load ends (``end_with_load``), or when told to."""
    load: LoadChoice | None = None
    """Started with the recording. Not together with ``steps``."""
    named_later: CommandChoice = CommandChoice(())
    """How a command is run and read that a person names while recording; it has no words yet."""
    steps: tuple[PlanStep, ...] = ()
    """The phases of a plan; the recording ends with them."""
    plan: Plan | None = None
    """The plan whose phases these are, for the session file; its own ends are watched too."""
    first: int = 1
    """Number of the step to begin with, from 1 ..."""
    resumes: str = ""
    """... and the session that was interrupted in it."""
    noted: tuple[str, ...] = ()
    """What was in the way of a good recording when it began; noted in the session."""
    judge: Judge | None = None
    """Says when a phase has settled or is held back; needed where a condition asks for it."""
    end_with_load: bool = True
    """End when the load has ended by itself, if neither a duration nor steps say otherwise. A recorder that was started
    by a screen goes on until it is told to end."""
    tags: Mapping[str, str] = field(default_factory=dict)
    box: Mapping[str, str] = field(default_factory=dict)
    """Parts of the box that a person described (``model/box_parts.py``)."""
    room_c: float | None = None
    """Room temperature known at the start [°C]."""
    stop_at_c: float | None = None
    """The guard stops the load above it [°C]; None = 3 K above the machine's own limit, or 100 °C."""
    readings: tuple[str, ...] = ()
    """``KEY=COMMAND@PERIOD``: commands that print a number."""
    root: Path = Path("/")
    """Folder in which ``sys/`` and ``proc/`` lie."""
    virtual: VirtualMachine | None = None
    quiet: bool = False
    """Say nothing on standard error but errors."""

    @property
    def has_load(self) -> bool:
        """Whether a load is started by itself."""
        return self.load is not None or any(step.load is not None for step in self.steps)

    @property
    def command(self) -> CommandChoice:
        """The user's own command; without words if none was given, then how one that is named later is run and read."""
        loads = (self.load, *(step.load for step in self.steps))
        return next((load for load in loads if isinstance(load, CommandChoice)), self.named_later)

    def __post_init__(self) -> None:
        """Refuse what cannot be recorded."""
        if not SHORTEST_PERIOD_S <= self.period_s <= LONGEST_PERIOD_S:
            raise UsageError(
                f"a period of {self.period_s:g} s cannot be recorded",
                f"Choose one between {SHORTEST_PERIOD_S:g} and {LONGEST_PERIOD_S:g} s.",
            )
        if self.load is not None and self.steps:
            raise UsageError("steps already say what the load is", "Leave out either the load or the steps.")
