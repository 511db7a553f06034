"""What a box is made of, beside its processor: the parts that decide how it cools and what it scores."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

PARTS: Mapping[str, str] = MappingProxyType(
    {
        "memory": "memory modules",
        "drive": "drive",
        "cooler": "cooler",
        "supply": "power supply",
        "firmware": "firmware version",
        "fans": "fans",
    }
)
"""Name of a part, as in files and columns, and what it is called."""
MOST_LETTERS = 200
"""A description of one part is no longer than this."""
ENTERED = "entered"
KEPT = "entered once, kept for this machine"
TAG_PREFIX = "box."
"""A tag mark ``box.cooler=…`` describes a part; it is no tag."""


def setting_key(part: str) -> str:
    """Key of the setting that has it in a session file."""
    return f"box_{part}"
