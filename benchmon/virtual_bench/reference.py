"""What the thermal verdict should find about a virtual machine: from its network alone, nothing is simulated."""

from __future__ import annotations

from collections.abc import Callable

from benchmon.virtual_bench.spec import HEATSINK, BoxSpec

_HOTTEST_C = 200.0


class Reference:
    """Settled temperatures, resistances and capacities of one machine with a working, settled fan.

    Args:
        spec: the machine.
    """

    def __init__(self, spec: BoxSpec) -> None:
        self._spec = spec

    def chain_k_per_w(self, hot_c: float) -> float:
        """Die to room, all stages in a row, with the fan as it turns when the hottest core is at ``hot_c``."""
        fan = self._spec.fan
        stretch = fan.factor(fan.wanted_rpm(hot_c, fan.full_only_after_s))
        stages = self._spec.stages
        return sum(
            stage.resistance_k_per_w * (stretch if place == HEATSINK else 1.0) for place, stage in enumerate(stages)
        )

    def settled_for_power_c(self, power_w: float, busy: int, room_c: float | None = None) -> float:
        """Settled reading for a constant package power [W] spread over ``busy`` cores [°C]."""
        room_c = self._spec.room_c if room_c is None else room_c
        spread_k = self._spread_k(power_w, busy)
        return _rising_root(lambda hot_c: hot_c - room_c - spread_k - power_w * self.chain_k_per_w(hot_c), room_c)

    def settled_temp_c(
        self, busy: int, activity: float = 1.0, mhz: float | None = None, room_c: float | None = None
    ) -> float:
        """Settled reading for a load that nothing limits [°C]; leakage grows with temperature.

        Args:
            busy: busy cores, 0 = idle.
            activity: of the code.
            mhz: clock it runs at; None = what the chip gives it.
            room_c: room; None = the machine's own.
        """
        chip = self._spec.chip
        room_c = self._spec.room_c if room_c is None else room_c
        clock = chip.free_mhz(busy, activity) if mhz is None else mhz

        def too_hot(hot_c: float) -> float:
            power_w = chip.power_w(clock, busy, activity, hot_c)
            return hot_c - room_c - self._spread_k(power_w, busy) - power_w * self.chain_k_per_w(hot_c)

        return _rising_root(too_hot, room_c)

    def settled_power_w(self, busy: int, activity: float = 1.0, mhz: float | None = None) -> float:
        """Package power at that settled temperature [W]."""
        clock = self._spec.chip.free_mhz(busy, activity) if mhz is None else mhz
        return self._spec.chip.power_w(clock, busy, activity, self.settled_temp_c(busy, activity, clock))

    def resistance_k_per_w(self, busy: int, power_w: float, hot_c: float) -> float:
        """Rise of the reading above the room for each watt of the package, for this pattern of load."""
        return self.chain_k_per_w(hot_c) + self._spread_k(power_w, busy) / power_w

    def capacity_w(self, limit_c: float, room_c: float | None = None, busy: int | None = None) -> float:
        """Package power with which the reading settles exactly at ``limit_c``; ``busy`` None = all cores [W]."""
        spec = self._spec
        room_c = spec.room_c if room_c is None else room_c
        cores = busy or spec.chip.cores
        per_core = spec.spread_k_per_w / cores
        return (limit_c - room_c + per_core * spec.chip.floor_w(cores)) / (self.chain_k_per_w(limit_c) + per_core)

    def _spread_k(self, power_w: float, busy: int) -> float:
        chip = self._spec.chip
        return self._spec.spread_k_per_w * (power_w - chip.floor_w(busy)) / (busy or chip.cores)


def _rising_root(balance: Callable[[float], float], low: float) -> float:
    """Where ``balance`` passes zero between ``low`` and 200 °C; the latter if it stays below (thermal runaway)."""
    high = _HOTTEST_C
    for _ in range(60):
        middle = 0.5 * (low + high)
        if balance(middle) < 0.0:
            low = middle
        else:
            high = middle
    return high
