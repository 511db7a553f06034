"""While a run lasts: warmer or cooler than an earlier one at the same moment of the same phase."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from benchmon.analysis.compare.differences import RUN_U
from benchmon.analysis.thermal.resistance import figure
from benchmon.analysis.thermal.steady import ROOM_U_K
from benchmon.model.comparison import RunningDifference

WINDOW_S = 30.0
"""Readings of so long are put together [s]."""
LEAST_S, LONG_S = 60.0, 180.0
"""So far into a phase a difference is told, and that there is none [s]."""
SAME_POWER, MOST_APART = 1.03, 1.25
"""Powers within this factor are the same; beyond the other they are not compared."""
HELD_ONE_U = 0.05
"""Where heat holds only one of them, what the other stores has not come as far: doubt of the watts, as a share."""
_NOISE_K = 0.2


@dataclass(frozen=True, slots=True)
class Moment:
    """Means over the last while of a phase, in one run."""

    temp_c: float
    power_w: float
    room_c: float
    step_k: float
    """Of the temperature sensor."""
    is_held: bool
    """Heat holds it back: the temperature is defended, and the watts show the cooling."""


def running_difference(now: Moment, then: Moment, phase_s: float) -> RunningDifference | None:
    """What differs, once it means something; None before, and where the two cannot be compared.

    These two runs are spoken of, and no configuration: how a cooler sits is not among the doubts.

    Args:
        now: this run.
        then: the earlier one, as far into the same phase.
        phase_s: how far [s].
    """
    rises = now.temp_c - now.room_c, then.temp_c - then.room_c
    if phase_s < LEAST_S or min(rises) < 1.0 or min(now.power_w, then.power_w) <= 0.0:
        return None
    if max(now.power_w, then.power_w) > MOST_APART * min(now.power_w, then.power_w) and now.is_held == then.is_held:
        return None
    rise_u = sqrt((now.step_k**2 + then.step_k**2) / 6.0 + 2.0 * _NOISE_K**2 + 2.0 * ROOM_U_K**2)
    if now.is_held != then.is_held and phase_s < LONG_S:
        return None
    if now.is_held or then.is_held:
        expected_w = then.power_w * rises[0] / rises[1]
        uneven = 0.0 if now.is_held == then.is_held else HELD_ONE_U
        u = expected_w * sqrt((rise_u / rises[1]) ** 2 + 2.0 * RUN_U**2 + uneven**2)
        found = figure(now.power_w - expected_w, u)
    else:
        expected_k = rises[1] * now.power_w / then.power_w
        found = figure(rises[0] - expected_k, sqrt(rise_u**2 + 2.0 * (RUN_U * expected_k) ** 2))
    is_told = found.low is not None and found.high is not None and (found.low > 0.0 or found.high < 0.0)
    if not is_told and phase_s < LONG_S:
        return None
    is_same = max(now.power_w, then.power_w) <= SAME_POWER * min(now.power_w, then.power_w)
    return RunningDifference(found, now.is_held or then.is_held, is_same)
