"""A real user without rights meets a real closed file: mode bits mean nothing to root, so a process gives its rights up."""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from benchmon.model import keys
from tests.support import sysfs

NOBODY = 65534
REPOSITORY = Path(__file__).resolve().parents[2]
CODE = """
import json, os, sys
from pathlib import Path
from benchmon.sensors.discovery import discover
root, nobody = Path(sys.argv[1]), int(sys.argv[2])
os.setgroups([])
os.setresgid(nobody, nobody, nobody)
os.setresuid(nobody, nobody, nobody)
found = discover(root)
values = {}
for sensor in found.sensors:
    for channel, value in zip(sensor.channels, sensor.read(0.0)):
        values[channel.key] = value
json.dump({"uid": os.getuid(), "values": values, "refusals": [[r.path, r.why, r.remedy] for r in found.refusals]}, sys.stdout)
"""

pytestmark = [
    pytest.mark.system,
    pytest.mark.skipif(os.getuid() != 0, reason="only root can become somebody else"),
]


@pytest.fixture
def root():
    folder = Path(tempfile.mkdtemp())  # tmp_path is closed to others
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


def read_as_nobody(root):
    # It gives its rights up after the imports: the interpreter itself may lie in root's closed folder.
    command = [sys.executable, "-c", CODE, str(root), str(NOBODY)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=REPOSITORY)
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout)
    assert said["uid"] == NOBODY
    return said


def test_closed_energy_counters_are_refused_and_the_rest_is_read(root):
    """Mode 0400 since Linux 5.10: kernel commit 949dd0104c496fa7c14991a23c03c62e44637e71."""
    sysfs.intel_like(root)
    for path in root.glob("sys/class/powercap/*/energy_uj"):
        path.chmod(0o400)
    said = read_as_nobody(root)
    assert keys.PACKAGE_POWER not in said["values"]
    assert said["values"][keys.PROCESSOR_TEMP] == 62.0
    (refusal,) = [r for r in said["refusals"] if r[0] == "/sys/class/powercap/intel-rapl:0/energy_uj"]
    assert refusal[1] == "permission denied"
    assert "60-energy-counters.rules" in refusal[2]
    assert "RUN+=" in refusal[2]


def test_of_two_interfaces_the_open_one_serves(root):
    sysfs.intel_like(root)
    (root / "sys/class/powercap/intel-rapl:0/energy_uj").chmod(0o400)
    said = read_as_nobody(root)
    assert keys.PACKAGE_POWER in said["values"]


def test_a_closed_temperature(root):
    sysfs.intel_like(root)
    (root / "sys/class/hwmon/hwmon1/temp1_input").chmod(0o000)
    said = read_as_nobody(root)
    assert [r[1] for r in said["refusals"] if r[0] == "/sys/class/hwmon/hwmon1/temp1_input"] == ["permission denied"]
    assert said["values"][keys.PROCESSOR_TEMP] == 62.0  # the hottest core


def test_closed_tick_counters(root):
    sysfs.intel_like(root)
    (root / "proc/stat").chmod(0o000)
    said = read_as_nobody(root)
    assert keys.LOAD not in said["values"]
    assert said["values"][keys.CLOCK] == 1850.0
    assert [r[1] for r in said["refusals"] if r[0] == "/proc/stat"] == ["permission denied: /proc/stat"]
