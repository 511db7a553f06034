"""The loaded phase of a run that is over: what its figures are, where a run that goes on has its latest readings."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model import keys
from benchmon.model.events import ThrottleEvent
from benchmon.model.findings import PhaseFindings

_BY_LOAD = (keys.PACKAGE_POWER, keys.WALL_POWER, keys.LOAD, keys.WORK_RATE, keys.CLOCK)


def loaded_phase(phases: Sequence[PhaseFindings]) -> PhaseFindings | None:
    """The phase that drew most, else the busiest one; None without phases."""
    for key in _BY_LOAD:
        read = [phase for phase in phases if key in phase.means]
        if read:
            return max(read, key=lambda phase: phase.means[key].mean)
    return phases[-1] if phases else None


def loaded_value(phase: PhaseFindings, key: str, events: Sequence[ThrottleEvent]) -> float | None:
    """What is told of a quantity in that phase: sustained where it was throttled, else its mean; temperatures its last.

    Args:
        phase: the loaded phase.
        key: the quantity.
        events: throttle events that touch it.
    """
    spread = phase.means.get(key)
    if spread is None:
        return None
    if key == keys.PROCESSOR_TEMP:
        return spread.last
    held = {keys.CLOCK: "clock_held_mhz", keys.PACKAGE_POWER: "power_held_w"}.get(key)
    longest = max(events, key=lambda event: (event.end_s or phase.end_s or event.start_s) - event.start_s, default=None)
    sustained = None if held is None or longest is None else getattr(longest, held)
    return spread.mean if sustained is None else float(sustained)
