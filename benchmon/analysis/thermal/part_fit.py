"""Would a part of so many watts hold in this box?"""

from __future__ import annotations

from math import sqrt

from benchmon.analysis.fit.quantiles import student_cdf
from benchmon.analysis.thermal.phrases import about
from benchmon.analysis.thermal.resistance import JUDGED_DEGREES, figure
from benchmon.model.findings import Figure, PartFit

SURE = 0.95


def judge_part(
    part_watts: float, limit: Figure, room_c: float, capacity_w: tuple[float, float], k_per_w: float
) -> PartFit:
    """The answer with its margins.

    Args:
        part_watts: what the part draws for as long as you like [W].
        limit: the limit temperature.
        room_c: the room it is asked for [°C].
        capacity_w: watts held at the limit in that room, and their standard uncertainty.
        k_per_w: kelvin for each watt more, near the limit.
    """
    capacity, u = capacity_w
    spare_w = capacity - part_watts
    u = sqrt(u**2 + (0.005 * part_watts) ** 2)
    chance = student_cdf(spare_w / u, JUDGED_DEGREES) if u > 0 else float(spare_w > 0)
    answer = "yes" if chance >= SURE else "no" if chance <= 1.0 - SURE else "cannot say"
    confidence = max(chance, 1.0 - chance)
    margin_w = figure(spare_w, u)
    margin_k = figure(spare_w * k_per_w, u * k_per_w)
    where = f"in a {room_c:.0f} °C room"
    at = "" if limit.value is None else f" at its limit of {limit.value:.0f} °C"
    sure = "more than 99 % sure" if confidence > 0.99 else f"{confidence * 100:.0f} % sure"
    spare = f"{abs(spare_w):.{0 if u >= 0.5 else 1}f} W"
    if answer == "yes":
        sentence = (
            f"A {part_watts:g} W part would hold {where}: the cooler carries {about(figure(capacity, u), 'W')}{at},"
            f" {spare} or {abs(spare_w) * k_per_w:.0f} K to spare ({sure})."
        )
    elif answer == "no":
        sentence = (
            f"A {part_watts:g} W part would throttle {where}: the cooler carries {about(figure(capacity, u), 'W')}{at},"
            f" {spare} too little; it would want {abs(spare_w) * k_per_w:.0f} K more ({sure})."
        )
    else:
        sentence = (
            f"Whether a {part_watts:g} W part would hold {where} cannot be said: the cooler carries"
            f" {about(figure(capacity, u), 'W')}{at}, and that is too close to call."
        )
    return PartFit(part_watts, room_c, answer, confidence, margin_k, margin_w, sentence)
