"""Enters a mark into a session that nobody records any more: one writer at a time, each mark with its own number."""

from __future__ import annotations

import errno
import fcntl
import os
import stat
import time
from collections.abc import Callable
from pathlib import Path

from benchmon.errors import OutputError
from benchmon.model.records import Mark
from benchmon.session.decode import decode
from benchmon.session.encode import encode
from benchmon.session.fields import LineError
from benchmon.session.writer import cannot

_LONGEST_WAIT_S = 20.0
_LOOK_AGAIN_S = 0.01
_MARK = b'"record":"mark"'


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
        mark = make(_highest_number(descriptor))
        _append(descriptor, mark)
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


def _highest_number(descriptor: int) -> int:
    """The highest number of the marks in the file; 0 if there are none."""
    highest = 0
    with os.fdopen(os.dup(descriptor), "rb") as file:
        file.seek(0)
        for line in file:
            if _MARK in line:
                try:
                    record = decode(line)
                except LineError:
                    continue
                if isinstance(record, Mark):
                    highest = max(highest, record.number)
    return highest


def _append(descriptor: int, mark: Mark) -> None:
    size = os.fstat(descriptor).st_size
    whole = size > 0 and os.pread(descriptor, 1, size - 1) == b"\n"
    line = (b"" if whole else b"\n") + encode(mark).encode("ascii") + b"\n"
    if os.write(descriptor, line) < len(line):
        os.ftruncate(descriptor, size)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    os.fsync(descriptor)
