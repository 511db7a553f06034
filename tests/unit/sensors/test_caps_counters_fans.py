from benchmon.model import keys
from benchmon.sensors.discovery import discover
from tests.support import sysfs
from tests.support.sensor_round import read_all


def test_throttle_counters_are_summed_over_cores_not_over_threads_or_processors(tmp_path):
    """kernel, therm_throt.c: every thread of a core, and every processor of a package, shows the same events."""
    sysfs.intel_like(tmp_path)  # two cores of two threads: 5, 5, 2, 2; one package: 9 four times
    values, _ = read_all(discover(tmp_path), 0.0)
    assert values[keys.CORE_THROTTLE_COUNT] == 7
    assert values[keys.PACKAGE_THROTTLE_COUNT] == 9


def test_throttle_counters_of_two_packages(tmp_path):
    """The same core number in two packages is two cores."""
    sysfs.two_packages(tmp_path)  # cores 1, 2, 3, 4; packages 4 and 6
    values, _ = read_all(discover(tmp_path), 0.0)
    assert values[keys.CORE_THROTTLE_COUNT] == 10
    assert values[keys.PACKAGE_THROTTLE_COUNT] == 10


def test_a_counter_of_an_offline_core_makes_the_sum_missing_not_less(tmp_path):
    tree = sysfs.two_packages(tmp_path)
    found = discover(tmp_path)
    for name in ("core", "package"):
        tree.path(f"sys/devices/system/cpu/cpu3/thermal_throttle/{name}_throttle_count").write_text("")
    values, whys = read_all(found, 0.0)
    assert values[keys.CORE_THROTTLE_COUNT] is None
    assert whys[keys.CORE_THROTTLE_COUNT] == "core offline"
    assert values[keys.PACKAGE_THROTTLE_COUNT] == 10  # the other core of the package still shows it


def test_an_offline_thread_leaves_its_cores_counter(tmp_path):
    tree = sysfs.intel_like(tmp_path)
    found = discover(tmp_path)
    tree.path("sys/devices/system/cpu/cpu1/thermal_throttle/core_throttle_count").write_text("")
    assert read_all(found, 0.0)[0][keys.CORE_THROTTLE_COUNT] == 7


def test_caps_are_the_least_of_all_cores(tmp_path):
    tree = sysfs.acpi_only(tmp_path)
    tree.put("sys/devices/system/cpu/cpufreq/policy1/scaling_max_freq", 2_100_000)
    values, _ = read_all(discover(tmp_path), 0.0)
    assert values[keys.CLOCK_CAP] == 2100.0
    assert values[keys.PLATFORM_CAP] == 2800.0


def test_cooling_step_is_the_greatest_of_the_processors_devices(tmp_path):
    sysfs.intel_like(tmp_path)  # Processor 0 and 3; a fan at 7 slows nobody
    assert read_all(discover(tmp_path), 0.0)[0][keys.COOLING_STEP] == 3


def test_a_machine_without_caps_has_no_such_channels(tmp_path):
    sysfs.amd_like(tmp_path)
    values, _ = read_all(discover(tmp_path), 0.0)
    assert not {keys.PLATFORM_CAP, keys.COOLING_STEP, keys.CORE_THROTTLE_COUNT} & set(values)


def test_a_standing_fan_reads_zero(tmp_path):
    sysfs.intel_like(tmp_path)
    values, _ = read_all(discover(tmp_path), 0.0)
    assert values["nct6775_cpu_fan_rpm"] == 1180.0
    assert values["nct6775_fan2_rpm"] == 0.0


def test_power_meters_of_chips_wherever_their_files_lie(tmp_path):
    """power1_average in µW (Documentation/hwmon/sysfs-interface.rst); the ACPI meter's files lie below device/."""
    sysfs.acpi_only(tmp_path / "a")
    assert read_all(discover(tmp_path / "a"), 0.0)[0]["power_meter_power1_w"] == 43.21
    sysfs.amd_like(tmp_path / "b")
    assert read_all(discover(tmp_path / "b"), 0.0)[0]["amdgpu_power1_w"] == 11.0


def test_of_momentary_and_average_power_one_is_read(tmp_path):
    tree = sysfs.Tree(tmp_path)
    tree.chip(0, "meter", {"power1_average": 5_000_000, "power1_input": 6_000_000})
    assert read_all(discover(tmp_path), 0.0)[0] == {"meter_power1_w": 6.0}
