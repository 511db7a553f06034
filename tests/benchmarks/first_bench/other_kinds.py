"""Kinds of run that look like heat and are not: other limits, other loads, other code. Each docstring says what."""

from __future__ import annotations

from dataclasses import replace

from benchmon.virtual_bench.cooler import FanSpec
from benchmon.virtual_bench.firmware import Cap, OutsideSignal, PowerLimit, SkinLimit
from benchmon.virtual_bench.heat_limits import SawTooth
from tests.benchmarks.first_bench.run import Faults
from tests.benchmarks.first_bench.sketch import Sketch


def _never_trips(s: Sketch, least_k: float = 3.0, most_k: float = 25.0) -> float:
    """A heat limit out of reach by so many kelvin; call it last. Returns the hottest moment [°C]."""
    top = max(point.hot_c for point in s.pilot())
    trip_c = top + s.between(least_k, most_k)
    s.tell_limit(trip_c)
    s.limit(lambda: SawTooth(trip_c, s.spec.chip.lowest_mhz, 5.0))
    return top


def _power_limit(s: Sketch, low: float, high: float) -> float:
    """A limit at such a share of what the load would draw; returns it [W]."""
    free_w = max(point.power_w for point in s.pilot())
    long_w, window_s = free_w * s.between(low, high), s.rng.choice((8.0, 28.0, 28.0, 56.0))
    short_w = max(free_w * s.between(0.95, 1.4), 1.05 * long_w)
    s.limit(lambda: PowerLimit(long_w, short_w, window_s))
    return long_w


def turbo_expiry(s: Sketch) -> None:
    """The running average of power reaches the sustained limit and the turbo ends."""
    s.idle_then_all()
    _power_limit(s, 0.5, 0.85)
    _never_trips(s)


def turbo_again(s: Sketch) -> None:
    """Bursts with breaks in which the running average recovers."""
    t_s = s.between(8.0, 30.0)
    s.load((0.0, 0))
    for _ in range(s.rng.randint(3, 6)):
        work_s, break_s = s.between(60.0, 120.0), s.between(25.0, 90.0)
        s.load((t_s, s.cores), (t_s + work_s, 0))
        t_s += work_s + break_s
    s.duration_s = t_s
    _power_limit(s, 0.5, 0.8)
    _never_trips(s)


def short_term_limit(s: Sketch) -> None:
    """Even the short-term power limit holds it, from the first second."""
    s.idle_then_all()
    free_w = max(point.power_w for point in s.pilot())
    long_w = free_w * s.between(0.45, 0.65)
    short_w = min(0.9 * free_w, long_w * s.between(1.1, 1.4))
    s.limit(lambda: PowerLimit(long_w, short_w, 28.0))
    _never_trips(s)


def power_limit_near_trip(s: Sketch) -> None:
    """A power limit holds it, and the temperature settles a few kelvin under the trip."""
    s.idle_then_all(then_s=(420.0, 1000.0))
    _power_limit(s, 0.65, 0.9)
    _never_trips(s, 1.5, 5.0)


def _spans(s: Sketch, start_s: float, count: int, least_s: float, most_s: float) -> tuple[tuple[float, float], ...]:
    """Spans of time within the load, one in each equal part of it."""
    part_s = (s.duration_s - start_s) / count
    spans = []
    for number in range(count):
        begin = start_s + part_s * (number + s.between(0.2, 0.5))
        spans.append((begin, begin + min(s.between(least_s, most_s), 0.45 * part_s)))
    return tuple(spans)


def outside_signal_cold(s: Sketch) -> None:
    """A wire pulls the clock to the floor while the machine is cool."""
    start_s = s.idle_then_all()
    s.stretch_sink(s.between(0.25, 0.5))
    spans = _spans(s, start_s, s.rng.randint(1, 3), 15.0, 90.0)
    s.limit(lambda: OutsideSignal(spans))
    _never_trips(s, 20.0, 40.0)


def outside_signal_hot(s: Sketch) -> None:
    """The same wire on a machine that is hot anyway."""
    start_s = s.idle_then_all(then_s=(420.0, 900.0))
    spans = _spans(s, start_s, s.rng.randint(1, 2), 20.0, 120.0)
    s.limit(lambda: OutsideSignal(spans))
    _never_trips(s, 1.5, 5.0)


def outside_pulses(s: Sketch) -> None:
    """The wire is pulled for a second or two, again and again."""
    start_s = s.idle_then_all(then_s=(240.0, 500.0))
    begin, every_s, lasts_s = start_s + s.between(40.0, 120.0), s.between(6.0, 15.0), s.between(1.0, 2.5)
    spans = tuple((begin + n * every_s, begin + n * every_s + lasts_s) for n in range(s.rng.randint(4, 10)))
    s.limit(lambda: OutsideSignal(spans))
    _never_trips(s)


