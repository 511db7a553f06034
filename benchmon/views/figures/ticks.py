"""Where an axis is marked: round numbers, evenly spaced."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, log10

from benchmon.views.numbers import plain

_LEAST_SHARE = 0.05
"""The ends of an axis are apart by at least this share of what it shows."""
_TIME_STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200, 86400)


def round_ticks(low: float, high: float, count: int = 4) -> list[float]:
    """Round numbers from at or below ``low`` to at or above ``high``, about ``count`` of them, 1·2·5 apart.

    >>> round_ticks(28.0, 81.0)
    [20.0, 40.0, 60.0, 80.0, 100.0]
    """
    largest = max(abs(low), abs(high))
    least = max(_LEAST_SHARE * largest, 1e-9) if largest else 1.0
    if high - low < least:  # what hardly moves is drawn as flat, not as noise that fills the paper
        low, high = (low + high - least) / 2 if low else low, (low + high + least) / 2
    rough = (high - low) / count
    power = 10.0 ** floor(log10(rough))
    step = next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * (1 - 1e-9))
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    return [round(at * step, 12) for at in range(first, max(last, first + 1) + 1)]


def time_ticks(until_s: float, count: int = 8) -> list[float]:
    """Times that people count in, at most ``count + 1`` of them [s]; beyond days, whole days."""
    step = next((s for s in _TIME_STEPS_S if until_s / s <= count), 86400 * ceil(until_s / 86400 / count))
    return [float(at * step) for at in range(int(until_s // step) + 1)]


def tick_words(ticks: Sequence[float]) -> list[str]:
    """The numbers at the marks, all with as many decimals as their distance needs."""
    decimals = max(0, -floor(log10(ticks[1] - ticks[0]) + 1e-9))
    return [plain(tick, decimals) for tick in ticks]
