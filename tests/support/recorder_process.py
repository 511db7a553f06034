"""A recorder in a process of its own, for tests that kill it, signal it or talk to it."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from benchmon.loads.tether import descendants

ROOT = Path(__file__).resolve().parents[2]

_RUN = """
import sys
from pathlib import Path
from benchmon.stream.options import *
from benchmon.stream.plan import parse_plan
from benchmon.stream.recorder import record
from benchmon.loads.tether import adopt_orphans
adopt_orphans()
outcome = record(RecordOptions(destination=Path(sys.argv[1]), {options}), ())
print(outcome.reason)
sys.exit(int(outcome.exit_code))
"""


@contextmanager
def recorder(path: Path, options: str, **popen: Any) -> Iterator[subprocess.Popen[str]]:
    """Run ``record`` with options as Python source; killed at the end if it still runs.

    Yields once the session file has its first sample (or the recorder has ended).
    """
    process = subprocess.Popen(
        [sys.executable, "-c", _RUN.format(options=options), str(path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        **popen,
    )
    try:
        wait_for(lambda: process.poll() is not None or (path.exists() and '["s",' in path.read_text()))
        yield process
    finally:
        process.kill()
        process.communicate()


def wait_for(holds: Callable[[], Any], patience_s: float = 10.0) -> Any:
    """Until it holds, and what it gives then; fails if that takes too long."""
    ends_s = time.monotonic() + patience_s
    while not (found := holds()):
        assert time.monotonic() < ends_s, "it did not come about in time"
        time.sleep(0.01)
    return found


def running_with(text: str) -> list[int]:
    """Processes whose command line holds a text, zombies left out."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit() and int(entry.name) != os.getpid():
            try:
                if text in (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode("utf-8", "replace"):
                    found.append(int(entry.name))
            except OSError:
                continue
    return found


__all__ = ["ROOT", "descendants", "recorder", "running_with", "wait_for"]
