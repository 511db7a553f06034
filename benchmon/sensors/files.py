"""Reading the kernel's small files: opened once, read with ``pread``, each kind of fault told apart."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

_GONE = frozenset({errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.ESTALE, errno.EBADF})
_REFUSED = frozenset({errno.EACCES, errno.EPERM})
_RETRY_AFTER_S = 2.0
"""A device that vanished is looked for again this often: soon enough to miss little, seldom enough to cost nothing."""


class NumberFile:
    """A file that holds one whole number.

    Args:
        find: gives the file's present path, or None while the device is not there. Devices are found by name, since
            the kernel may number them anew when they come back.
    """

    __slots__ = ("_descriptor", "_find", "_retry_at_s", "path", "why")

    def __init__(self, find: Callable[[], Path | None]) -> None:
        self._find = find
        self._descriptor = -1
        self._retry_at_s = float("-inf")
        self.path: Path | None = None
        self.why = ""
        """Why the last read gave nothing; empty if it gave a number."""

    def read(self, now_s: float) -> int | None:
        """The number now; None with ``why`` set if there is none."""
        if self._descriptor < 0 and not self._open(now_s):
            return None
        try:
            value = int(os.pread(self._descriptor, 32, 0))
        except OSError as fault:
            self._faulted(fault.errno or 0, now_s)
            return None
        except ValueError:
            self.why = "no data: the file is empty or holds no number"
            return None
        self.why = ""
        return value

    def close(self) -> None:
        """Give the file back."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1

    def _open(self, now_s: float) -> bool:
        if now_s < self._retry_at_s:
            return False
        self._retry_at_s = now_s + _RETRY_AFTER_S
        path = self._find()
        if path is None:
            self.why = "device gone"
            return False
        try:
            self._descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
        except OSError as fault:
            self._faulted(fault.errno or 0, now_s)
            return False
        self.path = path
        return True

    def _faulted(self, number: int, now_s: float) -> None:
        if number in _REFUSED:
            self.why = "permission denied"
        elif number in _GONE:
            self.why = "device gone"
        else:
            self.why = f"no data: {os.strerror(number)}"
            return
        self.close()
        self._retry_at_s = now_s + _RETRY_AFTER_S


def fixed(path: Path) -> Callable[[], Path | None]:
    """A finder for files that stay where they are."""
    return lambda: path if path.exists() else None


def text_of(path: Path) -> str | None:
    """A small file's text without blanks around it; None if it cannot be read."""
    try:
        return path.read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        return None


def number_of(path: Path) -> int | None:
    """A small file's whole number; None if it cannot be read or holds none."""
    text = text_of(path)
    try:
        return None if text is None else int(text)
    except ValueError:
        return None


def numbered(folder: Path, pattern: str) -> tuple[Path, ...]:
    """Entries that match a pattern, in the order of the numbers in their names (``cpu2`` before ``cpu10``)."""
    try:
        found = list(folder.glob(pattern))
    except OSError:
        return ()
    return tuple(sorted(found, key=lambda path: [int(part) for part in _runs_of_digits(path.name)]))


def _runs_of_digits(name: str) -> list[str]:
    return "".join(sign if sign.isdigit() else " " for sign in name).split()
