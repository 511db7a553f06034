"""Thermal resistance as a line over phases that heat the processor alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from benchmon.analysis.fit.quantiles import student_t
from benchmon.analysis.thermal.steady import SteadyState
from benchmon.model.findings import Figure, ThermalLine

JUDGED_DEGREES = 50.0
"""Degrees of freedom of an uncertainty that was judged, not measured: known to about 10 % (GUM G.4.2)."""
_LEAST_SPAN = 0.25
"""The powers of a line must differ by this share of the greatest."""


def figure(value: float, u: float, degrees: float = JUDGED_DEGREES, probability: float = 0.975) -> Figure:
    """A value with its 95 % interval from a standard uncertainty and its degrees of freedom."""
    half = student_t(probability, round(degrees, 1)) * u
    return Figure(value, value - half, value + half)


def line_over(states: Sequence[SteadyState], left_out: Mapping[str, str]) -> ThermalLine | str:
    """The line of rise over power through phases that belong together, or why there is none.

    Drawn for each machine that the session could speak of, through what that machine would settle at; so slope,
    intercept and their covariance hold all that the model leaves open, and agree with every other figure.
    """
    if len(states) < 2:
        return "a line needs two settled phases of different power that heat the processor alike"
    watts = [state.power_w for state in states]
    if max(watts) - min(watts) < _LEAST_SPAN * max(watts):
        return "the phases are too much alike: a line needs powers that differ by a quarter at least"
    import numpy as np  # noqa: PLC0415  (there are states, so a fit has loaded it)

    from benchmon.analysis.thermal.machine import figure_of  # noqa: PLC0415

    x = np.array([state.settled.power_w for state in states])
    y = np.array([state.settled.rise_k for state in states])
    x_mean, y_mean = x.mean(axis=0), y.mean(axis=0)
    slope = ((x - x_mean) * (y - y_mean)).sum(axis=0) / ((x - x_mean) ** 2).sum(axis=0)
    intercept = y_mean - slope * x_mean
    found = figure_of(slope)
    if (found.value or 0.0) <= 0:
        return "the rise does not grow with power: phases, room or power were mixed up"
    covariance = float(np.cov(slope, intercept)[0, 1])
    names = tuple(state.phase.name for state in states)
    return ThermalLine(found, figure_of(intercept), covariance, JUDGED_DEGREES, names, left_out)
