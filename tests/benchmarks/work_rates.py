"""What the built-in work reaches, and what it costs: rates against bare loops, start, memory, lateness of samples.

    python -m tests.benchmarks.work_rates [--seconds 4] [--turns 5] [--kinds NAME ...] [--lateness]

Each kind runs as workers do, under a keeper on one core; then a bare loop of the same calls, without counting, clocks or
keepers, runs on the same core; turn and turn about, so that both meet the same neighbours. Rates are for each second of
processor time, so that what others take does not count; a host that takes the processor away without saying so, or a
neighbour on the same physical core, still shows as spread. ``full after`` is from the start until a stretch of 50 ms
passed at 90 % of the rate.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from benchmon.loads.builtin import BuiltinLoad, numpy_folder
from benchmon.loads.caches import matrix_side
from benchmon.loads.cores import usable_cpus
from benchmon.loads.scale import scale_of
from benchmon.loads.tether import adopt_orphans, descendants
from benchmon.model.records import Sample
from benchmon.model.work_kinds import WORK_KINDS
from benchmon.stream.options import BuiltinChoice, RecordOptions
from benchmon.stream.recorder import record

_BARE = """
import os, sys, time
kind, side, cpu, seconds = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), float(sys.argv[4])
os.sched_setaffinity(0, {cpu})
from benchmon.loads.work import PLAIN_WORK
if kind in PLAIN_WORK:
    unit = PLAIN_WORK[kind]()
else:
    from benchmon.loads.wide_work import make_unit
    unit = make_unit(kind, side)
unit()
units, begun, used = 0, time.monotonic(), time.process_time()
while time.monotonic() - begun < seconds:
    for _ in range(20):
        unit()
    units += 20
print(units / (time.process_time() - used))
"""


class Worker:
    """One worker under its keeper."""

    def __init__(self, kind: str, seconds: float) -> None:
        load = BuiltinLoad(1, kind)
        self.counts: list[tuple[float, int]] = []
        self.begun_s = time.monotonic()
        load.start(0.0)
        try:
            while time.monotonic() - self.begun_s < 1.5:
                self._look(load, 0.005)
            before = load.work_count(), load.work_time_s()
            while time.monotonic() - self.begun_s < 1.5 + seconds:
                self._look(load, 0.2)
            after = load.work_count(), load.work_time_s()
            self.rate = (after[0] - before[0]) / (after[1] - before[1])
            self.share = (after[1] - before[1]) / seconds
            (worker,) = (pid for pid in descendants(load._keeping.process.pid) if _is_worker(pid))
            status = Path(f"/proc/{worker}/status").read_text()
            self.memory_mb = int(re.search(r"VmHWM:\s+(\d+)", status)[1]) * 1024 / 1e6
            self.threads = int(re.search(r"Threads:\s+(\d+)", status)[1])
        finally:
            load.close()

    def _look(self, load: BuiltinLoad, pause_s: float) -> None:
        load.poll(0.0)
        self.counts.append((time.monotonic() - self.begun_s, load.work_count() or 0))
        time.sleep(pause_s)

    def full_after_s(self) -> float | None:
        """When the first stretch of 50 ms with nine tenths of the rate had passed."""
        for place, (t_s, count) in enumerate(self.counts):
            later = next(((t, c) for t, c in self.counts[place:] if t - t_s >= 0.05), None)
            if later and (later[1] - count) / (later[0] - t_s) >= 0.9 * self.rate * min(1.0, self.share):
                return later[0]
        return None


def _is_worker(pid: int) -> bool:
    return b"benchmon.loads.worker" in Path(f"/proc/{pid}/cmdline").read_bytes()


def bare_rate(kind: str, seconds: float, cpu: int, side: int) -> float:
    """Units for each second of processor time in a bare loop."""
    words = [sys.executable, "-c", _BARE, kind, str(side), str(cpu), str(seconds)]
    return float(subprocess.run(words, capture_output=True, text=True, check=True).stdout)


def compare(kind: str, seconds: float, turns: int) -> str:
    """One line of the table."""
    cpu = usable_cpus()[0]
    side = matrix_side([cpu])
    bare, workers = [], []
    for _ in range(turns):
        bare.append(bare_rate(kind, seconds, cpu, side))
        workers.append(Worker(kind, seconds))
    shares = sorted(worker.rate / alone for worker, alone in zip(workers, bare, strict=True))
    scale = scale_of(kind, side)
    rate = median(worker.rate for worker in workers)
    flops = "" if scale.operations is None else f"{scale.operations * rate / 1e9:.2f}"
    moved = "" if scale.moved_bytes is None else f"{scale.moved_bytes * rate / 1e9:.2f}"
    fulls = [full for worker in workers if (full := worker.full_after_s()) is not None]
    full = f"{median(fulls):.2f}" if fulls else "never"
    return (
        f"{kind:8} {rate:8.1f} {flops:>8} {moved:>7} {100 * median(shares):6.1f}"
        f" {100 * shares[0]:5.0f}…{100 * shares[-1]:<4.0f} {full:>6}"
        f" {max(worker.memory_mb for worker in workers):6.1f} {max(worker.threads for worker in workers):4}"
        f" {100 * median(worker.share for worker in workers):5.0f}"
    )


def lateness(kind: str | None, seconds: float) -> str:
    """How late, to a millisecond, samples are that are due every 0.1 s, with all cores at this work; None = idle."""
    times: list[float] = []

    class Listening:
        def accept(self, one: object) -> None:
            if isinstance(one, Sample):
                times.append(one.t_s)

        def close(self) -> None:
            pass

    load = None if kind is None else BuiltinChoice(None, kind)
    with tempfile.TemporaryDirectory() as folder:
        options = RecordOptions(
            Path(folder) / "x.session.jsonl", load=load, duration_s=seconds, period_s=0.1, quiet=True
        )
        record(options, (Listening(),))
    late_ms = sorted(1000 * (t_s - round(t_s, 1)) for t_s in times[20:])
    return (
        f"{kind or 'idle':8} {len(late_ms):6} {median(late_ms):8.0f} {late_ms[int(0.99 * len(late_ms))]:8.0f}"
        f" {late_ms[-1]:8.0f}"
    )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=4.0, help="of each stretch (default 4)")
    parser.add_argument("--turns", type=int, default=5, help="of each kind (default 5)")
    parser.add_argument("--kinds", nargs="+", choices=WORK_KINDS, default=WORK_KINDS)
    parser.add_argument("--lateness", action="store_true", help="also how late samples are beside each kind")
    asked = parser.parse_args()
    adopt_orphans()
    cpu = usable_cpus()[0]
    print(
        f"core {cpu} of {os.cpu_count()}; matrices of {matrix_side([cpu])} rows; numpy in {numpy_folder() or 'no place'}"
    )
    print("kind        1/cpu-s  Gop/s    GB/s  % of bare  range   full s  MB    thr  %core", flush=True)
    for kind in asked.kinds:
        print(compare(kind, asked.seconds, asked.turns), flush=True)
    if asked.lateness:
        print("\nkind     samples  late ms: median, 99 of 100, worst", flush=True)
        for kind in (None, *asked.kinds):
            print(lateness(kind, 3 * asked.seconds), flush=True)


if __name__ == "__main__":
    main()
