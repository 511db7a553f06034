"""Hours of virtual time through the recorder, then through the screen: does their memory stay flat after the first hour?

    python -m tests.benchmarks.campaigns.long_run [HOURS] [SPEED]

The screen is its state, its analysis and its drawing, a page drawn for each virtual half minute, without a terminal.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import re
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.campaigns.workshop import bench, start

QUARTER_S = 900.0
PAGE_EVERY_S = 30.0

Seen = list[tuple[float, float]]
"""Virtual hours and memory [MB]."""


def memory_mb(pid: int) -> float:
    """Resident memory of a process [MB]; 0 if it has ended."""
    found = re.search(r"VmRSS:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())
    return int(found[1]) * 1024 / 1e6 if found else 0.0


def recorder(path: Path, environment: dict[str, str], hours: float, speed: float) -> Iterator[tuple[float, float]]:
    """A recorder with load and rest by turns, looked at each virtual quarter of an hour as its file tells the time."""
    steps = ",".join(["all:40m", "idle:20m"] * max(1, round(hours)))
    words = ["--virtual=1", f"--speed={speed}", "--every=1s", f"--for={hours}h", f"--to={path}", f"--steps={steps}"]
    process = start(environment, "record", "--quiet", *words)
    due_s = 0.0
    while process.poll() is None:
        time.sleep(0.2)
        now_s = _last_sample_s(path)
        if now_s < due_s:
            continue
        due_s = now_s + QUARTER_S
        try:
            yield now_s / 3600.0, memory_mb(process.pid)
        except OSError:
            break
    process.wait()


def _last_sample_s(path: Path) -> float:
    try:
        with path.open("rb") as file:
            file.seek(max(0, os.fstat(file.fileno()).st_size - 4000))
            lines = [line for line in file.read().split(b"\n")[:-1] if line.startswith(b'["s"')]
        return float(json.loads(lines[-1])[1])
    except (OSError, IndexError):
        return -1.0


def screen(path: Path) -> Seen:
    """The session as a screen gets it while it is recorded: line after line of a file that grows."""
    from benchmon.analysis.watched import WatchedAnalysis
    from benchmon.stream.source import FollowSource
    from benchmon.views.tui.drawing import Surroundings
    from benchmon.views.tui.look import Look
    from benchmon.views.tui.page import draw_page
    from benchmon.views.tui.state import ViewState
    from benchmon.views.tui.view import View

    state = ViewState(WatchedAnalysis)
    around, view, seen = Surroundings(live=True), View(), []
    page_s = quarter_s = 0.0
    growing_path = path.with_name("growing.session.jsonl")
    with path.open("rb") as lines, growing_path.open("xb", buffering=0) as growing:
        source = FollowSource(growing_path)
        for line in lines:
            growing.write(line)
            for record in source.poll():
                state.apply(record)
            if state.now_s >= page_s:
                page_s = state.now_s + PAGE_EVERY_S
                state.analyst.work_on()
                draw_page(state, view, around, (120, 40), Look())
            if state.now_s >= quarter_s:
                quarter_s = state.now_s + QUARTER_S
                seen.append((state.now_s / 3600.0, memory_mb(os.getpid())))
    return seen


def growth_mb(seen: Seen) -> float:
    """Between the least and the most after the first hour [MB]."""
    later = [mb for at_h, mb in seen if at_h >= 1.0 and mb > 0] or [0.0]
    return max(later) - min(later)


def campaign(hours: float, speed: float) -> Iterator[tuple[str, Seen]]:
    """Who, and what was seen of it."""
    with bench() as (folder, _, environment):
        path = folder / "l.session.jsonl"
        yield "recorder", list(recorder(path, environment, hours, speed))
        with multiprocessing.get_context("spawn").Pool(1) as pool:
            yield "screen", pool.apply(screen, (path,))


def main() -> None:
    """Print the table."""
    hours, speed = (float(word) for word in (sys.argv[1:] or ("8", "300")))
    for who, seen in campaign(hours, speed):
        for at_h, mb in seen:
            print(f"{who:9} {at_h:6.2f} h {mb:7.1f} MB")
        print(f"{who}: {growth_mb(seen):.1f} MB between least and most after the first hour", flush=True)


if __name__ == "__main__":
    main()
