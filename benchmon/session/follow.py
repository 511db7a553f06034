"""Follows a session file while it is being written."""

from __future__ import annotations

import os
from pathlib import Path

from benchmon.model.records import Damage, Record, SessionEnd, SessionHeader
from benchmon.session.lines import MAX_LINE_BYTES, LineDecoder
from benchmon.session.opening import open_session, unreadable

MOST_BYTES_PER_POLL = 1 << 20
"""So joining a long recording does not freeze a screen: some 4,000 samples at a time."""


class Follower:
    """Reads what was added to a session file since the last look. A half-written last line waits for its rest.

    Args:
        path: an existing file; it may still be empty.

    Raises:
        SessionFormatError: if it is missing, may not be read or is no ordinary file.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.ended = False
        """True after the end record: nothing will follow."""
        self._decoder = LineDecoder(str(path))
        self._half = b""
        self._skipping = False
        self._descriptor = open_session(path)

    @property
    def header(self) -> SessionHeader | None:
        """The session's header; None until it was read."""
        return self._decoder.header

    @property
    def damage(self) -> tuple[Damage, ...]:
        """Lines that were lost so far."""
        return self._decoder.damage

    def poll(self) -> tuple[Record, ...]:
        """The records added since the last call, the header first; empty if there are none yet.

        At most ``MOST_BYTES_PER_POLL`` of the file are read; call again to catch up with a long one.

        Raises:
            SessionFormatError: if the file is no session that this version can read, or reading it fails.
        """
        if self.ended:
            return ()
        try:
            added = os.read(self._descriptor, MOST_BYTES_PER_POLL)
        except OSError as fault:
            raise unreadable(self.path, fault) from None
        return self._decode(added) if added else ()

    def _decode(self, added: bytes) -> tuple[Record, ...]:
        *lines, self._half = (self._half + added).split(b"\n")
        if lines and self._skipping:
            self._skipping = False
            self._decoder.skip_long()
            del lines[0]
        records = [record for _, record in self._decoder.feed_many(lines)]
        end = next((at for at, record in enumerate(records) if isinstance(record, SessionEnd)), None)
        if end is not None:
            records = records[: end + 1]
            self.close()
        if len(self._half) >= MAX_LINE_BYTES:
            self._half, self._skipping = b"", True
        return tuple(records)

    def close(self) -> None:
        """Stop following."""
        if not self.ended:
            os.close(self._descriptor)
        self.ended = True

    def __del__(self) -> None:
        if hasattr(self, "_descriptor"):  # the file may never have been opened
            self.close()
