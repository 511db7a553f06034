"""A folder for the files of a virtual machine, which also clears away those of recorders that were killed."""

from __future__ import annotations

import contextlib
import fcntl
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

_PREFIX = "benchmon-virtual-"


@contextlib.contextmanager
def virtual_folder() -> Iterator[Path]:
    """A new folder, locked for as long as it is used."""
    _clear(Path(tempfile.gettempdir()))
    with tempfile.TemporaryDirectory(prefix=_PREFIX) as text:
        descriptor = os.open(text, os.O_RDONLY | os.O_CLOEXEC)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            yield Path(text)
        finally:
            os.close(descriptor)


def _clear(folder: Path) -> None:
    for left in folder.glob(f"{_PREFIX}*"):
        with contextlib.suppress(OSError):
            descriptor = os.open(left, os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW | os.O_DIRECTORY)
            try:
                if os.fstat(descriptor).st_uid == os.getuid():
                    fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
                    shutil.rmtree(left, ignore_errors=True)
            finally:
                os.close(descriptor)
