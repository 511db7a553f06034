"""Signals that end a recording in good order, and the recorder's word to whoever started it."""

from __future__ import annotations

import contextlib
import json
import os
import signal
from collections.abc import Callable
from pathlib import Path
from types import FrameType, TracebackType
from typing import Any

from benchmon.stream.doorbell import Doorbell

ANNOUNCE_VARIABLE = "BENCHMON_ANNOUNCE_FD"
"""Set by ``stream/live.py``: descriptor to which the recorder writes where its session is."""

_ENDING = {signal.SIGINT: "Ctrl-C", signal.SIGTERM: "a signal to end", signal.SIGHUP: "the terminal being closed"}


class EndSignals:
    """While entered, signals ring the doorbell; leaving restores what was.

    Args:
        doorbell: ends the current wait.
        on_end: called with what it was, in words.
        on_child: called when a child has ended.
        ignore_hangup: for a recorder that must survive the line it was started from.
    """

    def __init__(
        self,
        doorbell: Doorbell,
        on_end: Callable[[str], None],
        on_child: Callable[[], None] = lambda: None,
        *,
        ignore_hangup: bool,
    ) -> None:
        self._doorbell = doorbell
        self._on_end = on_end
        self._on_child = on_child
        self._ignore_hangup = ignore_hangup
        self._before: dict[int, Any] = {}

    def __enter__(self) -> None:
        """Install the handlers."""
        self._bell, self._ring = os.pipe2(os.O_NONBLOCK | os.O_CLOEXEC)
        self._fd_before = signal.set_wakeup_fd(self._ring, warn_on_full_buffer=False)
        for number in _ENDING:
            handler = signal.SIG_IGN if number == signal.SIGHUP and self._ignore_hangup else self._ended
            self._before[number] = signal.signal(number, handler)
        # A child that ends only has to wake us; Ctrl-Z must not stop the guard while a command goes on heating.
        self._before[signal.SIGCHLD] = signal.signal(signal.SIGCHLD, lambda *_: self._on_child())
        self._before[signal.SIGTSTP] = signal.signal(signal.SIGTSTP, _nothing)
        self._doorbell.add(self._bell, self._rung)

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """Restore what was."""
        self._doorbell.remove(self._bell)
        for number, handler in self._before.items():
            signal.signal(number, handler)
        signal.set_wakeup_fd(self._fd_before)
        os.close(self._bell)
        os.close(self._ring)

    def _ended(self, number: int, _frame: FrameType | None) -> None:
        self._on_end(_ENDING[signal.Signals(number)])

    def _rung(self) -> None:
        with contextlib.suppress(BlockingIOError):
            os.read(self._bell, 64)
        self._doorbell.wake()


def _nothing(_number: int, _frame: FrameType | None) -> None:
    """Something has to be installed for the signal to wake the recorder."""


def is_watched() -> bool:
    """Whether this recorder was started by a screen, and so ends only when told to."""
    return ANNOUNCE_VARIABLE in os.environ


def announce(path: Path, session_id: str) -> None:
    """Tell whoever started this recorder where the session is."""
    descriptor = os.environ.pop(ANNOUNCE_VARIABLE, None)  # children are not meant
    if descriptor is None or not descriptor.isdigit():
        return
    with contextlib.suppress(OSError):
        os.write(int(descriptor), json.dumps({"path": str(path), "session_id": session_id}).encode() + b"\n")
        os.close(int(descriptor))
