"""A plan: a written procedure that the recorder carries out. ``docs/plans.md`` is the specification."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from benchmon.plain_text import make_plain

MOST_PHASES = 1000
"""A plan has so many phases at most, repetitions and the steps of stairs counted."""
LONGEST_S = 31 * 86_400.0
"""No phase and no plan is asked to last longer than a month [s]."""
IDLE = "idle"
"""The load of a phase without load."""


class ConditionKind(Enum):
    """What may end a phase or a plan. The value is its first word in a plan."""

    SETTLED = "settled"
    """The temperature has settled, by the criterion of the thermal verdict."""
    HELD_BACK = "held back"
    """The processor has been throttled for ``value`` seconds."""
    COOLED = "cooled"
    """It has cooled by ``value`` per cent of what it was hotter, at the phase's start, than at its coolest."""
    BELOW = "below"
    """The processor is cooler than ``value`` °C."""
    ABOVE = "above"
    """The processor is hotter than ``value`` °C."""
    COMMAND_ENDED = "command ended"
    """The command has ended by itself."""
    CONFIRMED = "confirmed"
    """A person has said that it is done."""


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition; ``value`` is None for a kind that needs none."""

    kind: ConditionKind
    value: float | None = None


class Asked(Enum):
    """What a person is to read or type in a phase. The value is its name in a plan."""

    ROOM = "room"
    WALL = "wall"
    SCORE = "score"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class PlanPhase:
    """One phase: a load, and when it is over."""

    name: str
    load: str
    """The words of the load: ``idle``, ``all``, ``one``, ``4``, ``all at 50 %``, ``command`` …"""
    greatest_s: float
    """It ends then at the latest [s]; where nothing else ends it, that is how long it lasts."""
    until: tuple[Condition, ...] = ()
    """Any of them ends it."""
    least_s: float = 0.0
    """No condition ends it before [s]."""
    work: str = ""
    """Kind of built-in work; empty = the usual one."""
    command: str = ""
    """Command line of the load ``command``; empty = the one that was given with the recording."""
    score_from: tuple[str, ...] = ()
    """Patterns of lines that the command prints: its scores ..."""
    phase_from: tuple[str, ...] = ()
    """... lines that begin a phase ..."""
    version_from: tuple[str, ...] = ()
    """... and the one that tells its version; empty = as given with the recording."""
    ask: tuple[Asked, ...] = ()
    """What a person is to read or type while it lasts; it never delays anything."""
    do: str = ""
    """What a person is to do while it lasts: a pause."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)

    @property
    def is_idle(self) -> bool:
        """Whether nothing is loaded in it."""
        return self.load == IDLE

    def waits_for(self, kind: ConditionKind) -> bool:
        """Whether a condition of this kind may end it."""
        return any(condition.kind is kind for condition in self.until)


@dataclass(frozen=True, slots=True)
class Plan:
    """Phases one after the other."""

    name: str
    phases: tuple[PlanPhase, ...]
    about: str = ""
    """What it is for, in a sentence or two."""
    end_when: tuple[Condition, ...] = ()
    """Any of them ends the plan, whichever phase it is in."""
    greatest_s: float | None = None
    """The plan ends then at the latest [s]; None = when its phases are over."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """All conditions in it."""
        return (*self.end_when, *(one for phase in self.phases for one in phase.until))

    @property
    def longest_s(self) -> float:
        """How long it takes at most [s]."""
        whole_s = sum(phase.greatest_s for phase in self.phases)
        return whole_s if self.greatest_s is None else min(whole_s, self.greatest_s)


class StepAction(Enum):
    """What happened to a step of a plan. The value is its code in session files."""

    BEGAN = "began"
    ENDED = "ended"


class StepEnd(Enum):
    """Why a step ended. The value is its code in session files."""

    TIME = "time"
    """It had its time, and nothing else was waited for."""
    GREATEST = "greatest time"
    """What was waited for had not come when its greatest time was over."""
    SETTLED = "settled"
    HELD_BACK = "held back"
    COOLED = "cooled"
    BELOW = "below"
    ABOVE = "above"
    COMMAND_ENDED = "command ended"
    CONFIRMED = "confirmed"
    PLAN_ENDED = "plan ended"
    """A condition or the greatest time of the whole plan."""
    STOPPED = "stopped"
    """The guard, a failed load or a person stopped it, and the plan with it."""
    INTERRUPTED = "interrupted"
    """The recording ended."""

    @classmethod
    def by(cls, kind: ConditionKind) -> StepEnd:
        """The end that a condition brings."""
        return cls(kind.value)


CUT_SHORT = frozenset({StepEnd.STOPPED, StepEnd.INTERRUPTED, StepEnd.PLAN_ENDED})
"""Ends of a phase that was not carried out to its own end."""
