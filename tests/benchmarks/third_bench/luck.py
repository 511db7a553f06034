"""All chance of one run."""

from __future__ import annotations

import random
from typing import TypeVar

T = TypeVar("T")


class Luck:
    """Seeded with text, so that kinds never share their draws."""

    def __init__(self, seed: str) -> None:
        self._random = random.Random(seed)
        self.normal = self._random.gauss

    def even(self, low: float, high: float) -> float:
        return self._random.uniform(low, high)

    def decade(self, low: float, high: float) -> float:
        """Equal chance for equal factors."""
        return float(low * (high / low) ** self._random.random())

    def pick(self, *options: T) -> T:
        return self._random.choice(options)

    def chance(self, probability: float) -> bool:
        return self._random.random() < probability
