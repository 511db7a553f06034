"""What the thermal verdict should find about a virtual machine: from its network alone, nothing is simulated."""

from __future__ import annotations

from benchmon.virtual_bench.spec import HEATSINK, BoxSpec

_HOTTEST_C = 200.0


class Reference:
    """Settled temperatures, resistances and capacities of one machine with a working fan.

    Args:
        spec: the machine.
        room_c: room; None = the machine's own [°C].
    """

    def __init__(self, spec: BoxSpec, room_c: float | None = None) -> None:
        self._spec = spec
        self.room_c = spec.room_c if room_c is None else room_c

    def chain_k_per_w(self, hot_c: float) -> float:
        """Die to room, all stages in a row, with the fan as it turns when the hottest core is at ``hot_c``."""
        fan = self._spec.fan
        stretch = fan.factor(fan.wanted_rpm(hot_c, fan.full_only_after_s))
        stages = self._spec.stages
        return sum(
            stage.resistance_k_per_w * (stretch if place == HEATSINK else 1.0) for place, stage in enumerate(stages)
        )

    def settled_temp_c(self, busy: int, activity: float = 1.0, mhz: float | None = None) -> float:
        """Settled reading for a load that nothing limits; leakage grows with temperature [°C].

        Args:
            busy: busy cores, 0 = idle.
            activity: of the code.
            mhz: clock it runs at; None = what the chip gives it.
        """
        chip = self._spec.chip
        clock = chip.free_mhz(busy, activity) if mhz is None else mhz
        low_c, high_c = self.room_c, _HOTTEST_C
        for _ in range(60):
            hot_c = 0.5 * (low_c + high_c)
            rise_k = chip.power_w(clock, busy, activity, hot_c) * self.chain_k_per_w(hot_c)
            rise_k += self._spec.spread_k_per_w * chip.own_w(clock, busy, activity, hot_c)
            if self.room_c + rise_k > hot_c:
                low_c = hot_c
            else:
                high_c = hot_c
        return high_c

    def settled_power_w(self, busy: int, activity: float = 1.0, mhz: float | None = None) -> float:
        """Package power at that settled temperature [W]."""
        clock = self._spec.chip.free_mhz(busy, activity) if mhz is None else mhz
        return self._spec.chip.power_w(clock, busy, activity, self.settled_temp_c(busy, activity, clock))

    def resistance_k_per_w(self, busy: int, activity: float = 1.0, mhz: float | None = None) -> float:
        """Settled rise of the reading above the room for each watt of the package, for this pattern of load."""
        rise_k = self.settled_temp_c(busy, activity, mhz) - self.room_c
        return rise_k / self.settled_power_w(busy, activity, mhz)

    def capacity_w(self, limit_c: float) -> float:
        """Package power with which the reading settles exactly at ``limit_c``, all cores busy [W].

        From limit = room + P·chain + spread·(P - floor) / cores, solved for P.
        """
        chip = self._spec.chip
        per_core = self._spec.spread_k_per_w / chip.cores
        rise_k = limit_c - self.room_c + per_core * chip.floor_w(chip.cores)
        return rise_k / (self.chain_k_per_w(limit_c) + per_core)
