"""A kind of run: how it is drawn and what must be true of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from benchmon.model.events import Cause
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.metal import Metal, draw_metal, sized
from tests.benchmarks.third_bench.script import MARGINS_K, Script
from tests.benchmarks.third_bench.silicon import Silicon

HIGHEST_TOLD_C = 108.0
"""No processor tells a higher limit."""
FAR_MARGINS_K = (12.0, 20.0, 32.0)
FREE_MARGINS_K = (4.0, 12.0, 25.0)


@dataclass(frozen=True)
class Draw:
    """What a kind draws from."""

    luck: Luck
    margin_k: float
    """The told limit lies so far above what is defended, or above the hottest there was [K]."""

    def defended_c(self) -> float:
        """A temperature that firmware may defend [°C]."""
        return self.luck.even(60.0, min(97.0, HIGHEST_TOLD_C - self.margin_k))

    def ends_c(self) -> float:
        """A temperature that something else than heat may end at [°C]."""
        return self.luck.even(48.0, min(90.0, HIGHEST_TOLD_C - self.margin_k))


@dataclass(frozen=True)
class Kind:
    """One kind of run."""

    name: str
    draw: Callable[[Draw], Script]
    causes: frozenset[Cause]
    """What really limits in every run of it: all of these, and nothing else."""
    margins_k: tuple[float, ...]


def register(kinds: dict[str, Kind], *causes: Cause) -> Callable[[Callable[[Draw], Script]], Callable[[Draw], Script]]:
    """Decorator that adds a kind to ``kinds``."""
    margins_k = MARGINS_K if Cause.THERMAL in causes else FAR_MARGINS_K if causes else FREE_MARGINS_K

    def add(draw: Callable[[Draw], Script]) -> Callable[[Draw], Script]:
        name = draw.__name__
        kinds[name] = Kind(name, draw, frozenset(causes), margins_k)
        return draw

    return add


def cooled(
    luck: Luck,
    silicon: Silicon,
    room_c: float,
    settles_c: float,
    *,
    busy: int | None = None,
    weight: float = 1.0,
    power_w: float | None = None,
    passive: bool = False,
    dry_paste: bool = False,
    slow: float = 1.0,
) -> Metal:
    """The cooler on which this work, with nothing in the way, would settle at ``settles_c`` in full air."""
    if power_w is None:
        cores = busy or silicon.cores
        power_w = silicon.draws_w(silicon.given_mhz(cores), cores, weight, settles_c)
    return sized(draw_metal(luck, passive=passive, dry_paste=dry_paste, slow=slow), power_w, room_c, settles_c)


def too_hot_c(luck: Luck, room_c: float, defended_c: float, least: float = 0.1, most: float = 0.5) -> float:
    """Where a cooler that is too small would settle: so much of the rise beyond what is defended [°C]."""
    return room_c + (defended_c - room_c) * (1.0 + luck.even(least, most))
