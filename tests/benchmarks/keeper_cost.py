"""What a keeper and its reader cost: processor time and memory, beside a command that sleeps.

python -m tests.benchmarks.keeper_cost [SECONDS]
"""

from __future__ import annotations

import re
import sys
import time
from pathlib import Path

from tests.benchmarks.campaigns.workshop import bench, everybody, kill, start, wait_until
from tests.benchmarks.recorder_cost import processor_s


def memory_mb(pid: int) -> tuple[float, float]:
    """Resident and proportional memory [MB]: the two share most of their pages."""
    text = Path(f"/proc/{pid}/smaps_rollup").read_text()
    return tuple(int(re.search(rf"{name}:\s+(\d+)", text)[1]) * 1024 / 1e6 for name in ("Rss", "Pss"))  # type: ignore[index, return-value]


def main() -> None:
    """Print the table."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
    with bench() as (folder, tree, environment):
        words = [f"--root={tree.root}", f"--to={folder / 'x.session.jsonl'}", "--every=0.5s", "--", "sleep", "600"]
        process = start(environment, "record", "--quiet", *words)
        wait_until(lambda: list(everybody(process).values()).count("keeper") == 2, 10.0)
        time.sleep(2.0)
        kept = [pid for pid, kind in everybody(process).items() if kind in ("keeper", "recorder")]
        before = {pid: processor_s(pid) for pid in kept}
        time.sleep(seconds)
        print("process            %core   RSS MB  share MB")
        for pid in kept:
            name = Path(f"/proc/{pid}/comm").read_text().strip()
            resident, share = memory_mb(pid)
            print(f"{name:16} {100 * (processor_s(pid) - before[pid]) / seconds:7.3f} {resident:8.1f} {share:9.1f}")
        kill([process.pid])
        process.wait()


if __name__ == "__main__":
    main()
