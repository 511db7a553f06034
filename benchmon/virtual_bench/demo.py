"""The machine and the plan of ``benchmon demo``."""

from __future__ import annotations

from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.chip import ChipSpec
from benchmon.virtual_bench.cooler import FanSpec, Stage
from benchmon.virtual_bench.firmware import PowerLimit
from benchmon.virtual_bench.heat_limits import Glide
from benchmon.virtual_bench.meters import MeterSpec
from benchmon.virtual_bench.seeded import seeded
from benchmon.virtual_bench.spec import BoxSpec

DEMO_STEPS: list[tuple[str, float, int]] = [
    ("idle", 40.0, 0),
    ("one core", 100.0, 1),
    ("all cores", 240.0, 4),
    ("cool-down", 100.0, 0),
]
"""Phase, length [s], busy cores."""


def demo_box(seed: int) -> VirtualBox:
    """A small machine with four cores whose cooler cannot hold what they draw.

    Args:
        seed: another number gives a machine a little different, with other noise.
    """
    rng = seeded(seed)

    def about(value: float, share: float = 0.02) -> float:
        return value * (1.0 + rng.uniform(-share, share))

    chip = ChipSpec(
        cores=4,
        lowest_mhz=800.0,
        rated_mhz=2400.0,
        bins_mhz=(2700.0, 2600.0, 2400.0, 2400.0),
        volt_low=0.88,
        volt_high=1.04,
        core_w=6.35,
        uncore_w=2.4,
        idle_w=4.0,
        leak_w=2.6,
    )
    spec = BoxSpec(
        name="Millpond Cube 4",
        chip=chip,
        stages=(Stage(0.25, 7.0), Stage(about(1.58), about(94.0)), Stage(about(0.40), 700.0)),
        spread_k_per_w=0.5,
        fan=FanSpec(low_rpm=1400.0, full_rpm=3300.0, low_until_c=42.0, full_from_c=60.0),
        room_c=24.0,
        warm_start_w=8.0,
        meters=MeterSpec(temp_noise_c=0.25, clock_noise=0.003, power_noise=0.006),
    )
    limits = (
        Glide(73.0, slow_mhz=9.0, fast_mhz=12.0, step_mhz=25.0, first_drop_mhz=900.0),
        PowerLimit(long_w=45.0, short_w=56.0, window_s=28.0),
    )
    return VirtualBox(spec, seed, limits)
