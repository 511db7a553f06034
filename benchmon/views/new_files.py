"""What is published goes into new files: nothing is ever overwritten."""

from __future__ import annotations

import contextlib
from pathlib import Path

from benchmon.errors import OutputError


def write_new(path: Path, content: str | bytes) -> None:
    """Write a file that is not there yet; text as UTF-8, with the line ends it has.

    Raises:
        OutputError: if it is, or cannot be written.
    """
    raw = content.encode("utf-8") if isinstance(content, str) else content
    is_made = False
    try:
        with path.open("xb") as file:
            is_made = True
            file.write(raw)
    except FileExistsError:
        raise already_there(path) from None
    except OSError as error:
        if is_made:  # half a file is worth nothing, and would be in the way of the next try
            with contextlib.suppress(OSError):
                path.unlink()
        raise OutputError(
            f"{path} cannot be written: {error.strerror}.", "Make room, or choose another place."
        ) from None


def already_there(path: Path) -> OutputError:
    """What is said of a file or folder that would have to be made and exists."""
    return OutputError(f"{path} exists already.", "Choose another name; nothing is ever overwritten.")
