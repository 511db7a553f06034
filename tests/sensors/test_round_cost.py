"""The observer must not disturb: what one round of reading everything costs on a four-core machine."""

import shutil
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

import pytest

from benchmon.sensors.discovery import discover
from benchmon.sensors.settings import SettingsReader
from tests.support import sysfs

MOST_S = 0.0005
ROUNDS = 400


@pytest.fixture
def root():
    folder = Path(tempfile.mkdtemp(dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
    sysfs.intel_like(folder)
    yield folder
    shutil.rmtree(folder)


def median_s(action):
    costs = []
    for _ in range(ROUNDS):
        begun_s = perf_counter()
        action()
        costs.append(perf_counter() - begun_s)
    return median(costs)


def test_a_round_costs_well_under_half_a_millisecond(root, record_property):
    found = discover(root)
    now = iter(range(10**6))

    def one_round():
        for sensor in found.sensors:
            sensor.read(float(next(now)))

    cost_s = median_s(one_round)
    record_property("round_us", cost_s * 1e6)
    print(f"\n{sum(len(sensor.channels) for sensor in found.sensors)} channels: {cost_s * 1e6:.0f} µs for each round")
    assert cost_s < MOST_S


def test_a_vanished_device_makes_no_round_dear(root):
    """A search by name goes through folders: it must not happen in every round."""
    found = discover(root)
    temps = [sensor for sensor in found.sensors if type(sensor).__name__ == "Temperatures"]
    shutil.rmtree(root / "sys/class/hwmon")
    for sensor in temps:
        for file, _ in sensor._files:
            file.close()  # as ENODEV would
        sensor.read(0.0)
    assert median_s(lambda: [sensor.read(0.1) for sensor in temps]) < MOST_S


def test_settings_are_cheap_enough_for_every_few_seconds(root):
    reader = SettingsReader(root)
    cost_s = median_s(reader.read)
    print(f"\nsettings: {cost_s * 1e6:.0f} µs")
    assert cost_s < 0.02
