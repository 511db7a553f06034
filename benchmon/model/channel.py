"""A channel: one quantity that is read again and again, described once."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model.units import Unit
from benchmon.plain_text import make_plain


@dataclass(frozen=True, slots=True)
class Channel:
    """One column of the samples.

    Raises:
        ValueError: if the key does not end with the unit's suffix.
    """

    key: str
    """Stable name, ends with the unit's suffix: ``package_power_w``."""
    label: str
    """Plain words for people: ``package power``."""
    unit: Unit
    """Unit of every value."""
    source: str
    """File, command or computation the values come from."""
    resolution: float | None = None
    """Smallest step the source can show, in the channel's unit; None if not known."""

    def __post_init__(self) -> None:
        """Strangers' text becomes plain; refuse a key whose suffix contradicts its unit."""
        make_plain(self)
        if self.key != self.unit.suffix and not self.key.endswith("_" + self.unit.suffix):
            message = f"channel key {self.key[:60]!r} must end with _{self.unit.suffix} for unit {self.unit.value}"
            raise ValueError(message)
