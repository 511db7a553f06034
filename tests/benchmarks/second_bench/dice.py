"""Seeded draws, so that a kind of run reads as what it is and not as calls of a generator."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

import numpy as np

T = TypeVar("T")


class Dice:
    """All chance in one run comes from here, in the order in which it is asked for."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng

    def between(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def log_between(self, low: float, high: float) -> float:
        """Every factor is as likely: for quantities that machines span over a decade."""
        return float(np.exp(self.rng.uniform(np.log(low), np.log(high))))

    def one_of(self, options: Sequence[T]) -> T:
        return options[int(self.rng.integers(len(options)))]

    def chance(self, probability: float) -> bool:
        return bool(self.rng.random() < probability)
