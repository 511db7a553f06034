"""Which logical processors to load, and in which order."""

from __future__ import annotations

import os
from pathlib import Path


def usable_cpus(root: Path = Path("/")) -> list[int]:
    """Logical processors this process may use: one of each physical core first, then their siblings."""
    ranked = []
    for cpu in sorted(os.sched_getaffinity(0)):
        siblings = _siblings(root, cpu)
        ranked.append((siblings.index(cpu) if cpu in siblings else 0, cpu))
    return [cpu for _, cpu in sorted(ranked)]


def _siblings(root: Path, cpu: int) -> list[int]:
    file = root / f"sys/devices/system/cpu/cpu{cpu}/topology/thread_siblings_list"
    try:
        return cpu_list(file.read_text(encoding="ascii"))
    except (OSError, ValueError):
        return [cpu]


def cpu_list(text: str) -> list[int]:
    """The kernel's list format.

    >>> cpu_list("0,4-6")
    [0, 4, 5, 6]
    """
    cpus: list[int] = []
    for part in text.strip().split(","):
        first, _, last = part.partition("-")
        cpus.extend(range(int(first), int(last or first) + 1))
    return cpus
