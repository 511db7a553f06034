"""Machines drawn by chance, as different from one another as small machines are."""

from __future__ import annotations

import random
from dataclasses import dataclass

from benchmon.virtual_bench.chip import ChipSpec
from benchmon.virtual_bench.cooler import FanSpec, Stage
from benchmon.virtual_bench.meters import MeterSpec
from benchmon.virtual_bench.spec import BoxSpec

NAMES = ("Millpond Cube", "Harbour Box", "Tin Lantern", "Quarry Mini", "Cellar Slim", "Orchard Tower")


@dataclass(frozen=True, slots=True)
class Shares:
    """How the rise above the room divides over the way out, with all cores busy; adds up to 1."""

    spread: float
    die: float
    sink: float
    case: float


def draw_chip(rng: random.Random, package_w: float) -> ChipSpec:
    """A processor that draws about ``package_w`` [W] with all cores busy, near 75 °C."""
    cores = rng.choice((2, 4, 4, 6, 8, 12, 16))
    rated = 100.0 * round(rng.uniform(16.0, 36.0))
    all_cores = 100.0 * round(rated * rng.uniform(1.0, 1.3) / 100.0)
    highest = max(all_cores, 100.0 * round(all_cores * rng.uniform(1.0, 1.3) / 100.0))
    slope = (highest - all_cores) / max(1, cores - 1)
    bins = tuple(100.0 * round((highest - slope * busy) / 100.0) for busy in range(cores))
    idle, uncore, leak = rng.uniform(0.05, 0.15), rng.uniform(0.04, 0.12), rng.uniform(0.03, 0.10)
    chip = ChipSpec(
        cores=cores,
        lowest_mhz=100.0 * round(rng.uniform(4.0, 12.0)),
        rated_mhz=rated,
        bins_mhz=bins,
        volt_low=rng.uniform(0.65, 0.85),
        volt_high=rng.uniform(1.0, 1.3),
        core_w=1.0,
        uncore_w=package_w * uncore,
        idle_w=package_w * idle,
        leak_w=package_w * leak,
        leak_fold_k=rng.uniform(40.0, 70.0),
        wide_offset_mhz=100.0 * rng.randint(2, 5),
    )
    rest_w = package_w - chip.floor_w(cores) - chip.leakage_w(bins[-1], 75.0)
    core_w = rest_w / (cores * chip.switching_w(bins[-1]))
    return _with_core_power(chip, core_w)


def _with_core_power(chip: ChipSpec, core_w: float) -> ChipSpec:
    values = {name: getattr(chip, name) for name in chip.__dataclass_fields__}
    return ChipSpec(**{**values, "core_w": core_w})


def draw_shares(rng: random.Random) -> Shares:
    """Most of the rise lies between heatsink and air."""
    spread, die, case = rng.uniform(0.03, 0.10), rng.uniform(0.12, 0.30), rng.uniform(0.08, 0.22)
    return Shares(spread, die, 1.0 - spread - die - case, case)


def draw_stages(rng: random.Random, k_per_w: float, shares: Shares) -> tuple[Stage, ...]:
    """A chain with the given resistance in all: a die of seconds, a heatsink of minutes, a case of tens of minutes."""
    die, sink, case = (k_per_w * share for share in (shares.die, shares.sink, shares.case))
    die_stage = Stage(die, rng.uniform(1.0, 5.0) / die)
    sink_stage = Stage(sink, rng.uniform(40.0, 300.0) / sink)
    case_stage = Stage(case, rng.uniform(600.0, 2400.0) / case)
    if rng.random() < 0.3:  # an air space of its own between heatsink and case
        half = Stage(0.5 * case, rng.uniform(200.0, 600.0) / case)
        return die_stage, sink_stage, half, Stage(0.5 * case, 0.7 * case_stage.capacity_j_per_k)
    return die_stage, sink_stage, case_stage


def draw_fan(rng: random.Random, hot_c: float) -> FanSpec:
    """A fan that is at its full speed well before ``hot_c``; one machine in five has none."""
    if rng.random() < 0.2:
        return FanSpec(low_rpm=0.0, full_rpm=0.0, still_factor=1.0)
    full = rng.uniform(2000.0, 5200.0)
    return FanSpec(
        low_rpm=full * rng.uniform(0.35, 0.7),
        full_rpm=full,
        low_until_c=hot_c - rng.uniform(28.0, 45.0),
        full_from_c=hot_c - rng.uniform(8.0, 20.0),
        lag_s=rng.uniform(2.0, 10.0),
        exponent=rng.uniform(0.45, 0.75),
        still_factor=rng.uniform(2.2, 3.5),
    )


def draw_meters(rng: random.Random) -> MeterSpec:
    """Sensors of three families, more or less noisy."""
    step = rng.choice((1.0, 1.0, 1.0, 0.125, 0.5))
    return MeterSpec(
        temp_step_c=step,
        temp_noise_c=rng.uniform(0.0, 0.5),
        temp_refresh_s=1.0 if step == 1.0 else 0.0,
        clock_noise=10.0 ** rng.uniform(-3.3, -2.0),
        energy_start=rng.random(),
        power_noise=10.0 ** rng.uniform(-2.7, -1.7),
    )


def draw_machine(rng: random.Random, governor: str = "performance") -> BoxSpec:
    """A whole machine that would settle somewhere between 76 and 110 °C with all cores busy."""
    package_w = 10.0 ** rng.uniform(0.95, 2.1)
    room_c, hot_c = rng.uniform(16.0, 33.0), rng.uniform(76.0, 110.0)
    chip = draw_chip(rng, package_w)
    shares = draw_shares(rng)
    k_per_w = (hot_c - room_c) / package_w
    core_part_w = (package_w - chip.floor_w(chip.cores)) / chip.cores
    return BoxSpec(
        name=rng.choice(NAMES),
        chip=chip,
        stages=draw_stages(rng, k_per_w, shares),
        spread_k_per_w=shares.spread * (hot_c - room_c) / core_part_w,
        spread_lag_s=rng.uniform(0.2, 0.8),
        fan=draw_fan(rng, hot_c),
        room_c=room_c,
        room_drift_k_per_h=rng.uniform(-2.0, 2.0),
        warm_start_w=package_w * rng.uniform(0.12, 0.35),
        meters=draw_meters(rng),
        governor=governor,
    )


def draw_period_s(rng: random.Random) -> float:
    """Sampling periods as people choose them."""
    return rng.choice((0.1, 0.2, 0.5, 0.5, 0.5, 0.5, 1.0, 1.0, 1.0, 1.0, 2.0, 2.0, 5.0, 10.0))
