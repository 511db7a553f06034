"""What a cooler does under conditions that are the same for all runs: the one figure that the verdict rests on.

Runs that ran free are compared by the rise above the room at one power; as soon as heat held one of them back, by the
watts at the temperature that was defended, in one room. Both come from each run's own model of its machine, so nothing
is brought further than the runs were apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np

from benchmon.analysis.compare.bench_run import BenchRun, RunPhase
from benchmon.analysis.compare.comparable import LENGTHS_APART
from benchmon.analysis.compare.differences import ROOM_SHARED
from benchmon.analysis.compare.matching import main_phase
from benchmon.analysis.fit.kinds import Array
from benchmon.analysis.fit.machines import capacity, settled
from benchmon.analysis.thermal.machine import BEYOND_U, EXTRAPOLATED, MODEL_U, MachineModel
from benchmon.analysis.thermal.steady import BELOW_ROOM, ROOM_U_K, SteadyState
from benchmon.model import keys
from benchmon.model.comparison import Want
from benchmon.model.events import Cause

POWERS_APART = 1.6
"""Powers may differ by this factor for two fits to be alike."""
ANEW, OF_SIDE, OF_CHANGE = 0.04, 0.03, 3.0
"""Of the square of what a fit leaves open, so much is anew in each run, and so much a side's own; the rest is common to
both. Of a change, so many times as much is open as of a single figure. Chosen on 450 pairs of boxes of other
physics (seeds 101001 to 101150, 102001 to 102300): what the fits of two sides miss differed by 0.6 % without a change
and by 1.8 % with one of 10 %."""
OF_SIDE_HELD = 0.3
"""The same where heat throttled some runs and others not: what is seen of one and predicted of the other."""
LAW_U = 0.10
"""Doubt of the exponent by which a rise grows with power: 1 if linear, 0.8 by natural convection, 0.5 to 1 where a fan
follows the temperature (judged, then tried on other physics: half of it covers too seldom with fans that follow)."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """What all runs are brought to."""

    room_c: float
    watts: float | None
    """Power at which the rise is compared [W]; None = watts are compared."""
    limit_c: float | None
    """Temperature at which the watts are compared [°C]; None = the rise is."""


@dataclass(frozen=True, slots=True)
class Cooling:
    """What one run says under these conditions."""

    value: float
    """Rise [K], or watts [W]."""
    own_u: float
    """What is read anew in each run, as a share."""
    fit_u: float
    """What the fit leaves open, as a share."""
    room_u: float
    """What a side's thermometer may be wrong by in all of its runs, as a share."""
    kelvin: float
    """Rise, or what lies between room and limit [K]."""
    held: bool
    watts_seen: float
    """Power of the phase it rests on, as it was [W]."""
    length_s: float
    """Of that phase."""


def why_no_cooling(run: BenchRun, phase: RunPhase | None) -> tuple[Want, str] | None:
    """What is missing where a run says nothing about its cooling, and why; None if it does."""
    if isinstance(run.model, str):
        was_read = any(keys.PROCESSOR_TEMP in one.row.means for one in run.phases)
        return Want.LONGER if was_read else Want.TEMPERATURE, run.model
    if phase is None:
        return Want.SAME_LOAD, "no phase with load has its like in all runs"
    if not run.model.readings.room_known:
        return Want.ROOM, "no room temperature was entered"
    if not run.model.readings.has_watts:
        return Want.POWER, "package power was not read"
    if is_held(run):
        return None
    if isinstance(phase.state, str):
        if phase.held_s.get(Cause.THERMAL) and run.summary.thermal.capacity.predicted_w.value is not None:
            return None  # held for a moment: how it ran before that says enough
        why = run.plateau if phase.held_s.get(Cause.THERMAL) and isinstance(run.plateau, str) else phase.state
        return Want.LONGER, why
    why_not = phase.state.resistance.why_not
    return None if why_not is None else (Want.LONGER, why_not)


def is_held(run: BenchRun) -> bool:
    """Whether heat held it long enough to measure what the cooler carries."""
    return not isinstance(run.plateau, str) and run.summary.thermal.capacity.measured_w.value is not None


def conditions(runs: Sequence[BenchRun]) -> Conditions:
    """The middle between runs that all say something about their cooling: none is brought further than it must be."""
    room_c = _mean([run.summary.thermal.room_c.value or 0.0 for run in runs])
    limits = [run.plateau.temp_c for run in runs if is_held(run) and not isinstance(run.plateau, str)]
    if limits:
        return Conditions(room_c, None, _mean(limits))
    phases = [main_phase(run, runs) for run in runs]
    return Conditions(room_c, exp(_mean([log(_power_w(phase)) for phase in phases if phase is not None])), None)


