"""Hours of virtual time through the recorder: does its memory stay flat after the first hour?

python -m tests.benchmarks.campaigns.long_run [HOURS] [SPEED]
"""

from __future__ import annotations

import re
import sys
import time
from pathlib import Path

from tests.benchmarks.campaigns.workshop import bench, start


def memory_mb(pid: int) -> float:
    """Resident memory of a process [MB]."""
    found = re.search(r"VmRSS:\s+(\d+)", Path(f"/proc/{pid}/status").read_text())
    return int(found[1]) * 1024 / 1e6 if found else 0.0


def campaign(hours: float, speed: float) -> list[tuple[float, float]]:
    """Virtual hours and memory [MB], looked at once each virtual quarter of an hour."""
    seen = []
    with bench() as (folder, _, environment):
        words = [
            "--virtual=1",
            f"--speed={speed}",
            "--every=1s",
            f"--for={hours}h",
            f"--to={folder / 'l.session.jsonl'}",
        ]
        process = start(environment, "record", "--quiet", *words, f"--steps=all:{hours}h")
        begun_s = time.monotonic()
        while process.poll() is None:
            time.sleep(900.0 / speed)
            try:
                seen.append(((time.monotonic() - begun_s) * speed / 3600.0, memory_mb(process.pid)))
            except OSError:
                break
        process.wait()
    return [one for one in seen if one[1] > 0]


def main() -> None:
    """Print the table."""
    hours, speed = (float(word) for word in (sys.argv[1:] or ("8", "300")))
    seen = campaign(hours, speed)
    for at_h, mb in seen:
        print(f"{at_h:6.2f} h {mb:7.1f} MB")
    later = [mb for at_h, mb in seen if at_h >= 1.0] or [0.0]
    print(f"after the first hour: {min(later):.1f} to {max(later):.1f} MB")


if __name__ == "__main__":
    main()
