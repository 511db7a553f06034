"""Unmodified psutil reads the same trees as we do, and must see the same numbers.

psutil knows no other root than ``/``, so a mount namespace puts each tree over ``/sys`` and ``/proc/stat``.
"""

import json
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from benchmon.model import keys
from tests.support import sysfs

HERE = Path(__file__).resolve().parent
MAY_MOUNT = subprocess.run(["unshare", "-m", "true"], capture_output=True).returncode == 0
pytestmark = [
    pytest.mark.system,
    pytest.mark.skipif(not MAY_MOUNT, reason="unshare -m is not permitted here: needs root (CAP_SYS_ADMIN)"),
]


@pytest.fixture(scope="module", params=[kind for kind in sysfs.KINDS if kind != "nothing"])
def both(request, tmp_path_factory):
    root = tmp_path_factory.mktemp(request.param)
    sysfs.KINDS[request.param](root)
    (root / "cpuinfo").touch()  # psutil prefers /proc/cpuinfo where it names as many cores
    script = f"""set -e
mount --rbind {shlex.quote(str(root / "sys"))} /sys
mount --bind {shlex.quote(str(root / "proc/stat"))} /proc/stat
mount --bind {shlex.quote(str(root / "cpuinfo"))} /proc/cpuinfo
exec {shlex.quote(sys.executable)} -m tests.sensors.read_both_ways {shlex.quote(str(root))}"""
    done = subprocess.run(["unshare", "-m", "sh", "-c", script], capture_output=True, text=True, cwd=HERE.parents[1])
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def of_chips(both, ending):
    """(chip, label, value) of our channels that come from chips, by the path in their source."""
    rows = []
    for key, (value, source) in both["ours"].items():
        path = re.search(r"\((/sys/class/hwmon/\S+)\)", source)
        if key.endswith(ending) and path and path[1] in both["names"]:
            rows.append([*both["names"][path[1]], value])
    return rows


def test_temperatures(both):
    rows = of_chips(both, "_c")
    if not rows:  # psutil reads zones only where no chip is
        rows = [
            [re.match(r"thermal zone (\S+)", source)[1], "", value]
            for source, value in ((source, value) for value, source in both["ours"].values())
            if source.startswith("thermal zone")
        ]
    possible = [row for row in both["temperatures"] if row[2] > -40]
    assert len(both["temperatures"]) == len(rows)
    assert sorted(row for row in rows if row[2] is not None) == sorted(possible)


def test_a_temperature_that_psutil_believes_and_we_do_not(both):
    impossible = [row for row in both["temperatures"] if row[2] <= -40]
    ours = [row for row in of_chips(both, "_c") if row[2] is None]
    assert [row[:2] for row in ours] == [row[:2] for row in impossible]


def test_fans(both):
    assert sorted(of_chips(both, "_rpm")) == sorted(both["fans"])


def test_clock_of_each_core(both):
    ours = [value for key, (value, _) in both["ours"].items() if re.fullmatch(r"clock_cpu\d+_mhz", key)]
    clocks = both["clocks"]
    assert set(ours) == set(clocks) if len(clocks) < len(ours) else ours == clocks  # psutil: one for each policy


def test_load_of_each_core(both):
    """psutil rounds to a tenth of a percent."""
    assert len(both["loads"]) >= 2
    for core, load in enumerate(both["loads"]):
        if both["ours"].get(keys.core_load_key(core), [None])[0] is not None:
            assert both["ours"][keys.core_load_key(core)][0] == pytest.approx(load, abs=0.051)


def test_the_namespace_really_hid_this_machine(both):
    assert both["clocks"]
    assert both["temperatures"]
    assert all(value is not None for value, _ in (both["ours"][keys.CLOCK], both["ours"][keys.LOAD]))


def test_clocks_of_this_very_machine_from_the_processors_text():
    import psutil

    from benchmon.sensors.cpuinfo_clock import CpuinfoClocks

    sensor = CpuinfoClocks("/proc/cpuinfo", "/proc/cpuinfo", dict)
    if len(sensor.channels) == 1:
        pytest.skip("this kernel names no clock in /proc/cpuinfo")
    clocks = [core.current for core in psutil.cpu_freq(percpu=True)]
    assert sensor.read(0.0)[1:] == pytest.approx(clocks, rel=0.5)  # a real clock may change between the two
    sensor.close()
