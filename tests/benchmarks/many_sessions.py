"""Thousands of sessions: how soon they are listed, and questions to their tables by two engines.

python -m tests.benchmarks.many_sessions [COUNT] [FOLDER]

Makes COUNT short sessions (10,000 if not told) of a rack of invented machines, lists them for the first time and again,
exports them, and asks an SQL engine (duckdb) and a distributed one (dask.distributed, two workers of this machine)
what docs/queries.md asks. Prints times and answers; an engine that is not installed is left out and said to be.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from benchmon.model import keys
from benchmon.model.records import (
    LoadAction,
    LoadChange,
    Machine,
    Mark,
    MarkKind,
    Sample,
    SessionEnd,
    SessionHeader,
    Setting,
)
from benchmon.model.units import Unit
from benchmon.session.encode import encode
from tests.support.as_installed import environment_as_installed
from tests.support.bench_session import CHANNELS

ROOT = Path(__file__).resolve().parents[2]
MACHINES, PASTES, DAYS = 40, ("fresh", "old", "pad"), 50
K_PER_W = {"fresh": 0.85, "old": 1.15, "pad": 1.0}
STEPS = (("idle", 20, 0), ("all cores", 70, 6), ("cool-down", 20, 0))
DEFENDED_C = 92.0
LISTINGS = (
    ("listed for the first time", ("--json",)),
    ("listed again", ("--json",)),
    ("and again", ("--json",)),
    ("as a table", ()),
    ("of one paste, by machine", ("--with-tag", "paste=fresh", "--sort", "machine")),
    ("of one machine and month", ("--machine", "Part 07", "--since", "2026-10-01", "--json")),
)
QUERIES = Path(__file__).resolve().parents[2] / "docs" / "queries.md"


def lines(number: int) -> list[str]:
    """One session: a machine of a rack, with one of three pastes, some of them held back by heat."""
    dice = random.Random(number)
    paste, room_c = dice.choice(PASTES), dice.uniform(18.0, 29.0)
    started = datetime(2026, 9, 1, 8, tzinfo=UTC) + timedelta(days=number % DAYS, minutes=number // DAYS)
    records = [
        SessionHeader(f"many-{number}", started, 1.0, CHANNELS, {"paste": paste}, 1.0, "made"),
        Machine(0.0, f"Rack Part {dice.randrange(MACHINES):02d}", "", "rack box", "", 6, 6, 8.0),
        Setting(0.0, keys.HIGHEST_CLOCK, 4200.0, Unit.MEGAHERTZ, "made"),
        Mark(1, 0.0, 0.0, MarkKind.ROOM, "", round(room_c, 1)),
    ]
    temp, clock, t_s = room_c + 8.0, 1100.0, 0
    for name, length_s, cores in STEPS:
        records.append(LoadChange(float(t_s), LoadAction.STARTED if cores else LoadAction.STOPPED, name, cores))
        clock = 3800.0 if cores else 1100.0
        for _ in range(length_s):
            if cores:
                clock = min(max(clock + (-150.0 if temp >= DEFENDED_C else 40.0), 2200.0), 3800.0)
            power = 56.0 * (clock / 3800.0) ** 1.6 if cores else 5.0
            temp += (room_c + 1.35 * K_PER_W[paste] * power - temp) / 12.0
            values = (round(clock + dice.gauss(0, 4)), round(power + dice.gauss(0, 0.2), 1), float(round(temp)))
            records.append(
                Sample(float(t_s), (*values, 100.0 if cores else 1.0, round(cores * clock / 100.0, 1), 0.3), 0.001)
            )
            t_s += 1
    return [encode(record) for record in (*records, SessionEnd(float(t_s), "done"))]


def make(count: int, folder: Path) -> None:
    """The files; those that are there are left."""
    folder.mkdir(parents=True, exist_ok=True)
    for number in range(count):
        path = folder / f"run-{number:05d}.session.jsonl"
        if not path.exists():
            path.write_text("\n".join(lines(number)) + "\n")


def timed(command: list[str], environment: dict[str, str]) -> tuple[float, float, str]:
    """Time passed, processor time and output of a command."""
    begin = time.monotonic()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, env=environment, cwd=ROOT, text=True)
    output = process.stdout.read()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return time.monotonic() - begin, used.ru_utime + used.ru_stime, output


def queries() -> list[tuple[str, str]]:
    """Heading and question of each block of SQL on the page."""
    found, heading = [], ""
    blocks = QUERIES.read_text().split("```")
    for text, code in zip(blocks[::2], blocks[1::2], strict=False):
        headings = [line for line in text.splitlines() if line.startswith("## ")]
        heading = headings[-1][3:] if headings else heading
        if code.startswith("sql\n"):
            found.append((heading, code[4:].strip()))
    return found


def ask_sql(tables: Path) -> None:
    """What the page asks, by an SQL engine."""
    try:
        import duckdb
    except ImportError:
        print("duckdb is not installed: no SQL engine was asked")
        return
    for heading, question in queries():
        begin = time.monotonic()
        answer = duckdb.connect().execute(question.replace("tables/", f"{tables}/"))
        rows = answer.fetchall()
        print(f"\n{heading}: {time.monotonic() - begin:.2f} s, {len(rows)} rows")
        print("| " + " | ".join(column[0] for column in answer.description) + " |")
        for row in rows[:6]:
            print("| " + " | ".join(f"{cell:.4g}" if isinstance(cell, float) else str(cell) for cell in row) + " |")


def ask_distributed(tables: Path) -> None:
    """The mean of each machine's temperature under load, by workers that share the partitions."""
    try:
        import dask.dataframe
        from distributed import Client
    except ImportError:
        print("dask.distributed is not installed: no distributed engine was asked")
        return
    begin = time.monotonic()
    with Client(n_workers=2, threads_per_worker=1, dashboard_address=None) as client:
        up_s = time.monotonic() - begin
        samples = dask.dataframe.read_parquet(
            str(tables / "samples"), columns=["session", "load_pct", "processor_temp_c"]
        )
        loaded = samples[samples.load_pct > 90.0]
        hottest = loaded.groupby("session").processor_temp_c.max(split_out=1)
        result = client.compute(hottest).result()
        took_s = time.monotonic() - begin - up_s
    print(
        f"\ndask.distributed, 2 workers: started in {up_s:.1f} s; hottest sample of each of {len(result)} sessions in {took_s:.1f} s"
    )
    print(f"their mean {result.mean():.2f} degC, greatest {result.max():.0f} degC")


