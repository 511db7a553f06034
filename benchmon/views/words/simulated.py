"""What is said of a session of the virtual bench, whose figures must never pass for measured ones."""

from __future__ import annotations

from collections.abc import Iterable

SIMULATED = "by the virtual bench: no machine was measured"
FOOTING = "Simulated by the virtual bench, not measured"
IN_HEADING = "simulated"


def seen_word(*, is_simulated: bool) -> str:
    """What stands beside a figure that was seen and not predicted."""
    return "simulated" if is_simulated else "measured"


def seen_words(are_simulated: Iterable[bool]) -> str:
    """The same of several runs: ``measured or simulated`` where there are both."""
    return " or ".join(sorted({seen_word(is_simulated=one) for one in are_simulated}))
