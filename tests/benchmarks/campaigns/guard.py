"""Failing cooling, and sensors that lie, vanish or block, with a recorder that runs, stands still or is dead.

    python -m tests.benchmarks.campaigns.guard [ROUNDS]        real processes, each case
    python -m tests.benchmarks.campaigns.guard --virtual [N]   seeded failures through the keeper's own judgement

A case holds if nothing of the load is left within two periods (at least 1 s), or 3 s where the recorder is stopped.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.campaigns.virtual_failures import seeded_failure
from tests.benchmarks.campaigns.workshop import CORE, TEMP, bench, everybody, is_alive, kill, start, wait_until
from tests.support.sysfs import Tree

Fault = Callable[[Tree], None]


def _fifo(tree: Tree) -> None:
    tree.path(TEMP).unlink()
    os.mkfifo(tree.path(TEMP))


def _other(content: object, name: str = TEMP) -> Fault:
    return lambda tree: tree.put(name, content) and None


def _unreadable(tree: Tree) -> None:
    tree.path(TEMP).unlink()
    tree.path(TEMP).mkdir()


FAULTS: dict[str, Fault] = {
    "99 °C above the limit": _other(101_000),
    "255 °C": _other(255_000),
    "0 °C": _other(0),
    "-64 °C": _other(-64_000),
    "nan": _other("nan"),
    "empty": lambda tree: tree.path(TEMP).write_text("") and None,
    "words": _other("no temperature"),
    "a long number": _other("1" * 5000),
    "a fall by 55 K": _other(5_000),
    "device gone": lambda tree: tree.path(TEMP).unlink(),
    "a folder in its place": _unreadable,
    "a pipe in its place": _fifo,
    "a hotter core": _other(112_000, CORE),
}
RECORDERS = ("runs", "stopped", "killed")
LOADS = {"built-in": ["--load=all"], "command": ["--", "sh", "-c", "trap '' TERM; while :; do :; done"]}


def case(fault: Fault, recorder: str, load: str, period_s: float = 0.5) -> float | None:
    """Seconds from the fault until nothing of the load was left; None if something was after 6 s."""
    with bench() as (folder, tree, environment):
        words = [f"--root={tree.root}", f"--to={folder / 'x.session.jsonl'}", f"--every={period_s}s", "--for=60s"]
        process = start(environment, "record", "--quiet", *words, *LOADS[load])
        wait_until(lambda: _loaded(process), 10.0)
        time.sleep(0.5)
        there = [pid for pid, kind in everybody(process).items() if kind in ("worker", "other")]
        if recorder != "runs":
            os.kill(process.pid, signal.SIGSTOP if recorder == "stopped" else signal.SIGKILL)
        fault(tree)
        gone = wait_until(lambda: not any(map(is_alive, there)), 6.0)
        kill([process.pid, *there])
        process.wait()
        return gone


def _loaded(process) -> bool:  # noqa: ANN001
    kinds = list(everybody(process).values())
    return "worker" in kinds or (kinds.count("keeper") == 2 and "other" in kinds)


def virtual(count: int) -> None:
    """Print the table of seeded failures."""
    found = [seeded_failure(seed) for seed in range(count)]
    print(f"{'kind':18} {'count':>6} {'longest [s]':>12} {'wrong':>6}")
    for kind in sorted({one.kind for one in found}):
        some = [one for one in found if one.kind == kind]
        longest_s = max((one.took_s for one in some if one.took_s is not None), default=0.0)
        print(f"{kind:18} {len(some):6} {longest_s:12.2f} {sum(one.is_wrong for one in some):6}")
    for one in [one for one in found if one.is_wrong][:20]:
        print(one)
    print(
        f"{count} seeded failures: {sum(one.is_wrong for one in found)} stopped late, never, or before anything was wrong"
    )


def main() -> None:
    """Print the table."""
    if "--virtual" in sys.argv:
        numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
        virtual(numbers[0] if numbers else 1000)
        return
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    print(f"{'fault':24} {'load':9} {'recorder':8} longest until gone [s] (allowed)")
    bad = 0
    for name, fault in FAULTS.items():
        for load in LOADS:
            for recorder in RECORDERS:
                took = [case(fault, recorder, load) for _ in range(rounds)]
                allowed = 3.0 if recorder == "stopped" else 1.0
                most = max(6.0 if seconds is None else seconds for seconds in took)
                bad += most > allowed
                print(
                    f"{name:24} {load:9} {recorder:8} {most:6.2f} ({allowed:g}){'  LATE' if most > allowed else ''}",
                    flush=True,
                )
    print(f"{bad} cases too late")


if __name__ == "__main__":
    Path.cwd()
    main()
