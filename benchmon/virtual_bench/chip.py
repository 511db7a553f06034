"""The processor: which clock it would run at, and what it draws there."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from benchmon.model.work_kinds import MEMORY, MIXTURE, SCALAR, WHOLE, WIDEST

WORK_ACTIVITY = {WIDEST: 1.0, SCALAR: 0.7, WHOLE: 0.65, MEMORY: 0.5, MIXTURE: 1.08}
"""Kind of built-in work → how much of a core it keeps switching."""
WORK_SIZE: Mapping[str, tuple[float | None, float | None]] = {
    WIDEST: (7e8, None),
    SCALAR: (1e7, None),
    WHOLE: (2.5e7, None),
    MEMORY: (None, 6e7),
    MIXTURE: (4e8, 2.5e7),
}
"""Kind → operations and bytes in one unit; chosen so that rates are of the usual order, with 28 operations a cycle."""
WIDE_WORK = frozenset({WIDEST, MIXTURE})
WIDE_ACTIVITY = 1.15
"""From this activity on, code counts as wide: many chips take their clock down for it by themselves."""


@dataclass(frozen=True, slots=True)
class ChipSpec:
    """A processor that does not exist."""

    cores: int = 4
    lowest_mhz: float = 800.0
    rated_mhz: float = 2400.0
    bins_mhz: tuple[float, ...] = (2700.0, 2600.0, 2400.0, 2400.0)
    """Highest clock by number of busy cores, one entry each [MHz]."""
    volt_low: float = 0.70
    """At the lowest clock."""
    volt_high: float = 1.10
    """At the highest clock; linear between."""
    core_w: float = 6.5
    """Switching power of one busy core at the rated clock and activity 1 [W]."""
    uncore_w: float = 2.0
    """Rest of the package as soon as any core is busy [W]."""
    idle_w: float = 3.0
    """Package with nothing to do, without leakage [W]."""
    leak_w: float = 2.0
    """Leakage of all cores at the highest voltage and 60 °C [W]."""
    leak_fold_k: float = 45.0
    """Leakage grows e-fold in so many kelvin."""
    wide_offset_mhz: float = 0.0
    """How much lower the clock is for wide code; that is its design, not a limit."""

    @property
    def highest_mhz(self) -> float:
        """Highest clock of all [MHz]."""
        return self.bins_mhz[0]

    def volt(self, mhz: float) -> float:
        """Voltage at a clock [V]."""
        share = (mhz - self.lowest_mhz) / (self.highest_mhz - self.lowest_mhz)
        return self.volt_low + (self.volt_high - self.volt_low) * share

    def switching_w(self, mhz: float) -> float:
        """Switching power of one core, ∝ f·V², at activity 1 [W]."""
        rated = self.rated_mhz * self.volt(self.rated_mhz) ** 2
        return self.core_w * mhz * self.volt(mhz) ** 2 / rated

    def leakage_w(self, mhz: float, temp_c: float) -> float:
        """Leakage of all cores [W]; bounded far above any working temperature, so that nothing overflows."""
        hot = math.exp(min(temp_c - 60.0, 90.0) / self.leak_fold_k)
        return self.leak_w * self.volt(mhz) / self.volt_high * hot

    def floor_w(self, busy: int) -> float:
        """Power that is not made in the busy cores [W]."""
        return self.idle_w + (self.uncore_w if busy else 0.0)

    def power_w(self, mhz: float, busy: int, activity: float, temp_c: float) -> float:
        """Package power with ``busy`` cores at one clock; ``activity`` counts their idle share too [W]."""
        switching = busy * activity * self.switching_w(mhz) if busy else 0.0
        return self.floor_w(busy) + switching + self.leakage_w(mhz, temp_c)

    def own_w(self, mhz: float, busy: int, activity: float, temp_c: float) -> float:
        """Power made in the hottest core itself: its switching and its share of the leakage [W]."""
        switching = activity * self.switching_w(mhz) if busy else 0.0
        return switching + self.leakage_w(mhz, temp_c) / self.cores

    def free_mhz(self, busy: int, activity: float, kind: str = "") -> float:
        """Clock it would run at with nothing in the way and a load that wants it all [MHz]."""
        if not busy:
            return self.lowest_mhz
        offset = self.wide_offset_mhz if activity >= WIDE_ACTIVITY or kind in WIDE_WORK else 0.0
        return self.bins_mhz[min(busy, len(self.bins_mhz)) - 1] - offset
