"""The thermal verdict and the wall readings in sentences."""

from __future__ import annotations

from benchmon.model.findings import Summary, ThermalFindings
from benchmon.views.numbers import figure_text, plain, room_number


def verdict(summary: Summary) -> tuple[str, ...]:
    """The thermal verdict as sentences, then capacity, line and wall readings with their uncertainty."""
    thermal, wall = summary.thermal, summary.wall
    lines = list(thermal.sentences)
    if thermal.part is not None and thermal.part.sentence not in lines:
        lines.append(thermal.part.sentence)
    lines.append(_capacity(thermal))
    lines.append(f"Resistance to the room: {figure_text(thermal.resistance_k_per_w, 'K/W')}.")
    if thermal.limit_c.value is not None:
        source = f" ({thermal.limit_source})" if thermal.limit_source else ""
        lines.append(f"Limit: {figure_text(thermal.limit_c, '°C', most_decimals=1)}{source}.")
    if wall.slope.value is not None:
        lines.append(
            f"Wall: the box itself draws {figure_text(wall.own_draw_w, 'W')}, and each watt of the package"
            f" costs {figure_text(wall.slope, 'W')} at the wall."
        )
    return (*lines, *wall.warnings)


def _capacity(thermal: ThermalFindings) -> str:
    """Capacity once: watts and interval, at which temperature, in which room; and at the told limit if that differs."""
    capacity = thermal.capacity
    is_measured = capacity.measured_w.value is not None
    figure = capacity.measured_w if is_measured or capacity.predicted_w.value is None else capacity.predicted_w
    text = f"Capacity: {figure_text(figure, 'W')}"
    if figure.value is None:
        return f"{text}."
    at = "" if thermal.limit_c.value is None else f" at {plain(thermal.limit_c.value, 0)} °C"
    room = "" if thermal.room_c.value is None else f" in a {room_number(thermal.room_c.value)} °C room"
    text += f"{at}{room}, {'measured' if is_measured else 'predicted'}"
    if capacity.at_told_limit_w is not None:
        told = plain(capacity.told_limit_c, 0)
        text += f"; at the told limit of {told} °C: {figure_text(capacity.at_told_limit_w, 'W')}"
    return f"{text}."
