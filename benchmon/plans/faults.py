"""What is wrong with a plan, and where."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PlanFault:
    """One mistake in a plan."""

    reason: str
    phase: int | None = None
    """Number of the phase it is in, from 1; None = outside the phases."""
    key: str = ""
    """The key it is about; empty = the phase or the plan as a whole."""


class PlanFaultsError(ValueError):
    """A plan cannot be used; ``faults`` says why. Never leaves the callers of this package.

    Args:
        faults: at least one.
    """

    def __init__(self, faults: list[PlanFault]) -> None:
        super().__init__("; ".join(fault.reason for fault in faults))
        self.faults = faults
