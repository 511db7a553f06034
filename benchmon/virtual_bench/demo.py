"""The machine of ``benchmon demo`` and its story: the one definition behind demo, pictures, scenes and recordings.

A six-core box as it was bought cannot hold its clock. An air duct is fitted and now it can; carried to a warmer room it
just fails again. It tells a temperature limit far above the one that its firmware defends.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.chip import ChipSpec
from benchmon.virtual_bench.cooler import FanSpec, Stage
from benchmon.virtual_bench.firmware import PowerLimit
from benchmon.virtual_bench.heat_limits import Glide
from benchmon.virtual_bench.meters import MeterSpec
from benchmon.virtual_bench.seeded import seeded
from benchmon.virtual_bench.spec import BoxSpec

NAME = "Saltmarsh Six"
TOLD_LIMIT_C = 97.0
"""What the sensors say the limit is [°C] ..."""
DEFENDED_C = 82.0
"""... and the temperature at which the firmware really takes the clock away [°C]."""
POWER_LIMIT_W, SHORT_POWER_LIMIT_W, POWER_WINDOW_S = 62.0, 80.0, 32.0
OWN_DRAW_W, SUPPLY_EFFICIENCY = 8.6, 0.86
"""What board, drive and memory take at the wall [W], and the share of the rest that arrives at the processor."""

CHIP = ChipSpec(
    cores=6,
    lowest_mhz=1100.0,
    rated_mhz=3000.0,
    bins_mhz=(4200.0, 4100.0, 3900.0, 3700.0, 3600.0, 3500.0),
    volt_low=0.82,
    volt_high=1.12,
    core_w=5.27,
    uncore_w=3.1,
    idle_w=3.6,
    leak_w=3.4,
)
DEMO_STEPS: list[tuple[str, float, int]] = [
    ("idle", 60.0, 0),
    ("one core", 120.0, 1),
    ("all cores", 540.0, CHIP.cores),
    ("cool-down", 120.0, 0),
]
"""Phase, length [s], busy cores."""


@dataclass(frozen=True, slots=True)
class Chapter:
    """One run of the story."""

    words: str
    """What is special about it."""
    room_c: float
    air_k_per_w: float
    """From the heatsink's fins into the room [K/W]: less when the fan draws fresh air."""
    tags: Mapping[str, str] = field(default_factory=dict)


BOUGHT = "bought"
"""The chapter the story begins with."""
CHAPTERS: Mapping[str, Chapter] = MappingProxyType(
    {
        BOUGHT: Chapter("as it was bought", 19.0, 0.72, {"duct": "none"}),
        "duct": Chapter("with an air duct fitted", 19.0, 0.22, {"duct": "fitted"}),
        "warm": Chapter("with the duct, in a warmer room", 30.0, 0.22, {"duct": "fitted", "room": "attic"}),
    }
)


def demo_box(seed: int, chapter: str = BOUGHT, room_c: float | None = None) -> VirtualBox:
    """The machine of the story at the start of a run.

    Args:
        seed: another number gives a machine a little different, with other noise.
        chapter: a key of ``CHAPTERS``.
        room_c: another room than the story's [°C].
    """
    rng = seeded(seed)

    def about(value: float, share: float = 0.02) -> float:
        return value * (1.0 + rng.uniform(-share, share))

    told = CHAPTERS[chapter]
    spec = BoxSpec(
        name=NAME,
        chip=CHIP,
        stages=(Stage(0.20, 9.0), Stage(about(0.64), about(66.0)), Stage(about(told.air_k_per_w), 95.0)),
        spread_k_per_w=0.45,
        fan=FanSpec(low_rpm=1250.0, full_rpm=2900.0, low_until_c=44.0, full_from_c=66.0),
        room_c=told.room_c if room_c is None else room_c,
        warm_start_w=8.0,
        meters=MeterSpec(temp_noise_c=0.25, clock_noise=0.003, power_noise=0.006),
        announced_limit_c=TOLD_LIMIT_C,
    )
    limits = (
        Glide(DEFENDED_C, slow_mhz=8.0, fast_mhz=30.0, step_mhz=25.0, first_drop_mhz=700.0),
        PowerLimit(POWER_LIMIT_W, SHORT_POWER_LIMIT_W, POWER_WINDOW_S),
    )
    return VirtualBox(spec, seed, limits)


def wall_w(package_w: float) -> float:
    """What a wall meter shows beside so much package power [W]."""
    return OWN_DRAW_W + package_w / SUPPLY_EFFICIENCY
