"""Short words on pictures."""

from __future__ import annotations

from benchmon.model.events import Cause

STRETCH_WORDS = {
    Cause.THERMAL: "throttled by heat",
    Cause.POWER_LIMIT: "power-limited",
    Cause.OUTSIDE: "limited from outside",
    Cause.UNEXPLAINED: "cause unknown",
}
"""What is written at a stretch in which the processor was throttled."""
