"""Limits that a machine tells: ceilings and hints. Which of them can be meant, and which are nonsense."""

from __future__ import annotations

from benchmon.model import keys

BELIEVED = {
    keys.TEMP_LIMIT: (40.0, 135.0),
    keys.POWER_LIMIT_LONG: (1.0, 1500.0),
    keys.POWER_LIMIT_SHORT: (1.0, 1500.0),
}
"""Setting → least and greatest value that is believed. Published limits are 60 to 105 °C, of some parts 125, and ten
more for a margin; 0, 5, 149 or 255 °C is a register that was not filled in, 0 W or 4 kW likewise."""


def is_believed(key: str, value: float) -> bool:
    """Whether a told limit can be meant; True for settings that are no limits."""
    least, greatest = BELIEVED.get(key, (float("-inf"), float("inf")))
    return least <= value <= greatest
