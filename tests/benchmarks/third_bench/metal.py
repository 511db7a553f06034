"""Where the heat goes: a rod of slices from die to fins, with fins all along its outer part, in air that moves or not.

No chain of stores with one way out: the outer slices each lose heat themselves, still air takes more the hotter the
fins are (the fourth root of the rise, handbook value for free convection), and moved air is itself warmed by what it
takes away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tests.benchmarks.third_bench.luck import Luck

INNER = 2
"""Slices without fins: die, and spreader with the paste under it."""
STILL_AIR_POWER = 0.25
"""Free convection: the coefficient goes with the rise to this power (laminar, vertical plate; handbook)."""
BLOWN_AIR_POWER = 0.6
"""Forced convection: with the air speed to about this power (between laminar 0.5 and turbulent 0.8; handbook)."""
AT_RISE_K = 30.0
"""Rise at which the fins of a passive cooler have their nominal conductance [K]."""


@dataclass(frozen=True)
class Metal:
    """What a cooler is made of; slices from the die outwards."""

    stores_j_per_k: tuple[float, ...]
    joins_w_per_k: tuple[float, ...]
    """From each slice to the next."""
    fins_w_per_k: tuple[float, ...]
    """From each slice to the air; 0 for the inner ones."""
    air_w_per_k: float
    """Heat that warms the moved air by 1 K [W/K]."""
    is_passive: bool

    def scaled(self, factor: float) -> Metal:
        """The same shape and times, ``factor`` times the conductance."""
        return Metal(
            tuple(store * factor for store in self.stores_j_per_k),
            tuple(join * factor for join in self.joins_w_per_k),
            tuple(fin * factor for fin in self.fins_w_per_k),
            self.air_w_per_k * factor,
            self.is_passive,
        )

    def step(self, temps_c: list[float], power_w: float, room_c: float, air: float, dt_s: float) -> None:
        """Move ``temps_c`` on by ``dt_s`` in place.

        Args:
            temps_c: of each slice.
            power_w: into the first one.
            room_c: of the room.
            air: speed of the air, 1 = nominal; means nothing to a passive cooler.
            dt_s: must be well under the quickest slice's own time.
        """
        factor = 1.0 if self.is_passive else air**BLOWN_AIR_POWER
        flow_air = room_c if self.is_passive else self._air_c(temps_c, room_c, factor, air)
        inflow_w, last = power_w, len(temps_c) - 1
        for place, temp_c in enumerate(temps_c):
            outflow_w = self.joins_w_per_k[place] * (temp_c - temps_c[place + 1]) if place < last else 0.0
            left_w = inflow_w - outflow_w
            fin = self.fins_w_per_k[place]
            if fin:
                rise_k = temp_c - flow_air
                left_w -= fin * (self._fin_factor(rise_k, factor) if self.is_passive else factor) * rise_k
            temps_c[place] = temp_c + left_w / self.stores_j_per_k[place] * dt_s
            inflow_w = outflow_w

    def _fin_factor(self, rise_k: float, factor: float) -> float:
        return factor if not self.is_passive else float((max(rise_k, 0.5) / AT_RISE_K) ** STILL_AIR_POWER)

    def _air_c(self, temps_c: Sequence[float], room_c: float, factor: float, air: float) -> float:
        """Air warmed by half of what it takes away: the mean along the fins [°C]."""
        fins = warm = 0.0
        for fin, temp_c in zip(self.fins_w_per_k, temps_c, strict=True):
            fins += fin
            warm += fin * temp_c
        mean_c = warm / fins
        half = 0.5 * fins * factor / (self.air_w_per_k * air)
        return room_c + (mean_c - room_c) * half / (1.0 + half)

    def settles_c(self, power_w: float, room_c: float, air: float = 1.0) -> list[float]:
        """Where every slice ends at a constant power [°C]: a rod is solved from its outer end, by bisection."""
        factor = 1.0 if self.is_passive else air**BLOWN_AIR_POWER
        half = 0.0 if self.is_passive else 0.5 * sum(self.fins_w_per_k) * factor / (self.air_w_per_k * air)

        def rises_for(tip_k: float) -> tuple[float, list[float]]:
            """Power that must come in for this rise over the air at the tip, and all rises from the die outwards."""
            rise_k, flow_w, rises = tip_k, 0.0, [tip_k]
            for place in range(len(self.fins_w_per_k) - 1, -1, -1):
                flow_w += self.fins_w_per_k[place] * self._fin_factor(rise_k, factor) * rise_k
                if place:
                    rise_k += flow_w / self.joins_w_per_k[place - 1]
                    rises.append(rise_k)
            return flow_w, rises[::-1]

        low_k, high_k = 0.0, 2000.0
        for _ in range(60):
            middle_k = (low_k + high_k) / 2.0
            if rises_for(middle_k)[0] < power_w:
                low_k = middle_k
            else:
                high_k = middle_k
        rises = rises_for(low_k)[1]
        fins = sum(self.fins_w_per_k)
        mean_k = sum(fin * rise_k for fin, rise_k in zip(self.fins_w_per_k, rises, strict=True)) / fins
        return [room_c + rise_k + mean_k * half for rise_k in rises]


def draw_metal(luck: Luck, *, passive: bool = False, dry_paste: bool = False, slow: float = 1.0) -> Metal:
    """A cooler of some shape, for about 1 W/K; :func:`sized` makes it fit a load.

    Args:
        luck: all chance.
        passive: no fan, much metal.
        dry_paste: most of the way is between die and spreader.
        slow: factor on all times but the die's.
    """
    outer = luck.pick(2, 3, 4)
    whole_s = (luck.decade(300, 1500) if passive else luck.decade(40, 400)) * slow
    fins = [1.0 + 0.3 * place for place in range(outer)]
    scale = luck.even(1.2, 2.0) / sum(fins)
    fins_w_per_k = [0.0] * INNER + [fin * scale for fin in fins]
    first = luck.even(0.8, 1.4) if dry_paste else luck.even(2.5, 8.0)
    joins = [first, luck.even(4.0, 12.0), *(luck.even(6.0, 20.0) for _ in range(outer - 1))]
    die_s = luck.decade(0.4, 3.0)
    stores = [die_s * first, luck.decade(3.0, 20.0) * joins[1] * 0.5, *(fin * whole_s for fin in fins_w_per_k[INNER:])]
    return Metal(tuple(stores), tuple(joins), tuple(fins_w_per_k), luck.even(2.5, 10.0), is_passive=passive)


def sized(metal: Metal, power_w: float, room_c: float, die_c: float) -> Metal:
    """The cooler of this shape on which a constant power settles the die at ``die_c``."""
    low, high = 1e-4, 1e5
    for _ in range(50):
        middle = (low * high) ** 0.5
        if metal.scaled(middle).settles_c(power_w, room_c)[0] > die_c:
            low = middle
        else:
            high = middle
    return metal.scaled((low * high) ** 0.5)
