"""What the machine says about itself: rated clock, limits, governor."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

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


class SettingsReader:
    """Reads the settings of the machine below ``root``."""

    def __init__(self, root: Path) -> None:
        self._root = root

    def read(self) -> tuple[SettingValue, ...]:
        """All settings that can be read."""
        return ()
