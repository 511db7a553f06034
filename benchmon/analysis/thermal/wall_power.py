"""Wall power over package power: the box's own draw and what conversion loses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

from benchmon.analysis.fit.quantiles import combined_degrees, student_t
from benchmon.analysis.fit.straight_line import Line, york_line
from benchmon.analysis.intake.notebook import Notebook
from benchmon.analysis.intake.phases import Phase
from benchmon.analysis.thermal.resistance import JUDGED_DEGREES, figure
from benchmon.analysis.thermal.steady import POWER_U, mean_power
from benchmon.analysis.thermal.supply_floor import least_efficiency
from benchmon.analysis.thermal.wall_delay import delay_of
from benchmon.model.findings import Figure, WallFindings
from benchmon.model.records import MarkKind

_AROUND_S = 10.0
_LEAST_SPAN_W = 2.0
_BEST_SLOPE, _WORST_SLOPE = 1.0 / 0.96, 1.0 / 0.75
"""Slopes of supplies that exist lie between; beyond, readings deserve a second look."""


@dataclass(frozen=True, slots=True)
class WallPoint:
    """One wall reading beside package power at the same time, with standard uncertainties [W]."""

    package_w: float
    package_u: float
    wall_w: float
    wall_u: float


def wall_findings(notebook: Notebook, phases: Sequence[Phase]) -> WallFindings:
    """The line of wall over package power; or why there is none."""
    points, notes = _points(notebook, phases)
    return with_notes(line_through(points), notes)


def with_notes(findings: WallFindings, notes: tuple[str, ...]) -> WallFindings:
    """The findings with further sentences."""
    return replace(findings, warnings=(*notes, *findings.warnings)) if notes else findings


def line_through(points: Sequence[WallPoint]) -> WallFindings:
    """York's line through the points, the figures that follow, and what is impossible about them."""
    warnings = _impossible(points)
    if len(points) < 2:
        why = "no wall reading was entered" if not points else "one wall reading gives no line: enter two at least"
        return _nothing(why, warnings)
    watts = [point.package_w for point in points]
    if max(watts) - min(watts) < _LEAST_SPAN_W:
        return _nothing("the wall readings were all taken at nearly the same package power", warnings)
    line = york_line(
        watts,
        [point.wall_w for point in points],
        [point.package_u for point in points],
        [point.wall_u for point in points],
    )
    if line is None:
        return _nothing("no line goes through the wall readings", warnings)
    degrees = JUDGED_DEGREES
    widen = 1.0
    if line.count > 2 and line.chi_square > line.count - 2:
        widen, degrees = sqrt(line.chi_square / (line.count - 2)), float(max(line.count - 2, 8))
    scale_u = 1.4 * POWER_U * line.slope
    slope_u = sqrt((line.slope_u * widen) ** 2 + scale_u**2)
    slope_degrees = combined_degrees(((line.slope_u * widen, degrees), (scale_u, JUDGED_DEGREES)))
    slope = figure(line.slope, slope_u, slope_degrees)
    own = figure(line.intercept, line.intercept_u * widen, degrees)
    half = student_t(0.975, round(slope_degrees, 1)) * slope_u
    why = _contradiction(line, half)
    if why:
        return _nothing("the wall readings contradict what a supply can do", [*warnings, why])
    warnings += _odd(line, slope, half)
    floor = least_efficiency(max(point.wall_w for point in points) * 0.88)
    return WallFindings(own, slope, _efficiency(slope), floor, tuple(warnings))


def _efficiency(slope: Figure) -> Figure:
    if slope.value is None or slope.low is None or slope.high is None or slope.low < 1.0 / 1.05:
        return Figure(why_not="the slope is not one that a supply can have")
    return Figure(1.0 / slope.value, 1.0 / slope.high, min(1.0, 1.0 / slope.low))


def _nothing(why: str, warnings: Sequence[str]) -> WallFindings:
    no = Figure(why_not=why)
    return WallFindings(no, no, no, None, tuple(warnings))


def _impossible(points: Sequence[WallPoint]) -> list[str]:
    wrong = [point for point in points if point.wall_w + 2 * point.wall_u < point.package_w - 2 * point.package_u]
    if not wrong:
        return []
    worst = max(wrong, key=lambda point: point.package_w - point.wall_w)
    reading = f"A wall reading of {worst.wall_w:.1f} W beside {worst.package_w:.1f} W in the package is impossible"
    return [f"{reading}: it was entered at the wrong time or from another socket, or the package counter is wrong."]


def _contradiction(line: Line, half: float) -> str:
    """What makes the line one that cannot be, whose figures would be no result; empty if nothing does."""
    if line.slope + half < 1.0:
        return (
            f"The wall rises by only {line.slope:.2f} W for each watt of the package, which is impossible: readings"
            " were taken before the meter had followed, entered in the wrong phase, or mistyped."
        )
    if line.intercept < -2.0 * line.intercept_u:
        return "The box's own draw comes out below nothing: at least one wall reading is wrong."
    return ""


def _odd(line: Line, slope: Figure, half: float) -> list[str]:
    lines = []
    if line.slope + half < _BEST_SLOPE:
        lines.append(
            f"The wall rises by {line.slope:.2f} W for each watt of the package: no supply loses so little;"
            " look whether the meter had followed when it was read."
        )
    elif slope.low is not None and slope.low > _WORST_SLOPE:
        lines.append(
            f"The wall rises by {line.slope:.2f} W for each watt of the package, more than a poor supply loses: fans,"
            " memory or drives draw more under load too, or a reading is wrong."
        )
    return lines


def _points(notebook: Notebook, phases: Sequence[Phase]) -> tuple[list[WallPoint], tuple[str, ...]]:
    wall = notebook.trace.course("wall_w", 0.0, None, 4000)
    if len(wall) >= 8:
        return _from_channel(notebook, phases)
    points = []
    for mark in notebook.tracker.marks.of(MarkKind.WALL):
        if mark.value is None:
            continue
        begin = max([phase.start_s for phase in phases if phase.start_s <= mark.t_s], default=0.0)
        ends = [phase.end_s for phase in phases if phase.end_s is not None and phase.end_s > mark.t_s]
        power = mean_power(notebook, max(mark.t_s - _AROUND_S, begin), min([mark.t_s + _AROUND_S, *ends]))
        if power is not None:
            points.append(WallPoint(*power, mark.value, sqrt((POWER_U * mark.value) ** 2 + 0.3**2)))
    return points, ()


def _from_channel(notebook: Notebook, phases: Sequence[Phase]) -> tuple[list[WallPoint], tuple[str, ...]]:
    """One point for each phase: means over its later half, the wall's moved by the meter's delay."""
    delay = delay_of(
        notebook.trace.course("power_w", 0.0, None, 4000), notebook.trace.course("wall_w", 0.0, None, 4000)
    )
    points = []
    for phase in phases:
        end_s = notebook.now_s if phase.end_s is None else phase.end_s
        begin = phase.start_s + (end_s - phase.start_s) / 2
        power = mean_power(notebook, begin, end_s - delay)
        wall = notebook.trace.course("wall_w", begin + delay, end_s)
        if power is not None and len(wall) >= 3:
            mean = sum(wall.values) / len(wall)
            points.append(WallPoint(*power, mean, sqrt((0.3 * POWER_U * mean) ** 2 + 0.1**2)))
    notes = (f"The wall meter follows the package by {delay:.0f} s; that was allowed for.",) if delay >= 1.0 else ()
    return points, notes
