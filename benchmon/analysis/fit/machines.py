"""Questions to the machines that could have given the readings: each answer is one value for each of them."""

from __future__ import annotations

import numpy as np

from benchmon.analysis.fit.joint import REMAINS_S, WANDER_S, Posterior
from benchmon.analysis.fit.kinds import Array, Ways
from benchmon.analysis.fit.stores import FAN_LAG_S, FAST, TAUS_S, advance, conduction

LONGEST_S = 6 * 3600.0
"""How far ahead is looked [s]."""
LEAKAGE_BOUNDS = (0.5, 1.6)


def settled_rise(found: Posterior, power_w: Array | float, room_c: float, hot_spot: Array | float = 0.0) -> Array:
    """Rise above the room in the end for a constant power [K]."""
    return settled(found, power_w, room_c, (0.0, np.zeros(len(found.kinds))), hot_spot)[0] - room_c


def settled(
    found: Posterior,
    power_w: Array | float,
    room_c: float,
    leakage: tuple[float, Array],
    hot_spot: Array | float = 0.0,
) -> tuple[Array, Array]:
    """Temperature [°C] and power [W] in the end.

    Args:
        found: the machines.
        power_w: at the reading that ``leakage`` names.
        room_c: room.
        leakage: a reading [°C], and by what share of itself power grows with each kelvin beyond.
        hot_spot: further kelvin for each watt.
    """
    reading_c, leak = leakage
    inner = found.resistances[:, :FAST].sum(axis=1) + hot_spot
    outer = found.resistances[:, FAST:].sum(axis=1)
    temp = room_c + found.own_k + power_w * (inner + outer)
    watts = np.broadcast_to(np.asarray(power_w, dtype=float), temp.shape)
    ways = Ways(found.kinds, found.reference)
    for _ in range(28):
        watts = power_w * np.clip(1.0 + leak * (temp - reading_c), *LEAKAGE_BOUNDS)
        z = ways.settled_z(watts, temp)
        temp = 0.5 * temp + 0.5 * (room_c + found.own_k + watts * inner + z * outer)
    return temp, watts


def capacity(found: Posterior, limit_c: Array, room_c: Array) -> Array:
    """Watts of all cores at which the reading stands at the limit for ever."""
    low, high = np.zeros(len(found.kinds)), np.full(len(found.kinds), 50.0 * found.reference.power_w)
    inner = found.resistances[:, :FAST].sum(axis=1)
    outer = found.resistances[:, FAST:].sum(axis=1)
    ways = Ways(found.kinds, found.reference)
    for _ in range(45):
        watts = 0.5 * (low + high)
        z = ways.settled_z(watts, limit_c)
        below = room_c + found.own_k + watts * inner + z * outer < limit_c
        low, high = np.where(below, watts, low), np.where(below, high, watts)
    return np.asarray(low)


def course(
    found: Posterior,
    power_w: float,
    reading_c: float,
    leak: Array,
    room_c: float,
    *,
    hot_spot: Array | float = 0.0,
) -> tuple[Array, Array]:
    """How the reading goes on from now: times since now [s], and ``[time, sample]`` temperatures [°C]."""
    steps = np.minimum(4.0 * 1.1 ** np.arange(80), 900.0)
    steps = steps[: int(np.searchsorted(np.cumsum(steps), LONGEST_S)) + 1]
    samples = len(found.kinds)
    ways = Ways(found.kinds, found.reference)
    z, m = found.held_w.copy(), ways.exponents[:, None]
    temp = np.full(samples, reading_c)
    seen = temp.copy()
    temps, now = np.empty((len(steps), samples)), 0.0
    g = np.ones_like(z)
    for row, step in enumerate(steps):
        watts = (power_w * np.clip(1.0 + leak * (temp - reading_c), *LEAKAGE_BOUNDS))[:, None]
        seen = seen + (temp - seen) * (1.0 - np.exp(-step / FAN_LAG_S))
        fan = ways.fan(seen)[:, None]
        g[:, FAST:] = conduction(z[:, FAST:], fan, m, found.reference.power_w)
        _, z = advance(z, watts, g, TAUS_S, step)
        now += step
        left = (found.remains_k * np.exp(-now / REMAINS_S)).sum(axis=1)
        rise = found.own_k + (found.resistances * z).sum(axis=1) + left + hot_spot * watts[:, 0]
        temp = room_c + rise + found.wander_k * np.exp(-now / WANDER_S)
        temps[row] = temp
    return np.cumsum(steps), temps
