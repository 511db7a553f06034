"""What the campaigns share: a machine whose sensors are files, a recorder on it, and who is still alive."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from benchmon.loads.tether import descendants
from tests.support.sysfs import Tree

ROOT = Path(__file__).resolve().parents[3]
TEMP = "sys/class/hwmon/hwmon0/temp1_input"
CORE = "sys/class/hwmon/hwmon0/temp2_input"


def machine(folder: Path) -> Tree:
    """Two cores and a chip with a package's and a core's temperature."""
    tree = Tree(folder)
    files = {"temp1_input": 60000, "temp1_label": "Package id 0", "temp2_input": 59000, "temp2_label": "Core 0"}
    tree.chip(0, "coretemp", files, "coretemp.0")
    tree.ticks((1, 1), (1, 1))
    return tree


@contextmanager
def bench() -> Iterator[tuple[Path, Tree, dict[str, str]]]:
    """A folder, a machine in it, and an environment whose sessions and sockets lie there."""
    with tempfile.TemporaryDirectory(prefix="camp-", ignore_cleanup_errors=True) as text:
        folder = Path(text)
        (folder / "run").mkdir(mode=0o700)
        environment = {
            **os.environ,
            "XDG_RUNTIME_DIR": str(folder / "run"),
            "BENCHMON_SESSIONS": str(folder / "sessions"),
            "HOME": str(folder),
        }
        yield folder, machine(folder / "tree"), environment


def command(*words: str) -> list[str]:
    """Arguments for starting benchmon."""
    return [sys.executable, "-m", "benchmon", *words]


def start(environment: dict[str, str], *words: str, **popen: object) -> subprocess.Popen[bytes]:
    """Start benchmon; its output goes nowhere unless it is said where."""
    streams = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, **popen}
    return subprocess.Popen(command(*words), env=environment, cwd=ROOT, start_new_session=True, **streams)  # type: ignore[call-overload,no-any-return]


def is_alive(pid: int) -> bool:
    """Whether it runs; a zombie does not."""
    try:
        with open(f"/proc/{pid}/stat", "rb") as file:
            return file.read().rpartition(b")")[2].split()[0] not in (b"Z", b"X")
    except OSError:
        return False


def with_environment(text: str) -> list[int]:
    """Processes of ours whose environment holds a text: whatever came from one bench, wherever it has run to."""
    found = []
    for entry in Path("/proc").iterdir():
        try:
            if entry.name.isdigit() and text.encode() in (entry / "environ").read_bytes():
                found.append(int(entry.name))
        except OSError:
            continue
    return [pid for pid in found if is_alive(pid)]


def wait_until(holds, longest_s: float) -> float | None:  # noqa: ANN001
    """Seconds until it held; None if it never did."""
    begun_s = time.monotonic()
    while time.monotonic() - begun_s < longest_s:
        if holds():
            return time.monotonic() - begun_s
        time.sleep(0.02)
    return None


def kill(pids: list[int], number: int = signal.SIGKILL) -> None:
    """Send a signal to each that is still there."""
    for pid in pids:
        try:
            os.kill(pid, number)
        except OSError:
            continue


_KINDS = {
    "benchmon-keeper": "keeper",
    "benchmon-reader": "keeper",
    "loads.worker": "worker",
    "loads.listener": "listener",
    "sensors.machine": "identification",
    "reading_runner": "runner",
}
"""What a process's name or command line holds → what it is."""


def everybody(process: subprocess.Popen[bytes]) -> dict[int, str]:
    """All that came from a process, itself included: number → what it is."""
    found = {}
    for pid in (process.pid, *descendants(process.pid)):
        try:
            line = Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode()
            name = Path(f"/proc/{pid}/comm").read_text().strip()
        except OSError:
            continue
        kind = next((kind for text, kind in _KINDS.items() if text == name or text in line), "other")
        found[pid] = "recorder" if pid == process.pid else kind
    return found
