"""What long sessions cost, beside what the standard library's JSON reader needs for the same lines.

python -m tests.benchmarks.long_sessions [FOLDER] [--quick | --growth [--samples N ...] [--channels N ...]]

Each figure is of a process of its own: processor time of the whole command, start included, and its memory at most.
``x JSON`` is that time over the time in which ``json.loads`` reads the same lines in the same run: it says how fast
benchmon is whatever the machine and its other work. The files are made once, and kept in FOLDER.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from tests.benchmarks.long_sessions.first_picture import first_picture
from tests.benchmarks.long_sessions.made import Long, write
from tests.support.as_installed import environment_as_installed

ROOT = Path(__file__).resolve().parents[3]
DAY, WEEK, TABLE = Long(24, 0.5), Long(168, 1.0), Long(24, 60.0)
GROWTH_SAMPLES, GROWTH_CHANNELS = (60_000, 250_000, 1_000_000), (8, 16, 32)


@dataclass(frozen=True)
class Cost:
    """Of one process."""

    processor_s: float
    memory_mb: float


def cost_of(command: list[str], cache: Path) -> Cost:
    """What a command costs, with its own cache folder."""
    environment = environment_as_installed(XDG_CACHE_HOME=str(cache), PYTHONPATH=str(ROOT))
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=environment, cwd=ROOT)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        sys.exit(f"{command} ended with {process.returncode}")
    return Cost(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0)


def json_s(path: Path) -> float:
    """Processor time of the standard library's reader for the lines of a file [s]; the best of three."""
    best = float("inf")
    for _ in range(3):
        with path.open("rb") as lines:
            begin = time.process_time()
            for line in lines:
                json.loads(line)
            best = min(best, time.process_time() - begin)
    return best


def sheet(path: Path, form: str = "text") -> list[str]:
    """The command that prints a sheet."""
    return [sys.executable, "-m", "benchmon", "sheet", str(path), "--format", form]


def say(what: str, cost: Cost, reader_s: float, asked: str) -> None:
    """One line of the table."""
    print(
        f"| {what} | {cost.processor_s:.2f} s | {cost.memory_mb:.0f} MB | {cost.processor_s / reader_s:.1f} | {asked} |",
        flush=True,
    )


def measure(folder: Path, *, is_quick: bool) -> None:
    """The whole table."""
    print("| what | processor time | memory | x JSON | asked |\n|---|---|---|---|---|")
    rows: list[tuple[str, Path, str, str, str]] = [
        ("24 h at 2 Hz", write(DAY, folder / "day.session.jsonl"), "4 s, 150 MB", "0.4 s", "1.5 s")
    ]
    if not is_quick:
        rows.append(("7 days at 1 s", write(WEEK, folder / "week.session.jsonl"), "14 s, 200 MB", "0.4 s", "3 s"))
    for name, path, first, again, picture in rows:
        reader_s = json_s(path)
        print(f"| {name}: json.loads of its lines | {reader_s:.2f} s | | 1.0 | |")
        with tempfile.TemporaryDirectory() as cache:
            say(f"{name}: sheet", cost_of(sheet(path), Path(cache)), reader_s, first)
            say(f"{name}: sheet as JSON", cost_of(sheet(path, "json"), Path(cache)), reader_s, first)
            say(f"{name}: the same again", cost_of(sheet(path), Path(cache)), reader_s, again)
            passed_s, processor_s, memory_mb = first_picture(path, Path(cache))
            what = f"{name}: first picture of replay, drawn after {passed_s:.2f} s"
            say(what, Cost(processor_s, memory_mb), reader_s, picture)
            packed = path.with_name(path.name + ".gz")
            if not packed.exists():
                say(
                    f"{name}: pack",
                    cost_of([sys.executable, "-m", "benchmon", "pack", str(path)], Path(cache)),
                    reader_s,
                    "",
                )
            size = f"{path.stat().st_size / 1e6:.1f} MB, packed {packed.stat().st_size / 1e6:.1f} MB"
            print(f"| {name}: size | {size} | | | {'4 MB' if path.name[0] == 'd' else ''} |")
    table = write(TABLE, folder / "table.session.jsonl")
    with tempfile.TemporaryDirectory() as cache:
        reader_s = json_s(table)
        say("1,440 rows a minute apart: sheet", cost_of(sheet(table), Path(cache)), reader_s, "0.5 s")
        say("the same as JSON", cost_of(sheet(table, "json"), Path(cache)), reader_s, "0.5 s")
    if not is_quick:
        with tempfile.TemporaryDirectory() as cache:
            asked = [*sheet(table, "json"), "--forecasts"]
            say("the same with forecasts (JSON)", cost_of(asked, Path(cache)), reader_s, "")


def growth(folder: Path, counts: list[int], widths: list[int]) -> None:
    """Whether time grows with samples and channels and no faster, and memory does not: sheets at 2 Hz."""
    print("| samples | channels | processor time | a sample | x JSON | memory |\n|---|---|---|---|---|---|")
    for count in counts:
        for channels in widths:
            long = Long(count / 7200.0, 0.5, channels)
            path = write(long, folder / f"growth-{count}-{channels}.session.jsonl")
            reader_s = json_s(path)
            with tempfile.TemporaryDirectory() as cache:
                cost = cost_of(sheet(path), Path(cache))
            print(
                f"| {count:,} | {channels} | {cost.processor_s:.2f} s | {cost.processor_s / count * 1e6:.1f} us "
                f"| {cost.processor_s / reader_s:.1f} | {cost.memory_mb:.0f} MB |",
                flush=True,
            )


def main() -> None:
    """Measure, and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, help="where the files are made and kept")
    parser.add_argument("--quick", action="store_true", help="a day only")
    parser.add_argument("--growth", action="store_true", help="how time and memory grow, in place of the table")
    parser.add_argument("--samples", type=int, nargs="+", default=GROWTH_SAMPLES, help="lengths for --growth")
    parser.add_argument("--channels", type=int, nargs="+", default=GROWTH_CHANNELS, help="widths for --growth")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = args.folder or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        if args.growth:
            growth(folder, args.samples, args.channels)
        else:
            measure(folder, is_quick=args.quick)


if __name__ == "__main__":
    main()
