"""What the screen costs: CPU share, bytes a refresh, memory, first paint, measured in a drained pseudo-terminal.

usage: python tests/benchmarks/screen_cost.py [--seconds 20] [--size 140x45] [--behind]

The calibration loop (ten million times ``x += i * i``, 0.92 s where the budgets were set) makes shares comparable between
machines: share · 0.92 / loop time.

``beside_mb`` is the most that a process took beside the screen while it worked out a figure, for a second or less.
"""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import json
import os
import pty
import select
import signal
import struct
import sys
import tempfile
import termios
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from benchmon.session.writer import SessionWriter  # noqa: E402
from tests.support.bench_session import Bench, bench_records  # noqa: E402

LOOP_S = 0.92
BUDGET = {"share_pct": 1.0, "bytes_per_refresh": 5000, "rss_mb": 40.0, "first_paint_s": 0.4}

CHILD = """
import sys
from pathlib import Path
from benchmon.stream.source import FollowSource
from benchmon.views.tui.app import run_screen
compare = None
if len(sys.argv) > 2:
    from benchmon.session.reader import StoredSession
    compare = StoredSession(Path(sys.argv[2]))
run_screen(FollowSource(Path(sys.argv[1])), control=lambda request: {"ok": True}, compare=compare)
"""
START_S = 300.0
"""So much of the run is in the file already when the screen opens."""


def calibration_s() -> float:
    """CPU time of the calibration loop [s], run as a module runs it (names in a dictionary, as it was when it took 0.92 s)."""
    began = time.process_time()
    exec("x = 0\nfor i in range(10_000_000):\n    x += i * i", {})
    return time.process_time() - began


def cpu_s(pid: int) -> float:
    """Time on a processor of all threads; ``schedstat`` counts nanoseconds, where ``stat`` counts ticks of 10 ms.

    What its children took until they ended is counted in ticks.
    """
    threads = Path(f"/proc/{pid}/task").iterdir()
    own = sum(int((thread / "schedstat").read_text().split()[0]) for thread in threads) / 1e9
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return own + (int(fields[13]) + int(fields[14])) / os.sysconf("SC_CLK_TCK")


def rss_mb(pid: int) -> float:
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1024


def children_mb(pid: int) -> float:
    """What the children of a process take for themselves: pages that they share are counted in parts (proc(5), Pss)."""
    total = 0.0
    with contextlib.suppress(OSError):  # they end when they like
        for child in Path(f"/proc/{pid}/task/{pid}/children").read_text().split():
            lines = Path(f"/proc/{child}/smaps_rollup").read_text().splitlines()
            total += sum(int(line.split()[1]) for line in lines if line.startswith("Private")) / 1024
    return total


class Recording:
    """A session file that grows by one sample each half second, as a recorder would let it grow."""

    def __init__(self, path: Path) -> None:
        self.writer = SessionWriter(path)
        self._left = iter(bench_records(Bench(until_s=600.0)))
        self._ahead = next(self._left)
        self.grow_to(START_S)

    def grow_to(self, t_s: float) -> None:
        while getattr(self._ahead, "t_s", 0.0) <= t_s:
            self.writer.write(self._ahead)
            self._ahead = next(self._left)


def drain(
    fd: int,
    until: float,
    recording: Recording,
    began: float,
    stop_at: bytes = b"",
    watch: Callable[[], None] | None = None,
) -> bytes:
    """What comes until a time, or until certain bytes have come; ``watch`` is called now and then."""
    got = b""
    while (left := until - time.monotonic()) > 0 and not (stop_at and stop_at in got):
        recording.grow_to(START_S + time.monotonic() - began)
        if select.select([fd], [], [], min(left, 0.05))[0]:
            got += os.read(fd, 65536)
        if watch is not None:
            watch()
    return got


def measure(columns: int, rows: int, seconds: float, folder: Path, *, behind: bool) -> dict[str, float]:
    """Run the screen over a growing session at 2 Hz and measure it."""
    recording = Recording(folder / f"{time.monotonic_ns()}.session.jsonl")
    words = [str(recording.writer.path)]
    if behind:
        earlier = SessionWriter(folder / f"{time.monotonic_ns()}.session.jsonl")
        for record in bench_records(Bench(until_s=600.0, resistance_k_per_w=2.0, seed=4)):
            earlier.write(record)
        earlier.close()
        words.append(str(earlier.path))
    began = time.monotonic()
    pid, fd = pty.fork()
    if pid == 0:
        os.chdir(ROOT)
        environment = {**os.environ, "TERM": "xterm-256color", "LANG": "C.UTF-8"}
        environment.pop("NO_COLOR", None)
        os.execve(sys.executable, [sys.executable, "-c", CHILD, *words], environment)
    fcntl.ioctl(fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    drain(fd, began + 20, recording, began, b"leave")
    first_paint_s = time.monotonic() - began
    drain(fd, time.monotonic() + 3.0, recording, began)
    used_before, started = cpu_s(pid), time.monotonic()
    beside = [0.0]
    output = drain(fd, started + seconds, recording, began, watch=lambda: beside.append(children_mb(pid)))
    used, took = cpu_s(pid) - used_before, time.monotonic() - started
    memory = rss_mb(pid)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    recording.writer.close()
    return {
        "share_pct": 100 * used / took,
        "bytes_per_refresh": len(output) / (took * 2),
        "rss_mb": memory,
        "beside_mb": max(beside),
        "first_paint_s": first_paint_s,
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--size", default="140x45")
    parser.add_argument("--behind", action="store_true")
    parser.add_argument("--starts", type=int, default=4, help="the quickest of so many starts counts")
    args = parser.parse_args()
    columns, rows = (int(part) for part in args.size.split("x"))
    loop_s = calibration_s()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        first_paints = [measure(columns, rows, 0.1, folder, behind=False)["first_paint_s"] for _ in range(args.starts)]
        measured = measure(columns, rows, args.seconds, folder, behind=args.behind)
    measured["first_paint_s"] = min([measured["first_paint_s"], *first_paints])
    calibrated = {**measured, "share_pct": measured["share_pct"] * LOOP_S / loop_s}
    calibrated["first_paint_s"] = measured["first_paint_s"] * LOOP_S / loop_s
    print(json.dumps({"loop_s": round(loop_s, 2), **{key: round(value, 2) for key, value in measured.items()}}))
    for key, most in BUDGET.items():
        print(f"{key:>18}: {calibrated[key]:8.2f} calibrated, budget {most:g}")


if __name__ == "__main__":
    main()
