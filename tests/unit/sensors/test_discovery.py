import json
import subprocess
import sys

import pytest

from benchmon.loads.child_python import command_line
from benchmon.model import keys
from benchmon.model.records import Machine
from benchmon.sensors import hwmon
from benchmon.sensors.discovery import discover
from benchmon.sensors.machine import identify
from tests.support import sysfs
from tests.support.sensor_round import read_all


@pytest.mark.parametrize("kind", sysfs.KINDS)
def test_every_kind_of_machine_is_read_whole(tmp_path, kind):
    sysfs.KINDS[kind](tmp_path)
    found = discover(tmp_path)
    read_all(found, 0.0)
    for sensor in found.sensors:
        sensor.close()


@pytest.mark.parametrize("kind", sysfs.KINDS)
def test_every_number_of_the_tree_has_a_channel_that_names_it(tmp_path, kind):
    sysfs.KINDS[kind](tmp_path)
    told = " ".join(c.source for sensor in discover(tmp_path).sensors for c in sensor.channels)
    offered = [
        path
        for pattern in ("*/temp*_input", "*/fan*_input", "*/power*_average", "*/device/power*_average")
        for path in (tmp_path / "sys/class/hwmon").glob(pattern)
    ]
    offered += [*tmp_path.glob("sys/class/thermal/*/temp"), *tmp_path.glob("sys/class/powercap/*/energy_uj")]
    assert [path for path in offered if str(path.relative_to(tmp_path)) not in told] == []


def test_many_sensors_are_not_looked_through_anew_for_each(tmp_path, monkeypatch):
    """With 3,000 temperatures that took minutes."""
    tree = sysfs.Tree(tmp_path)
    for number in range(4):
        files = {f"temp{at}_input": 40_000 for at in range(1, 11)}
        tree.chip(number, f"chip{number}", files, f"chip{number}.0")
    looks = []
    chips = hwmon.chips
    monkeypatch.setattr(hwmon, "chips", lambda root: looks.append(root) or chips(root))
    found = discover(tmp_path)
    assert sum(channel.key.endswith("_c") for sensor in found.sensors for channel in sensor.channels) == 40
    assert len(looks) <= 8


def test_a_machine_with_nothing_says_what_is_missing(tmp_path):
    found = discover(tmp_path)
    assert found.sensors == ()
    whats = " ".join(refusal.what for refusal in found.refusals)
    for word in ("load", "clock", "package power", "temperatures"):
        assert word in whats
    assert all(refusal.why and refusal.path.startswith("/") for refusal in found.refusals)


def test_this_machine_can_be_read_without_an_exception():
    found = discover()
    values, _ = read_all(found, 0.0)
    assert keys.LOAD in values
    for sensor in found.sensors:
        sensor.close()


def test_closing_gives_every_descriptor_back(tmp_path):
    import os

    sysfs.intel_like(tmp_path)
    before = len(os.listdir("/proc/self/fd"))
    found = discover(tmp_path)
    assert len(os.listdir("/proc/self/fd")) > before
    for sensor in found.sensors:
        sensor.close()
    assert len(os.listdir("/proc/self/fd")) == before


def test_discovery_imports_nothing_heavy():
    code = "import sys, benchmon.sensors.discovery, benchmon.sensors.settings; print({'psutil', 'cpuinfo'} & set(sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "set()"


def test_a_machine_is_identified_without_what_is_private(tmp_path):
    tree = sysfs.intel_like(tmp_path)
    for name in ("product_serial", "product_uuid", "board_serial", "chassis_serial", "board_asset_tag"):
        tree.put(f"sys/class/dmi/id/{name}", "SECRET-4711")
    tree.put("proc/sys/kernel/hostname", "SECRET-4711")
    tree.put("sys/class/dmi/id/sys_vendor", "Invented Works")
    tree.put("sys/class/dmi/id/product_name", "To Be Filled By O.E.M.")
    tree.put("sys/class/dmi/id/board_vendor", "Invented Works")
    tree.put("sys/class/dmi/id/board_name", "Invented Works B-7")
    tree.put("proc/cpuinfo", "processor\t: 0\nmodel name\t: Invented   Processor 12\n")
    tree.put("proc/meminfo", "MemTotal:       16777216 kB")
    assert identify(tmp_path) == {
        "processor": "Invented Processor 12",
        "board": "Invented Works B-7",
        "product": "Invented Works",
        "system": "",
        "cores": 2,
        "threads": 4,
        "memory_gib": 16.0,
    }


def test_identification_as_a_program_fits_the_record():
    done = subprocess.run(
        command_line("benchmon.sensors.machine", "/", "", "{}", with_site=True), capture_output=True, text=True
    )
    told = json.loads(done.stdout)
    assert isinstance(told.pop("box"), dict) and told.pop("problem") == ""
    machine = Machine(t_s=0.0, **told)
    assert machine.threads
    assert machine.processor
