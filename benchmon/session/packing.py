"""Packs a session that is over: gzip (RFC 1952), which every system opens; benchmon reads packed files as they are."""

from __future__ import annotations

import contextlib
import gzip
import os
import zlib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import BinaryIO

from benchmon.errors import OutputError
from benchmon.session.chunks import GZIP_MAGIC, CutPackError, chunks
from benchmon.session.glimpse import glimpse
from benchmon.session.naming import PACKED, SUFFIX
from benchmon.session.opening import open_session, unreadable

_LEVEL = 9
Sum = tuple[int, int]
"""Checksum (CRC-32) and length of what a file holds unpacked."""


def is_packed(path: Path) -> bool:
    """Whether the file is packed, whatever it is called.

    Raises:
        SessionFormatError: if it cannot be read.
    """
    try:
        with open(open_session(path), "rb") as file:  # noqa: PTH123  (a descriptor, no path)
            return file.read(len(GZIP_MAGIC)) == GZIP_MAGIC
    except OSError as fault:
        raise unreadable(path, fault) from None


def packed_path(path: Path) -> Path:
    """``run.session.jsonl`` → ``run.session.jsonl.gz``, beside it."""
    return path.with_name(path.name + PACKED)


def unpacked_path(path: Path) -> Path:
    """``run.session.jsonl.gz`` → ``run.session.jsonl``; a file of any other name gets the usual end."""
    name = path.name.removesuffix(PACKED)
    return path.with_name(name if name != path.name else name + SUFFIX)


def pack(path: Path, to: Path, watch: Callable[[float], None] | None = None) -> None:
    """Write a packed copy and read it back; only when it holds the same is it there under its name.

    Raises:
        SessionFormatError: if the file is no session or cannot be read.
        OutputError: if the copy exists already or cannot be written.
    """

    def write(raw: BinaryIO) -> Sum:
        with gzip.GzipFile("", "wb", _LEVEL, raw, mtime=0) as target:
            return _copied(chunks(path, watch), target.write)

    _make(path, to, write)


def unpack(path: Path, to: Path, watch: Callable[[float], None] | None = None) -> bool:
    """Write the session as it was before it was packed; of a damaged file what is left, and False.

    Raises:
        SessionFormatError: if the file is no session or cannot be read.
        OutputError: if the copy exists already or cannot be written.
    """
    damage = []

    def pieces() -> Iterator[bytes]:
        try:
            yield from chunks(path, watch)
        except CutPackError as fault:
            damage.append(fault)

    _make(path, to, lambda raw: _copied(pieces(), raw.write))
    return not damage


def _make(path: Path, to: Path, write: Callable[[BinaryIO], Sum]) -> None:
    glimpse(path)  # it must be a session
    part = to.with_name(f".{to.name}.{os.getpid()}.part")
    try:
        with part.open("xb") as raw:
            part.chmod(0o600)
            written = write(raw)
            raw.flush()
            os.fsync(raw.fileno())
        if _copied(chunks(part), lambda _: None) != written:
            raise OutputError(f"{to} does not read back as it was written.", "Check the disk; nothing was changed.")
        found = path.stat()
        os.utime(part, ns=(found.st_atime_ns, found.st_mtime_ns))  # it is as old as what it holds
        os.link(part, to)  # unlike a rename, it never replaces
    except FileExistsError:
        raise OutputError(f"{to} exists already.", "Nothing is ever overwritten; move it away first.") from None
    except OSError as fault:
        raise OutputError(f"{to} cannot be written: {fault.strerror}.", "Make room, or choose another disk.") from None
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def _copied(pieces: Iterable[bytes], write: Callable[[bytes], object]) -> Sum:
    check = count = 0
    for piece in pieces:
        check, count = zlib.crc32(piece, check), count + len(piece)
        write(piece)
    return check, count
