import pytest

from benchmon.model import keys
from benchmon.sensors.discovery import discover
from tests.support import sysfs
from tests.support.sensor_round import power_step, read_all


def test_a_package_that_is_offered_twice_is_counted_once(tmp_path):
    tree = sysfs.intel_like(tmp_path)
    found = discover(tmp_path)
    read_all(found, 0.0)
    tree.put("sys/class/powercap/intel-rapl:0/energy_uj", 31_000_000)
    tree.put("sys/class/powercap/intel-rapl-mmio:0/energy_uj", 31_000_000)
    tree.put("sys/class/powercap/intel-rapl:0:0/energy_uj", 20_500_000)
    tree.put("sys/class/powercap/intel-rapl:1/energy_uj", 53_000_000)
    values, _ = read_all(found, 1.0)
    assert values[keys.PACKAGE_POWER] == pytest.approx(30.0)
    assert values["core_power_w"] == pytest.approx(20.0)
    assert values["psys_power_w"] == pytest.approx(50.0)
    (channel,) = [c for sensor in found.sensors for c in sensor.channels if c.key == keys.PACKAGE_POWER]
    assert "intel-rapl:0/" in channel.source
    assert "intel-rapl-mmio:0/" in channel.source


def test_the_memory_mapped_twin_serves_where_it_is_alone(tmp_path):
    tree = sysfs.Tree(tmp_path)
    tree.energy("intel-rapl-mmio:0", "package-0", 0)
    found = discover(tmp_path)
    read_all(found, 0.0)
    tree.put("sys/class/powercap/intel-rapl-mmio:0/energy_uj", 7_000_000)
    assert read_all(found, 1.0)[0][keys.PACKAGE_POWER] == pytest.approx(7.0)


def test_two_packages_are_added(tmp_path):
    assert power_step(sysfs.two_packages(tmp_path), (30, 40)) == (pytest.approx(70.0), "")


def test_a_missing_package_makes_the_sum_missing_not_less(tmp_path):
    tree = sysfs.two_packages(tmp_path)
    found = discover(tmp_path)
    read_all(found, 0.0)
    tree.put("sys/class/powercap/intel-rapl:0/energy_uj", 31_000_000)
    tree.path("sys/class/powercap/intel-rapl:1/energy_uj").write_text("")
    values, whys = read_all(found, 1.0)
    assert values[keys.PACKAGE_POWER] is None
    assert whys[keys.PACKAGE_POWER]
    tree.put("sys/class/powercap/intel-rapl:0/energy_uj", 61_000_000)
    tree.put("sys/class/powercap/intel-rapl:1/energy_uj", 41_000_000)
    values, _ = read_all(found, 2.0)
    assert values[keys.PACKAGE_POWER] is None  # the second package needs two readings again
    tree.put("sys/class/powercap/intel-rapl:0/energy_uj", 91_000_000)
    tree.put("sys/class/powercap/intel-rapl:1/energy_uj", 81_000_000)
    assert read_all(found, 3.0)[0][keys.PACKAGE_POWER] == pytest.approx(70.0)


def test_dies_of_one_package_are_added(tmp_path):
    tree = sysfs.Tree(tmp_path)
    for die in range(2):
        tree.energy(f"intel-rapl:{die}", f"package-0-die-{die}", 1_000_000)
    assert power_step(tree, (10, 20)) == (pytest.approx(30.0), "")


def test_a_counter_that_is_closed_is_refused_with_a_remedy(tmp_path, monkeypatch):
    """energy_uj is mode 0400 since Linux 5.10 (commit 949dd0104c49); as root it can only be made to fail by hand."""
    import os

    sysfs.intel_like(tmp_path)
    real = os.open

    def closed(path, *args, **kwargs):
        if str(path).endswith("energy_uj"):
            raise PermissionError(13, "Permission denied", str(path))
        return real(path, *args, **kwargs)

    monkeypatch.setattr(os, "open", closed)
    found = discover(tmp_path)
    assert keys.PACKAGE_POWER not in [c.key for sensor in found.sensors for c in sensor.channels]
    refused = {refusal.path: refusal for refusal in found.refusals}
    refusal = refused["/sys/class/powercap/intel-rapl:0/energy_uj"]
    assert refusal.why == "permission denied"
    assert 'SUBSYSTEM=="powercap"' in refusal.remedy
    assert "/etc/udev/rules.d/" in refusal.remedy
