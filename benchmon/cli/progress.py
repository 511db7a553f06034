"""How far something has come that takes longer than a second: a bar on a terminal, nothing elsewhere."""

from __future__ import annotations

import time
from collections.abc import Callable

from benchmon.cli.console import errors_are_seen, show_beside

SILENT_S = 1.0
_EVERY_S = 0.2
_WIDTH = 30


class Progress:
    """A bar on standard error, from the second second on; silent where that is no terminal.

    Args:
        what: what is being done, in a few words.
        now_s: gives the time [s].
    """

    def __init__(self, what: str, now_s: Callable[[], float] = time.monotonic) -> None:
        self._what = what
        self._now_s = now_s
        self._is_seen = errors_are_seen()
        self._next_s = now_s() + SILENT_S
        self._is_drawn = False

    def __call__(self, share: float) -> None:
        """So much is done, from 0 to 1."""
        if not self._is_seen or self._now_s() < self._next_s:
            return
        self._next_s = self._now_s() + _EVERY_S
        done = round(min(max(share, 0.0), 1.0) * _WIDTH)
        show_beside(f"\r{self._what}  [{'=' * done}{' ' * (_WIDTH - done)}] {100.0 * share:3.0f} %")
        self._is_drawn = True

    def part(self, place: int, count: int) -> Callable[[float], None]:
        """Takes the share of one of several things that is done; ``place`` counts from 0."""
        return lambda share: self((place + share) / count)

    def done(self) -> None:
        """Take the bar away."""
        if self._is_drawn:
            show_beside("\r" + " " * (len(self._what) + _WIDTH + 10) + "\r")
        self._is_drawn = False
