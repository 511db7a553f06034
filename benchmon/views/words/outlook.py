"""What is expected, in sentences."""

from __future__ import annotations

from math import ceil

from benchmon.model.findings import Figure, Forecast
from benchmon.model.units import Unit
from benchmon.views.numbers import duration, figure_text, quantity


def forecast_sentence(forecast: Forecast, now_s: float) -> str:
    """``Settles at 81 ± 2 °C, within 1 K in about 6:00; reaches its limit of 90 °C in about 0:40``; or why not."""
    if forecast.ready_s is not None:
        return f"Forecast in {max(ceil(forecast.ready_s - now_s), 1)} s."
    if forecast.settles_at_c.value is None:
        return f"No forecast yet: {forecast.settles_at_c.why_not}." if forecast.settles_at_c.why_not else ""
    text = f"Settles at {figure_text(forecast.settles_at_c, '°C', most_decimals=0)}"
    within = _time_until(forecast.within_1k_at_s, now_s)
    if within:
        text += f", within 1 K {within}"
    limit = _time_until(forecast.limit_at_s, now_s)
    if limit:
        text += f"; reaches its limit of {quantity(forecast.limit_c, Unit.CELSIUS, 1.0)} {limit}"
    return text + "."


def _time_until(at_s: Figure, now_s: float) -> str:
    if at_s.value is None:
        return ""
    left = at_s.value - now_s
    return "by now" if left <= 0 else f"in about {duration(left)}"
