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
from numpy.typing import NDArray

Array = NDArray[np.float64]
Places = NDArray[np.intp]

TAUS_S: Array = np.array([1.2, 5.0, 16.0, 45.0, 110.0, 240.0, 520.0, 1100.0, 2400.0, 5000.0])
"""Time constants at the hottest the session has been [s]."""
FAST = 3
"""So many of them are die, paste and foot: their resistance is constant."""
FAN_LAG_S = 15.0
LEAST_SHARE = 0.02
"""A store is never taken to hold less than this share of the reference power: its draught would stop."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One way in which the slow stores may give off heat."""

    name: str
    chance: float
    exponent: float = 0.0
    """m of natural convection."""
    low_c: float = 0.0
    """A fan speeds up from this reading ..."""
    span_k: float = 1.0
    """... over so many kelvin ..."""
    ratio: float = 1.0
    """... until it conducts so many times as well."""


def _kinds() -> tuple[Kind, ...]:
    kinds = [Kind("linear", 0.30)]
    kinds += [Kind("natural", chance, exponent=m) for m, chance in ((0.10, 0.08), (0.20, 0.12), (0.30, 0.10))]
    curves = ((36.0, 25.0), (46.0, 20.0), (46.0, 38.0), (56.0, 18.0), (58.0, 34.0))
    kinds += [
        Kind("fan", chance / len(curves), low_c=low, span_k=span, ratio=ratio)
        for low, span in curves
        for ratio, chance in ((1.3, 0.14), (1.7, 0.15), (2.3, 0.11))
    ]
    return tuple(kinds)


KINDS = _kinds()
EXPONENTS: Array = np.array([kind.exponent for kind in KINDS])
LOWS: Array = np.array([kind.low_c for kind in KINDS])
SPANS: Array = np.array([kind.span_k for kind in KINDS])
RATIOS: Array = np.array([kind.ratio for kind in KINDS])
CHANCES: Array = np.array([kind.chance for kind in KINDS])


def fan_conduction(reading_c: Array, kinds: Places | slice = slice(None)) -> Array:
    """How much better the slow stores conduct at a reading than with the fan at its lowest, for each kind."""
    way = np.clip((reading_c - LOWS[kinds]) / SPANS[kinds], 0.0, 1.0)
    return np.asarray(1.0 + (RATIOS[kinds] - 1.0) * way)


@dataclass(frozen=True, slots=True)
class Reference:
    """At what the time constants and resistances are meant."""

    power_w: float
    temp_c: float


def settled_z(power_w: Array, reading_c: Array, kinds: Places, reference: Reference) -> Array:
    """What the slow stores come to hold in the end [W]."""
    m = EXPONENTS[kinds]
    natural = power_w * np.maximum(power_w / reference.power_w, 1e-3) ** (-m / (1.0 + m))
    fan = fan_conduction(np.full(len(kinds), reference.temp_c), kinds) / fan_conduction(reading_c, kinds)
    return np.asarray(natural * fan)


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
    m = EXPONENTS[:, None]
    first_c, every = np.full(kinds, readings_c[0]), np.arange(kinds)
    z: Array = np.repeat(settled_z(np.full(kinds, before_w), first_c, every, reference)[:, None], len(slow), axis=1)
    at_reference = fan_conduction(np.full(kinds, reference.temp_c))
    seen_c = float(readings_c[0])
    for row in range(count):
        step, watts = float(lengths_s[row]), float(power_w[row])
        seen_c += (float(readings_c[row]) - seen_c) * (1.0 - np.exp(-step / FAN_LAG_S))
        fan = (fan_conduction(np.full(kinds, seen_c)) / at_reference)[:, None]
        g = conduction(z, fan, m, reference.power_w)
        half, _ = advance(z, watts, g, slow, step)
        g = conduction(half, fan, m, reference.power_w)
        mean[row, :, FAST:], z = advance(z, watts, g, slow, step)
        fast_mean[row], fast = advance(fast, watts, np.ones(FAST), TAUS_S[:FAST], step)
    mean[:, :, :FAST] = fast_mean[:, None, :]
    last = np.concatenate([np.repeat(fast[None, :], kinds, axis=0), z], axis=1)
    return Held(mean, last)
