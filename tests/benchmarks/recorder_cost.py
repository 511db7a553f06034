"""What the recorder itself costs: processor time, memory, lateness. Run it; it prints a table.

    nice .venv/bin/python tests/benchmarks/recorder_cost.py [SECONDS]

Figures are the recorder process's own, from the kernel's accounting: processor time from ``/proc/PID/task/*/schedstat``
after the first three seconds, memory from ``/proc/PID/status``. The machine-identifying child is not counted.
Budget: 0.5 % of a core at 10 Hz.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from benchmon.model.records import Sample  # noqa: E402
from benchmon.session.reader import read_session  # noqa: E402

WARM_UP_S = 3.0

RUN = """
import sys
from pathlib import Path
from benchmon.stream.options import RecordOptions, BuiltinChoice
from benchmon.stream.recorder import record
record(RecordOptions(Path(sys.argv[1]), period_s=float(sys.argv[2]), duration_s=float(sys.argv[3]), root=Path(sys.argv[4]),
                     load=BuiltinChoice() if sys.argv[5] == "load" else None, quiet=True), ())
"""


def processor_s(pid: int) -> float:
    """Time that all threads of a process have spent on processors [s]; the kernel counts it in nanoseconds."""
    threads = Path(f"/proc/{pid}/task").iterdir()
    return sum(int((thread / "schedstat").read_text().split()[0]) for thread in threads) / 1e9


def memory_mb(pid: int) -> tuple[float, float]:
    """Resident memory of a process, and the part of it that is not files shared with others [MB]."""
    status = Path(f"/proc/{pid}/status").read_text()
    both = [re.search(rf"{name}:\s+(\d+)", status) for name in ("VmRSS", "RssAnon")]
    return tuple(int(match[1]) * 1024 / 1e6 for match in both if match)  # type: ignore[return-value]


def virtual_tree(folder: Path) -> Path:
    """The files of a small machine of the virtual bench, written once."""
    from benchmon.virtual_bench.demo import demo_box
    from benchmon.virtual_bench.tree import SysTree

    SysTree(folder, demo_box(1)).write()
    return folder


def machines(folder: Path) -> Iterator[tuple[str, Path]]:
    """This machine, and one whose sensors are files."""
    yield "this machine", Path("/")
    yield "virtual tree", virtual_tree(folder / "tree")


def measure(period_s: float, seconds: float, root: Path, load: str, folder: Path) -> str:
    """One recording; a row of the table."""
    path = folder / f"{time.monotonic_ns()}.session.jsonl"
    arguments = [str(path), str(period_s), str(seconds + WARM_UP_S + 1), str(root), load]
    process = subprocess.Popen([sys.executable, "-c", RUN, *arguments], cwd=ROOT)
    time.sleep(WARM_UP_S)
    before_s, begun_s = processor_s(process.pid), time.monotonic()
    time.sleep(seconds)
    used_s, passed_s = processor_s(process.pid) - before_s, time.monotonic() - begun_s
    resident, own = memory_mb(process.pid)
    process.wait()
    session = read_session(path)
    samples = [record for record in session.records if isinstance(record, Sample)]
    costs_us = sorted(1e6 * sample.read_cost_s for sample in samples[2:])
    late_ms = sorted(1e3 * (sample.t_s - round(sample.t_s / period_s) * period_s) for sample in samples[2:])
    return (
        f"{1 / period_s:5.0f} {load:>5} {len(session.header.channels):9} {100 * used_s / passed_s:8.3f} "
        f"{resident:7.1f} {own:7.1f} {costs_us[len(costs_us) // 2]:8.0f} {late_ms[len(late_ms) // 2]:7.1f} {late_ms[-1]:7.1f} "
        f"{path.stat().st_size / session.records[-1].t_s:8.0f}"
    )


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
    head = "   Hz  load  channels  %core  RSS MB  own MB  read µs  late ms (median, most)  bytes/s"
    with tempfile.TemporaryDirectory() as text:
        folder = Path(text)
        for words, root in machines(folder):
            print(f"{words}\n{head}")
            for period_s, load in ((0.5, "idle"), (0.1, "idle"), (0.1, "load")):
                print(measure(period_s, seconds, root, load, folder), flush=True)


if __name__ == "__main__":
    main()
