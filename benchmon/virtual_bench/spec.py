"""Everything about a machine that does not exist, in one place."""

from __future__ import annotations

from dataclasses import dataclass, field

from benchmon.virtual_bench.chip import ChipSpec
from benchmon.virtual_bench.cooler import FanSpec, Stage
from benchmon.virtual_bench.meters import MeterSpec

HEATSINK = 1
"""The stage whose resistance depends on the fan."""


@dataclass(frozen=True, slots=True)
class BoxSpec:
    """A machine but for its limits, which have a state and are given to the box."""

    name: str = "Millpond Cube"
    chip: ChipSpec = field(default_factory=ChipSpec)
    stages: tuple[Stage, ...] = (Stage(0.5, 5.0), Stage(0.9, 120.0), Stage(0.3, 3000.0))
    """Die, heatsink, case."""
    spread_k_per_w: float = 0.6
    """Extra rise of a hot core for each watt of its own [K/W]."""
    spread_lag_s: float = 0.4
    fan: FanSpec = field(default_factory=FanSpec)
    room_c: float = 24.0
    room_drift_k_per_h: float = 0.0
    warm_start_w: float | None = None
    """It was settled at this power before the start [W]; None = at its own idle power."""
    meters: MeterSpec = field(default_factory=MeterSpec)
    governor: str = "performance"
    """``performance``, ``schedutil`` (clock follows the demand) or ``ondemand`` (full or floor clock in turns)."""
    announced_limit_c: float | None = None
    """The temperature limit the machine tells; None = that of its first heat limit, or 100."""

    @property
    def cores(self) -> int:
        """How many it has."""
        return self.chip.cores
