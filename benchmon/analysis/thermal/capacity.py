"""Watts that the cooler holds at the limit: measured, predicted, and for another room."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from benchmon.analysis.thermal.grouping import IDLE, SOME, Group
from benchmon.analysis.thermal.heat_plateau import Held
from benchmon.analysis.thermal.resistance import LineFit, figure, resistance
from benchmon.analysis.thermal.steady import POWER_U
from benchmon.model.findings import Capacity, Figure

EXTRAPOLATION_SHARE = 0.1
"""Doubt of the watts beyond what was seen, as a share of the step: fans answer, hot spots shift."""
_AGREE = 2.0


@dataclass(frozen=True, slots=True)
class Watts:
    """A capacity with its standard uncertainty, and the kelvin that each watt more would cost."""

    value_w: float
    u_w: float
    k_per_w: float


def predict(fit: LineFit | str, group: Group, limit_c: float, limit_u: float, room_c: float) -> Watts | str:
    """Watts at the limit from the line, or from the one phase there is; or why not.

    ``P = (limit - room - intercept) / slope``, with the covariance of the two (GUM H.3).
    """
    main = group.main
    if main is None:
        return "no phase settled well enough"
    if group.heating == IDLE:
        return "only idling settled, and that is too little to go by"
    if group.heating == SOME:
        return "no phase with all cores busy settled freely: one hot core reads hotter for the same watts"
    own = resistance(main)
    if isinstance(own, str):
        return own
    rise = limit_c - room_c
    if rise <= 0:
        return "the limit is not above the room"
    if isinstance(fit, str):
        value, u = own
        watts, slope = rise / value, value
        share = sqrt((u / value) ** 2 + (limit_u / rise) ** 2)
        own_u = watts * share
    else:
        line, slope = fit.line, fit.line.slope
        watts = (rise - line.intercept) / slope
        if watts <= 0:
            return "the line says nothing sensible at this limit"
        own_u = sqrt(line.u_at(watts) ** 2 + limit_u**2) / slope
    beyond = EXTRAPOLATION_SHARE * abs(watts - main.power_w)
    return Watts(watts, sqrt(own_u**2 + beyond**2), slope)


def measured(held: Held | str, limit_c: float | None, room_c: float | None) -> Watts | str:
    """Watts of the plateau; brought to another limit or room in proportion to the rise, if that is asked for.

    Args:
        held: the plateau.
        limit_c: limit to bring it to; None = as it was.
        room_c: room to bring it to; None = as it was.
    """
    if isinstance(held, str):
        return held
    if held.room_c is None:
        if room_c is None and limit_c is None:
            # Without a room nothing can be scaled; the watts themselves were still measured.
            return Watts(held.power_w, sqrt(held.power_u**2 + (0.02 * held.power_w) ** 2), 0.0)
        return "no room temperature was entered"
    rise = held.temp_c - held.room_c
    if rise <= 0:
        return "the sensor reads below the room: one of the two is wrong"
    wanted = (held.temp_c if limit_c is None else limit_c) - (held.room_c if room_c is None else room_c)
    k_per_w, scale = rise / held.power_w, wanted / rise
    watts = held.power_w * scale
    # The run's own room counts in full where another is asked for, else only by as much as the rise is scaled.
    room_share = scale - 1.0 if room_c is None else scale
    parts = (
        held.power_u * scale,
        # The temperature that was held is a mean of a few kelvin of swing: its doubt is worth watts.
        held.temp_u / k_per_w * scale,
        held.room_u / k_per_w * room_share,
        EXTRAPOLATION_SHARE * (watts - held.power_w),
    )
    return Watts(watts, sqrt(sum(part**2 for part in parts)), k_per_w)


def capacity(measured_w: Watts | str, predicted_w: Watts | str) -> Capacity:
    """Both as figures, and whether they agree: within twice their combined uncertainty without what they share."""
    agree = None
    if isinstance(measured_w, Watts) and isinstance(predicted_w, Watts):
        together = sqrt(max(measured_w.u_w**2 + predicted_w.u_w**2 - 2 * (POWER_U * measured_w.value_w) ** 2, 1e-12))
        agree = abs(measured_w.value_w - predicted_w.value_w) <= _AGREE * together
    return Capacity(_figure(measured_w), _figure(predicted_w), agree)


def _figure(watts: Watts | str) -> Figure:
    return Figure(why_not=watts) if isinstance(watts, str) else figure(watts.value_w, watts.u_w)
