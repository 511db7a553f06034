"""Writes the session file beside the recording: a disk that is slow or full holds up no sample."""

from __future__ import annotations

import contextlib
import threading
import time
from collections import deque
from pathlib import Path

from benchmon.errors import OutputError
from benchmon.model.records import Record, SessionHeader
from benchmon.session.writer import SessionWriter

MOST_KEPT_BYTES = 1 << 20
"""So much is kept in memory while the disk is full or does not answer: half an hour and more at 2 samples a second."""
_RETRY_S = 0.5
_LOOK_AGAIN_S = 0.005
_LONGEST_END_S = 5.0
"""At the end a full disk gets so long to have room again."""


class BackgroundWriter:
    """A ``SessionWriter`` with a thread and a queue; the header is written at once.

    Args:
        path: the file to create.

    Raises:
        OutputError: if it exists already or cannot be created.
    """

    def __init__(self, path: Path) -> None:
        self._writer = SessionWriter(path)
        self._waiting: deque[bytes] = deque()
        self._bytes = 0
        self._lock = threading.Lock()
        self._something = threading.Lock()  # a bare lock, released when there is something: quicker than an event
        self._something.acquire()
        self._ending = False
        self._failure: OutputError | None = None
        self.why_waiting = ""
        """Why nothing is written at the moment; empty while all is well."""
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def write(self, record: Record) -> None:
        """Have one record written; it is on its way to the kernel a moment later.

        Raises:
            OutputError: if nothing more can be written; what was written before stays readable.
        """
        if isinstance(record, SessionHeader):
            self._writer.write(record)
            return
        if self._failure is not None:
            raise self._failure
        line = self._writer.line_of(record)
        with self._lock:
            self._waiting.append(line)
            self._bytes += len(line)
        self._wake()
        if self._bytes > MOST_KEPT_BYTES:
            self._failure = self._writer.cannot_wait(self.why_waiting or "the disk does not answer")
            raise self._failure

    def close(self) -> None:
        """Write what is left, store and close.

        Raises:
            OutputError: if that could not be done.
        """
        ends_s = time.monotonic() + _LONGEST_END_S
        while self._waiting and self._failure is None and time.monotonic() < ends_s:
            time.sleep(_LOOK_AGAIN_S)
        written = not self._waiting
        self._ending = True
        self._wake()
        self._thread.join(2 * _RETRY_S)
        if not self._thread.is_alive():
            self._writer.close()
        if self._failure is not None:
            raise self._failure
        if not written:
            raise self._writer.cannot_wait(self.why_waiting or "the disk does not answer")

    def _wake(self) -> None:
        with contextlib.suppress(RuntimeError):  # it is awake already
            self._something.release()

    def _run(self) -> None:
        while True:
            self._something.acquire()
            while self._waiting:
                if not self._put(self._waiting[0]):
                    return
                with self._lock:
                    self._bytes -= len(self._waiting.popleft())
            if self._ending:
                return

    def _put(self, line: bytes) -> bool:
        """Write a line, however long the disk is full; False if there is no more hope."""
        while True:
            try:
                self._writer.append(line)
            except OutputError as failure:
                if not self._writer.is_full:
                    self._failure = failure
                    return False
                self.why_waiting = "the disk is full"
                if self._ending or self._failure is not None:
                    return False
                time.sleep(_RETRY_S)
            else:
                self.why_waiting = ""
                return True
