"""Kinds of run in which firmware or the kernel really defends a temperature. The docstring says what happens."""

from __future__ import annotations

from dataclasses import replace

from benchmon.model import keys
from benchmon.virtual_bench.cooler import FanSpec, Stage
from benchmon.virtual_bench.firmware import Cap, PowerLimit
from benchmon.virtual_bench.heat_limits import Glide, KernelSteps, Latch, Modulation, SawTooth, TwoSteps
from tests.benchmarks.first_bench.run import Faults
from tests.benchmarks.first_bench.sketch import Sketch


def _full_load(s: Sketch) -> float:
    start_s = s.idle_then_all()
    if s.rng.random() < 0.7:
        s.high_power_limit()
    return start_s


def _gliding(s: Sketch, trip_c: float, step_mhz: float = 0.0) -> None:
    slow, fast, first = s.between(4.0, 15.0), s.between(4.0, 20.0), s.rng.choice((0.0, 0.0, s.between(100.0, 500.0)))
    s.tell_limit(trip_c)
    s.limit(lambda: Glide(trip_c, slow, fast, step_mhz, first))


def _sawing(s: Sketch, trip_c: float) -> None:
    hysteresis_k, hold_s = s.between(1.5, 6.0), s.between(0.5, 3.0)
    low_mhz = s.low_mhz(trip_c, hysteresis_k + 3.0)
    s.tell_limit(trip_c)
    s.limit(lambda: SawTooth(trip_c, low_mhz, hysteresis_k, hold_s))


def _latching(s: Sketch, trip_c: float) -> None:
    low_mhz = s.low_mhz(trip_c, s.between(1.0, 15.0))
    s.tell_limit(trip_c)
    s.limit(lambda: Latch(trip_c, low_mhz))


def _modulating(s: Sketch, trip_c: float, step: float = 0.125) -> None:
    hysteresis_k, every_s = s.between(0.5, 2.5), s.between(0.5, 3.0)
    s.tell_limit(trip_c)
    s.limit(lambda: Modulation(trip_c, hysteresis_k, every_s, step))


def _any_defence(s: Sketch, trip_c: float) -> None:
    s.rng.choice((_gliding, _sawing, _latching))(s, trip_c)


def hard_drop(s: Sketch) -> None:
    """At the trip the clock drops hard and stays down."""
    _full_load(s)
    _latching(s, s.trip_within(0.45, 0.85))


def saw_tooth(s: Sketch) -> None:
    """Down at the trip, up again a few kelvin below it, over and over."""
    _full_load(s)
    _sawing(s, s.trip_within(0.45, 0.85))


def slow_glide(s: Sketch) -> None:
    """The clock glides down slowly and the temperature is held."""
    _full_load(s)
    _gliding(s, s.trip_within(0.45, 0.85))


def glide_in_steps(s: Sketch) -> None:
    """As a slow glide, in steps of the clock."""
    _full_load(s)
    _gliding(s, s.trip_within(0.45, 0.85), s.rng.choice((25.0, 50.0, 100.0)))


def mild_glide(s: Sketch) -> None:
    """A glide that takes only a few percent."""
    _full_load(s)
    _gliding(s, s.trip_within(0.75, 0.95, tail_s=200.0, least_share=0.08))


def clock_modulation(s: Sketch) -> None:
    """The clock is stopped for shares of microseconds: its reading stays, power and work fall."""
    _full_load(s)
    _modulating(s, s.trip_within(0.45, 0.85))


def half_duty(s: Sketch) -> None:
    """As clock modulation, half on and half off, in turns with full."""
    _full_load(s)
    _modulating(s, s.trip_within(0.45, 0.8), 0.5)


def two_steps(s: Sketch) -> None:
    """A mild drop, then a deep one because the mild one did not help."""
    _full_load(s)
    trip_c = s.trip_within(0.35, 0.6, tail_s=240.0)
    top = s.spec.chip.free_mhz(s.cores, 1.0)
    mild, above_k, settle_s = top * s.between(0.88, 0.94), s.between(0.3, 2.0), s.between(8.0, 30.0)
    deep = min(s.low_mhz(trip_c, 3.0), 0.8 * top)
    s.tell_limit(trip_c)
    s.limit(lambda: TwoSteps(trip_c, mild, deep, above_k, settle_s))


def kernel_steps(s: Sketch) -> None:
    """The kernel takes the clock down in steps through its cooling devices."""
    _full_load(s)
    trip_c, every_s = s.trip_within(0.45, 0.8), s.between(1.0, 4.0)
    chip = s.spec.chip
    step_mhz = (chip.free_mhz(s.cores, 1.0) - chip.lowest_mhz) / 10.0
    s.tell_limit(trip_c)
    s.limit(lambda: KernelSteps(trip_c, step_mhz, every_s))


