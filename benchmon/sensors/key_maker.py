"""Keys of channels: made of names the kernel gives, each used once."""

from __future__ import annotations

from collections.abc import Iterable

from benchmon.model import keys
from benchmon.model.channel import Channel
from benchmon.model.units import Unit
from benchmon.sensors.file_tree import slug

_TAKEN = tuple(value for name, value in vars(keys).items() if name.isupper() and isinstance(value, str))
"""A chip whose name happens to be a word of ours must not pass for the channel the analysis knows."""


class KeyMaker:
    """Makes channels whose keys differ; the same machine gets the same keys every time.

    Args:
        taken: keys that are in use already.
    """

    def __init__(self, taken: Iterable[str] = ()) -> None:
        self._taken = {*_TAKEN, *taken}

    def channel(self, name: str, label: str, unit: Unit, source: str, resolution: float | None = None) -> Channel:
        """A channel whose key is made of ``name``; a second one of the same name gets ``_2`` before the unit."""
        stem = slug(name) or "unnamed"
        number = 1
        key = f"{stem}_{unit.suffix}"
        while key in self._taken:
            number += 1
            key = f"{stem}_{number}_{unit.suffix}"
        self._taken.add(key)
        return Channel(key, label, unit, source, resolution)
