"""Terminals that go or stall: what Textual 8 leaves open. Its private names are touched here and nowhere else."""

from __future__ import annotations

import select
import sys
from typing import Any

_FEW_WAITING = 2
"""Writes that may wait for the terminal; Textual stops the whole program at 30."""


class TerminalWatch:
    """Sees whether the terminal has gone without a signal (its line was cut, nobody sends SIGHUP)."""

    def __init__(self) -> None:
        self._poll: select.poll | None = None
        if sys.__stdin__ is not None and sys.__stdin__.isatty():
            self._poll = select.poll()
            self._poll.register(sys.__stdin__.fileno(), select.POLLHUP)

    def is_gone(self) -> bool:
        """Whether nobody can see us any more."""
        return self._poll is not None and any(event & select.POLLHUP for _, event in self._poll.poll(0))


def is_stalled(driver: Any) -> bool:
    """Whether the terminal does not take what was drawn: then drawings are left out instead of piled up.

    Args:
        driver: Textual's driver; anything else counts as not stalled.
    """
    queue = getattr(getattr(driver, "_writer_thread", None), "_queue", None)
    return queue is not None and queue.qsize() > _FEW_WAITING


def stop_reading(driver: Any) -> None:
    """Stop the input thread: on a terminal that is gone it would spin at full speed.

    Args:
        driver: Textual's driver; anything else is left alone.
    """
    leave, reader = getattr(driver, "exit_event", None), getattr(driver, "_key_thread", None)
    if leave is not None and reader is not None:
        leave.set()
        reader.join(timeout=0.5)