def _after_power_limit(s: Sketch, low: float, high: float) -> None:
    start_s = s.idle_then_all(then_s=(420.0, 900.0))
    free_w = max(point.power_w for point in s.pilot())
    long_w, window_s = free_w * s.between(low, high), s.rng.choice((4.0, 8.0, 16.0, 28.0))
    short_w = free_w * s.between(0.97, 1.3)
    s.limit(lambda: PowerLimit(long_w, short_w, window_s))
    points = s.pilot()
    spent_s = next(p.t_s for p in points if p.t_s > start_s + 3.0 and p.power_w < 1.01 * long_w)
    before = max(p.hot_c for p in points if p.t_s <= spent_s + 10.0)
    after = max(p.hot_c for p in points)
    if after < before + 2.5:  # this cooler is quick: let the room do it
        s.change(room_drift_k_per_h=s.between(25.0, 45.0))
        points = s.pilot()
        after = max(p.hot_c for p in points)
    _any_defence(s, before + max(0.6, (after - before) * s.between(0.3, 0.6)))


def turbo_then_heat(s: Sketch) -> None:
    """First the running average of power ends the turbo; later the heatsink is warm and heat takes over."""
    _after_power_limit(s, 0.70, 0.85)


def power_limit_under_trip(s: Sketch) -> None:
    """A power limit holds a few kelvin under the trip until the warming case closes the gap."""
    _after_power_limit(s, 0.85, 0.94)


def no_paste(s: Sketch) -> None:
    """Hardly any contact between die and heatsink: limited within a second or two."""
    start_s = s.idle_then_all()
    die = s.spec.stages[0]
    k_per_w = die.resistance_k_per_w * s.between(4.0, 7.0)
    bare = Stage(k_per_w, s.between(1.0, 3.0) / k_per_w)
    s.change(stages=(bare, *s.spec.stages[1:]))
    points, within_s = s.pilot(), s.between(0.8, 2.0)
    trip_c = min(105.0, next(p.hot_c for p in points if p.t_s >= start_s + within_s))
    s.rng.choice((_gliding, _sawing, _modulating))(s, trip_c)


def _with_real_fan(s: Sketch, **fields: float) -> None:
    full = s.between(2000.0, 5000.0)
    fan = FanSpec(full * s.between(0.3, 0.45), full, 30.0, 45.0, s.between(2.0, 6.0), s.between(0.6, 0.75), 3.0)
    s.change(fan=replace(fan, **fields))


def fan_fails(s: Sketch) -> None:
    """Everything is well until the fan stops."""
    start_s = s.idle_then_all(then_s=(300.0, 900.0))
    s.stretch_sink(s.between(0.5, 0.7))
    fails_s = start_s + s.between(0.25, 0.5) * (s.duration_s - start_s)
    _with_real_fan(s, fails_at_s=fails_s)
    points = s.pilot()
    before = max(p.hot_c for p in points if p.t_s <= fails_s)
    after = max(p.hot_c for p in points)
    _any_defence(s, before + 2.0 + (after - before - 2.0) * s.between(0.15, 0.6))


def fan_to_the_rescue(s: Sketch) -> None:
    """Limited by heat until the fan at last speeds up; then free again."""
    start_s = s.idle_then_all(then_s=(420.0, 900.0))
    helps_s = start_s + s.between(0.4, 0.6) * (s.duration_s - start_s)
    s.stretch_sink(s.between(0.6, 0.8))
    _with_real_fan(s, full_only_after_s=helps_s)
    points = s.pilot()
    top = max(p.hot_c for p in points if p.t_s <= helps_s)
    cool = points[-1].hot_c
    s.rng.choice((_gliding, _sawing))(s, cool + (top - cool) * s.between(0.45, 0.75))


def load_with_pauses(s: Sketch) -> None:
    """The load pauses for some seconds now and then."""
    t_s, end_s = s.between(8.0, 30.0), s.between(400.0, 900.0)
    s.load((0.0, 0))
    while t_s < end_s:
        work_s, pause_s = s.between(40.0, 120.0), s.between(2.0, 12.0)
        s.load((t_s, s.cores), (t_s + work_s, 0))
        t_s += work_s + pause_s
    s.duration_s = end_s
    _any_defence(s, s.trip_within(0.45, 0.8))


def repeated_runs(s: Sketch) -> None:
    """A benchmark that is run again and again with breaks to cool down."""
    t_s = s.between(10.0, 30.0)
    s.load((0.0, 0))
    for _ in range(s.rng.randint(3, 5)):
        work_s, break_s = s.between(90.0, 180.0), s.between(25.0, 60.0)
        s.load((t_s, s.cores), (t_s + work_s, 0))
        t_s += work_s + break_s
    s.duration_s = min(1200.0, t_s)
    _any_defence(s, s.trip_within(0.35, 0.7))


def one_core(s: Sketch) -> None:
    """One busy core is enough: its own spot gets too hot."""
    start_s = s.between(8.0, 40.0)
    s.load((0.0, 0), (start_s, 1))
    s.duration_s = start_s + s.between(240.0, 900.0)
    chip = s.spec.chip
    core_w = chip.switching_w(chip.highest_mhz)
    s.change(spread_k_per_w=s.between(15.0, 35.0) / core_w)
    _any_defence(s, s.trip_within(0.4, 0.8))


