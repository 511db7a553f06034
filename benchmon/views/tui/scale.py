"""Scales and ticks that people read easily: steps of 1, 2 or 5, and whole minutes on the time axis."""

from __future__ import annotations

from math import ceil, floor, log10

from benchmon.views.traces import Scale

_TIME_STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400)


def round_step(span: float, at_most: int) -> float:
    """Smallest step of the form 1, 2 or 5 times a power of ten that cuts ``span`` into at most ``at_most`` parts."""
    rough = span / max(at_most, 1)
    power = 10.0 ** floor(log10(rough))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * (1 - 1e-9))


def round_scale(low: float, high: float, parts: int) -> Scale:
    """A scale that holds ``low`` and ``high`` and begins and ends at round numbers."""
    if high - low < 1e-9:
        high = low + 1.0
    step = round_step(high - low, max(parts * 2, 4))
    return Scale(floor(low / step + 1e-9) * step, ceil(high / step - 1e-9) * step)


def ticks(scale: Scale, at_most: int) -> list[float]:
    """Round values within a scale, at most so many, from the lowest on."""
    step = round_step(scale.high - scale.low, max(at_most - 1, 1))
    first = ceil(scale.low / step - 1e-9)
    last = floor(scale.high / step + 1e-9)
    return [index * step for index in range(first, last + 1)]


def tick_decimals(scale: Scale, at_most: int) -> int:
    """Decimals that tell neighbouring ticks apart."""
    return max(0, -floor(log10(round_step(scale.high - scale.low, max(at_most - 1, 1))) + 1e-9))


def time_ticks(start_s: float, end_s: float, at_most: int) -> list[float]:
    """Times to label on the axis [s]: seconds, minutes and hours as a clock has them."""
    rough = (end_s - start_s) / max(at_most, 1)
    step = next((step for step in _TIME_STEPS_S if step >= rough), _TIME_STEPS_S[-1])
    first = ceil(start_s / step - 1e-9)
    return [index * step for index in range(first, floor(end_s / step) + 1)]
