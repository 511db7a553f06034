"""The bytes of a session file, plain or packed, a piece at a time: memory does not grow with the file."""

from __future__ import annotations

import os
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO

from benchmon.errors import SessionFormatError
from benchmon.session.lines import MAX_LINE_BYTES
from benchmon.session.opening import open_session, unreadable

CHUNK_BYTES = 1 << 18
"""Some 2,000 samples: enough that the work for each piece does not count, and little to hold."""
GZIP_MAGIC = b"\x1f\x8b"
"""How a gzip file begins (RFC 1952, 2.3.1)."""
_GZIP = 16 + zlib.MAX_WBITS
MOST_UNPACKED_BYTES = 64 << 20
MOST_UNPACKED_TIMES = 60
"""What is larger than both when unpacked was not packed from a recording: those are packed to a tenth or a fifth, a
file made to fill memory or disk to a thousandth."""

MOST_MEMBERS = 20_000
"""A packed recording is one member, and one more for each entry; more cost time and hold nothing."""


class CutPackError(ValueError):
    """A packed file ends early or is damaged; what came before it was given out."""


def chunks(path: Path, watch: Callable[[float], None] | None = None) -> Iterator[bytes]:
    """What the file holds, unpacked if it is packed.

    Args:
        path: the file.
        watch: is told what share of the file was read so far.

    Raises:
        SessionFormatError: if it cannot be opened or read, or holds too much for what it takes.
        CutPackError: where a packed file cannot be unpacked any further.
    """
    try:
        with os.fdopen(open_session(path), "rb") as file:
            yield from chunks_of(file, path, watch)
    except OSError as fault:
        raise unreadable(path, fault) from None


def chunks_of(file: BinaryIO, path: Path, watch: Callable[[float], None] | None = None) -> Iterator[bytes]:
    """The same for an open file, from where it stands.

    Raises:
        OSError: if it cannot be read.
        CutPackError, SessionFormatError: as ``chunks``.
    """
    size = max(os.fstat(file.fileno()).st_size, 1)
    first = file.read(CHUNK_BYTES)
    is_packed = first.startswith(GZIP_MAGIC)
    pieces = _unpacked(first, file) if is_packed else _plain(first, file)
    most, given = max(MOST_UNPACKED_BYTES, MOST_UNPACKED_TIMES * size), 0
    for piece in pieces:
        given += len(piece)
        if is_packed and given > most:
            raise SessionFormatError(
                f"{path} is no packed recording: its {size:,} bytes hold more than {most >> 20} MiB, "
                "as of a file made to fill memory or disk.",
                "Use another copy of the file if there is one.",
            )
        yield piece
        if watch is not None:
            watch(min(file.tell() / size, 1.0))


def _plain(data: bytes, file: BinaryIO) -> Iterator[bytes]:
    while data:
        yield data
        data = file.read(CHUNK_BYTES)


def _unpacked(data: bytes, file: BinaryIO) -> Iterator[bytes]:
    """One member after another; at most ``CHUNK_BYTES`` at once, whatever a file made to fill memory holds."""
    unpacker, members = zlib.decompressobj(_GZIP), 1
    try:
        while data:
            if unpacker.eof:
                unpacker, members = zlib.decompressobj(_GZIP), members + 1
                if members > MOST_MEMBERS:
                    raise CutPackError
            yield unpacker.decompress(data, CHUNK_BYTES)
            data = unpacker.unused_data if unpacker.eof else unpacker.unconsumed_tail
            data = data or file.read(CHUNK_BYTES)
    except zlib.error:
        raise CutPackError from None
    if not unpacker.eof:
        yield unpacker.flush()
        raise CutPackError


def line_blocks(pieces: Iterator[bytes]) -> Iterator[tuple[list[bytes], bool]]:
    """Lines without their ends, some thousands at once; and whether the last of them has no end, which ends the file.

    Of a line that is too long (``MAX_LINE_BYTES``) a part is given that still is too long, as soon as it is: whoever
    will not have such a line need not read a disk full of it. No more is ever held.
    """
    rest, is_passed_over = b"", False
    for piece in pieces:
        *lines, last = piece.split(b"\n")
        if lines:
            if is_passed_over:
                del lines[0]
            else:
                lines[0] = rest + lines[0]
            rest, is_passed_over = last, False
            if lines:
                yield lines, False
        elif not is_passed_over:
            rest += last
        if len(rest) >= MAX_LINE_BYTES:
            yield [rest], False
            rest, is_passed_over = b"", True
    if rest:
        yield [rest], True
