"""The files of a virtual machine, and that the real sensors read them."""

import os

import pytest

from benchmon.sensors.discovery import discover
from benchmon.virtual_bench.box import VirtualBox
from benchmon.virtual_bench.demo import demo_box
from benchmon.virtual_bench.meters import MeterSpec
from benchmon.virtual_bench.spec import BoxSpec
from benchmon.virtual_bench.tree import SysTree

FREQ = "sys/devices/system/cpu/cpu0/cpufreq/scaling_cur_freq"


def read_all(discovery, now_s):
    found = {}
    for sensor in discovery.sensors:
        found |= {channel.key: value for channel, value in zip(sensor.channels, sensor.read(now_s), strict=True)}
    return found


def test_a_reader_that_keeps_the_file_open_sees_every_change(tmp_path):
    box = VirtualBox(BoxSpec(), 1)
    tree = SysTree(tmp_path, box)
    tree.write()
    handle = os.open(tmp_path / FREQ, os.O_RDONLY)
    for busy, khz in ((4, 2_400_000), (0, 800_000), (1, 2_700_000)):
        box.set_load(busy)
        box.step(2.0)
        tree.write()
        assert int(os.pread(handle, 64, 0)) == pytest.approx(khz, rel=0.02)
    os.close(handle)
    tree.close()


def test_only_what_changed_is_written(tmp_path):
    box = demo_box(1)
    tree = SysTree(tmp_path, box)
    tree.write()
    fixed, moving = tmp_path / "sys/class/hwmon/hwmon0/name", tmp_path / "sys/class/powercap/intel-rapl:0/energy_uj"
    if not moving.exists():
        moving = tmp_path / "sys/class/powercap/intel-rapl/intel-rapl:0/energy_uj"
    before = fixed.stat().st_mtime_ns, moving.stat().st_mtime_ns
    box.step(1.0)
    tree.write()
    assert fixed.stat().st_mtime_ns == before[0]
    assert moving.stat().st_mtime_ns > before[1]
    tree.close()


def test_the_real_sensors_read_what_the_model_means(tmp_path):
    box = demo_box(1)
    tree = SysTree(tmp_path, box)
    tree.write()
    discovery = discover(tmp_path)
    read_all(discovery, 0.0)
    box.set_load(1)
    for second in range(1, 31):
        box.step(1.0)
        tree.write()
        values = read_all(discovery, float(second))
    assert values["package_power_w"] == pytest.approx(box.power_w, rel=0.03)
    assert values["processor_temp_c"] == pytest.approx(box.hot_c, abs=1.5)
    assert values["clock_mhz"] == pytest.approx(box.spec.chip.highest_mhz, rel=0.02)
    assert values["load_pct"] == pytest.approx(100.0 / box.spec.cores, abs=1.0)
    assert values["core_throttle_count"] == 0.0
    for sensor in discovery.sensors:
        sensor.close()
    tree.close()


def test_the_other_family_has_finer_steps_and_no_limits(tmp_path):
    box = VirtualBox(BoxSpec(meters=MeterSpec(temp_step_c=0.125, temp_refresh_s=0.0)), 1)
    tree = SysTree(tmp_path, box)
    tree.write()
    assert (tmp_path / "sys/class/hwmon/hwmon0/name").read_text() == "k10temp\n"
    assert (tmp_path / FREQ).with_name("bios_limit").exists()
    assert not list(tmp_path.rglob("constraint_*"))
    assert not list(tmp_path.rglob("thermal_throttle"))
    tree.close()
