"""What the joint fit is given: a session as stretches."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.analysis.fit.kinds import Array

NOT_SEEN_K = 1e3
"""Doubt of a temperature that is not to be looked at."""


@dataclass(frozen=True, slots=True)
class Readings:
    """A session in stretches that follow one another; no holes."""

    ends_s: Array
    lengths_s: Array
    power_w: Array
    temp_c: Array
    room_c: Array
    white_k: Array
    """Doubt of a single temperature [K]."""
    before_w: float
    """Power before the session began, as far as it can be guessed."""
    some_cores: tuple[Array, ...] = ()
    """For each phase with only some cores busy, 1 within it and 0 outside."""
    step_k: float = 0.0
    """Step of the temperature sensor."""
    room_known: bool = True
    room_walk_k: float = 0.5
    """How far the room may walk in half an hour between readings of it [K]."""
    has_watts: bool = True
    """False where load stands in for power: temperatures can be said, watts cannot."""
