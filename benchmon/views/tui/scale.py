"""Scales and ticks that people read easily: round steps evenly apart, and whole minutes on the time axis."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import count
from math import ceil, floor, log10

from benchmon.views.traces import Scale

_TIME_STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200, 86400)
_ROUND = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
_MOST_DECIMALS = 12
_LEAST_ROWS = 3
"""On lower paper there is no room for labels in the middle of their rows."""
_ABOVE = 1e-6
"""Ticks lie this part of a dot below the middle of their row: the least reading above zero is drawn above it."""


@dataclass(frozen=True, slots=True)
class RuledScale:
    """A scale, and the round values that are labelled on it."""

    scale: Scale
    ticks: tuple[float, ...]
    """From the lowest on, evenly apart, each in the middle of a row."""
    decimals: int
    """That tell the ticks apart."""


@lru_cache(maxsize=64)
def ruled_scale(low: float, high: float, rows: int, down: int) -> RuledScale:
    """The tightest scale that holds ``low`` and ``high`` and has a round value in the middle of each labelled row.

    Args:
        low: least value to hold; a scale from 0 has a tick there.
        high: greatest value to hold.
        rows: character rows of the paper.
        down: dots in a row.
    """
    if high - low < max(1e-9, 1e-9 * abs(high)):
        high = low + max(1.0, 1e-6 * abs(high))
    if rows < _LEAST_ROWS:
        return RuledScale(Scale(low, high), (), 0)
    every = 1 if rows <= 4 else 2 if rows <= 8 else 3
    margin_dots = (down - 1) / 2 + _ABOVE
    for step, unit in _round_steps((high - low) * every / (2 * rows)):
        per_dot = step / every / down
        bottom = floor(low / step + 1e-9) * step
        if low > 0 and bottom + ((rows - 1) * down + margin_dots) * per_dot < high:
            bottom = floor((low + (margin_dots - 2 * _ABOVE) * per_dot) / unit + 1e-9) * unit
        top = bottom + ((rows - 1) * down + margin_dots) * per_dot
        if top >= high:
            ticks = tuple(bottom + index * step for index in range((rows - 1) // every + 1))
            return RuledScale(Scale(top - (rows * down - 1) * per_dot, top), ticks, _decimals(step, bottom))
    raise AssertionError  # steps grow without end


def _round_steps(least: float) -> Iterator[tuple[float, float]]:
    """Round steps from about ``least`` on, each with the power of ten it is made of."""
    for power in count(floor(log10(least))):
        for factor in _ROUND:
            if factor * 10.0**power >= least * (1 - 1e-9):
                yield factor * 10.0**power, 10.0**power


def _decimals(*values: float) -> int:
    """Decimals that show all values as they are."""

    def shown(places: int) -> bool:
        return all(abs(value - round(value, places)) <= 1e-9 * abs(value) for value in values)

    return next((places for places in range(_MOST_DECIMALS) if shown(places)), _MOST_DECIMALS)


def time_ticks(start_s: float, end_s: float, at_most: int) -> list[float]:
    """Times to label on the axis [s]: seconds, minutes and hours as a clock has them."""
    rough = (end_s - start_s) / max(at_most, 1)
    step = next((step for step in _TIME_STEPS_S if step >= rough), _TIME_STEPS_S[-1])
    first = ceil(start_s / step - 1e-9)
    return [index * step for index in range(first, floor(end_s / step) + 1)]
