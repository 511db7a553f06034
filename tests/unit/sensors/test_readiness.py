"""What is in the way before a recording, on made-up trees; the real processor time against psutil."""

import os
import subprocess
import sys
import time

import psutil
import pytest

from benchmon.cli.main import main
from benchmon.sensors.programs import busiest
from benchmon.sensors.readiness import ended_s_ago, obstacles


@pytest.fixture
def tree(tmp_path):
    root = tmp_path / "root"

    def write(**files):
        for name, text in files.items():
            path = root / name.replace("__", "/").replace("DASH", "-")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text)
        return root

    return write


def said(root, tmp_path, ago_s=None):
    return " | ".join(one.what for one in obstacles(root, tmp_path, ago_s, look_s=0.01))


def test_an_empty_machine_lacks_its_sensors(tree, tmp_path):
    words = said(tree(proc__stat=""), tmp_path)
    assert "no temperature" in words
    assert "package power cannot be read" in words
    assert "battery" not in words


def test_battery_guest_memory_and_governor(tree, tmp_path):
    root = tree(
        sys__class__power_supply__BAT0__type="Battery\n",
        sys__class__power_supply__BAT0__status="Discharging\n",
        proc__cpuinfo="processor : 0\nflags : fpu hypervisor sse\n",
        proc__meminfo="MemTotal: 900000 kB\nMemAvailable: 100000 kB\n",
        sys__devices__system__cpu__intel_pstate__no_turbo="1\n",
    )
    words = said(root, tmp_path)
    for part in ("runs on its battery", "a guest on another machine", "97 MiB of memory"):
        assert part in words


def test_on_mains_with_a_full_battery_nothing_is_said(tree, tmp_path):
    root = tree(sys__class__power_supply__BAT0__type="Battery\n", sys__class__power_supply__BAT0__status="Full\n")
    assert "battery" not in said(root, tmp_path)


@pytest.mark.parametrize(("ago_s", "is_warm"), [(None, False), (60.0, True), (1700.0, True), (1900.0, False)])
def test_a_box_is_warm_for_a_while_after_the_last_recording(tree, tmp_path, ago_s, is_warm):
    words = said(tree(proc__stat=""), tmp_path, ago_s)
    assert ("may still be warm" in words) is is_warm
    if ago_s == 60.0:
        effect = next(one.effect for one in obstacles(tree(), tmp_path, ago_s, 0.01) if "warm" in one.what)
        assert "wait 29 min more" in effect


def test_how_long_ago_a_session_was_written(tmp_path):
    path = tmp_path / "x"
    path.write_text("")
    os.utime(path, (time.time() - 100, time.time() - 100))
    assert ended_s_ago(path) == pytest.approx(100, abs=5)
    assert ended_s_ago(None) is None
    assert ended_s_ago(tmp_path / "none") is None


def test_a_busy_program_is_found_as_psutil_finds_it():
    """psutil as an outside opinion of the same process's processor time."""
    code = "import time\nend = time.monotonic() + 5\nwhile time.monotonic() < end: pass"
    process = subprocess.Popen([sys.executable, "-c", code])
    try:
        other = psutil.Process(process.pid)
        name, before, began_s = other.name(), other.cpu_times(), time.monotonic()
        found = {one.name: one.core_pct for one in busiest(psutil_proc(), 0.8)}
        after, passed_s = other.cpu_times(), time.monotonic() - began_s
        taken = after.user + after.system - before.user - before.system
        assert found[name] >= 100.0 * taken / passed_s - 15.0  # others of that name may be at work too
    finally:
        process.kill()
        process.wait()


def psutil_proc():
    from pathlib import Path

    return Path(psutil.PROCFS_PATH)


def test_the_command_says_what_and_why_and_strict_refuses(tree, tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("BENCHMON_SESSIONS", str(tmp_path / "sessions"))
    root = str(tree(proc__cpuinfo="flags : hypervisor\n"))
    assert main(["channels", "--ready", "--root", root]) == 5
    assert "guest on another machine\n    neighbours share" in capsys.readouterr().out
    assert main(["record", "--strict", "--for", "1s", "--root", root]) == 5
    assert "not ready: " in capsys.readouterr().err
