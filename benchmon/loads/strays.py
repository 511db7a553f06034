"""Children that the recorder never started: what a killed keeper left behind comes to the recorder, which ends it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

from benchmon.loads.tether import is_adopting, sweep

own_children: set[int] = set()
"""Children that the recorder has started by intention."""
_LATER_S = 0.4
"""A keeper may still be at it, and a child that was just started may not be entered yet."""


def end_strays(spared: Iterable[int] = ()) -> None:
    """Kill every child, with all that came from it, that is neither one's own nor spared."""
    if is_adopting():
        sweep(0.5, {*own_children, *spared})


class Strays:
    """Looks for them when a child has ended.

    Args:
        spared: gives more children that are the recorder's own.
    """

    def __init__(self, spared: Callable[[], Iterable[int]]) -> None:
        self._spared = spared
        self._due_s: float | None = None

    @property
    def is_due(self) -> bool:
        """Whether it will look before long."""
        return self._due_s is not None

    def look_soon(self) -> None:
        """A child has ended: it may have been a keeper."""
        self._due_s = time.monotonic() + _LATER_S

    def look(self) -> None:
        """Look, if it is time to."""
        if self._due_s is not None and time.monotonic() >= self._due_s:
            self._due_s = None
            end_strays(self._spared())
