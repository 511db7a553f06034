"""Throttle events: what the detector concludes. Never written to a session file."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Cause(Enum):
    """Why the processor was limited."""

    THERMAL = "thermal"
    """Firmware or kernel defends a temperature."""
    POWER_LIMIT = "power_limit"
    """A package power limit, a running average above all."""
    OUTSIDE = "outside"
    """A signal or cap from outside the processor, shown by a limit file, or a clamp to the floor at any temperature."""
    UNEXPLAINED = "unexplained"
    """It was limited, and the evidence does not say by what."""


@dataclass(frozen=True, slots=True)
class ThrottleEvent:
    """One stretch during which the processor was held below what the load asked for.

    A figure is None where it is not known. A later event with the same ``number`` replaces an earlier one while it is
    open; a closed event never changes.
    """

    number: int
    """1, 2, 3 … in order of announcement."""
    cause: Cause
    first_cause: Cause
    """The cause as first announced."""
    start_s: float
    """Onset, back-dated [s]."""
    end_s: float | None
    """End [s]; None while it lasts."""
    announced_s: float
    """When it was first announced [s]."""
    confidence: float
    """0 … 1, of the cause."""
    evidence: tuple[str, ...]
    """Plain sentences, strongest first."""
    would_settle: str = ""
    """What would settle a doubt about the cause; empty if there is none."""
    clock_before_mhz: float | None = None
    clock_held_mhz: float | None = None
    """Mean clock while limited [MHz]."""
    clock_lowest_mhz: float | None = None
    power_before_w: float | None = None
    power_held_w: float | None = None
    """Mean package power while limited [W]."""
    power_lowest_w: float | None = None
    temp_onset_c: float | None = None
    temp_plateau_c: float | None = None
    """Temperature that was held [°C]."""
    limited_share: float | None = None
    """Share of the event's time during which the clock (or work) was really down, 0 … 1."""
    recoveries: int = 0
    """How many times it recovered and fell again."""
    work_lost: float | None = None
    """Share of the work that would have been done, 0 … 1; from work rate, else from clock."""
    energy_j: float | None = None
    """Package energy during the event [J]."""
    revision: int = 0
    """How many times what was announced has been revised."""

    @property
    def is_open(self) -> bool:
        """True while the processor is still limited."""
        return self.end_s is None
