"""How many decimals a session file keeps: what the sources can bear, so that lines stay short."""

from __future__ import annotations

from math import ceil, isfinite, log10

from benchmon.model.channel import Channel
from benchmon.model.units import Unit

TIME_DECIMALS = 3
"""Times on the session's axis are kept to 1 ms: no sensor is read more precisely."""
COST_DECIMALS = 5
"""The cost of reading is a few milliseconds at most; it is kept to 10 µs."""

_MOST_DECIMALS = {
    Unit.CELSIUS: 3,
    Unit.MEGAHERTZ: 1,
    Unit.WATT: 3,
    Unit.JOULE: 3,
    Unit.RPM: 1,
    Unit.PERCENT: 2,
    Unit.COUNT: 3,
    Unit.PER_SECOND: 4,
    Unit.SECOND: 4,
    Unit.MILLISECOND: 3,
    Unit.STEP: 3,
}
"""Decimals beyond which a unit's values are noise for every source that is known."""


def decimals_kept(channel: Channel) -> int:
    """Decimals with which a channel's values are written: one more than the source resolves, within the unit's bound.

    >>> decimals_kept(Channel("processor_temp_c", "", Unit.CELSIUS, "", resolution=1.0))
    1
    >>> decimals_kept(Channel("package_power_w", "", Unit.WATT, ""))
    3
    """
    most = _MOST_DECIMALS[channel.unit]
    if channel.resolution is None or not isfinite(channel.resolution) or channel.resolution <= 0:
        return most
    return min(most, max(0, ceil(-log10(channel.resolution) - 1e-9)) + 1)
