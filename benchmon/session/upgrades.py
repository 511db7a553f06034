"""What an older session file needs so that today's reader understands it: a chain of steps, one for each version.

A file is never rewritten. Each parsed line of a file of version n passes the steps n → n+1 → … → today on its way in,
so the reader itself knows only the present version.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from benchmon.session.encode import VERSION

Step = Callable[[Any], Any]
"""Takes one parsed line (object or array) of version n and returns it as version n+1 would have written it."""

STEPS: Mapping[int, Step] = {}
"""Version n → its step to n+1. Empty while there is only version 1."""


def upgrade(line: Any, written: int, *, today: int = VERSION, steps: Mapping[int, Step] = STEPS) -> Any:
    """The parsed line as version ``today`` would have written it.

    Args:
        line: a parsed line of the file; it is not changed.
        written: version of the file, 1 … ``today``.
        today: version to arrive at.
        steps: the steps to take.
    """
    for version in range(written, today):
        line = steps[version](line)
    return line
