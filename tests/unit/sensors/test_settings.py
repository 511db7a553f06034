import pytest

from benchmon.model import keys
from benchmon.sensors.settings import SettingsReader
from tests.support import sysfs


def settings(root):
    return {one.key: one.value for one in SettingsReader(root).read()}


def test_an_intel_like_machine(tmp_path):
    sysfs.intel_like(tmp_path)
    assert (
        settings(tmp_path)
        == {
            keys.RATED_CLOCK: 3000.0,
            keys.HIGHEST_CLOCK: 3600.0,
            keys.LOWEST_CLOCK: 800.0,
            keys.GOVERNOR: "schedutil",
            keys.CLOCK_DRIVER: "intel_pstate",
            keys.TURBO: "on",
            keys.TEMP_LIMIT: 100.0,  # coretemp.rst: temp1_crit is the maximum junction temperature
            keys.TEMP_CRITICAL: 119.0,
            keys.POWER_LIMIT_LONG: 35.0,  # the lower of the two interfaces
            keys.POWER_WINDOW_LONG: 27.983872,  # 28 s as the kernel's 976 µs unit gives it (SDM 3B 14.9.1; intel_rapl_common.c)
            keys.POWER_LIMIT_SHORT: 117.0,
            keys.POWER_WINDOW_SHORT: 0.00244,
            keys.CORE_COUNT: 4,
        }
    )


def test_no_turbo_means_the_opposite_of_boost(tmp_path):
    """admin-guide/pm/intel_pstate.rst: no_turbo=1 forbids turbo; admin-guide/pm/cpufreq.rst: boost=1 allows it."""
    tree = sysfs.Tree(tmp_path)
    tree.put("sys/devices/system/cpu/cpufreq/boost", 0)
    assert settings(tmp_path)[keys.TURBO] == "off"
    tree.put("sys/devices/system/cpu/intel_pstate/no_turbo", 0)
    assert settings(tmp_path)[keys.TURBO] == "on"
    tree.put("sys/devices/system/cpu/intel_pstate/no_turbo", 1)
    assert settings(tmp_path)[keys.TURBO] == "off"


def test_limits_of_a_zone_are_its_own_trips(tmp_path):
    sysfs.arm_board(tmp_path)
    got = settings(tmp_path)
    assert (got[keys.TEMP_LIMIT], got[keys.TEMP_CRITICAL]) == (80.0, 110.0)


def test_trips_of_zero_and_less_are_disabled(tmp_path):
    """Documentation/driver-api/thermal/x86_pkg_temperature_thermal.rst: a trip of 0 is disabled."""
    tree = sysfs.Tree(tmp_path)
    tree.zone(0, "x86_pkg_temp", 50000, {"passive": 0, "critical": -274000})
    assert keys.TEMP_LIMIT not in settings(tmp_path)
    assert keys.TEMP_CRITICAL not in settings(tmp_path)


def test_a_chip_without_a_limit_borrows_that_of_the_zone_that_slows_the_processor(tmp_path):
    tree = sysfs.amd_like(tmp_path)
    tree.zone(0, "acpitz", 20000, {"passive": 60000})  # slows nothing
    assert keys.TEMP_LIMIT not in settings(tmp_path)
    tree.cooling(0, "Processor", 0)
    tree.zone(1, "acpitz", 20000, {"passive": 95000, "critical": 105000}, cooling=0)
    reader = SettingsReader(tmp_path)
    (limit,) = [one for one in reader.read() if one.key == keys.TEMP_LIMIT]
    assert (limit.value, limit.source) == (95.0, "/sys/class/thermal/thermal_zone1/trip_point_0_temp")


def test_an_alarm_that_anybody_can_set_is_no_limit(tmp_path):
    tree = sysfs.amd_like(tmp_path)
    tree.put("sys/class/hwmon/hwmon1/temp2_max", 70000)
    assert keys.TEMP_LIMIT not in settings(tmp_path)


def test_limits_of_packages_are_added_as_their_powers_are(tmp_path):
    sysfs.two_packages(tmp_path)
    got = settings(tmp_path)
    assert (got[keys.POWER_LIMIT_LONG], got[keys.POWER_LIMIT_SHORT]) == (190.0, 240.0)


def test_a_limit_that_is_switched_off_is_none(tmp_path):
    tree = sysfs.intel_like(tmp_path)
    tree.put("sys/class/powercap/intel-rapl-mmio:0/enabled", 0)
    assert settings(tmp_path)[keys.POWER_LIMIT_LONG] == 65.0


def test_a_machine_that_counts_energy_but_names_no_limit(tmp_path):
    """AMD and Hygon offer energy only (kernel, rapl_msr_priv_amd has no limits)."""
    sysfs.amd_like(tmp_path)
    assert not {keys.POWER_LIMIT_LONG, keys.POWER_LIMIT_SHORT} & set(settings(tmp_path))


def test_a_setting_that_changes_and_one_that_goes(tmp_path):
    tree = sysfs.intel_like(tmp_path)
    reader = SettingsReader(tmp_path)
    first = reader.read()
    assert reader.read() == first
    tree.put("sys/class/powercap/intel-rapl-mmio:0/constraint_0_power_limit_uw", 20_000_000)
    tree.path("sys/devices/system/cpu/intel_pstate/no_turbo").unlink()
    changed = {one.key: one.value for one in reader.read() if one not in first}
    assert changed == {keys.POWER_LIMIT_LONG: 20.0, keys.TURBO: None}
    assert keys.TURBO in {one.key for one in reader.read()}


@pytest.mark.parametrize(("text", "count"), [("0", 1), ("0-3", 4), ("0-1,3", 3), ("0,2-5,8", 6)])
def test_cores_online(tmp_path, text, count):
    """The list format is the kernel's: Documentation/admin-guide/cputopology.rst."""
    sysfs.Tree(tmp_path).put("sys/devices/system/cpu/online", text)
    assert settings(tmp_path)[keys.CORE_COUNT] == count


def test_rated_clock_from_the_processors_name(tmp_path):
    sysfs.Tree(tmp_path).put("proc/cpuinfo", "processor\t: 0\nmodel name\t: Invented Processor 12 @ 2.40GHz\n")
    assert settings(tmp_path)[keys.RATED_CLOCK] == 2400.0


def test_nothing(tmp_path):
    assert settings(tmp_path) == {}
