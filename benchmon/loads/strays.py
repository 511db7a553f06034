"""Children that the recorder never started: what a killed keeper left behind comes to the recorder, which ends it."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from benchmon.loads.tether import is_adopting, sweep

own_children: set[int] = set()
"""Children that the recorder has started by intention."""
STARTING = -1
"""In place of a child's number: one is being started, and its number is not known yet."""


def end_strays(spared: Iterable[int] = ()) -> None:
    """Kill every child, with all that came from it, that is neither one's own nor spared."""
    if is_adopting():
        sweep(0.5, {*own_children, *spared})


class Strays:
    """Looks for them when a child has ended.

    Args:
        spared: gives more children that are the recorder's own, ``STARTING`` among them if one is being started.
    """

    def __init__(self, spared: Callable[[], Iterable[int]]) -> None:
        self._spared = spared
        self.is_due = False
        """Whether it will look before long."""

    def look_soon(self) -> None:
        """A child has ended: it may have been a keeper."""
        self.is_due = True

    def look(self) -> None:
        """Look, if there is reason to."""
        spared = tuple(self._spared()) if self.is_due else (STARTING,)
        if STARTING not in spared:
            self.is_due = False
            end_strays(spared)
