"""Thermal resistance to the room: of a phase, and as a line over phases that belong together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

from benchmon.analysis.fit.quantiles import combined_degrees, student_t
from benchmon.analysis.fit.straight_line import Line, weighted_line
from benchmon.analysis.thermal.steady import POWER_U, SteadyState
from benchmon.model.findings import Figure, ThermalLine

JUDGED_DEGREES = 50.0
"""Degrees of freedom of an uncertainty that was judged, not measured: known to about 10 % (GUM G.4.2)."""
LEAST_POWER_W = 0.5
_LEAST_SPAN = 0.25
"""The powers of a line must differ by this share of the greatest."""


@dataclass(frozen=True, slots=True)
class LineFit:
    """The line with what belongs to it; the covariance is of all causes together."""

    line: Line
    finding: ThermalLine
    room_u: float
    highest_w: float


def figure(value: float, u: float, degrees: float = JUDGED_DEGREES, probability: float = 0.975) -> Figure:
    """A value with its 95 % interval from a standard uncertainty and its degrees of freedom."""
    half = student_t(probability, round(degrees, 1)) * u
    return Figure(value, value - half, value + half)


def resistance(state: SteadyState) -> tuple[float, float] | str:
    """Resistance ``(T - room) / P`` and its standard uncertainty [K/W]; or a sentence why not.

    ``(u(R)/R)² = (u(T)² + u(room)²)/rise² + (u(P)/P)²`` (GUM 5.1.2).
    """
    if state.rise_k <= 0:
        return "the sensor reads below the room: one of the two is wrong"
    if state.power_w < LEAST_POWER_W:
        return f"less than {LEAST_POWER_W:g} W says nothing about a cooler"
    value = state.rise_k / state.power_w
    share = sqrt(
        (state.temp_u**2 + state.room_u**2) / state.rise_k**2 + (state.power_u / state.power_w) ** 2 + POWER_U**2
    )
    return value, value * share


def resistance_figure(state: SteadyState) -> Figure:
    """The resistance of one phase as a figure."""
    found = resistance(state)
    if isinstance(found, str):
        return Figure(why_not=found)
    value, u = found
    power_part = value * sqrt((state.power_u / state.power_w) ** 2 + POWER_U**2)
    parts = ((value * state.temp_u / state.rise_k, 20.0), (value * state.room_u / state.rise_k, JUDGED_DEGREES))
    return figure(value, u, combined_degrees((*parts, (power_part, JUDGED_DEGREES))))


def line_over(states: Sequence[SteadyState], left_out: Mapping[str, str]) -> LineFit | str:
    """The line of rise over power through phases that belong together, or why there is none.

    Weights are from what is independent between the phases: the temperature, and the power by way of the slope. The
    room's doubt is common to all and goes to the intercept; that of the power readings' scale goes to the slope.
    Where the points scatter more than their doubts explain, the doubts are widened (Birge).
    """
    if len(states) < 2:
        return "a line needs two settled phases of different power that heat the processor alike"
    watts = [state.power_w for state in states]
    if max(watts) - min(watts) < _LEAST_SPAN * max(watts):
        return "the phases are too much alike: a line needs powers that differ by a quarter at least"
    rises = [state.rise_k for state in states]
    rough = rises[watts.index(max(watts))] / max(watts)
    own = [sqrt(state.temp_u**2 + (rough * state.power_u) ** 2) for state in states]
    line = weighted_line(watts, rises, own)
    if line is None:
        return "the phases are too much alike: a line needs powers that differ by a quarter at least"
    if line.slope <= 0:
        return "the rise does not grow with power: phases, room or power were mixed up"
    widen = max(1.0, line.chi_square / (line.count - 2)) if line.count > 2 else 1.0
    room_u = max(state.room_u for state in states)
    slope_u = sqrt(line.slope_u**2 * widen + (POWER_U * line.slope) ** 2)
    intercept_u = sqrt(line.intercept_u**2 * widen + room_u**2)
    whole = Line(line.intercept, line.slope, intercept_u, slope_u, line.covariance * widen, line.chi_square, line.count)
    own_degrees = 20.0 if widen == 1.0 else float(max(line.count - 2, 8))
    degrees = combined_degrees(((line.slope_u * sqrt(widen), own_degrees), (POWER_U * line.slope, JUDGED_DEGREES)))
    intercept_degrees = combined_degrees(((line.intercept_u * sqrt(widen), own_degrees), (room_u, JUDGED_DEGREES)))
    finding = ThermalLine(
        figure(whole.slope, slope_u, degrees),
        figure(whole.intercept, intercept_u, intercept_degrees),
        whole.covariance,
        degrees,
        tuple(state.phase.name for state in states),
        left_out,
    )
    return LineFit(whole, finding, room_u, max(watts))
