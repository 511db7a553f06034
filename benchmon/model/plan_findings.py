"""What the analysis concludes about a plan: how far it came, what it waits for, and what its onsets say together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from benchmon.model.events import Cause
from benchmon.model.plan import Asked, Plan, PlanPhase, StepEnd
from benchmon.model.records import PlannedRun


@dataclass(frozen=True, slots=True)
class Onset:
    """One load of an experiment: where it began and where throttling set in."""

    load_s: float
    """When the load began [s]."""
    onset_s: float | None
    """When the processor began to be throttled [s]; None if it was not."""
    event: int | None
    """Number of the throttle event."""
    start_c: float | None
    """Temperature at the load's start [°C]."""
    onset_c: float | None
    """Temperature when throttling set in; the highest, if it did not [°C]."""
    energy_j: float | None
    """Package energy from the load's start until then [J]."""


@dataclass(frozen=True, slots=True)
class Experiment:
    """What the same load, begun at several temperatures, says together about the cause."""

    cause: Cause
    """Unexplained: it stays open."""
    causes: Mapping[Cause, float]
    """Probability of heat, a power limit, and something outside; they add up to 1."""
    onsets: tuple[Onset, ...]
    apart_k: float
    """How far apart the temperatures of the onsets were [K]."""


@dataclass(frozen=True, slots=True)
class StepFindings:
    """How one phase of a plan went."""

    number: int
    """Of the phase in the plan, from 1."""
    phase: PlanPhase
    began_s: float | None
    """None: it was not reached [s]."""
    ended_s: float | None
    """None: it was not reached, or still runs [s]."""
    because: StepEnd | None
    """Why it ended; None where it did not, or the recording was cut."""
    missing: tuple[Asked, ...] = ()
    """What was to be read or typed in it and was not."""


@dataclass(frozen=True, slots=True)
class PlanFindings:
    """How far a plan came."""

    run: PlannedRun
    steps: tuple[StepFindings, ...]
    """All phases of the plan from the first that this recording was to carry out."""

    @property
    def on(self) -> StepFindings | None:
        """The phase that runs; None if none does."""
        return next((step for step in self.steps if step.began_s is not None and step.ended_s is None), None)


@dataclass(frozen=True, slots=True)
class PlanProgress:
    """What the phase that runs waits for, and how long that takes. Times on the session's axis [s]."""

    plan: Plan
    number: int
    """Of the phase, from 1."""
    phase: PlanPhase
    began_s: float
    settles_s: float | None
    """When it is expected to have settled; None where that is not waited for, or cannot be said yet."""
    ends_at_most_s: float
    """When the phase is over at the latest."""
    plan_ends_at_most_s: float
    """When the plan is over at the latest."""
    missing: tuple[Asked, ...]
    """What is to be read or typed in it and was not yet."""