def _capped(s: Sketch, start_s: float, low: float, high: float, by_platform: bool = False) -> None:
    top = s.spec.chip.free_mhz(s.cores, 1.0)
    mhz = max(s.spec.chip.lowest_mhz, top * s.between(low, high))
    begin = start_s + s.between(0.3, 0.6) * (s.duration_s - start_s)
    end = begin + s.between(60.0, 200.0) if s.rng.random() < 0.5 else 1e9
    s.limit(lambda: Cap(((begin, end, mhz),), by_platform))


def user_cap_cold(s: Sketch) -> None:
    """Somebody caps the clock on a cool machine."""
    start_s = s.idle_then_all()
    s.stretch_sink(s.between(0.25, 0.5))
    _capped(s, start_s, 0.5, 0.88)
    _never_trips(s, 20.0, 40.0)


def user_cap_hot(s: Sketch) -> None:
    """Somebody caps the clock just when it has become hot."""
    start_s = s.idle_then_all(then_s=(420.0, 900.0))
    _capped(s, start_s, 0.5, 0.88)
    _never_trips(s, 1.5, 6.0)


def platform_cap(s: Sketch) -> None:
    """The platform lowers the highest clock, on battery or by a profile."""
    start_s = s.idle_then_all()
    _capped(s, start_s, 0.5, 0.85, by_platform=True)
    _never_trips(s)


def steady(s: Sketch) -> None:
    """A load that nothing limits."""
    s.idle_then_all()
    s.high_power_limit()
    _never_trips(s)


def just_under_limit(s: Sketch) -> None:
    """It settles just under the trip and never touches it."""
    s.idle_then_all(then_s=(500.0, 1100.0))
    _never_trips(s, 1.2, 3.0)


def above_told_limit(s: Sketch) -> None:
    """The machine tells a limit that nobody defends: it runs freely above it."""
    s.idle_then_all(then_s=(420.0, 900.0))
    top = _never_trips(s, 8.0, 15.0)
    s.change(announced_limit_c=float(round(top - s.between(2.0, 6.0))))


def load_ends(s: Sketch) -> None:
    """The load ends when it is hottest."""
    start_s = s.idle_then_all()
    s.load((start_s + s.between(0.5, 0.8) * (s.duration_s - start_s), 0))
    _never_trips(s, 1.5, 10.0)


def load_steps(s: Sketch) -> None:
    """Cores become busy and idle in steps."""
    t_s = 0.0
    s.load((0.0, 0))
    for _ in range(s.rng.randint(4, 9)):
        t_s += s.between(25.0, 120.0)
        s.load((t_s, s.rng.randint(1, s.cores)))
    s.duration_s = t_s + s.between(30.0, 120.0)
    _never_trips(s)


def load_pauses(s: Sketch) -> None:
    """All cores with short pauses."""
    t_s, end_s = s.between(8.0, 30.0), s.between(240.0, 700.0)
    s.load((0.0, 0))
    while t_s < end_s:
        work_s, pause_s = s.between(20.0, 90.0), s.between(1.0, 15.0)
        s.load((t_s, s.cores), (t_s + work_s, 0))
        t_s += work_s + pause_s
    s.duration_s = end_s
    _never_trips(s)


def _code_changes(s: Sketch, low: float, high: float) -> None:
    start_s = s.idle_then_all(then_s=(300.0, 900.0))
    t_s, other = start_s, True
    while t_s < s.duration_s - 60.0:
        t_s += s.between(50.0, 160.0)
        s.load((t_s, s.cores, s.between(low, high) if other else 1.0))
        other = not other
    _never_trips(s)


def light_code(s: Sketch) -> None:
    """Code that switches less: power falls, the clock stays."""
    _code_changes(s, 0.4, 0.75)


def wide_code(s: Sketch) -> None:
    """Wide code: the chip takes its clock down by design, and power rises."""
    _code_changes(s, 1.3, 1.6)


def light_code_when_hot(s: Sketch) -> None:
    """A single change to lighter code at the hottest moment."""
    start_s = s.idle_then_all(then_s=(420.0, 900.0))
    s.load((start_s + s.between(0.5, 0.8) * (s.duration_s - start_s), s.cores, s.between(0.5, 0.75)))
    _never_trips(s, 1.5, 5.0)


