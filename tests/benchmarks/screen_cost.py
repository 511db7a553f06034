"""What the screen costs: CPU share, bytes a refresh, memory, first paint, measured in a drained pseudo-terminal.

usage: python tests/benchmarks/screen_cost.py [--seconds 20] [--size 140x45] [--behind]

The calibration loop (ten million times ``x += i * i``, 0.92 s where the budgets were set) makes shares comparable between
machines: share · 0.92 / loop time.
"""

from __future__ import annotations

import argparse
import fcntl
import json
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LOOP_S = 0.92
BUDGET = {"share_pct": 1.0, "bytes_per_refresh": 5000, "rss_mb": 40.0, "first_paint_s": 0.4}

CHILD = """
import sys
sys.path.insert(0, {root!r})
from tests.support.bench_session import Bench, bench_session
from benchmon.stream.replay import Replay
from benchmon.stream.source import ReplaySource
from benchmon.views.tui.app import run_screen
replay = Replay(bench_session(Bench(until_s=600.0)), speed=1.0)
replay.seek({start_s})
compare = bench_session(Bench(until_s=600.0, resistance_k_per_w=2.0, seed=4)) if {behind} else None
run_screen(ReplaySource(replay), control=None, replay=None, compare=compare)
"""


def calibration_s() -> float:
    began = time.process_time()
    x = 0
    for i in range(10_000_000):
        x += i * i
    return time.process_time() - began


def cpu_s(pid: int) -> float:
    """Time on a processor of all threads; ``schedstat`` counts nanoseconds, where ``stat`` counts ticks of 10 ms."""
    threads = Path(f"/proc/{pid}/task").iterdir()
    return sum(int((thread / "schedstat").read_text().split()[0]) for thread in threads) / 1e9


def rss_mb(pid: int) -> float:
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1024


def drain(fd: int, until: float, stop_at: bytes = b"") -> bytes:
    """What comes until a time, or until certain bytes have come."""
    got = b""
    while (left := until - time.monotonic()) > 0 and not (stop_at and stop_at in got):
        if select.select([fd], [], [], min(left, 0.1))[0]:
            got += os.read(fd, 65536)
    return got


def measure(columns: int, rows: int, seconds: float, *, behind: bool, start_s: float = 300.0) -> dict[str, float]:
    """Run the screen over a bench session at 2 Hz and measure it."""
    code = CHILD.format(root=str(ROOT), start_s=start_s, behind=behind)
    began = time.monotonic()
    pid, fd = pty.fork()
    if pid == 0:
        os.chdir(ROOT)
        environment = {**os.environ, "TERM": "xterm-256color", "LANG": "C.UTF-8"}
        environment.pop("NO_COLOR", None)
        os.execve(sys.executable, [sys.executable, "-c", code], environment)
    fcntl.ioctl(fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
    drain(fd, began + 20, "clock".encode())
    first_paint_s = time.monotonic() - began
    drain(fd, time.monotonic() + 3.0)
    used_before, started = cpu_s(pid), time.monotonic()
    output = drain(fd, started + seconds)
    used, took = cpu_s(pid) - used_before, time.monotonic() - started
    memory = rss_mb(pid)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    return {
        "share_pct": 100 * used / took,
        "bytes_per_refresh": len(output) / (took * 2),
        "rss_mb": memory,
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
    first_paints = [measure(columns, rows, 0.1, behind=False)["first_paint_s"] for _ in range(args.starts)]
    measured = measure(columns, rows, args.seconds, behind=args.behind)
    measured["first_paint_s"] = min([measured["first_paint_s"], *first_paints])
    calibrated = {**measured, "share_pct": measured["share_pct"] * LOOP_S / loop_s}
    calibrated["first_paint_s"] = measured["first_paint_s"] * LOOP_S / loop_s
    print(json.dumps({"loop_s": round(loop_s, 2), **{key: round(value, 2) for key, value in measured.items()}}))
    for key, most in BUDGET.items():
        print(f"{key:>18}: {calibrated[key]:8.2f} calibrated, budget {most:g}")


if __name__ == "__main__":
    main()
