"""Where a new session goes."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from benchmon.errors import OutputError
from benchmon.session.naming import SUFFIX, session_file_name
from benchmon.session.writer import TakenError
from benchmon.stream.store import sessions_folder

_Begun = TypeVar("_Begun")


def new_session_path(started_at: datetime, tags: Mapping[str, str], to: Path | None = None) -> Path:
    """Where a new session goes, as an absolute path.

    Args:
        started_at: in the time zone that the name shall show.
        tags: what is special about the run.
        to: an existing folder, or the file itself; None for the sessions folder, which is created if need be.
            A name that is made up here is free; a file that was named may exist, and the writer will refuse it then.

    Raises:
        OutputError: if the sessions folder cannot be created.
    """
    if to is not None and not os.path.isdir(to):  # noqa: PTH112 - unlike Path's, it takes any text for a name
        return to.absolute()
    folder = (to or sessions_folder()).absolute()
    if to is None:
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as fault:
            raise OutputError(
                f"The folder {folder} cannot be created: {fault.strerror}.", "Choose another one with --to."
            ) from None
    name = session_file_name(started_at, tags)
    path, count = folder / name, 1
    while os.path.lexists(path):  # unlike Path's, it bears a folder that may not be looked into
        count += 1
        path = folder / f"{name.removesuffix(SUFFIX)}-{count}{SUFFIX}"
    return path


def begin_in_new_file(begin: Callable[[Path], _Begun], path: Callable[[], Path]) -> _Begun:
    """Begin something that makes a file; of two that make up one name in the same instant, one takes the next name.

    Args:
        begin: makes the file.
        path: a free name, each time it is asked; always the same if a person chose it.

    Raises:
        TakenError: if the same name is taken twice over.
    """
    to = path()
    while True:
        try:
            return begin(to)
        except TakenError:
            taken, to = to, path()
            if to == taken:
                raise
