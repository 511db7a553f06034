import errno
import os
import shutil

import pytest

from benchmon.model import keys
from benchmon.sensors.discovery import discover
from tests.support import sysfs
from tests.support.sensor_round import read_all


def chosen(tmp_path):
    found = discover(tmp_path)
    (source,) = [c.source for s in found.sensors for c in s.channels if c.key == keys.PROCESSOR_TEMP]
    assert source.partition(" (")[0] in found.chosen_temp
    return source


@pytest.mark.parametrize(
    ("kind", "source", "temp_c"),
    [
        ("intel_like", "coretemp Package id 0 (/sys/class/hwmon/hwmon1/temp1_input)", 62.0),
        ("amd_like", "k10temp Tdie (/sys/class/hwmon/hwmon1/temp2_input)", 65.125),
        ("arm_board", "thermal zone cpu-thermal (/sys/class/thermal/thermal_zone1/temp)", 58.426),
        ("acpi_only", "thermal zone acpitz no. 2 (/sys/class/thermal/thermal_zone1/temp)", 71.0),
        ("two_packages", "coretemp Package id 1 (/sys/class/hwmon/hwmon1/temp1_input)", 65.0),
    ],
)
def test_the_choice(tmp_path, kind, source, temp_c):
    sysfs.KINDS[kind](tmp_path)
    assert chosen(tmp_path) == source
    assert read_all(discover(tmp_path), 0.0)[0][keys.PROCESSOR_TEMP] == temp_c


def test_tctl_where_there_is_no_tdie(tmp_path):
    tree = sysfs.Tree(tmp_path)
    tree.chip(0, "k10temp", {"temp1_input": 50000, "temp1_label": "Tctl", "temp3_input": 60000, "temp3_label": "Tccd1"})
    assert "Tctl" in chosen(tmp_path)


def test_the_hottest_core_where_there_is_no_package(tmp_path):
    tree = sysfs.Tree(tmp_path)
    files = {"temp2_input": 50000, "temp2_label": "Core 0", "temp3_input": 53000, "temp3_label": "Core 1"}
    tree.chip(0, "coretemp", files)
    assert "Core 1" in chosen(tmp_path)


def test_a_sensor_that_gives_nothing_possible_is_passed_over(tmp_path):
    tree = sysfs.intel_like(tmp_path)
    tree.put("sys/class/hwmon/hwmon1/temp1_input", -64000)
    assert "Core 1" in chosen(tmp_path)


def test_a_board_sensor_never_passes_for_the_processor(tmp_path):
    tree = sysfs.Tree(tmp_path)
    tree.chip(0, "lm75", {"temp1_input": 40000})
    tree.chip(1, "nvme", {"temp1_input": 70000, "temp1_label": "Composite"})
    found = discover(tmp_path)
    assert found.chosen_temp.startswith("none was found")
    values, _ = read_all(found, 0.0)
    assert values == {"lm75_temp1_c": 40.0, "nvme_composite_c": 70.0}


@pytest.mark.parametrize(
    ("millidegrees", "temp_c"),
    [(-64000, None), (-273150, None), (-40000, None), (150000, None), (-39500, -39.5), (0, 0.0), (149000, 149.0)],
)
def test_impossible_values_are_no_readings(tmp_path, millidegrees, temp_c):
    tree = sysfs.Tree(tmp_path)
    tree.chip(0, "lm75", {"temp1_input": millidegrees})
    values, whys = read_all(discover(tmp_path), 0.0)
    assert values["lm75_temp1_c"] == temp_c
    assert whys["lm75_temp1_c"] == ("" if temp_c is not None else f"impossible value {millidegrees / 1000:g} °C")


