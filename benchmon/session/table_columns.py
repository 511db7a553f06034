"""What the columns of a plain table mean."""

from __future__ import annotations

from collections.abc import Mapping

from benchmon.model import keys
from benchmon.model.units import Unit

TIME = "t_s"
CHANNELS: Mapping[str, tuple[str, str, Unit]] = {
    "clock_mhz": (keys.CLOCK, "clock", Unit.MEGAHERTZ),
    "power_w": (keys.PACKAGE_POWER, "package power", Unit.WATT),
    "temp_c": (keys.PROCESSOR_TEMP, "processor temperature", Unit.CELSIUS),
    "load_pct": (keys.LOAD, "load", Unit.PERCENT),
    "work_rate": (keys.WORK_RATE, "work rate", Unit.PER_SECOND),
    "wall_w": (keys.WALL_POWER, "power at the wall", Unit.WATT),
    "room_c": (keys.ROOM_TEMP, "room temperature", Unit.CELSIUS),
    "throttle_count": (keys.CORE_THROTTLE_COUNT, "heat events counted", Unit.COUNT),
}
"""Columns that become channels: column → key, label, unit."""
SETTINGS: Mapping[str, tuple[str, Unit]] = {
    "temp_limit_c": (keys.TEMP_LIMIT, Unit.CELSIUS),
    "power_limit_w": (keys.POWER_LIMIT_LONG, Unit.WATT),
}
"""Columns that become settings, at the start and where they change: column → key, unit."""
NEEDS_ONE_OF = ("clock_mhz", "work_rate", "temp_c")
"""Without one of these nothing can be said about throttling."""
