"""The file beside a session that keeps what the user's command printed: a new one, and never somebody else's."""

from __future__ import annotations

import os
from pathlib import Path
from typing import IO

from benchmon.errors import LoadError
from benchmon.session.naming import SUFFIX

_SUFFIX = ".output.txt"
_MOST_TRIED = 1000


class OutputFile:
    """Made when it is first needed; whatever the recording runs later is added to the same file.

    Args:
        session: the session's file, which gives the name.
    """

    def __init__(self, session: Path) -> None:
        self._stem = session.with_name(session.name.removesuffix(SUFFIX))
        self.path: Path | None = None
        """Where it is; None as long as there is none."""
        self._descriptor = -1

    def open(self) -> IO[bytes]:
        """The file, to be added to; mode 0600.

        Raises:
            OSError: if it cannot be made.
            LoadError: if every name is taken.
        """
        if self._descriptor < 0:
            self._make()
        return os.fdopen(os.dup(self._descriptor), "a+b", buffering=0)

    def close(self) -> None:
        """Let go of it."""
        if self._descriptor >= 0:
            os.close(self._descriptor)
            self._descriptor = -1

    def _make(self) -> None:
        flags = os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_APPEND | os.O_CLOEXEC | os.O_NOFOLLOW
        for count in range(1, _MOST_TRIED):
            path = self._stem.with_name(self._stem.name + ("" if count == 1 else f"-{count}") + _SUFFIX)
            try:
                self._descriptor = os.open(path, flags, 0o600)
            except FileExistsError:
                continue
            self.path = path
            return
        raise LoadError(
            f"there is no free name for the command's output beside {self._stem.name}", "Choose another --to."
        )
