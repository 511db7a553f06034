"""One setting of the machine."""

from __future__ import annotations

from dataclasses import dataclass

from benchmon.model.units import Unit


@dataclass(frozen=True, slots=True)
class SettingValue:
    """One setting as read now."""

    key: str
    value: float | str | None
    """None: it could be read before and cannot any more."""
    unit: Unit | None
    """None for texts."""
    source: str
