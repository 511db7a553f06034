"""One setting of the machine."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model.units import Unit
from benchmon.plain_text import make_plain


@dataclass(frozen=True, slots=True)
class SettingValue:
    """One setting as read now."""

    key: str
    value: float | str | None
    """None: it could be read before and cannot any more."""
    unit: Unit | None
    """None for texts."""
    source: str

    def __post_init__(self) -> None:
        """Strangers' text becomes plain."""
        make_plain(self)
