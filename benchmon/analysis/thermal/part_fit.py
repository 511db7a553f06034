"""Would a part of so many watts hold in this box?"""

from __future__ import annotations

from benchmon.analysis.thermal.capacity import Watts
from benchmon.analysis.thermal.machine import figure_of
from benchmon.analysis.thermal.phrases import about
from benchmon.model.findings import Figure, PartFit

SURE = 0.95
_SUREST = 0.998
"""So many machines tell no better than this."""


def judge_part(part_watts: float, limit: Figure, room_c: float, watts: Watts) -> PartFit:
    """The answer with its margins: how many of the machines that could be meant carry the part.

    Args:
        part_watts: what the part draws for as long as you like [W].
        limit: the limit temperature.
        room_c: the room it is asked for [°C].
        watts: what the cooler holds at that limit in that room.
    """
    spare = watts.samples - part_watts
    chance = min(max(float((spare > 0).mean()), 1.0 - _SUREST), _SUREST)
    answer = "yes" if chance >= SURE else "no" if chance <= 1.0 - SURE else "cannot say"
    confidence = max(chance, 1.0 - chance)
    margin_w = figure_of(spare)
    limit_c = limit.value or 0.0
    margin_k = figure_of(limit_c - room_c - watts.model.rise_at(part_watts, room_c))
    return PartFit(
        part_watts,
        room_c,
        answer,
        confidence,
        margin_k,
        margin_w,
        _sentence(answer, part_watts, limit, (watts.figure, margin_w, margin_k), confidence, room_c=room_c),
    )


def _sentence(
    answer: str,
    part_watts: float,
    limit: Figure,
    figures: tuple[Figure, Figure, Figure],
    confidence: float,
    *,
    room_c: float,
) -> str:
    capacity, margin_w, margin_k = figures
    where = f"in a {room_c:.3g} °C room"
    at = "" if limit.value is None else f" at its limit of {limit.value:.0f} °C"
    sure = "more than 99 % sure" if confidence > 0.99 else f"{confidence * 100:.0f} % sure"
    watts, kelvin = abs(margin_w.value or 0.0), abs(margin_k.value or 0.0)
    spare = f"{watts:.0f} W" if watts >= 3 else f"{watts:.1f} W"
    carries = f"the cooler carries {about(capacity, 'W')}{at}"
    if answer == "yes":
        return f"A {part_watts:g} W part would hold {where}: {carries}, {spare} or {kelvin:.0f} K to spare ({sure})."
    if answer == "no":
        return (
            f"A {part_watts:g} W part would throttle {where}: {carries}, {spare} too little;"
            f" it would want {kelvin:.0f} K more ({sure})."
        )
    return (
        f"Whether a {part_watts:g} W part would hold {where} cannot be said: {carries}, and that is too close to call."
    )
