"""The ways in which the slow stores of a cooler may give off heat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Places = NDArray[np.intp]


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


@dataclass(frozen=True, slots=True)
class Reference:
    """At what the time constants and resistances are meant."""

    power_w: float
    temp_c: float


class Ways:
    """How the slow stores of several machines give off heat: what their kinds say, looked up once for many questions.

    Args:
        kinds: of each machine.
        reference: at what their time constants and resistances are meant.
    """

    def __init__(self, kinds: Places, reference: Reference) -> None:
        m = EXPONENTS[kinds]
        self.exponents: Array = m
        self._settled_exponents = -m / (1.0 + m)
        self._lows, self._spans, self._gains = LOWS[kinds], SPANS[kinds], RATIOS[kinds] - 1.0
        self._reference_w = reference.power_w
        self._at_reference: Array = self._fan(np.full(len(kinds), reference.temp_c))

    def fan(self, reading_c: Array | float) -> Array:
        """How much better the slow stores conduct at a reading than at the reference, because of the fan."""
        return np.asarray(self._fan(reading_c) / self._at_reference)

    def settled_z(self, power_w: Array | float, reading_c: Array) -> Array:
        """What the slow stores come to hold in the end [W]."""
        natural = power_w * np.maximum(power_w / self._reference_w, 1e-3) ** self._settled_exponents
        return np.asarray(natural * (self._at_reference / self._fan(reading_c)))

    def _fan(self, reading_c: Array | float) -> Array:
        """The same over the fan at its lowest."""
        way = np.minimum(np.maximum((reading_c - self._lows) / self._spans, 0.0), 1.0)
        return np.asarray(1.0 + self._gains * way)
