"""The cooler: a chain of heat capacities and resistances from die to room, and the fan that blows through it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stage:
    """One heat store of the chain and the way on from it, to the next store or, for the last, to the room."""

    resistance_k_per_w: float
    capacity_j_per_k: float


class Cooler:
    """A Cauer chain: power enters the first stage (the die), leaves the last one into the room.

    Each step solves the implicit Euler equations of all stages exactly, so it is stable for any step and conserves
    energy to rounding: what came in is stored or has left.

    Args:
        stages: from the die outwards, at least one.
        room_c: temperature at which every stage starts [°C].
    """

    def __init__(self, stages: Sequence[Stage], room_c: float) -> None:
        self.stages = tuple(stages)
        self.temps_c = [room_c] * len(self.stages)
        self.heat_to_room_j = 0.0
        """Heat that has left the last stage since the start [J]."""
        self._resistances = [stage.resistance_k_per_w for stage in self.stages]
        self._prepared_for_s = 0.0
        self._prepare(1.0)

    @property
    def resistance_k_per_w(self) -> float:
        """Die to room, all stages in a row [K/W]."""
        return sum(self._resistances)

    @property
    def stored_j(self) -> float:
        """Heat stored above 0 °C [J]; only differences mean something."""
        pairs = zip(self.stages, self.temps_c, strict=True)
        return sum(stage.capacity_j_per_k * temp_c for stage, temp_c in pairs)

    def stretch(self, stage: int, factor: float) -> None:
        """Make one stage's resistance ``factor`` times its nominal one: a fan that turns slower, a dry paste."""
        resistance = self.stages[stage].resistance_k_per_w * factor
        if resistance != self._resistances[stage]:
            self._resistances[stage] = resistance
            self._prepared_for_s = 0.0

    def settle(self, power_w: float, room_c: float) -> None:
        """Put every stage where a constant power would bring it in the end."""
        temp_c = room_c
        for stage in reversed(range(len(self.stages))):
            temp_c += power_w * self._resistances[stage]
            self.temps_c[stage] = temp_c

    def _prepare(self, dt_s: float) -> None:
        """The part of the elimination that depends on the step and the resistances only."""
        self._prepared_for_s = dt_s
        self._inertia = [stage.capacity_j_per_k / dt_s for stage in self.stages]
        self._onward = [1.0 / resistance for resistance in self._resistances]
        self._pivot: list[float] = []
        self._share: list[float] = []
        from_before = 0.0
        for inertia, onward in zip(self._inertia, self._onward, strict=True):
            pivot = inertia + from_before + onward
            self._pivot.append(pivot)
            self._share.append(onward / pivot)
            from_before = onward * (1.0 - onward / pivot)

    def step(self, power_w: float, room_c: float, dt_s: float) -> None:
        """Move on by ``dt_s`` [s] with a constant power [W] into the die and a room at ``room_c`` [°C]."""
        if dt_s != self._prepared_for_s:
            self._prepare(dt_s)
        temps_c = self.temps_c
        inflow = power_w
        known = []
        for temp_c, inertia, onward, pivot in zip(temps_c, self._inertia, self._onward, self._pivot, strict=True):
            fixed = (inertia * temp_c + inflow) / pivot
            known.append(fixed)
            inflow = onward * fixed
        beyond_c = room_c
        for stage in range(len(known) - 1, -1, -1):
            beyond_c = known[stage] + self._share[stage] * beyond_c
            temps_c[stage] = beyond_c
        self.heat_to_room_j += (temps_c[-1] - room_c) * self._onward[-1] * dt_s


@dataclass(frozen=True, slots=True)
class FanSpec:
    """How a fan follows the temperature, and what it means for the heatsink."""

    low_rpm: float = 1100.0
    full_rpm: float = 3200.0
    low_until_c: float = 50.0
    full_from_c: float = 85.0
    lag_s: float = 4.0
    """Time constant with which it follows [s]."""
    exponent: float = 0.6
    """Resistance of the heatsink goes with rpm to the power of minus this: forced air, common practice 0.5–0.8."""
    still_factor: float = 3.0
    """How many times its resistance at full speed the heatsink has in still air."""
    full_only_after_s: float = 0.0
    """Before this time it stays at its low speed, however hot it gets [s]."""
    fails_at_s: float | None = None
    """From here on it stands still [s]."""

    def wanted_rpm(self, temp_c: float, t_s: float) -> float:
        """Speed it is told to turn at."""
        if self.fails_at_s is not None and t_s >= self.fails_at_s:
            return 0.0
        if t_s < self.full_only_after_s or temp_c <= self.low_until_c:
            return self.low_rpm
        share = min(1.0, (temp_c - self.low_until_c) / (self.full_from_c - self.low_until_c))
        return self.low_rpm + share * (self.full_rpm - self.low_rpm)

    def factor(self, rpm: float) -> float:
        """Resistance of the heatsink as a multiple of that at full speed, 1 … ``still_factor``."""
        if rpm * self.still_factor ** (1.0 / self.exponent) <= self.full_rpm:
            return self.still_factor
        return float((self.full_rpm / rpm) ** self.exponent)
