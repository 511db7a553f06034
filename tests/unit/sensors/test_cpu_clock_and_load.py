import pytest

from benchmon.model import keys
from benchmon.sensors.cpu_clock import weighted_clock
from benchmon.sensors.discovery import discover
from tests.support import sysfs
from tests.support.sensor_round import read_all


def test_load_is_the_share_of_ticks_that_were_not_idle(tmp_path):
    tree = sysfs.amd_like(tmp_path)
    found = discover(tmp_path)
    values, whys = read_all(found, 0.0)
    assert values[keys.LOAD] is None
    assert "two readings" in whys[keys.LOAD]
    tree.ticks((175, 925), (100, 1000))  # of 100 ticks each: 75 busy, none busy
    values, _ = read_all(found, 1.0)
    assert values[keys.core_load_key(0)] == pytest.approx(75.0)
    assert values[keys.core_load_key(1)] == 0.0
    assert values[keys.LOAD] == pytest.approx(37.5)


def test_waiting_for_a_drive_is_idle_and_guests_are_not_counted_twice(tmp_path):
    """proc(5): guest time is contained in user; iowait is idle time and may even decrease (filesystems/proc.rst, 1.7)."""
    tree = sysfs.Tree(tmp_path)
    tree.put("proc/stat", "cpu  100 0 0 100 50 0 0 0 60 0\ncpu0 100 0 0 100 50 0 0 0 60 0\nintr 1")
    found = discover(tmp_path)
    read_all(found, 0.0)
    tree.put("proc/stat", "cpu  140 0 0 120 90 0 0 0 99 0\ncpu0 140 0 0 120 90 0 0 0 99 0\nintr 1")
    assert read_all(found, 1.0)[0][keys.LOAD] == pytest.approx(40.0)
    tree.put("proc/stat", "cpu  180 0 0 121 80 0 0 0 99 0\ncpu0 180 0 0 121 80 0 0 0 99 0\nintr 1")
    assert read_all(found, 2.0)[0][keys.LOAD] == pytest.approx(100.0)


def test_no_tick_no_load(tmp_path):
    sysfs.amd_like(tmp_path)
    found = discover(tmp_path)
    read_all(found, 0.0)
    assert read_all(found, 0.001)[0][keys.LOAD] is None


def test_an_offline_core_has_no_load_and_no_clock_and_comes_back(tmp_path):
    tree = sysfs.intel_like(tmp_path)
    found = discover(tmp_path)
    read_all(found, 0.0)
    tree.put("proc/stat", "cpu  130 0 0 970 0 0 0 0 0 0\ncpu0 200 0 0 900 0 0 0 0 0 0\nintr 1")
    tree.path("sys/devices/system/cpu/cpufreq/policy3/scaling_cur_freq").write_text("")
    values, whys = read_all(found, 1.0)
    assert values[keys.core_load_key(3)] is None
    assert whys[keys.core_load_key(3)] == "core offline"
    assert whys[keys.core_clock_key(3)] == "core offline"
    assert values[keys.CLOCK] == 3400.0  # only core 0 worked
    tree.put("sys/devices/system/cpu/cpufreq/policy3/scaling_cur_freq", 900_000)
    assert read_all(found, 2.0)[0][keys.core_clock_key(3)] == 900.0


def test_the_clock_is_weighted_by_load(tmp_path):
    tree = sysfs.amd_like(tmp_path)  # 3600 and 2200 MHz
    found = discover(tmp_path)
    assert read_all(found, 0.0)[0][keys.CLOCK] == 2900.0  # loads are not known yet: the plain mean
    tree.ticks((200, 900), (150, 950))  # 100 % and 50 %
    assert read_all(found, 1.0)[0][keys.CLOCK] == pytest.approx((2 * 3600 + 2200) / 3)
    tree.ticks((200, 1900), (150, 1950))
    assert read_all(found, 2.0)[0][keys.CLOCK] == 2900.0  # nothing works: the plain mean


def test_weights():
    assert weighted_clock([3600.0, None, 800.0], [50.0, 100.0, 50.0]) == 2200.0
    assert weighted_clock([None, None], [50.0, 50.0]) is None
    assert weighted_clock([1000.0, 3000.0], [None, 10.0]) == 3000.0


def test_cores_of_one_policy_are_read_through_one_file(tmp_path, monkeypatch):
    import os

    sysfs.arm_board(tmp_path)
    found = discover(tmp_path)
    (clocks,) = [sensor for sensor in found.sensors if sensor.channels[0].key == keys.CLOCK]
    asked = []
    real = os.pread
    monkeypatch.setattr(os, "pread", lambda *args: asked.append(args) or real(*args))
    assert clocks.read(0.0) == (1500.0,) * 5
    assert len(asked) == 1


def test_without_a_clock_driver_the_processors_text_is_read(tmp_path):
    """kernel, arch/x86/kernel/cpu/proc.c: "processor" and "cpu MHz" for each core that is online."""
    core = "processor\t: {}\nmodel name\t: Invented Processor @ 2.00GHz\ncpu MHz\t\t: {}\nflags\t\t: fpu aperfmperf\n\n"
    tree = sysfs.Tree(tmp_path)
    tree.ticks((100, 900), (100, 900))
    tree.put("proc/cpuinfo", core.format(0, "3100.250") + core.format(1, "1200.000"))
    found = discover(tmp_path)
    read_all(found, 0.0)
    tree.ticks((200, 900), (100, 1000))
    values, _ = read_all(found, 1.0)
    assert values[keys.CLOCK] == values[keys.core_clock_key(0)] == 3100.25
    tree.put("proc/cpuinfo", core.format(0, "3100.250"))
    values, whys = read_all(found, 2.0)
    assert values[keys.core_clock_key(1)] is None
    assert whys[keys.core_clock_key(1)] == "core offline"
    assert any("/proc/cpuinfo" in refusal.why for refusal in found.refusals)


def test_a_nominal_clock_that_the_kernel_repeats_is_no_reading(tmp_path):
    """kernel, arch/x86/kernel/cpu/aperfmperf.c: without the flag, arch_freq_get_on_cpu() gives the nominal cpu_khz."""
    tree = sysfs.Tree(tmp_path)
    tree.ticks((100, 900))
    tree.put("proc/cpuinfo", "processor\t: 0\ncpu MHz\t\t: 2600.000\nflags\t\t: fpu tsc\n\n")
    found = discover(tmp_path)
    assert keys.CLOCK not in {channel.key for sensor in found.sensors for channel in sensor.channels}
    assert any("nominal" in refusal.remedy for refusal in found.refusals)
