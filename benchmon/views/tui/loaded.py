"""The loaded phase of a run that is over: what its figures are, where a run that goes on has its latest readings."""

from __future__ import annotations

from collections.abc import Sequence

from benchmon.model import keys
from benchmon.model.findings import PhaseFindings

_BY_LOAD = (keys.PACKAGE_POWER, keys.WALL_POWER, keys.LOAD, keys.WORK_RATE, keys.CLOCK)


def loaded_phase(phases: Sequence[PhaseFindings]) -> PhaseFindings | None:
    """The phase that drew most, else the busiest one; None without phases."""
    for key in _BY_LOAD:
        read = [phase for phase in phases if key in phase.means]
        if read:
            return max(read, key=lambda phase: phase.means[key].mean)
    return phases[-1] if phases else None


def loaded_value(phase: PhaseFindings, key: str) -> float | None:
    """What is told of a quantity in that phase: sustained where it was throttled, else its mean; temperatures its last.

    Args:
        phase: the loaded phase.
        key: the quantity.
    """
    spread = phase.means.get(key)
    if spread is None:
        return None
    level = phase.sustained
    if key == keys.PROCESSOR_TEMP:
        return spread.last if level is None else level.temp_last_c
    if level is None:
        return spread.mean
    told = {keys.CLOCK: level.clock_mhz, keys.PACKAGE_POWER: level.power_w, keys.WORK_RATE: level.work_per_s}
    return told.get(key, spread.mean)
