"""Opens a file that is said to be a session: never blocks on a pipe or device, never leaves a bare OSError."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from benchmon.errors import SessionFormatError


def open_session(path: Path) -> int:
    """A file descriptor to read the file from.

    Raises:
        SessionFormatError: if it is missing, may not be read or is no ordinary file.
    """
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except FileNotFoundError:
        raise SessionFormatError(f"There is no file {path}.") from None
    except PermissionError:
        raise SessionFormatError(f"You may not read {path}.", "Ask its owner, or look at its mode.") from None
    except (OSError, ValueError) as fault:
        raise unreadable(path, fault) from None
    kind = os.fstat(descriptor).st_mode
    if stat.S_ISREG(kind):
        return descriptor
    os.close(descriptor)
    what = "a folder" if stat.S_ISDIR(kind) else "not an ordinary file"
    raise SessionFormatError(f"{path} is {what}.", "Name the session file itself.")


def unreadable(path: Path, fault: OSError | ValueError) -> SessionFormatError:
    """The error for a file that failed while it was read."""
    why = fault.strerror if isinstance(fault, OSError) else str(fault)
    return SessionFormatError(f"{path} cannot be read: {why}.")
