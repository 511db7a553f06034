"""What happens in one run: the work that is asked for, the machine, what limits it and how it is read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from tests.benchmarks.third_bench.limits import Budget, Cap, Limit
from tests.benchmarks.third_bench.luck import Luck
from tests.benchmarks.third_bench.metal import Metal
from tests.benchmarks.third_bench.silicon import Silicon

MARGINS_K = (0.0, 5.0, 12.0, 20.0, 32.0)
"""How far the told limit lies above what is really defended, or above where a budget or a cap ends."""


@dataclass(frozen=True)
class Ask:
    """From this moment on."""

    t_s: float
    busy: int
    weight: float = 1.0
    """Power per clock, 1 = usual code."""
    busy_share: float = 1.0
    """Share of its time each busy core works."""
    clock: float = 1.0
    """Clock that this code, or the governor, wants: a share of what would be given."""
    others: float = 0.0
    """Share of the cores' time that other programs, or a hypervisor, took from the work that is counted."""


@dataclass(frozen=True)
class Fan:
    """Air by temperature: lowest below ``from_c``, full at ``full_c``, after a lag; ``fails_s``: when it stops."""

    lowest: float = 1.0
    from_c: float = 0.0
    full_c: float = 1.0
    lag_s: float = 5.0
    fails_s: float = float("inf")

    def wants(self, t_s: float, die_c: float) -> float:
        """Air speed it goes for, 1 = nominal."""
        if t_s >= self.fails_s:
            return 0.05
        share = (die_c - self.from_c) / (self.full_c - self.from_c)
        return self.lowest + (1.0 - self.lowest) * max(0.0, min(1.0, share))


@dataclass(frozen=True)
class Eyes:
    """How the run is read."""

    period_s: float
    hides: frozenset[str] = frozenset()
    """Channels that this machine has not: ``clock``, ``power``, ``temp``, ``load``."""
    temp_lag_s: float = 0.0
    temp_grain_k: float = 1.0
    power_lag_s: float = 0.0
    """The meter gives a mean over about this."""
    clock_noise: float = 0.003
    power_noise: float = 0.01
    at_once: bool = False
    """The clock of the moment, not the mean since the sample before."""
    lost: float = 0.0
    """Share of readings that fail."""
    holes: int = 0
    """Stretches without any sample."""
    host_load_pct: float | None = None
    """Load that is read is another processor's: about this [%]."""
    tells_share: bool = False
    """The share that the workers were let run is read."""
    tells_work: bool = True
    sees_others: bool = True
    """Others' time counts as load that is read; not where a hypervisor takes it."""


@dataclass
class Script:
    """Limits keep state: a script is played once."""

    silicon: Silicon
    metal: Metal
    room_c: float
    asks: Sequence[Ask]
    limits: Sequence[Limit]
    length_s: float
    eyes: Eyes
    fan: Fan = field(default_factory=Fan)
    defends_c: float | None = None
    """Temperature that is really defended [°C]; None = none is."""
    told_power: Budget | None = None
    """The budget whose limit the machine tells."""
    told_power_w: float | None = None
    """Or a power limit that is never reached [W]."""
    tells_window: bool = True
    told_cap: Cap | None = None
    """The cap that the kernel's policy shows."""
    tells_clocks: bool = True
    """Highest, rated and lowest clock are told."""
    idle_unrest: float = 0.0
    wander: float = 0.0
    """Relative unrest of the clock that is given."""


def usual_eyes(luck: Luck, **more: Any) -> Eyes:
    """A recorder as they come, unless told otherwise."""
    drawn: dict[str, Any] = {
        "period_s": luck.pick(0.2, 0.5, 1.0, 1.0, 1.0, 2.0, 5.0),
        "temp_lag_s": luck.pick(0.0, 0.3, 1.0, 3.0),
        "temp_grain_k": luck.pick(1.0, 1.0, 0.125),
        "power_lag_s": luck.pick(0.0, 0.0, 1.0),
        "clock_noise": luck.decade(0.0005, 0.02),
        "power_noise": luck.decade(0.002, 0.03),
        "at_once": luck.chance(0.4),
        "lost": luck.pick(0.0, 0.0, 0.0, 0.01),
        "tells_work": luck.chance(0.5),
    }
    return Eyes(**{**drawn, **more})


def work_between(busy: int, start_s: float, end_s: float | None, **how: float) -> list[Ask]:
    """Nothing, so many busy cores from ``start_s``, nothing again from ``end_s``."""
    asks = [Ask(0.0, 0), Ask(start_s, busy, **how)]
    return asks if end_s is None else [*asks, Ask(end_s, 0)]


def board_eyes(luck: Luck) -> dict[str, Any]:
    """What is different where an accelerator board is read: the load is its host's, or none."""
    hides = luck.pick(frozenset[str](), frozenset({"load"}))
    return {
        "host_load_pct": luck.even(0.5, 5.0),
        "hides": hides,
        "tells_work": False,
        "period_s": luck.pick(0.1, 0.5, 1.0, 1.0),
        "power_lag_s": luck.pick(0.0, 1.0),
        "temp_grain_k": 1.0,
    }
