"""The clocks against the operating system's own."""

import time

import pytest

from benchmon.sampler.clock import ScaledClock, SystemClock
from benchmon.sampler.own_cost import OwnCost


def test_system_clock_counts_like_the_kernel_says():
    """clock_gettime(2): CLOCK_BOOTTIME is CLOCK_MONOTONIC plus the time suspended; /proc/uptime is the former."""
    clock = SystemClock()
    with open("/proc/uptime") as file:
        assert clock.now_s() == pytest.approx(float(file.read().split()[0]), abs=0.1)
    assert clock.asleep_s() == pytest.approx(clock.now_s() - time.monotonic(), abs=0.01)


def test_sleep_ends_at_the_deadline_and_never_before():
    clock = SystemClock()
    due_s = clock.now_s() + 0.02
    clock.sleep_until_s(due_s)
    assert clock.now_s() >= due_s


def test_a_wait_that_returns_early_is_repeated_with_what_is_left():
    clock = SystemClock()
    asked = []

    def doze(seconds):
        asked.append(seconds)
        return False

    clock.sleep_until_s(clock.now_s() + 0.012, doze)
    assert len(asked) >= 2
    assert asked == sorted(asked, reverse=True)


def test_scaled_clock_runs_faster():
    clock = ScaledClock(50.0)
    before_s, real_s = clock.now_s(), time.monotonic()
    clock.sleep_until_s(before_s + 1.0)
    assert 0.0199 <= time.monotonic() - real_s < 0.5


def test_own_cost_is_the_process_time_the_kernel_counts():
    cost = OwnCost()
    ends = time.process_time() + 0.05
    while time.process_time() < ends:
        pass
    (busy,) = cost.read(0.0)
    time.sleep(0.05)
    (idle,) = cost.read(0.0)
    assert busy > 20
    assert idle < busy / 2
