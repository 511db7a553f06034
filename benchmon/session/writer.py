"""Writes a session file: one record, one line, one system call. Nothing else writes one."""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
import threading
from pathlib import Path

from benchmon.errors import OutputError
from benchmon.model.records import Record, SessionHeader
from benchmon.session.encode import encode
from benchmon.session.rounding import decimals_kept

_WHY = {
    errno.ENOSPC: ("the disk is full", "Make room, or choose another disk with {}."),
    errno.EDQUOT: ("your share of the disk is used up", "Make room, or choose another disk with {}."),
    errno.EFBIG: ("the file may not grow any further", "Choose another disk with {}."),
    errno.EACCES: ("you may not write there", "Choose a folder of your own with {}."),
    errno.EPERM: ("you may not write there", "Choose a folder of your own with {}."),
    errno.EROFS: ("the disk can only be read", "Choose another folder with {}."),
    errno.ENOENT: ("there is no such folder", "Create it first, or choose another one with {}."),
    errno.ENOTDIR: ("a part of this path is not a folder", "Choose another folder with {}."),
    errno.ENAMETOOLONG: ("the name is too long", "Choose a shorter one with {}."),
    errno.EEXIST: ("it exists already, and a session is never overwritten", "Choose another name with {}."),
    errno.EIO: ("the disk reports an error", "Check the disk; copy the file away while it can be read."),
}


class TakenError(OutputError):
    """A file of that name is there already."""


class SessionWriter:
    """Appends records to a new session file.

    Each record is on its way to the kernel when ``write`` returns: killing the recorder loses nothing. Every few
    seconds, off the recording's own path, the disk is asked to store it: a power cut loses no more than that.

    Args:
        path: file to create; its folder must exist.
        sync_every_s: time between two requests to store [s].
        elsewhere: the option that chooses another file, for hints.

    Raises:
        TakenError: if it exists already.
        OutputError: if it cannot be created.
    """

    def __init__(self, path: Path, sync_every_s: float = 5.0, *, elsewhere: str = "--to") -> None:
        self.path = path
        self._elsewhere = elsewhere
        self._decimals: tuple[int, ...] | None = None
        self._good_bytes = 0
        self._failure: OutputError | None = None
        self._errno = 0
        try:
            flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND | os.O_CLOEXEC | os.O_NOFOLLOW
            self._descriptor = os.open(path, flags, 0o600)
            fcntl.flock(self._descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)  # for as long as it is written
        except (OSError, ValueError) as fault:
            raise cannot("be created", path, fault, elsewhere) from None
        _sync_folder(path.parent)
        self._closing = threading.Event()
        self._syncer = threading.Thread(target=self._sync_now_and_then, args=(sync_every_s,), daemon=True)
        self._syncer.start()

    def write(self, record: Record) -> None:
        """Append one record; the first one must be the header.

        Raises:
            OutputError: if it cannot be written; what was written before stays readable.
            ValueError: if the header does not come first, or a second one comes.
        """
        self.append(self.line_of(record))

    def line_of(self, record: Record) -> bytes:
        """The line that ``append`` writes for a record.

        Raises:
            ValueError: if the header does not come first, or a second one comes.
        """
        if isinstance(record, SessionHeader) == (self._decimals is not None):
            raise ValueError("a session begins with its header and has only one")
        if isinstance(record, SessionHeader):
            self._decimals = tuple(decimals_kept(channel) for channel in record.channels)
        return encode(record, self._decimals).encode("ascii") + b"\n"

    @property
    def is_full(self) -> bool:
        """Whether the last failure was that there is no room: it may be tried again."""
        return self._errno in (errno.ENOSPC, errno.EDQUOT)

    def cannot_wait(self, why: str) -> OutputError:
        """The error for records that were kept in memory and could not be written after all."""
        hint = f"Make room, or choose another disk with {self._elsewhere}."
        return OutputError(f"The session file {self.path} cannot be written any further: {why}.", hint)

    def close(self) -> None:
        """Store everything and close; harmless if repeated.

        Raises:
            OutputError: if the disk could not store what was written.
        """
        if self._closing.is_set():
            return
        self._closing.set()
        self._syncer.join()
        try:
            if self._failure is None:
                os.fsync(self._descriptor)
        except OSError as fault:
            raise self._fail(fault) from None
        finally:
            os.close(self._descriptor)

    def append(self, line: bytes) -> None:
        """Append a line.

        Raises:
            OutputError: if it cannot be written; again only after a full disk.
        """
        if self._failure is not None and not self.is_full:
            raise self._failure
        try:
            written = os.write(self._descriptor, line)
            while written < len(line):  # a disk that is nearly full takes a part, and refuses the rest
                written += os.write(self._descriptor, line[written:])
        except OSError as fault:
            with contextlib.suppress(OSError):  # readers cope with a half line too
                os.ftruncate(self._descriptor, self._good_bytes)
            raise self._fail(fault) from None
        self._good_bytes += len(line)
        self._failure = None

    def _sync_now_and_then(self, every_s: float) -> None:
        stored_bytes = 0
        while not self._closing.wait(every_s):
            if self._good_bytes > stored_bytes:
                stored_bytes = self._good_bytes
                try:
                    os.fdatasync(self._descriptor)
                except OSError as fault:
                    self._fail(fault)

    def _fail(self, fault: OSError) -> OutputError:
        self._errno = fault.errno or 0
        self._failure = cannot("be written any further", self.path, fault, self._elsewhere)
        return self._failure


def cannot(what: str, path: Path, fault: OSError | ValueError, elsewhere: str = "") -> OutputError:
    """The error in words; hints that only help where another file can be chosen need its option."""
    if isinstance(fault, OSError):
        why, hint = _WHY.get(fault.errno or 0, (fault.strerror or str(fault), ""))
    else:
        why, hint = str(fault), ""
    hint = hint.format(elsewhere) if elsewhere or "{}" not in hint else ""
    kind = TakenError if isinstance(fault, FileExistsError) else OutputError
    return kind(f"The session file {path} cannot {what}: {why}.", hint)


def _sync_folder(folder: Path) -> None:
    """Store the new file's name; some file systems cannot, and need not."""
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
