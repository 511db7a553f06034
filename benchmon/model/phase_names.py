"""What phases are called, by keys, plans, loads and readings, and how a name that comes again is told apart."""

from __future__ import annotations

from collections.abc import Iterable

START = "start"
"""What comes before anything is known."""
IDLE = "idle"
ONE_CORE = "one core"
ALL_CORES = "all cores"
COMMAND = "command"
"""A load of a person's own: how many cores it keeps busy is not known."""
PART_LOAD = "part load"
"""A load that was seen, between a core or two and all."""
COOL_DOWN = "cool-down"
"""Idle after a load."""


def by_cores(busy_cores: int | None, *, is_all: bool) -> str:
    """Name of a phase with so many busy cores; None = not known how many."""
    if busy_cores is None:
        return COMMAND
    if is_all:
        return ALL_CORES
    if busy_cores == 0:
        return IDLE
    return ONE_CORE if busy_cores == 1 else f"{busy_cores} cores"


def by_power(power_w: float) -> str:
    """Name of a phase of which nothing but its power is known [W]."""
    return f"at {power_w:.0f} W"


def numbered(names: Iterable[str]) -> list[str]:
    """Names in order, each that comes again with its number: ``all cores (2)``."""
    counts: dict[str, int] = {}
    told_apart = []
    for name in names:
        counts[name] = counts.get(name, 0) + 1
        told_apart.append(name if counts[name] == 1 else f"{name} ({counts[name]})")
    return told_apart
