"""What the picture of rise over power shows: measured points, the cooler's line with its band, limits, capacity."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from benchmon.analysis.fit.quantiles import student_t
from benchmon.model import keys
from benchmon.model.findings import Figure, PhaseFindings, Summary, ThermalLine
from benchmon.model.recorded import Recorded
from benchmon.views.figures.run_picture import footing, machine_words
from benchmon.views.numbers import figure_text, plain
from benchmon.views.sheets.content import title
from benchmon.views.words.events import AT_FIRST, SUSTAINED
from benchmon.views.words.simulated import seen_word

_LINE_POINTS = 41
_ROOM_ABOVE = 1.12
_HELD_APART_K = 3.0


@dataclass(frozen=True, slots=True)
class Point:
    """A phase: mean package power [W], rise over the room at its end [K]."""

    power_w: float
    rise_k: float
    name: str
    has_settled: bool


@dataclass(frozen=True, slots=True)
class RisePicture:
    """Everything drawn: power in W, temperature as rise over the room in K."""

    title: str
    machine: str
    points: tuple[Point, ...]
    powers_w: tuple[float, ...]
    """Where the line is drawn; empty if there is no resistance."""
    rises_k: tuple[float, ...]
    lows_k: tuple[float, ...]
    highs_k: tuple[float, ...]
    """95 % band of the line."""
    line_words: str
    limits: tuple[tuple[float, str], ...]
    """Rise at a limit [K], and words."""
    capacity: Figure
    """Watts at the first of the limits."""
    capacity_words: str
    footing: tuple[str, ...]
    why_not: str
    """A sentence if there is nothing to draw; else empty."""


def rise_picture(session: Recorded, summary: Summary) -> RisePicture:
    """Gather the picture; without a room temperature there is no rise, and it says so."""
    thermal = summary.thermal
    room_c = thermal.room_c.value
    points = _points(summary)
    capacity = thermal.capacity
    is_measured = capacity.measured_w.value is not None
    watts = capacity.measured_w if is_measured else capacity.predicted_w
    seen = seen_word(is_simulated=bool(summary.header.virtual))
    limits = _limits(summary) if room_c is not None else ()
    reach = max([point.power_w for point in points] + [watts.value or 0.0, watts.high or 0.0], default=0.0)
    powers = tuple(reach * _ROOM_ABOVE * i / (_LINE_POINTS - 1) for i in range(_LINE_POINTS)) if reach > 0 else ()
    band = [line_at(power, thermal.line, thermal.resistance_k_per_w) for power in powers]
    drawn = [(power, at) for power, at in zip(powers, band, strict=True) if at is not None]
    return RisePicture(
        title=title(summary, "Rise over power"),
        machine=machine_words(summary),
        points=points,
        powers_w=tuple(power for power, _ in drawn),
        rises_k=tuple(at[0] for _, at in drawn),
        lows_k=tuple(at[1] for _, at in drawn),
        highs_k=tuple(at[2] for _, at in drawn),
        line_words=f"{figure_text(thermal.resistance_k_per_w, 'K/W')}" if drawn else "",
        limits=limits,
        capacity=watts,
        capacity_words=f"{figure_text(watts, 'W')}, {seen if is_measured else 'predicted'}"
        if watts.value is not None
        else "",
        footing=footing(session, summary),
        why_not=_why_not(summary, points),
    )


def _why_not(summary: Summary, points: tuple[Point, ...]) -> str:
    if points:
        return ""
    if summary.thermal.room_c.value is None:
        return "No room temperature is known, so there is no rise to draw; enter it with: benchmon add --room"
    return "No phase has both package power and temperature, so there is nothing to draw."


def _points(summary: Summary) -> tuple[Point, ...]:
    """A point for each phase; of a throttled one what it ran at first, and what it sustained."""
    points = []
    for phase in summary.phases:
        room_c = phase.room_c
        if room_c is None:
            continue
        levels = ((phase.before, AT_FIRST), (phase.sustained, SUSTAINED))
        held = [
            Point(level.power_w, level.temp_last_c - room_c, f"{phase.name}, {words}", level.is_settled is True)
            for level, words in levels
            if level is not None and level.power_w is not None and level.temp_last_c is not None
        ]
        points += held if phase.sustained is not None else _free(phase, room_c)
    return tuple(points)


def _free(phase: PhaseFindings, room_c: float) -> list[Point]:
    power, temp = phase.means.get(keys.PACKAGE_POWER), phase.means.get(keys.PROCESSOR_TEMP)
    if power is None or temp is None:
        return []
    settling = phase.settling.get(keys.PROCESSOR_TEMP)
    has_settled = settling is not None and settling.settled is True
    return [Point(power.last if has_settled else power.mean, temp.last - room_c, phase.name, has_settled)]


def _limits(summary: Summary) -> tuple[tuple[float, str], ...]:
    thermal = summary.thermal
    room_c, limit_c, told_c = thermal.room_c.value, thermal.limit_c.value, thermal.capacity.told_limit_c
    if room_c is None or limit_c is None:
        return ()
    source = f" ({thermal.limit_source})" if thermal.limit_source else ""
    limits = [(limit_c - room_c, f"{plain(limit_c, 0)} °C{source}")]
    if told_c is not None and abs(told_c - limit_c) > _HELD_APART_K:
        limits.append((told_c - room_c, f"{plain(told_c, 0)} °C (reported by the sensors)"))
    return tuple(limits)


def line_at(power_w: float, line: ThermalLine | None, resistance: Figure) -> tuple[float, float, float] | None:
    """Rise at a power with its 95 % band: along the line through phases, else the resistance through the origin."""
    slope, intercept = (
        (line.slope_k_per_w, line.intercept_k) if line is not None else (resistance, Figure(0.0, 0.0, 0.0))
    )
    if slope.value is None or intercept.value is None or slope.low is None or slope.high is None:
        return None
    wide_slope = (slope.high - slope.low) / 2
    wide_intercept = ((intercept.high or 0.0) - (intercept.low or 0.0)) / 2
    rise = intercept.value + slope.value * power_w
    together = 0.0
    if line is not None:
        # The half-widths are a quantile times standard uncertainties; the covariance needs that quantile squared.
        together = 2.0 * power_w * line.covariance * student_t(0.975, line.degrees_of_freedom) ** 2
    half = sqrt(max(wide_intercept**2 + together + (wide_slope * power_w) ** 2, 0.0))
    return rise, rise - half, rise + half
