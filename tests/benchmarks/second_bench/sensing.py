"""What a recorder would have read of a course: means between two samples, steps of sensors, noise, what is missing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmon.analysis.intake.series import Observation
from tests.benchmarks.second_bench.dice import Dice
from tests.benchmarks.second_bench.limiters import STEP_S
from tests.benchmarks.second_bench.plan import Plan
from tests.benchmarks.second_bench.simulation import Course


@dataclass(frozen=True)
class _Recorder:
    """How well it reads."""

    late_share: float
    """Spread of the time of a sample, as a share of the period."""
    temp_step_k: float
    power_noise: float
    """Relative, as ..."""
    clock_noise: float
    """... this."""
    reads_clock_at_once: bool
    """The clock of the moment and not the mean since the last sample."""
    lost_share: float
    holes_s: tuple[tuple[float, float], ...]
    """From, to."""


def _draw_recorder(plan: Plan, dice: Dice) -> _Recorder:
    late_share = dice.one_of([0.0, 0.02, 0.1])
    temp_step_k = dice.one_of([1.0, 0.125])
    power_noise = dice.between(0, 0.04)
    clock_noise = dice.between(0, 0.03) if plan.clock_noise is None else plan.clock_noise
    at_once = dice.chance(0.3)
    lost_share = plan.lost_share or dice.one_of([0.0, 0.0, 0.005])
    starts_and_lengths = [(dice.between(0, plan.length_s), dice.between(4, 20)) for _ in range(plan.holes)]
    holes_s = tuple((start_s, start_s + length_s) for start_s, length_s in starts_and_lengths)
    return _Recorder(late_share, temp_step_k, power_noise, clock_noise, at_once, lost_share, holes_s)


def sense(plan: Plan, course: Course, rng: np.random.Generator) -> list[Observation]:
    """Samples with everything that could be known; a reading that failed is None."""
    dice = Dice(rng)
    recorder = _draw_recorder(plan, dice)
    sums = {
        name: np.concatenate([[0.0], np.cumsum(getattr(course, name))])
        for name in ("clock_mhz", "power_w", "load_pct", "work_rate")
    }
    seen: list[Observation] = []
    due_s, last = plan.period_s, 0
    while due_s < plan.length_s:
        t_s = due_s + plan.period_s * recorder.late_share * dice.between(-0.5, 0.5)
        here = min(course.steps - 1, int(t_s / STEP_S))
        if here > last:
            values = _read(recorder, course, _means(sums, last, here), here, rng)
            kept = {name: None if _is_lost(recorder, rng) else value for name, value in values.items()}
            if not any(start_s < t_s < end_s for start_s, end_s in recorder.holes_s):
                count = float(course.heat_count[here])
                limit_c, limit_w = plan.machine.limit_c, plan.told_power_w
                known = {"throttle_count": count, "temp_limit_c": limit_c, "power_limit_w": limit_w}
                seen.append(Observation(t_s, **kept, **known))
            last = here
        due_s += plan.period_s
    return seen


def _means(sums: dict[str, NDArray[np.float64]], start: int, end: int) -> dict[str, float]:
    return {name: float(total[end] - total[start]) / (end - start) for name, total in sums.items()}


def _read(
    recorder: _Recorder, course: Course, means: dict[str, float], here: int, rng: np.random.Generator
) -> dict[str, float]:
    clock_mhz = float(course.clock_mhz[here]) if recorder.reads_clock_at_once else means["clock_mhz"]
    clock_mhz *= 1 + recorder.clock_noise * rng.standard_normal()
    power_w = max(0.0, means["power_w"] * (1 + recorder.power_noise * rng.standard_normal()))
    load_pct = min(100.0, max(0.0, means["load_pct"] + rng.normal(0, 0.4)))
    return {
        "clock_mhz": round(clock_mhz, 1),
        "power_w": round(power_w, 3),
        "temp_c": math.floor(course.die_c[here] / recorder.temp_step_k) * recorder.temp_step_k,
        "load_pct": round(load_pct, 1),
        "work_rate": round(means["work_rate"] * (1 + 0.01 * rng.standard_normal()), 4),
    }


def _is_lost(recorder: _Recorder, rng: np.random.Generator) -> bool:
    return bool(recorder.lost_share) and bool(rng.random() < recorder.lost_share)
