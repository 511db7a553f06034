"""Where an axis is marked: round numbers, evenly spaced."""

from __future__ import annotations

from math import ceil, floor, log10

_TIME_STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200, 86400)


def round_ticks(low: float, high: float, count: int = 4) -> list[float]:
    """Round numbers from at or below ``low`` to at or above ``high``, about ``count`` of them, 1·2·5 apart.

    >>> round_ticks(28.0, 81.0)
    [20.0, 40.0, 60.0, 80.0, 100.0]
    """
    span = max(high - low, 1e-9, abs(high) * 1e-6)
    rough = span / count
    power = 10.0 ** floor(log10(rough))
    step = next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * (1 - 1e-9))
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    return [round(at * step, 12) for at in range(first, max(last, first + 1) + 1)]


def time_ticks(until_s: float, count: int = 8) -> list[float]:
    """Times that people count in, at most ``count + 1`` of them [s]; beyond days, whole days."""
    step = next((s for s in _TIME_STEPS_S if until_s / s <= count), 86400 * ceil(until_s / 86400 / count))
    return [float(at * step) for at in range(int(until_s // step) + 1)]
