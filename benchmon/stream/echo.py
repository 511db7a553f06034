"""Text for a terminal, a pipe or a file that may stand still: the recording never waits for it."""

from __future__ import annotations

import contextlib
import io
import os
import threading
import time
from collections import deque
from typing import Protocol, TextIO

MOST_WAITING_BYTES = 64 * 1024
"""So much is kept for an output that stands still; what comes then is left out and counted."""
LONGEST_END_S = 2.0
"""At the end the output gets so long to take what is left."""


class Voice(Protocol):
    """Where text goes."""

    def write(self, text: str, /) -> object:
        """Take a text."""

    def flush(self) -> None:
        """Pass it on."""


class Echo:
    """Writes on a thread of its own.

    Args:
        descriptor: where to.
        encoding: what it shows; signs that it cannot show become ``?``.
    """

    def __init__(self, descriptor: int, encoding: str) -> None:
        self._descriptor = descriptor
        self._encoding = encoding
        self._waiting: deque[bytes] = deque()
        self._bytes = 0
        self._left_out = 0
        self._fault: OSError | None = None
        self._something = threading.Semaphore(0)
        self._idle = threading.Event()
        self._idle.set()
        self._lock = threading.Lock()
        threading.Thread(target=self._run, daemon=True).start()

    def write(self, text: str, /) -> int:
        """Take a text; never waits.

        Raises:
            OSError: if the output is gone or full.
        """
        if self._fault is not None:
            raise self._fault
        piece = text.encode(self._encoding, "replace")
        with self._lock:
            if self._bytes + len(piece) > MOST_WAITING_BYTES:
                self._left_out += 1
                return len(text)
            if self._left_out:
                piece = f"({self._left_out} lines left out: the output stood still)\n".encode() + piece
                self._left_out = 0
            self._waiting.append(piece)
            self._bytes += len(piece)
            self._idle.clear()
        self._something.release()
        return len(text)

    def flush(self) -> None:
        """Nothing to do: the thread is at it."""

    def finish(self, longest_s: float = LONGEST_END_S) -> bool:
        """Wait, so long at most [s], until everything is out; whether it is.

        Raises:
            OSError: if the output is gone or full.
        """
        ends_s = time.monotonic() + longest_s
        while not self._idle.wait(0.05) and time.monotonic() < ends_s:
            pass
        if self._fault is not None:
            raise self._fault
        return self._idle.is_set()

    def _run(self) -> None:
        while True:
            self._something.acquire()
            piece = self._waiting[0]
            try:
                while piece and self._fault is None:
                    piece = piece[os.write(self._descriptor, piece) :]
            except OSError as fault:
                self._fault = fault
            with self._lock:
                self._bytes -= len(self._waiting.popleft())
                if not self._waiting:
                    self._idle.set()


def echo_of(stream: TextIO) -> Voice:
    """An echo of a stream that has a descriptor; the stream itself where it has none (in tests, say)."""
    with contextlib.suppress(OSError, ValueError, io.UnsupportedOperation, AttributeError):
        stream.flush()
        return Echo(stream.fileno(), stream.encoding or "ascii")
    return stream
