"""The running average of package power against its closed form."""

import math

import pytest

from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.firmware import FREE, Moment, PowerLimit, clock_for_power
from benchmon.virtual_bench.meters import MeterSpec
from benchmon.virtual_bench.spec import BoxSpec

# Derived from the vendors' data sheet definition of the limit (an exponentially weighted moving average of package
# power with constant tau; Intel data sheet 759603, Package Power Control): avg' = (P - avg)/tau, so from idle P0 the
# short-term limit PL2 can be held for tau·ln((PL2 - P0)/(PL2 - PL1)).
TIMES_AT_SHORT_LIMIT = [
    # PL1, PL2, P0, tau, seconds
    (65.0, 117.0, 5.0, 8.0, 6.138),
    (65.0, 90.0, 10.0, 28.0, 32.568),
    (65.0, 134.0, 10.0, 28.0, 16.413),
    (125.0, 241.0, 15.0, 56.0, 37.349),
    (28.0, 64.0, 3.0, 28.0, 14.766),
    (15.0, 25.0, 2.0, 28.0, 23.321),
]


def plant(limit, top_w, seconds, dt_s=0.05):
    """A chip whose power goes with the cube of its clock and would draw ``top_w``: (time, power) of each step."""
    now = Moment(dt_s=dt_s, busy=1, wish_mhz=1000.0, lowest_mhz=100.0, power_at=lambda mhz: top_w * (mhz / 1000.0) ** 3)
    for step in range(int(seconds / dt_s)):
        now.t_s = step * dt_s
        limit.update(now)
        now.power_w = now.power_at(min(limit.ceiling_mhz, now.wish_mhz))
        yield now.t_s, now.power_w


@pytest.mark.parametrize(("long_w", "short_w", "idle_w", "window_s", "seconds"), TIMES_AT_SHORT_LIMIT)
def test_time_at_the_short_term_limit(long_w, short_w, idle_w, window_s, seconds):
    assert window_s * math.log((short_w - idle_w) / (short_w - long_w)) == pytest.approx(seconds, abs=0.001)
    limit = PowerLimit(long_w, short_w, window_s, average_w=idle_w)
    trace = list(plant(limit, 1.5 * short_w, 4 * window_s))
    held = [t_s for t_s, power_w in trace if power_w > 1.005 * long_w]
    assert held[-1] == pytest.approx(seconds, rel=0.01, abs=0.1)
    assert trace[10][1] == pytest.approx(short_w, rel=0.002)
    assert trace[-1][1] == pytest.approx(long_w, rel=0.002)


def test_the_average_recovers_in_a_pause():
    limit = PowerLimit(20.0, 40.0, 10.0, average_w=2.0)
    assert list(plant(limit, 60.0, 60.0))[-1][1] == pytest.approx(20.0, rel=0.01)
    idle = Moment(dt_s=0.1, busy=0, power_w=2.0)
    for _ in range(500):
        limit.update(idle)
    assert limit.ceiling_mhz == FREE
    assert limit.average_w == pytest.approx(2.0, abs=0.2)
    assert next(iter(plant(limit, 60.0, 1.0)))[1] == pytest.approx(40.0, rel=0.01)


def test_a_whole_box_follows_the_same_law():
    """Within the tenth of a second it steps, and the little its power moves with temperature."""
    spec = BoxSpec(meters=MeterSpec(power_noise=0.0))
    chip = spec.chip
    free_w = chip.power_w(chip.free_mhz(4, 1.0), 4, 1.0, 60.0)
    long_w, short_w, window_s = 0.6 * free_w, 0.85 * free_w, 28.0
    box = VirtualBox(spec, 1, [PowerLimit(long_w, short_w, window_s, average_w=5.0)])
    box.set_load(4)
    while box.power_w < 1.02 * long_w:
        box.step(0.1)
    while box.power_w > 1.02 * long_w:
        box.step(0.1)
    assert box.t_s == pytest.approx(window_s * math.log((short_w - 5.0) / (short_w - long_w)), rel=0.01)
    box.step(120.0)
    assert box.power_w == pytest.approx(long_w, rel=0.01)
    assert [(event.cause, event.end_s) for event in box.truth] == [("power_limit", None)]


def test_clock_for_power_is_exact_enough():
    now = Moment(wish_mhz=3000.0, lowest_mhz=800.0, power_at=lambda mhz: 5.0 + 40.0 * (mhz / 3000.0) ** 3)
    assert clock_for_power(now, 46.0) == FREE
    assert now.power_at(clock_for_power(now, 25.0)) == pytest.approx(25.0, rel=0.002)
    assert clock_for_power(now, 1.0) == 800.0
