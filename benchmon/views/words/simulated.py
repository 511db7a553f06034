"""What is said of a session of the virtual bench, whose figures must never pass for measured ones."""

from __future__ import annotations

SIMULATED = "by the virtual bench: no machine was measured"
FOOTING = "Simulated by the virtual bench, not measured"
IN_HEADING = "simulated"


def seen_word(*, is_simulated: bool) -> str:
    """What stands beside a figure that was seen and not predicted."""
    return "simulated" if is_simulated else "measured"