def main() -> None:
    """Make, list, export, ask."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    folder = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(tempfile.mkdtemp(prefix="many-"))
    make(count, folder / "sessions")
    environment = environment_as_installed(
        BENCHMON_SESSIONS=str(folder / "sessions"), XDG_CACHE_HOME=tempfile.mkdtemp()
    )
    benchmon = [sys.executable, "-m", "benchmon"]
    print(f"{len(os.sched_getaffinity(0))} processors", flush=True)
    for what, options in LISTINGS:
        wall_s, processor_s, output = timed([*benchmon, "sessions", *options], environment)
        print(
            f"{count} sessions {what}, {len(output.splitlines()) - 1} lines: {wall_s:.2f} s, processor {processor_s:.2f} s",
            flush=True,
        )
    tables = folder / "tables"
    if not tables.exists():
        wall_s, processor_s, output = timed([*benchmon, "export", "--all", "--to", "parquet", str(tables)], environment)
        size = sum(path.stat().st_size for path in tables.rglob("*.parquet"))
        files = sum(1 for _ in tables.rglob("*.parquet"))
        print(
            f"{output.strip()}: {wall_s:.0f} s, processor {processor_s:.0f} s; {files} files, {size / 1e6:.1f} MB",
            flush=True,
        )
    ask_sql(tables)
    ask_distributed(tables)


if __name__ == "__main__":
    main()
