"""Long runs in phases, with the figures that the thermal verdict should find: for judging its intervals."""

from __future__ import annotations

from dataclasses import dataclass, replace

from benchmon.virtual_bench.cooler import FanSpec
from benchmon.virtual_bench.heat_limits import Glide, SawTooth
from tests.benchmarks.first_bench.reference import Reference
from tests.benchmarks.first_bench.run import Run
from tests.benchmarks.first_bench.sketch import Sketch

LIMITED_UNTIL_C = 0.9
"""A heat limit is set so far up between one-core and free all-core temperature at most, else it would never bite."""


@dataclass(frozen=True, slots=True)
class SoakPhase:
    """One phase and its truth, from the network alone."""

    name: str
    start_s: float
    end_s: float
    busy_cores: int
    settles_at_c: float
    """Where the reading would settle: at the trip if heat limits it, before steps and noise of the sensor [°C]."""
    settled_power_w: float
    """Package power there [W]."""
    resistance_k_per_w: float
    """Rise above the room for each watt there [K/W]."""
    is_limited: bool
    """Heat limits it before it could settle freely."""


@dataclass(frozen=True, slots=True)
class Soak:
    """A run and the figures behind it."""

    run: Run
    phases: tuple[SoakPhase, ...]
    room_c: float
    """Room at the start [°C]."""
    room_drift_k_per_h: float
    limit_c: float
    """Temperature that its firmware defends [°C]."""
    capacity_w: float
    """Package power with which the reading settles at the limit, all cores busy [W]."""
    throttles: bool
    """Whether heat limits the last phase with all cores, if it lasts long enough."""


def soak_run(seed: int, throttles: bool | None = None) -> Soak:
    """Idle, one core, all cores … each long or short, on a machine, in a room and with sensors drawn by chance.

    Args:
        seed: another seed is another machine and plan.
        throttles: whether heat limits the load on all cores; None = by chance.
    """
    sketch = Sketch("soak", seed)
    if throttles is None:
        throttles = sketch.rng.random() < 0.5
    _calm_down(sketch)
    reference = Reference(sketch.spec)
    free_c, one_c = reference.settled_temp_c(sketch.cores), reference.settled_temp_c(1)
    if throttles:
        below_c = max(one_c, sketch.spec.room_c + 0.4 * (free_c - sketch.spec.room_c))
        limit_c = below_c + (free_c - below_c) * sketch.between(0.3, LIMITED_UNTIL_C)
    else:
        limit_c = free_c + sketch.between(4.0, 25.0)
    _defend(sketch, limit_c)
    plan = _plan(sketch)
    phases = tuple(_phase(sketch, reference, limit_c, step) for step in plan)
    return Soak(
        run=sketch.finish(),
        phases=phases,
        room_c=sketch.spec.room_c,
        room_drift_k_per_h=sketch.spec.room_drift_k_per_h,
        limit_c=limit_c,
        capacity_w=reference.capacity_w(limit_c),
        throttles=throttles,
    )


def _calm_down(sketch: Sketch) -> None:
    """A bench as people who measure thermally would set it up: slow sampling, a steady room, often a steady fan."""
    sketch.period_s = sketch.rng.choice((0.5, 1.0, 1.0, 2.0, 5.0))
    sketch.change(room_drift_k_per_h=sketch.rng.choice((0.0, 0.0, 0.0, sketch.between(-1.5, 1.5))))
    step = sketch.rng.choice((1.0, 1.0, 0.125))
    meters = replace(sketch.spec.meters, temp_step_c=step, temp_refresh_s=1.0 if step == 1.0 else 0.0)
    sketch.change(meters=meters)
    if sketch.rng.random() < 0.6:
        sketch.change(fan=FanSpec(low_rpm=1500.0, full_rpm=1500.0))


def _defend(sketch: Sketch, limit_c: float) -> None:
    sketch.change(announced_limit_c=float(round(limit_c)))
    if sketch.rng.random() < 0.7:
        slow, fast = sketch.between(4.0, 12.0), sketch.between(4.0, 15.0)
        sketch.limit(lambda: Glide(limit_c, slow, fast))
    else:
        low_mhz, hysteresis_k = sketch.low_mhz(limit_c, 5.0), sketch.between(1.0, 3.0)
        sketch.limit(lambda: SawTooth(limit_c, low_mhz, hysteresis_k))


def _plan(sketch: Sketch) -> list[tuple[str, float, float, int]]:
    """Name, start, end, busy cores of each phase; also tells the sketch."""
    cores = sketch.cores
    shapes = ((0, 1, cores), (0, cores), (0, 1, max(1, cores // 2), cores), (1, cores), (0, 1, cores, 0))
    names = {0: "idle", 1: "one core", cores: "all cores"}
    long_s = sketch.rng.choice((300.0, 900.0, 1800.0, 3600.0))
    plan, t_s = [], 0.0
    for busy in sketch.rng.choice(shapes):
        end_s = t_s + long_s * sketch.between(0.7, 1.3)
        plan.append((names.get(busy, f"{busy} cores"), t_s, end_s, busy))
        sketch.load((t_s, busy))
        t_s = end_s
    sketch.duration_s = t_s
    return plan


def _phase(sketch: Sketch, reference: Reference, limit_c: float, step: tuple[str, float, float, int]) -> SoakPhase:
    name, start_s, end_s, busy = step
    free_c = reference.settled_temp_c(busy)
    if free_c <= limit_c:
        power_w, resistance = reference.settled_power_w(busy), reference.resistance_k_per_w(busy)
        return SoakPhase(name, start_s, end_s, busy, free_c, power_w, resistance, is_limited=False)
    mhz = _clock_at_limit(sketch, reference, limit_c, busy)
    power_w, resistance = reference.settled_power_w(busy, 1.0, mhz), reference.resistance_k_per_w(busy, 1.0, mhz)
    return SoakPhase(name, start_s, end_s, busy, limit_c, power_w, resistance, is_limited=True)


def _clock_at_limit(sketch: Sketch, reference: Reference, limit_c: float, busy: int) -> float:
    """The clock with which it settles exactly at the limit [MHz]."""
    low, high = sketch.spec.chip.lowest_mhz, sketch.spec.chip.free_mhz(busy, 1.0)
    for _ in range(50):
        middle = 0.5 * (low + high)
        if reference.settled_temp_c(busy, 1.0, middle) < limit_c:
            low = middle
        else:
            high = middle
    return low