def _power_w(phase: RunPhase) -> float:
    """Power that a phase would settle at, or its mean."""
    mean = phase.row.means.get(keys.PACKAGE_POWER)
    return max(phase.state.power_w if isinstance(phase.state, SteadyState) else 0.1 if mean is None else mean.mean, 0.1)


def cooling(run: BenchRun, phase: RunPhase, at: Conditions) -> Cooling | str:
    """What a run says under these conditions, or why it cannot be brought to them."""
    model = run.model
    if isinstance(model, str):
        return model
    found = _rise(model, phase, at) if at.watts is not None else _watts(run, model, at)
    if isinstance(found, str):
        return found
    value, own_u, fit_u, was_held = found
    kelvin = value if at.limit_c is None else at.limit_c - at.room_c
    power = phase.row.means.get(keys.PACKAGE_POWER)
    seen_w = value if power is None else power.mean
    room_u = sqrt(ROOM_SHARED) * ROOM_U_K / kelvin
    own_u = sqrt(own_u**2 + (1.0 - ROOM_SHARED) * (ROOM_U_K / kelvin) ** 2)
    return Cooling(value, own_u, fit_u, room_u, kelvin, was_held, seen_w, run.length_s(phase))


def _rise(model: MachineModel, phase: RunPhase, at: Conditions) -> tuple[float, float, float, bool] | str:
    watts, even = at.watts or 0.0, np.zeros(len(model.found.kinds))
    spot = model.hot_spot_of(phase.phase)
    rise = settled(model.found, watts, at.room_c, (0.0, even), spot)[0] - at.room_c
    value = float(np.median(rise))
    if value <= 0:
        return BELOW_ROOM
    fit_u = _left_open(model, rise, watts, was_held=False)
    step = sqrt(0.2**2 + model.readings.step_k**2 / 12.0) / value
    return value, step, fit_u, False


def _watts(run: BenchRun, model: MachineModel, at: Conditions) -> tuple[float, float, float, bool] | str:
    limit_c, even = at.limit_c or 0.0, np.ones(len(model.found.kinds))
    if limit_c <= at.room_c:
        return "the limit is not above the room"
    watts = capacity(model.found, limit_c * even, at.room_c * even)
    value = float(np.median(watts))
    if value <= 0:
        return BELOW_ROOM
    was_held = is_held(run)
    fit_u = _left_open(model, watts, value, was_held=was_held)
    head_k = limit_c - at.room_c
    seen_u = run.plateau.temp_u / head_k if was_held and not isinstance(run.plateau, str) else 0.0
    return value, seen_u, fit_u, was_held


def _left_open(model: MachineModel, samples: Array, watts: float, *, was_held: bool) -> float:
    """What a fit leaves open, a share: its spread, what the model misses, what is still to come, what lies beyond."""
    spread = float(np.std(np.log(np.maximum(samples, 0.1))))
    to_come = 0.0 if was_held else EXTRAPOLATED * float(np.median(model.share_to_come()))
    beyond = BEYOND_U * log(max(watts, 1e-6) / model.found.reference.power_w)
    return sqrt(spread**2 + MODEL_U**2 + to_come**2 + beyond**2)


@dataclass(frozen=True, slots=True)
class LeftOpen:
    """What two sides leave open between them, as a share: fits and thermometers."""

    own_u: float
    """Of the fits, anew in each run."""
    common_u: float
    """However many runs there are."""
    change_u: float
    """Of the change itself."""


def left_open(before: Sequence[Cooling], after: Sequence[Cooling], *, same_machine: bool, same_work: bool) -> LeftOpen:
    """How the doubts of the single fits enter into a difference.

    What two fits miss of one machine, seen for as long at about the same power, is the same and cancels. It comes back
    as far as the cooler has changed: of a change the fits see as little, or as much, as of the rest.
    """
    runs = (*before, *after)
    one = sqrt(_mean([run.fit_u**2 for run in runs]))
    rooms = sum(_mean([run.room_u for run in side]) ** 2 for side in (before, after))
    watts, lengths = ([getattr(run, name) for run in runs] for name in ("watts_seen", "length_s"))
    is_seen_alike = max(lengths) <= LENGTHS_APART * min(lengths) and max(watts) <= POWERS_APART * min(watts)
    if not (same_machine and same_work and is_seen_alike):
        return LeftOpen(0.0, sqrt(2.0 * one**2 + rooms), 0.0)
    of_side = OF_SIDE if {run.held for run in runs} in ({True}, {False}) else OF_SIDE_HELD
    apart = log(_mean([run.watts_seen for run in after]) / _mean([run.watts_seen for run in before]))
    common = 2.0 * of_side * one**2 + (LAW_U * apart) ** 2 + rooms
    return LeftOpen(sqrt(ANEW) * one, sqrt(common), OF_CHANGE * one)


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values)
