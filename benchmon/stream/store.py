"""Where sessions live, and how one is found again."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from benchmon.errors import BenchmonError, NoSessionError, OutputError
from benchmon.model.records import SessionHeader
from benchmon.session.glimpse import glimpse
from benchmon.session.naming import PACKED, SUFFIX, bare_name, session_file_name
from benchmon.session.writer import TakenError
from benchmon.stream.control import ControlClient, is_private, socket_folder

_Begun = TypeVar("_Begun")
_MOST_NAMED = 5
"""So many names are listed when a search fits several sessions."""


@dataclass(frozen=True, slots=True)
class RunningSession:
    """A session that is being recorded right now."""

    path: Path
    header: SessionHeader


def sessions_folder() -> Path:
    """The folder of this user's sessions; it need not exist yet.

    ``$BENCHMON_SESSIONS``, else ``$XDG_DATA_HOME/benchmon``, else ``~/.local/share/benchmon`` (XDG Base Directory
    Specification 0.8, which also says that a relative ``$XDG_DATA_HOME`` is to be ignored).

    Raises:
        OutputError: if this user has no home folder and the variables say nothing.
    """
    if chosen := os.environ.get("BENCHMON_SESSIONS"):
        return Path(os.path.expanduser(chosen))  # noqa: PTH111 - unlike Path's, it leaves an unknown ~name as it is
    data_home = Path(os.environ.get("XDG_DATA_HOME", ""))
    if data_home.is_absolute():
        return data_home / "benchmon"
    try:
        return Path.home() / ".local" / "share" / "benchmon"
    except RuntimeError:
        raise OutputError(
            "There is no home folder to keep sessions in.", "Set BENCHMON_SESSIONS to a folder, or use --to."
        ) from None


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


def stored_sessions() -> tuple[Path, ...]:
    """All session files in the sessions folder, the one written to last first."""
    try:
        found = [(entry.stat().st_mtime, Path(entry.path)) for entry in os.scandir(sessions_folder())
                 if entry.name.endswith((SUFFIX, SUFFIX + PACKED)) and entry.is_file()]  # fmt: skip
    except OSError:
        return ()
    return tuple(path for _, path in sorted(found, reverse=True))


def newest_session() -> Path:
    """The session written to last.

    Raises:
        NoSessionError: if there is none.
    """
    sessions = stored_sessions()
    if not sessions:
        raise NoSessionError(f"There is no session in {sessions_folder()}.", "Record one first, or name a file.")
    return sessions[0]


def find_session(text: str) -> Path:
    """The one session that a text means: a path, or a name in the sessions folder, or a part of one name.

    The suffix may be left out. Names that begin with the text come before names that hold it somewhere.

    Raises:
        NoSessionError: if none or more than one fits.
    """
    given = Path(os.path.expanduser(text))  # noqa: PTH111 - unlike Path's, it leaves an unknown ~name as it is
    if os.path.exists(given):  # noqa: PTH110 - unlike Path's, it takes any text for a name
        return given
    if os.sep in text:
        raise NoSessionError(f"There is no file {text}.")
    sessions = stored_sessions()
    for fits in (
        [path for path in sessions if path.name == text or bare_name(path.name) == text],
        [path for path in sessions if path.name.startswith(text)],
        [path for path in sessions if text in bare_name(path.name)],
    ):
        if len(fits) == 1:
            return fits[0]
        if fits:
            names = ", ".join(bare_name(path.name) for path in fits[:_MOST_NAMED])
            more = " …" if len(fits) > _MOST_NAMED else ""
            raise NoSessionError(f"“{text}” fits {len(fits)} sessions: {names}{more}.", "Write more of the name.")
    raise NoSessionError(f"No session in {sessions_folder()} is called “{text}”.", "Give its path, or another name.")


def running_sessions() -> tuple[RunningSession, ...]:
    """This user's sessions that are being recorded now, wherever their files are; the one begun last comes first."""
    found = [_recorded_through(socket) for socket in _sockets()]
    running = [session for session in found if session is not None]
    return tuple(sorted(running, key=lambda session: session.header.started_at, reverse=True))


def is_being_recorded(path: Path) -> bool:
    """Whether a recorder of this user is writing the file now."""
    return path.exists() and any(session.path.samefile(path) for session in running_sessions())


def _sockets() -> list[Path]:
    """The sockets in this user's folder; none if it belongs to somebody else, as it might in /tmp."""
    return sorted(socket_folder().glob("*.sock")) if is_private(socket_folder()) else []


def _recorded_through(socket: Path) -> RunningSession | None:
    """The session whose recorder listens there; None if it has gone (a killed one leaves its socket behind)."""
    try:
        client = ControlClient(socket.stem)
        try:
            path = Path(str(client.send({"do": "ping"}).get("file")))
        finally:
            client.close()
        return RunningSession(path, glimpse(path).header)
    except BenchmonError:
        return None
