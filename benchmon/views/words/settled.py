"""Settled, steady or neither: what stands in the tables of phases, on paper and on the screen."""

from __future__ import annotations

from benchmon.model import keys
from benchmon.model.events import Level
from benchmon.model.findings import Figure, PhaseFindings
from benchmon.views.numbers import NOT_READ

STEADY, MOVING = "steady", "moving"
"""Whether power had come to rest in the sustained part of a throttled stretch."""


def settled_resistance(phase: PhaseFindings) -> Figure:
    """Thermal resistance of a phase that settled; of another one rise and power do not divide to it [K/W]."""
    settling = phase.settling.get(keys.PROCESSOR_TEMP)
    if settling is not None and settling.settled:
        return phase.resistance_k_per_w
    return Figure(why_not=phase.resistance_k_per_w.why_not or "it had not settled")


def steady_word(level: Level) -> str:
    """Whether power had come to rest in a throttled stretch: a defended temperature cannot settle."""
    return NOT_READ if level.is_settled is None else STEADY if level.is_settled else MOVING
