"""What one phase teaches for the next."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.analysis.fit.approach import KnownStores


@dataclass(frozen=True, slots=True)
class Lesson:
    """Of a phase that is over."""

    power_w: float
    """Package power at its end [W]."""
    known: tuple[KnownStores, ...]
    """The cooler's parts as far as known by then."""
    still_to_go: float
    """How far from settled it ended [K] ..."""
    still_to_go_doubt: float
    """... and the standard uncertainty of that [K]."""
