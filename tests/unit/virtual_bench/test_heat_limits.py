"""Each way of defending a temperature, alone: what it does at the trip, below it, and when the load ends."""

import pytest

from benchmon.virtual_bench.firmware import FREE, Moment
from benchmon.virtual_bench.heat_limits import Glide, KernelSteps, Latch, Modulation, SawTooth, TwoSteps


def after(limit, *temps, busy=4, each_s=1.0, start_s=0.0):
    """Show it each temperature for a while; returns the limit."""
    now = Moment(busy=busy, wish_mhz=3000.0, lowest_mhz=800.0)
    t_s = start_s
    for temp_c in temps:
        for _ in range(round(each_s / 0.1)):
            now.t_s, now.hot_c = t_s, temp_c
            limit.update(now)
            t_s += 0.1
    return limit


EVERY = [
    lambda: Latch(90.0, 1000.0),
    lambda: SawTooth(90.0, 1000.0, 4.0),
    lambda: Glide(90.0, 10.0, 10.0),
    lambda: Modulation(90.0, 1.0),
    lambda: TwoSteps(90.0, 2000.0, 1000.0, 1.0, 5.0),
    lambda: KernelSteps(90.0, 200.0, 0.5),
]


def is_free(limit):
    return limit.ceiling_mhz == FREE and limit.duty == 1.0


@pytest.mark.parametrize("make", EVERY)
def test_free_below_the_trip_and_limited_above(make):
    assert is_free(after(make(), 60.0, 80.0, 89.9))
    limit = after(make(), 80.0, 90.5, 91.5, 92.0)
    assert not is_free(limit)
    assert limit.crossings == 1


@pytest.mark.parametrize("make", EVERY)
def test_lifts_at_once_when_the_load_ends(make):
    limit = after(make(), 80.0, 90.5, 91.5)
    assert is_free(after(limit, 91.0, busy=0, each_s=0.1, start_s=3.0))


def test_a_latch_stays():
    assert after(Latch(90.0, 1000.0), 91.0, 75.0, 60.0).ceiling_mhz == 1000.0


def test_a_saw_tooth_rises_a_few_kelvin_below():
    assert after(SawTooth(90.0, 1000.0, 4.0), 91.0, 87.0).ceiling_mhz == 1000.0
    limit = after(SawTooth(90.0, 1000.0, 4.0), 91.0, 85.9, 91.0, 85.9)
    assert limit.ceiling_mhz == FREE
    assert limit.crossings == 2


def test_a_glide_moves_with_the_error():
    a_bit, more = after(Glide(90.0, 10.0, 0.0), 91.0), after(Glide(90.0, 10.0, 0.0), 92.0)
    assert more.ceiling_mhz < a_bit.ceiling_mhz < 3000.0
    in_steps = after(Glide(90.0, 10.0, 0.0, step_mhz=100.0), 92.0, each_s=9.0)
    assert in_steps.ceiling_mhz % 100.0 == 0.0


def test_modulation_leaves_the_clock_alone():
    limit = after(Modulation(90.0, 1.0, every_s=1.0), 91.0, each_s=3.0)
    assert limit.ceiling_mhz == FREE
    assert limit.duty == pytest.approx(1.0 - 3 * 0.125)
    assert after(Modulation(90.0, 1.0), 91.0, each_s=60.0).duty >= 0.125
    assert after(Modulation(90.0, 1.0, step=0.5), 91.0, each_s=60.0).duty == 0.5


def test_two_steps_one_after_the_other():
    limit = after(TwoSteps(90.0, 2000.0, 1000.0, 1.0, 5.0), 92.0, each_s=4.0)
    assert limit.ceiling_mhz == 2000.0
    assert after(limit, 92.0, each_s=3.0, start_s=4.0).ceiling_mhz == 1000.0


def test_the_kernel_counts_its_steps():
    limit = after(KernelSteps(90.0, 200.0, 1.0), 90.0, 91.0, 92.0)
    assert limit.steps == 3
    assert limit.ceiling_mhz == 3000.0 - 3 * 200.0
    assert after(limit, 89.0, 88.0, start_s=3.0).steps == 1
