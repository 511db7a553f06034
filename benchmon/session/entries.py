"""Enters a mark into a session that nobody records any more: one writer at a time, each mark with its own number."""

from __future__ import annotations

import errno
import fcntl
import gzip
import os
import stat
import time
from collections.abc import Callable
from pathlib import Path

from benchmon.errors import OutputError
from benchmon.model.records import Mark
from benchmon.session.chunks import GZIP_MAGIC, CutPackError, chunks_of, line_blocks
from benchmon.session.decode import decode
from benchmon.session.encode import encode
from benchmon.session.fields import LineError
from benchmon.session.writer import cannot

_LONGEST_WAIT_S = 20.0
_LOOK_AGAIN_S = 0.01
_MARK = b'"record":"mark"'
_UNPACK = "Unpack what is left of it with “benchmon pack --unpack”, and enter it there."


def append_entry(path: Path, make: Callable[[int], Mark]) -> Mark:
    """Append a mark; what is there stays as it is.

    Args:
        path: the session's file; an ordinary one of this user's own, and no link to one.
        make: makes the mark, given the highest number that the file holds.

    Returns:
        What was entered.

    Raises:
        OutputError: if it cannot be written, or somebody else is writing.
        BenchmonError: what ``make`` raises; nothing is written then.
    """
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CLOEXEC | os.O_NOFOLLOW | os.O_NONBLOCK)
    except OSError as fault:
        if fault.errno == errno.ELOOP:
            raise OutputError(f"{path} is a link; nothing is written through one.", "Name the file.") from None
        raise cannot("be written any further", path, fault) from None
    try:
        _refuse_strangers(path, os.fstat(descriptor))
        _lock(path, descriptor)
        highest, has_end = _look_through(path, descriptor)
        mark = make(highest)
        _append(descriptor, mark, has_end=has_end)
    except OSError as fault:
        raise cannot("be written any further", path, fault) from None
    finally:
        os.close(descriptor)
    return mark


def _refuse_strangers(path: Path, found: os.stat_result) -> None:
    if not stat.S_ISREG(found.st_mode) or found.st_uid != os.geteuid():
        raise OutputError(f"{path} is not a file of your own.", "Make a copy of it, and enter it there.")


def _lock(path: Path, descriptor: int) -> None:
    """Wait for the others who enter something; a recorder holds on for as long as it records."""
    gives_up_s = time.monotonic() + _LONGEST_WAIT_S
    while True:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            if time.monotonic() > gives_up_s:
                raise OutputError(f"{path} is being written by another program.", "Try again later.") from None
            time.sleep(_LOOK_AGAIN_S)
        else:
            return


def _look_through(path: Path, descriptor: int) -> tuple[int, bool]:
    """The highest number of the marks in the file, 0 if there are none; and whether its last line has an end."""
    highest, has_end = 0, False
    try:
        with os.fdopen(os.dup(descriptor), "rb") as file:
            file.seek(0)
            for lines, is_cut in line_blocks(chunks_of(file, path)):
                has_end = not is_cut
                for line in lines:
                    highest = max(highest, _number(line))
    except CutPackError:
        raise OutputError(f"{path} is packed and damaged; nothing can be entered into it.", _UNPACK) from None
    return highest, has_end


def _number(line: bytes) -> int:
    """The number of a mark; 0 for any other line."""
    if _MARK not in line:
        return 0
    try:
        record = decode(line)
    except LineError:
        return 0
    return record.number if isinstance(record, Mark) else 0


def _append(descriptor: int, mark: Mark, *, has_end: bool) -> None:
    size = os.fstat(descriptor).st_size
    line = (b"" if has_end else b"\n") + encode(mark).encode("ascii") + b"\n"
    if os.pread(descriptor, len(GZIP_MAGIC), 0) == GZIP_MAGIC:
        line = gzip.compress(line, mtime=0)  # a further member of the file, which only grows (RFC 1952, 2.2)
    if os.write(descriptor, line) < len(line):
        os.ftruncate(descriptor, size)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    os.fsync(descriptor)