def more_busy_cores(s: Sketch) -> None:
    """More busy cores mean a lower bin, one after the other."""
    counts = sorted({1, max(1, s.cores // 2), max(1, s.cores - 1), s.cores})
    counts = counts if s.rng.random() < 0.6 else counts[::-1]
    t_s = s.between(8.0, 30.0)
    s.load((0.0, 0))
    for count in counts:
        s.load((t_s, count))
        t_s += s.between(60.0, 200.0)
    s.duration_s = t_s
    _never_trips(s)


def governor_eases_off(s: Sketch) -> None:
    """The demand falls and the governor follows it with the clock; the load reading hardly changes."""
    s.change(governor="schedutil")
    start_s = s.idle_then_all(then_s=(300.0, 800.0))
    t_s, share = start_s + s.between(60.0, 200.0), s.between(0.65, 0.78)
    s.load((t_s, s.cores, 1.0, share))
    if s.rng.random() < 0.5:
        s.load((t_s + s.between(40.0, 120.0), s.cores, 1.0, share - s.between(0.1, 0.3)))
    _never_trips(s)


def on_demand_partial(s: Sketch) -> None:
    """Partial load under a governor that jumps between full and floor clock."""
    s.change(governor="ondemand")
    start_s = s.between(8.0, 30.0)
    s.load((0.0, 0), (start_s, s.cores, 1.0, s.between(0.2, 0.8)))
    s.duration_s = start_s + s.between(180.0, 600.0)
    _never_trips(s)


def fan_ramps(s: Sketch) -> None:
    """The fan speeds up late and the temperature falls, with power and clock unchanged."""
    start_s = s.idle_then_all(then_s=(300.0, 800.0))
    full, helps_s = s.between(2000.0, 5000.0), start_s + s.between(60.0, 200.0)
    s.stretch_sink(s.between(0.5, 0.7))
    s.change(fan=FanSpec(0.4 * full, full, 30.0, 45.0, s.between(2.0, 8.0), 0.7, 3.0, full_only_after_s=helps_s))
    _never_trips(s)


def idle(s: Sketch) -> None:
    """Nothing to do."""
    s.load((0.0, 0))
    s.duration_s = s.between(180.0, 600.0)
    _never_trips(s, 20.0, 50.0)


def noisy_idle(s: Sketch) -> None:
    """Nothing to do but what the system does now and then."""
    t_s = 0.0
    s.load((0.0, 0))
    s.duration_s = s.between(180.0, 600.0)
    while t_s < s.duration_s - 10.0:
        t_s += s.rng.expovariate(1.0 / 12.0) + 1.0
        s.load((t_s, 1, s.between(0.5, 1.0), s.between(0.2, 1.0)), (t_s + s.between(0.3, 3.0), 0))
        t_s += 3.0
    _never_trips(s, 20.0, 50.0)


def skin_limit(s: Sketch) -> None:
    """The case gets too warm to touch and power is slowly taken away; no sensor shows why."""
    start_s = s.idle_then_all(then_s=(700.0, 1150.0))
    points = s.pilot()
    first = next(point.case_c for point in points if point.t_s >= start_s + 60.0)
    limit_c = first + (points[-1].case_c - first) * s.between(0.2, 0.5)
    gain, least_w = s.between(0.002, 0.008), 0.5 * points[-1].power_w
    s.limit(lambda: SkinLimit(limit_c, gain, least_w))
    _never_trips(s, 6.0, 20.0)


def noisy_steady(s: Sketch) -> None:
    """Nothing limits it, but clock and power readings jump about."""
    meters = replace(s.spec.meters, clock_noise=s.between(0.02, 0.06), power_noise=s.between(0.03, 0.06))
    s.change(meters=meters)
    s.idle_then_all()
    _never_trips(s, 4.0, 20.0)


def dropouts_steady(s: Sketch) -> None:
    """Nothing limits it, but readings are missing and some are nonsense."""
    s.faults = Faults(s.between(1.0, 4.0), 6.0, s.between(0.2, 0.8), 12.0, s.between(0.1, 0.5))
    start_s = s.idle_then_all()
    resets = sorted(s.between(start_s, s.duration_s) for _ in range(2))
    s.faults = replace(s.faults, counter_resets_s=tuple(resets))
    _never_trips(s)


OTHER_KINDS = (
    turbo_expiry,
    turbo_again,
    short_term_limit,
    power_limit_near_trip,
    outside_signal_cold,
    outside_signal_hot,
    outside_pulses,
    user_cap_cold,
    user_cap_hot,
    platform_cap,
    steady,
    just_under_limit,
    above_told_limit,
    load_ends,
    load_steps,
    load_pauses,
    light_code,
    wide_code,
    light_code_when_hot,
    more_busy_cores,
    governor_eases_off,
    on_demand_partial,
    fan_ramps,
    idle,
    noisy_idle,
    skin_limit,
    noisy_steady,
    dropouts_steady,
)
