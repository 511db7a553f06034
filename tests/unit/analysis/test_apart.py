"""Work in a process of its own: its result comes, its faults stay there, and it leaves nothing behind."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from benchmon.analysis import apart as module
from benchmon.analysis.apart import NICENESS, Apart


def result_of(apart):
    until = time.monotonic() + 30
    while time.monotonic() < until:
        is_over, found = apart.result()
        if is_over:
            assert not apart.is_busy
            return found
        time.sleep(0.005)
    pytest.fail("it never ended")


def test_the_result_comes_however_long_it_is():
    apart = Apart()
    assert apart.begin(lambda: ["x" * 100] * 20_000)
    assert apart.is_busy
    assert result_of(apart) == ["x" * 100] * 20_000


def raises():
    raise ValueError


@pytest.mark.parametrize(
    "work", [raises, lambda: os.kill(os.getpid(), signal.SIGILL), lambda: sys.exit(0), lambda: lambda: None]
)
def test_a_fault_in_it_is_no_fault_here(work, capfd):
    apart = Apart()
    apart.begin(work)
    assert result_of(apart) is None
    assert capfd.readouterr() == ("", "")
    assert apart.begin(lambda: 1) and result_of(apart) == 1


def test_it_is_nice_and_holds_nothing_that_is_ours(tmp_path):
    with (tmp_path / "ours").open("w"):
        apart = Apart()
        apart.begin(
            lambda: (
                os.nice(0),
                sorted({os.readlink(f"/proc/self/fd/{fd}") for fd in range(3)}),
                os.listdir("/proc/self/fd"),
            )
        )
        niceness, standard, held = result_of(apart)
    assert niceness == min(os.nice(0) + NICENESS, 19)
    assert standard == ["/dev/null"]
    assert len(held) <= 5  # the three, its pipe, and the folder that was listed


def test_what_takes_too_long_is_given_up(monkeypatch):
    monkeypatch.setattr(module, "LONGEST_S", 0.0)
    apart = Apart()
    apart.begin(lambda: time.sleep(600))
    pid = apart._pid
    assert result_of(apart) is None
    assert not Path(f"/proc/{pid}").exists()


def test_it_ends_with_whoever_began_it(tmp_path):
    code = "import time, os\nfrom benchmon.analysis.apart import Apart\na = Apart()\na.begin(lambda: time.sleep(600))\nprint(a._pid, flush=True)\ntime.sleep(600)"
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    child = int(process.stdout.readline())
    time.sleep(0.2)
    process.kill()
    process.wait()
    until = time.monotonic() + 10
    while (
        Path(f"/proc/{child}").exists()
        and "Z" not in Path(f"/proc/{child}/stat").read_text()
        and time.monotonic() < until
    ):
        time.sleep(0.01)
    assert not Path(f"/proc/{child}").exists() or "Z" in Path(f"/proc/{child}/stat").read_text()
    process.stdout.close()