def test_two_chips_of_one_name_keep_their_keys_whatever_their_numbers(tmp_path):
    first, second = tmp_path / "a", tmp_path / "b"
    for root, numbers in ((first, (0, 1)), (second, (5, 2))):
        tree = sysfs.Tree(root)
        tree.chip(numbers[0], "jc42", {"temp1_input": 41000}, "0-0018")
        tree.chip(numbers[1], "jc42", {"temp1_input": 42000}, "0-0019")
    expected = {"jc42_temp1_c": 41.0, "jc42_temp1_2_c": 42.0}
    assert read_all(discover(first), 0.0)[0] == expected
    assert read_all(discover(second), 0.0)[0] == expected


def test_a_chip_cannot_take_a_key_that_the_analysis_knows(tmp_path):
    tree = sysfs.Tree(tmp_path)
    tree.chip(0, "processor", {"temp1_input": 41000, "temp1_label": "temp"})
    assert read_all(discover(tmp_path), 0.0)[0] == {"processor_temp_2_c": 41.0}


class Unplugged:
    """Lets reads of one chip fail with ENODEV, as descriptors of a removed device do."""

    def __init__(self, monkeypatch, folder):
        self._real = os.pread
        self.gone = {file.stat().st_ino for file in folder.iterdir() if file.is_file()}
        monkeypatch.setattr(os, "pread", self._answer)

    def _answer(self, fd, count, offset):
        if os.fstat(fd).st_ino in self.gone:
            raise OSError(errno.ENODEV, "No such device")
        return self._real(fd, count, offset)


def test_a_chip_that_comes_back_under_another_number_fills_the_same_channels(tmp_path, monkeypatch):
    tree = sysfs.intel_like(tmp_path)
    found = discover(tmp_path)
    before, _ = read_all(found, 0.0)
    folder = tree.path("sys/class/hwmon/hwmon2")
    Unplugged(monkeypatch, folder)
    kept = tmp_path / "kept"
    folder.rename(kept)
    values, whys = read_all(found, 1.0)
    lost = {key for key, value in values.items() if value is None and before[key] is not None}
    assert {key for key in lost if key.startswith("nct6775")} == lost != set()
    assert {whys[key] for key in lost} == {"device gone"}
    # coretemp has taken the old number meanwhile; the chip comes back with a higher one
    shutil.copytree(tree.path("sys/class/hwmon/hwmon1"), folder, symlinks=True)
    shutil.copytree(kept, tree.path("sys/class/hwmon/hwmon9"), symlinks=True)
    tree.put("sys/class/hwmon/hwmon9/temp1_input", 44000)
    values, whys = read_all(found, 40.0)
    assert values["nct6775_temp1_c"] == 44.0
    assert values["nct6775_cpu_fan_rpm"] == 1180.0
    assert not {key for key in lost if values[key] is None}


def test_a_chip_on_another_port_is_the_same_if_it_is_the_only_one(tmp_path, monkeypatch):
    tree = sysfs.Tree(tmp_path)
    folder = tree.path(tree.chip(0, "thermometer", {"temp1_input": 21000}, "1-2:1.0"))
    found = discover(tmp_path)
    read_all(found, 0.0)
    Unplugged(monkeypatch, folder)
    folder.rename(tmp_path / "kept")
    assert read_all(found, 1.0)[0] == {"thermometer_temp1_c": None}
    tree.chip(4, "thermometer", {"temp1_input": 22000}, "1-4:1.0")
    assert read_all(found, 3.0)[0] == {"thermometer_temp1_c": 22.0}


def test_of_two_alike_the_other_one_does_not_step_in(tmp_path, monkeypatch):
    tree = sysfs.Tree(tmp_path)
    tree.chip(0, "jc42", {"temp1_input": 41000}, "0-0018")
    folder = tree.path(tree.chip(1, "jc42", {"temp1_input": 42000}, "0-0019"))
    found = discover(tmp_path)
    read_all(found, 0.0)
    Unplugged(monkeypatch, folder)
    folder.rename(tmp_path / "kept")
    for now_s in (1.0, 40.0, 80.0):
        assert read_all(found, now_s)[0] == {"jc42_temp1_c": 41.0, "jc42_temp1_2_c": None}
