"""Can this cooler carry a part of so many watts?"""

from __future__ import annotations

from benchmon.analysis.thermal.capacity import Watts
from benchmon.analysis.thermal.machine import figure_of
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
    return PartFit(part_watts, room_c, answer, confidence, margin_k, margin_w)
