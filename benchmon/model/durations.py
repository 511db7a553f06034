"""Durations as people type them: one rule for the command line, the plan and the reading commands."""

from __future__ import annotations

import re

_SECONDS_PER = {"": 1.0, "ms": 0.001, "s": 1.0, "m": 60.0, "min": 60.0, "h": 3600.0}


def seconds_of(text: str) -> float | None:
    """``90``, ``90s``, ``1.5m``, ``1h``, ``1m30s`` → seconds; None if it is no duration.

    >>> seconds_of("1m30s")
    90.0
    """
    text = text.strip()
    parts = re.findall(r"(\d+(?:\.\d+)?|\.\d+)\s*([a-z]*)", text)
    if not parts or "".join(re.split(r"\s+", text)) != "".join(number + unit for number, unit in parts):
        return None
    if any(unit not in _SECONDS_PER for _, unit in parts) or (len(parts) > 1 and "" in {unit for _, unit in parts}):
        return None
    return sum(float(number) * _SECONDS_PER[unit] for number, unit in parts)
