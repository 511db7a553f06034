"""A quick look at a session file: its header, and whether it was closed. Cheap for files of any length."""

from __future__ import annotations

import contextlib
import os
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from benchmon.errors import SessionFormatError
from benchmon.model.records import Mark, SessionEnd, SessionHeader
from benchmon.session.chunks import GZIP_MAGIC, CutPackError, chunks_of
from benchmon.session.decode import decode
from benchmon.session.fields import LineError
from benchmon.session.lines import MAX_LINE_BYTES, LineDecoder
from benchmon.session.opening import open_session, unreadable

_TAIL_BYTES = 1 << 16
"""The end record is a short line; marks that were entered after it may follow."""


@dataclass(frozen=True, slots=True)
class Glimpse:
    """What a session file says at its start and its end."""

    header: SessionHeader
    end: SessionEnd | None
    """None while it is being recorded, or if it was cut."""


def glimpse(path: Path) -> Glimpse:
    """Header and end of a session file, without reading what lies between.

    Raises:
        SessionFormatError: if it cannot be opened or its first line is no header that this version can read.
    """
    decoder = LineDecoder(str(path))
    try:
        with os.fdopen(open_session(path), "rb") as file:
            if file.peek(len(GZIP_MAGIC)).startswith(GZIP_MAGIC):
                first, tail = _ends_of_packed(file, path)
            else:
                first = file.readline(MAX_LINE_BYTES)
                file.seek(max(0, os.fstat(file.fileno()).st_size - _TAIL_BYTES))
                tail = file.read(_TAIL_BYTES)
    except OSError as fault:
        raise unreadable(path, fault) from None
    if first:
        decoder.feed_last(first)
    if decoder.header is None:
        raise SessionFormatError(f"{path} is empty: nothing was recorded.", "It can be deleted.")
    return Glimpse(decoder.header, _end_in(tail))


def _ends_of_packed(file: BinaryIO, path: Path) -> tuple[bytes, bytes]:
    """The first line and the last bytes of what is packed; all of it has to be unpacked for that."""
    first = tail = b""
    with contextlib.suppress(CutPackError):
        for piece in chunks_of(file, path):
            if len(first) < MAX_LINE_BYTES and not first.endswith(b"\n"):
                first += piece[: piece.find(b"\n") + 1 or len(piece)]
            tail = (tail + piece)[-_TAIL_BYTES:]
    return first, tail


def _end_in(tail: bytes) -> SessionEnd | None:
    for line in reversed(tail.rstrip(b"\n").split(b"\n")):
        try:
            record = decode(line)
        except LineError:
            return None
        if not isinstance(record, Mark):
            return record if isinstance(record, SessionEnd) else None
    return None
