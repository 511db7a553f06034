"""A processor and the three heat stores it warms: die, heat sink, case."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from tests.benchmarks.second_bench.dice import Dice


@dataclass(frozen=True)
class Machine:
    """What a processor would do with nothing in the way."""

    cores: int
    one_core_mhz: float
    """Clock with one busy core ..."""
    all_cores_mhz: float
    """... and with all of them; between the two it falls straight with the number of busy cores."""
    floor_mhz: float
    full_w: float
    """Power of all cores at their clock when the die is at its limit, without ``idle_w`` [W]."""
    leak_share: float
    """Share of ``full_w`` that leaks at the limit."""
    leak_k: float
    """Leakage grows e-fold in this many kelvins [K]."""
    knee: float
    """Share of the clock below which the voltage falls no further."""
    least_voltage: float
    """Voltage below the knee, as a share of that at full clock."""
    room_c: float
    limit_c: float
    """Die temperature at which the machine says that it limits itself [°C]."""
    idle_w: float

    def free_mhz(self, busy_cores: int) -> float:
        if self.cores == 1:
            return self.all_cores_mhz
        share = (max(busy_cores, 1) - 1) / (self.cores - 1)
        return self.one_core_mhz + (self.all_cores_mhz - self.one_core_mhz) * share

    def switching_w(self, clock_mhz: float, busy_cores: float, activity: float) -> float:
        """Power that goes with clock × voltage² [W]; ``activity``: how heavy the code is, 1 = usual."""
        share = clock_mhz / self.all_cores_mhz
        full_w = self.full_w * (1 - self.leak_share)
        return full_w * share * self._voltage(share) ** 2 * activity * busy_cores / self.cores

    def _voltage(self, clock_share: float) -> float:
        if clock_share < self.knee:
            return self.least_voltage
        return self.least_voltage + (1 - self.least_voltage) * (clock_share - self.knee) / (1 - self.knee)

    def leakage_w(self, die_c: float) -> float:
        # Far above the limit the exponential is no longer true of silicon, and would run away.
        return self.leak_share * self.full_w * math.exp(min(1.2, (die_c - self.limit_c) / self.leak_k))


def draw_machine(dice: Dice) -> Machine:
    """Any machine from the smallest to the workstation."""
    all_cores_mhz = dice.between(1800, 4600)
    all_cores_mhz -= all_cores_mhz % 100
    cores = dice.one_of([2, 4, 4, 6, 8, 12, 16])
    one_core_mhz = all_cores_mhz * dice.between(1.0, 1.25)
    floor_mhz = min(float(dice.one_of([400, 600, 800, 1200])), round(0.35 * all_cores_mhz, -2))
    full_w = dice.log_between(10, 120)
    return Machine(
        cores=cores,
        one_core_mhz=one_core_mhz,
        all_cores_mhz=all_cores_mhz,
        floor_mhz=floor_mhz,
        full_w=full_w,
        leak_share=dice.between(0.08, 0.22),
        leak_k=dice.between(40, 70),
        knee=dice.between(0.35, 0.55),
        least_voltage=dice.between(0.62, 0.8),
        room_c=dice.between(15, 35),
        limit_c=float(dice.one_of([75, 80, 85, 90, 95, 97, 100, 105])),
        idle_w=full_w * dice.between(0.02, 0.08),
    )


class Temps(NamedTuple):
    """State of the heat stores [°C]."""

    die_c: float
    sink_c: float
    case_c: float


@dataclass(frozen=True)
class Cooler:
    """Three heat stores in a row: power → die → heat sink → air in the case → room."""

    die_k_per_w: float
    sink_k_per_w: float
    case_k_per_w: float
    die_j_per_k: float
    sink_j_per_k: float
    case_j_per_k: float

    def step(self, now: Temps, power_w: float, room_c: float, sink_factor: float, dt_s: float) -> Temps:
        """Temperatures ``dt_s`` later; ``sink_factor``: how much worse the fan makes the heat sink, 1 = as built."""
        to_sink_w = (now.die_c - now.sink_c) / self.die_k_per_w
        to_case_w = (now.sink_c - now.case_c) / (self.sink_k_per_w * sink_factor)
        to_room_w = (now.case_c - room_c) / self.case_k_per_w
        return Temps(
            now.die_c + (power_w - to_sink_w) / self.die_j_per_k * dt_s,
            now.sink_c + (to_sink_w - to_case_w) / self.sink_j_per_k * dt_s,
            now.case_c + (to_case_w - to_room_w) / self.case_j_per_k * dt_s,
        )


def cooler_that_settles(
    dice: Dice,
    machine: Machine,
    settled_c: float,
    *,
    busy_cores: int | None = None,
    activity: float = 1.0,
    power_w: float | None = None,
    die_share: float | None = None,
    die_s: float | None = None,
    sink_s: float | None = None,
    case_s: float | None = None,
) -> Cooler:
    """The cooler with which this load, not limited, would settle at ``settled_c``.

    Args:
        dice: for what is not given.
        machine: what it cools.
        settled_c: final die temperature [°C].
        busy_cores: None = all.
        activity: how heavy the code is.
        power_w: power of the load, where it is not the machine's own at that temperature [W].
        die_share: share of the resistance that lies between die and heat sink.
        die_s: time constant of each store with its own resistance [s] ...
        sink_s: ... of the heat sink ...
        case_s: ... and of the case.
    """
    busy = busy_cores or machine.cores
    if power_w is None:
        switching_w = machine.switching_w(machine.free_mhz(busy), busy, activity)
        power_w = switching_w + machine.leakage_w(settled_c) + machine.idle_w
    whole_k_per_w = (settled_c - machine.room_c) / power_w
    die_share = die_share or dice.between(0.25, 0.5)
    case_share = dice.between(0.08, 0.22)
    die_k_per_w = whole_k_per_w * die_share
    case_k_per_w = whole_k_per_w * case_share
    sink_k_per_w = whole_k_per_w * (1 - die_share - case_share)
    return Cooler(
        die_k_per_w,
        sink_k_per_w,
        case_k_per_w,
        die_j_per_k=(die_s or dice.between(0.3, 2.0)) / die_k_per_w,
        sink_j_per_k=(sink_s or dice.log_between(20, 150)) / sink_k_per_w,
        case_j_per_k=(case_s or dice.between(250, 1200)) / case_k_per_w,
    )
