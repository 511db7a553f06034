"""Which sensors a machine offers."""

from __future__ import annotations

from pathlib import Path

from benchmon.sensors.protocol import Discovery


def discover(root: Path = Path("/")) -> Discovery:
    """Find what can be read below ``root``."""
    del root
    return Discovery((), (), "none was found")
