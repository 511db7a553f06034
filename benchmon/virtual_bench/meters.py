"""What sensors make of the truth: steps, noise, a slow refresh, counters that wrap."""

from __future__ import annotations

import random
from dataclasses import dataclass

ENERGY_UNIT_UJ = 61.03515625
"""Energy unit of most desktop processors: 2⁻¹⁴ J (Linux drivers/powercap: ESU 14)."""
ENERGY_RANGE_UJ = 262_143_328_850
"""The ``max_energy_range_uj`` that goes with it."""
COUNTER_UPDATE_S = 0.001
"""Energy counters move about once a millisecond."""


@dataclass(frozen=True, slots=True)
class MeterSpec:
    """How well this machine's sensors show the truth."""

    temp_step_c: float = 1.0
    """1 for coretemp-like, 0.125 for k10temp-like sensors, 0.5 for others [°C]."""
    temp_noise_c: float = 0.2
    temp_refresh_s: float = 1.0
    """The reading changes at most so often [s]; 0 = each time it is read."""
    clock_noise: float = 0.003
    """Relative noise of each core's clock reading."""
    energy_range_uj: int = ENERGY_RANGE_UJ
    energy_start: float = 0.3
    """Where the counter stands at first, as a share of its range."""
    power_noise: float = 0.005
    """Relative noise of the load's own power from one tenth of a second to the next."""


class Thermometer:
    """A reading with steps, noise and a refresh of its own."""

    def __init__(self, spec: MeterSpec, rng: random.Random) -> None:
        self._spec, self._rng = spec, rng
        self._next_s = 0.0
        self._shown_c = 0.0

    def look(self, t_s: float, temp_c: float) -> None:
        """Take a new reading if it is time for one."""
        if t_s >= self._next_s:
            self._next_s = t_s + self._spec.temp_refresh_s - 1e-9
            self._shown_c = self._stepped(temp_c)

    def shown_c(self, temp_c: float) -> float:
        """What a read gives now."""
        return self._shown_c if self._spec.temp_refresh_s else self._stepped(temp_c)

    def _stepped(self, temp_c: float) -> float:
        noisy = temp_c + self._rng.gauss(0.0, self._spec.temp_noise_c)
        # To the nearest step: makers do not say how theirs divide, and a cut would be a bias nobody could find out.
        return round(noisy / self._spec.temp_step_c) * self._spec.temp_step_c


class EnergyCounter:
    """Energy in whole units of the hardware, modulo its range."""

    def __init__(self, spec: MeterSpec, rng: random.Random) -> None:
        self._range_uj, self._rng = spec.energy_range_uj, rng
        self.joules = 0.0
        """Energy since the start, exact."""
        self._offset_uj = spec.energy_start * spec.energy_range_uj

    def shown_uj(self, power_w: float) -> int:
        """What a read gives now: up to one update late [µJ]."""
        late_j = power_w * self._rng.random() * COUNTER_UPDATE_S
        uj = self._offset_uj + max(0.0, self.joules - late_j) * 1e6
        return int(int(uj / ENERGY_UNIT_UJ) * ENERGY_UNIT_UJ) % self._range_uj

    def reset(self) -> None:
        """Start from zero, as some counters do when the machine slept."""
        self._offset_uj = -self.joules * 1e6


@dataclass(frozen=True, slots=True)
class BoxReadings:
    """What the sensors of a virtual machine show at one moment."""

    t_s: float
    clock_mhz: tuple[float, ...]
    """Clock of each core."""
    temp_c: float
    """The processor's temperature as its sensor shows it."""
    core_temp_c: tuple[float, ...]
    energy_uj: int
    energy_range_uj: int
    busy_s: tuple[float, ...]
    """Busy time of each core since the start."""
    load_pct: tuple[float, ...]
    """Load of each core right now."""
    work_units: float
    """Units of work finished since the start."""
    clock_cap_mhz: float
    platform_cap_mhz: float
    throttle_count: int
    throttle_ms: int
    cooling_step: int
    most_cooling_steps: int
    fan_rpm: float
    board_temp_c: float
