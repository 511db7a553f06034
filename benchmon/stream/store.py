"""Where sessions live, and how one is found again."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from benchmon.errors import NoSessionError, OutputError, SessionFormatError
from benchmon.model.records import SessionHeader
from benchmon.session.glimpse import glimpse
from benchmon.session.naming import SUFFIX, session_file_name

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
        return Path(chosen).expanduser()
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
    """Where a new session goes; nothing exists there yet.

    Args:
        started_at: in the time zone that the name shall show.
        tags: what is special about the run.
        to: an existing folder, or the file itself; None for the sessions folder, which is created if need be.

    Raises:
        OutputError: if the sessions folder cannot be created.
    """
    if to is not None and not to.is_dir():
        return to
    folder = to or sessions_folder()
    if to is None:
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise OutputError(
                f"The folder {folder} cannot be created: {fault.strerror}.", "Choose another one with --to."
            ) from None
    name = session_file_name(started_at, tags)
    path, count = folder / name, 1
    while path.exists():
        count += 1
        path = folder / f"{name.removesuffix(SUFFIX)}-{count}{SUFFIX}"
    return path


def stored_sessions() -> tuple[Path, ...]:
    """All session files in the sessions folder, the one written to last first."""
    try:
        found = [(entry.stat().st_mtime, Path(entry.path)) for entry in os.scandir(sessions_folder())
                 if entry.name.endswith(SUFFIX) and entry.is_file()]  # fmt: skip
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
        [path for path in sessions if path.name in (text, text + SUFFIX)],
        [path for path in sessions if path.name.startswith(text)],
        [path for path in sessions if text in path.name.removesuffix(SUFFIX)],
    ):
        if len(fits) == 1:
            return fits[0]
        if fits:
            names = ", ".join(path.name.removesuffix(SUFFIX) for path in fits[:_MOST_NAMED])
            more = " …" if len(fits) > _MOST_NAMED else ""
            raise NoSessionError(f"“{text}” fits {len(fits)} sessions: {names}{more}.", "Write more of the name.")
    raise NoSessionError(f"No session in {sessions_folder()} is called “{text}”.", "Give its path, or another name.")


def running_sessions() -> tuple[RunningSession, ...]:
    """The sessions of the sessions folder that are being recorded now: those whose recorder answers."""
    running = []
    for path in stored_sessions():
        try:
            seen = glimpse(path)
        except SessionFormatError:
            continue
        if seen.end is None and _answers(seen.header.session_id):
            running.append(RunningSession(path, seen.header))
    return tuple(running)


def _answers(session_id: str) -> bool:
    from benchmon.stream.control import ControlClient  # noqa: PLC0415 - only asked when somebody may be recording

    try:
        return ControlClient(session_id).send({"do": "ping"}).get("ok") is True
    except NoSessionError:
        return False
