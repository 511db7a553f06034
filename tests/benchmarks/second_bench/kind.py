"""A kind of run: what really limits in it, and how it is drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from benchmon.model.events import Cause
from tests.benchmarks.second_bench.dice import Dice
from tests.benchmarks.second_bench.plan import Plan

Draw = Callable[[Dice], Plan]

OVERSHOOT_K = 15.0
"""A machine that is limited by heat and yet gets hotter than this above its limit would have switched itself off."""


@dataclass(frozen=True)
class Kind:
    """One kind of run."""

    name: str
    draw: Draw
    causes: frozenset[Cause]
    """What really limits in every run of it: all of these and nothing else."""
    hottest_k: float
    """The die stays below its limit plus this [K]."""
    power_margin_k: float
    """While power limits, the plateau lies at least this below the limit: else heat might have limited as well [K]."""


def register(
    kinds: dict[str, Kind], *causes: Cause, hottest_k: float | None = None, power_margin_k: float = 0.0
) -> Callable[[Draw], Draw]:
    """Decorator that adds the drawn kind to ``kinds``; ``hottest_k`` None: what is plausible for these causes."""
    if hottest_k is None:
        hottest_k = OVERSHOOT_K if Cause.THERMAL in causes else 0.0

    def add(draw: Draw) -> Draw:
        kinds[draw.__name__] = Kind(draw.__name__, draw, frozenset(causes), hottest_k, power_margin_k)
        return draw

    return add
