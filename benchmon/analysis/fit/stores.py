"""Heat stores driven by measured power: what each would hold, for every kind of cooling that is tried.

A store of time constant τ whose way out conducts ``g`` times as well as at the hottest the session has been follows

    τ · dz/dt = P - g · z

``z`` is in watts: the heat that leaves it. Its part of the temperature is ``R · z``, so that all that is unknown enters
linearly. ``g`` is what tells the kinds of cooling apart, and applies to the slow stores (heatsink, case), never to die
and paste:

* linear: ``g = 1``;
* natural convection: ``g = (z / z_ref)^m``: the hotter, the stronger the draught (Nu ∝ Ra^¼ makes m = ¼);
* a fan that follows the reading: ``g = f(T) / f(T_ref)``, f from 1 at low speed to ρ at full speed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from benchmon.analysis.fit.kinds import KINDS, Array, Reference, Ways

TAUS_S: Array = np.array([1.2, 5.0, 16.0, 45.0, 110.0, 240.0, 520.0, 1100.0, 2400.0, 5000.0])
"""Time constants at the hottest the session has been [s]."""
FAST = 3
"""So many of them are die, paste and foot: their resistance is constant."""
FAN_LAG_S = 15.0
LEAST_SHARE = 0.02
"""A store is never taken to hold less than this share of the reference power: its draught would stop."""


@dataclass(frozen=True, slots=True)
class Held:
    """What the stores hold: means over ``[stretch, kind, store]``, and ``[kind, store]`` at the end."""

    mean: Array
    last: Array


def conduction(z: Array, fan: Array, m: Array, reference_w: float) -> Array:
    """``g`` of stores that hold z."""
    draught = np.maximum(z / reference_w, LEAST_SHARE) ** m
    return np.asarray(draught * fan)


def advance(z: Array, power_w: Array | float, g: Array, taus: Array, step_s: Array | float) -> tuple[Array, Array]:
    """Means over a step and values after it, for a conduction that holds for the step."""
    aim = power_w / g
    rate = step_s * g / taus
    left = np.exp(-rate)
    mean = aim + (z - aim) * (1.0 - left) / rate
    return mean, aim + (z - aim) * left


def hold(power_w: Array, lengths_s: Array, readings_c: Array, before_w: float, reference: Reference) -> Held:
    """Follow all stores of all kinds through a session.

    Args:
        power_w: mean power of each stretch.
        lengths_s: of the stretches.
        readings_c: temperature in each, without holes.
        before_w: power that the stores were settled at when the session began.
        reference: the hottest that it was.
    """
    slow = TAUS_S[FAST:]
    count, kinds = len(power_w), len(KINDS)
    mean = np.empty((count, kinds, len(TAUS_S)))
    fast_mean, fast = np.empty((count, FAST)), np.full(FAST, before_w)
    ways = Ways(np.arange(kinds), reference)
    m = ways.exponents[:, None]
    begin = ways.settled_z(before_w, np.full(kinds, readings_c[0]))
    z: Array = np.repeat(begin[:, None], len(slow), axis=1)
    seen_c = float(readings_c[0])
    for row in range(count):
        step, watts = float(lengths_s[row]), float(power_w[row])
        seen_c += (float(readings_c[row]) - seen_c) * (1.0 - np.exp(-step / FAN_LAG_S))
        fan = ways.fan(seen_c)[:, None]
        g = conduction(z, fan, m, reference.power_w)
        half, _ = advance(z, watts, g, slow, step)
        g = conduction(half, fan, m, reference.power_w)
        mean[row, :, FAST:], z = advance(z, watts, g, slow, step)
        fast_mean[row], fast = advance(fast, watts, np.ones(FAST), TAUS_S[:FAST], step)
    mean[:, :, :FAST] = fast_mean[:, None, :]
    last = np.concatenate([np.repeat(fast[None, :], kinds, axis=0), z], axis=1)
    return Held(mean, last)
