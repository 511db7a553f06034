"""One file of the kernel that holds one whole number, read again and again through one descriptor.

Four faults have a treatment of their own:

* the device vanished (ENODEV, ENOENT …): the file is looked for again by its name, at growing intervals;
* the core is offline (empty file, EBUSY): nothing to do but to ask again;
* no data at the moment (ENODATA, EAGAIN, EIO …): nothing to do but to ask again;
* permission denied (EACCES, EPERM): asked again at long intervals, in case somebody opens it.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Callable

_GONE = {errno.ENODEV, errno.ENOENT, errno.ENOTDIR, errno.ESTALE, errno.EBADF, errno.ENXIO}
_DENIED = {errno.EACCES, errno.EPERM}
_MOST_BYTES = 32
"""A 64-bit number has at most 20 digits."""
_FIRST_RETRY_S = 1.0
_LAST_RETRY_S = 30.0

GONE = "device gone"
OFFLINE = "core offline"
NOT_READ = "not read yet"


def denied(path: str) -> str:
    """Why a file that one may not read has no value."""
    return f"permission denied: {path}"


class NumberFile:
    """A number in a file.

    Args:
        path: where the file is now.
        locate: finds the file again after its device vanished, by name, for its number in ``/sys`` may change; None =
            it can only come back where it was.
        empty_means: why an empty file has no value.
    """

    __slots__ = ("_empty_means", "_fd", "_locate", "_retry_at_s", "_retry_s", "path", "why")

    def __init__(self, path: str, locate: Callable[[], str | None] | None = None, empty_means: str = OFFLINE) -> None:
        self.path = path
        self.why = NOT_READ
        self._locate = locate
        self._empty_means = empty_means
        self._fd = -1
        self._retry_s = _FIRST_RETRY_S
        self._retry_at_s: float | None = None
        self._open()

    def read(self, now_s: float) -> int | None:
        """The number; None if there is none, and then ``why`` says why."""
        if self._fd < 0 and not self._open_again(now_s):
            return None
        try:
            value = int(os.pread(self._fd, _MOST_BYTES, 0))
        except OSError as fault:
            self._treat(fault, now_s)
            return None
        except ValueError:
            self.why = self._why_no_number()
            return None
        self.why = ""
        return value

    @property
    def is_denied(self) -> bool:
        """True if the last fault was that one may not read it."""
        return self.why == denied(self.path)

    def close(self) -> None:
        """Close the file."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1

    def __del__(self) -> None:
        self.close()

    def _open(self) -> bool:
        try:
            self._fd = os.open(self.path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK | os.O_NOCTTY)
        except OSError as fault:
            self.why = denied(self.path) if fault.errno in _DENIED else GONE
        return self._fd >= 0

    def _open_again(self, now_s: float) -> bool:
        if self._retry_at_s is not None and now_s < self._retry_at_s:
            return False
        self.path = (self._locate() if self._locate is not None else None) or self.path
        if self._open():
            self._retry_s = _FIRST_RETRY_S
            self._retry_at_s = None
            return True
        self._put_off(now_s)
        return False

    def _put_off(self, now_s: float) -> None:
        self._retry_at_s = now_s + self._retry_s
        self._retry_s = min(2 * self._retry_s, _LAST_RETRY_S)

    def _treat(self, fault: OSError, now_s: float) -> None:
        if fault.errno in _GONE or fault.errno in _DENIED:
            self.why = denied(self.path) if fault.errno in _DENIED else GONE
            if fault.errno == errno.EBADF:
                self._fd = -1
            self.close()
            self._put_off(now_s)
        elif fault.errno == errno.EBUSY:
            self.why = OFFLINE
        else:
            self.why = f"no data: {(fault.strerror or 'unknown fault').lower()}"

    def _why_no_number(self) -> str:
        try:
            empty = not os.pread(self._fd, _MOST_BYTES, 0).strip()
        except OSError:
            empty = False
        return self._empty_means if empty else f"no number in {self.path}"
