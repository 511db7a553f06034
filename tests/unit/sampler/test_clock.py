"""The clocks against the operating system's own."""

import re
import time
from pathlib import Path

import pytest

import benchmon
from benchmon.sampler.clock import SimulatedClock, SystemClock
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


def test_simulated_time_runs_faster_than_real():
    clock = SimulatedClock(50.0)
    real_s = time.monotonic()
    clock.sleep_until_s(1.0)
    assert 0.0199 <= time.monotonic() - real_s < 0.5


def test_simulated_time_waits_for_the_recorder():
    """It stands still while the recorder works or is not let run, and meets each deadline to the digit."""
    clock = SimulatedClock(1000.0)
    seen = []
    for deadline_s in (0.1, 0.2, 0.3, 0.7):
        clock.sleep_until_s(deadline_s)
        seen.append(clock.now_s())
        time.sleep(0.003)  # three simulated seconds late
        seen.append(clock.now_s())
    assert seen == [0.1, 0.1, 0.2, 0.2, 0.3, 0.3, 0.7, 0.7]


def test_lateness_of_simulated_time_is_never_made_up_for():
    clock = SimulatedClock(10.0)
    time.sleep(0.2)
    before_s = time.perf_counter()
    clock.sleep_until_s(0.5)  # was due 0.15 s ago
    clock.sleep_until_s(1.0)
    assert time.perf_counter() - before_s >= 0.05


def test_what_a_round_costs_passes_at_once():
    clock = SimulatedClock(10.0)
    clock.sleep_until_s(0.1)
    clock.pass_s(0.001)
    assert clock.now_s() == 0.1 + 0.001
    clock.sleep_until_s(0.2)
    assert clock.now_s() == 0.2


def test_whoever_comes_in_during_a_sleep_finds_the_simulated_time_of_that_moment():
    clock = SimulatedClock(10.0)
    found = []

    def come_in(seconds):
        time.sleep(seconds / 2)
        found.append(clock.now_s())
        return True

    clock.sleep_until_s(1.0, come_in)
    assert 0.5 <= found[0] <= clock.now_s() <= 1.0
    woken_s = clock.now_s()
    real_s = time.monotonic()
    clock.sleep_until_s(1.0)
    assert clock.now_s() == 1.0
    assert time.monotonic() - real_s >= 0.999 * (1.0 - woken_s) / 10.0


def test_a_recorder_that_is_always_late_still_hears_who_asks():
    clock, heard = SimulatedClock(1e6), []
    for deadline_s in (1.0, 2.0, 3.0):
        time.sleep(0.001)
        clock.sleep_until_s(deadline_s, lambda seconds: bool(heard.append(seconds)))
    assert len(heard) >= 3


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


WALL_CLOCK_IS_FOR = {
    "stream/recorder.py": 1,  # the moment in the session's name
    "stream/setup.py": 1,  # the moment in its header
    "sensors/readiness.py": 1,  # the age of a file that another program writes
}


def test_a_wall_clock_that_jumps_moves_no_sample():
    """Somebody sets the time, a time server steps it, summer time begins: nothing that is timed may ask such a clock."""
    root = Path(benchmon.__file__).parent
    asks = re.compile(r"\btime\.time(_ns)?\(|\bdatetime\.(now|today|utcnow)\(|\bdate\.today\(|CLOCK_REALTIME")
    found = {str(path.relative_to(root)): len(asks.findall(path.read_text())) for path in root.rglob("*.py")}
    assert {name: count for name, count in found.items() if count} == WALL_CLOCK_IS_FOR