def noisy_clock(s: Sketch) -> None:
    """Clock and power readings jump about."""
    noise = s.between(0.015, 0.05)
    s.change(meters=replace(s.spec.meters, clock_noise=noise, power_noise=s.between(0.02, 0.05)))
    _full_load(s)
    _any_defence(s, s.trip_within(0.45, 0.8))


def slow_sampling(s: Sketch) -> None:
    """One sample every five seconds."""
    s.period_s = 5.0
    _full_load(s)
    _any_defence(s, s.trip_within(0.45, 0.8, tail_s=150.0))


def dropouts(s: Sketch) -> None:
    """Readings are missing, one by one and all together, and some are nonsense."""
    s.faults = Faults(s.between(1.0, 4.0), 6.0, s.between(0.2, 0.8), 12.0, s.between(0.0, 0.5))
    _full_load(s)
    _any_defence(s, s.trip_within(0.45, 0.8))


def counter_wrap(s: Sketch) -> None:
    """The energy counter wraps or starts again from zero in the middle of it."""
    start_s = _full_load(s)
    _any_defence(s, s.trip_within(0.45, 0.8))
    used_uj = 1e6 * sum(point.power_w for point in s.pilot()) * 0.5
    small = replace(s.spec.meters, energy_range_uj=65_532_610_987)
    s.change(meters=replace(small, energy_start=1.0 - s.between(0.2, 0.8) * used_uj / small.energy_range_uj))
    resets = sorted(s.between(start_s, s.duration_s) for _ in range(s.rng.randint(0, 2)))
    s.faults = Faults(counter_resets_s=tuple(resets))


def warm_room(s: Sketch) -> None:
    """The room warms up until the last kelvin is gone."""
    s.idle_then_all(then_s=(700.0, 1100.0))
    s.change(room_drift_k_per_h=s.between(12.0, 30.0))
    _any_defence(s, s.trip_within(0.75, 0.9, tail_s=120.0))


def partial_load_heat(s: Sketch) -> None:
    """Cores that are not fully busy: as the clock falls their load rises."""
    s.change(governor=s.rng.choice(("performance", "schedutil")))
    start_s = s.between(8.0, 40.0)
    s.load((0.0, 0), (start_s, s.cores, 1.0, s.between(0.72, 0.92)))
    s.duration_s = start_s + s.between(240.0, 900.0)
    _any_defence(s, s.trip_within(0.45, 0.75))


def heat_then_cap(s: Sketch) -> None:
    """Limited by heat; then somebody caps the clock and it cools."""
    start_s = _full_load(s)
    s.duration_s = max(s.duration_s, start_s + 420.0)
    trip_c = s.trip_within(0.3, 0.6, tail_s=240.0)
    cap_mhz = max(s.spec.chip.lowest_mhz, 0.85 * s.low_mhz(trip_c, 6.0))
    cap_s = s.duration_s - s.between(80.0, 120.0)
    _gliding(s, trip_c)
    s.limit(lambda: Cap(((cap_s, 1e9, cap_mhz),)))


def wide_code_heat(s: Sketch) -> None:
    """All is well until the load turns to wide code, which draws more."""
    start_s, turn_s = s.between(8.0, 30.0), s.between(150.0, 300.0)
    s.load((0.0, 0), (start_s, s.cores, 0.7), (turn_s, s.cores, s.between(1.2, 1.4)))
    s.duration_s = turn_s + s.between(200.0, 500.0)
    _any_defence(s, s.trip_within(0.4, 0.8, after_s=turn_s))


def starts_hot(s: Sketch) -> None:
    """The machine was busy before: heat limits it seconds after the load starts."""
    s.change(warm_start_w=s.spec.warm_start_w * 2.5 if s.spec.warm_start_w else None)
    _full_load(s)
    _any_defence(s, s.trip_within(0.1, 0.3))


def power_unreadable(s: Sketch) -> None:
    """The energy counter is not readable: clock and temperature have to do."""
    s.hides |= {keys.PACKAGE_POWER}
    _full_load(s)
    _any_defence(s, s.trip_within(0.45, 0.8))


HEAT_KINDS = (
    hard_drop,
    saw_tooth,
    slow_glide,
    glide_in_steps,
    mild_glide,
    clock_modulation,
    half_duty,
    two_steps,
    kernel_steps,
    turbo_then_heat,
    power_limit_under_trip,
    no_paste,
    fan_fails,
    fan_to_the_rescue,
    load_with_pauses,
    repeated_runs,
    one_core,
    noisy_clock,
    slow_sampling,
    dropouts,
    counter_wrap,
    warm_room,
    partial_load_heat,
    heat_then_cap,
    wide_code_heat,
    starts_hot,
    power_unreadable,
)
